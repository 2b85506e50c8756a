"""The record kinds, by name."""

from pipeline.typed.bottling import BOTTLING
from pipeline.typed.calibrations import CALIBRATIONS
from pipeline.typed.fills import FILLS
from pipeline.typed.intake import INTAKE
from pipeline.typed.laboratory import LABORATORY
from pipeline.typed.movements import MOVEMENTS
from pipeline.typed.opening_stock import OPENING_STOCK
from pipeline.typed.panel import PANEL
from pipeline.typed.readings import READINGS
from pipeline.typed.record import Record
from pipeline.typed.runs import RUNS
from pipeline.typed.stock import STOCK

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
    )
}
