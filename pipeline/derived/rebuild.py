"""The derived tables made anew, in the order that follows from what each is made from."""

from pathlib import Path

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.bottlings import BOTTLINGS
from gaugebook.pipeline.derived.build_state import fingerprint, note_made
from gaugebook.pipeline.derived.casks.ages import AGES
from gaugebook.pipeline.derived.casks.evaporation import EVAPORATION
from gaugebook.pipeline.derived.contents import CONTENTS
from gaugebook.pipeline.derived.curves.run_curves import RUN_CURVES
from gaugebook.pipeline.derived.derivation import from_sql, in_order, views_in
from gaugebook.pipeline.derived.extracts import EXTRACTS
from gaugebook.pipeline.derived.ferment_yields import FERMENT_YIELDS
from gaugebook.pipeline.derived.gauged_alcohol import GAUGES, OPENINGS, REMOVALS, STOCK_GAUGES
from gaugebook.pipeline.derived.house_tables import HOUSE_TABLES
from gaugebook.pipeline.derived.laboratory import LABORATORY
from gaugebook.pipeline.derived.lineage import LINEAGE
from gaugebook.pipeline.derived.loss_signals import LOSS_SIGNALS
from gaugebook.pipeline.derived.lot_origins import LOT_ORIGINS
from gaugebook.pipeline.derived.reconciled import RECONCILED
from gaugebook.pipeline.derived.steps import STEPS
from gaugebook.pipeline.house.settings import House

HERE = Path(__file__).parent
COMPUTED = (
    HOUSE_TABLES, CONTENTS, LABORATORY, EXTRACTS, GAUGES, STOCK_GAUGES, OPENINGS, REMOVALS, FERMENT_YIELDS,
    LOSS_SIGNALS, RECONCILED, STEPS, LOT_ORIGINS, LINEAGE, BOTTLINGS, RUN_CURVES, AGES, EVAPORATION,
)  # fmt: skip
SETS = tuple(step for path in sorted(HERE.rglob("*.sql")) if (step := from_sql(path)))
SCHEMAS = tuple(sorted(HERE.rglob("schema.sql")))
VIEWS = tuple(view for path in SCHEMAS for view in views_in(path))
IN_ORDER = in_order((*COMPUTED, *SETS, *VIEWS))


def rebuild(book: Book, house: House) -> None:
    """Make every table of derived.* anew from typed.* and the house profile."""
    for schema in SCHEMAS:
        book.run_file(schema)
    for step in IN_ORDER:
        step.make(book, house)
    note_made(book, fingerprint(book))
