"""The record kinds, by name."""

from gaugebook.pipeline.typed.bottling import BOTTLING
from gaugebook.pipeline.typed.calibrations import CALIBRATIONS
from gaugebook.pipeline.typed.cask_events import CASK_EVENTS
from gaugebook.pipeline.typed.casks import CASKS
from gaugebook.pipeline.typed.destructions import DESTRUCTIONS
from gaugebook.pipeline.typed.dispatches import DISPATCHES
from gaugebook.pipeline.typed.fills import FILLS
from gaugebook.pipeline.typed.intake import INTAKE
from gaugebook.pipeline.typed.inventory import INVENTORY
from gaugebook.pipeline.typed.laboratory import LABORATORY
from gaugebook.pipeline.typed.movements import MOVEMENTS
from gaugebook.pipeline.typed.opening_stock import OPENING_STOCK
from gaugebook.pipeline.typed.panel import PANEL
from gaugebook.pipeline.typed.readings import READINGS
from gaugebook.pipeline.typed.record import Record
from gaugebook.pipeline.typed.returns import RETURNS
from gaugebook.pipeline.typed.runs import RUNS
from gaugebook.pipeline.typed.samples import SAMPLES
from gaugebook.pipeline.typed.stock import STOCK

RECORDS: dict[str, Record] = {
    record.kind: record
    for record in (
        INTAKE,
        OPENING_STOCK,
        RUNS,
        MOVEMENTS,
        READINGS,
        LABORATORY,
        BOTTLING,
        FILLS,
        PANEL,
        CALIBRATIONS,
        STOCK,
        CASKS,
        CASK_EVENTS,
        DISPATCHES,
        RETURNS,
        SAMPLES,
        DESTRUCTIONS,
        INVENTORY,
    )
}
# Kinds with a table of their own; a log lies in the log store.
IN_TABLES = tuple(record for record in RECORDS.values() if not record.is_log)
