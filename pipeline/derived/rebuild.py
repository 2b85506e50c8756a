"""The derived tables in their order; each function is named as the table it makes."""

from pathlib import Path

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.bottlings import bottlings
from gaugebook.pipeline.derived.build_state import fingerprint, note_made
from gaugebook.pipeline.derived.curves.run_curves import run_curves
from gaugebook.pipeline.derived.extracts import extracts
from gaugebook.pipeline.derived.ferment_yields import ferment_yields
from gaugebook.pipeline.derived.gauged_alcohol import gauges, openings, stock_gauges
from gaugebook.pipeline.derived.house_tables import house_tables
from gaugebook.pipeline.derived.laboratory import laboratory
from gaugebook.pipeline.derived.lineage import lineage
from gaugebook.pipeline.derived.loss_signals import loss_signals
from gaugebook.pipeline.derived.reconciled import reconciled
from gaugebook.pipeline.derived.steps import steps
from gaugebook.pipeline.house.settings import House

HERE = Path(__file__).parent
SETS = (
    "run_errors", "run_uncertainties", "run_balances", "lot_uncertainties", "lots", "used_up_lots", "usual_losses",
    "run_verdicts", "strength_checks", "log_blocks", "log_summaries", "recipe_bill", "botanical_bill",
)  # fmt: skip


def rebuild(book: Book, house: House) -> None:
    """Make every table of derived.* anew from typed.* and the house profile."""
    book.run_file(HERE / "schema.sql")
    house_tables(book, house)
    laboratory(book, house)
    extracts(book)
    gauges(book, house)
    stock_gauges(book, house)
    openings(book, house)
    for name in SETS:
        book.run_file(HERE / f"{name}.sql")
    ferment_yields(book, house)
    loss_signals(book)
    reconciled(book)
    steps(book)
    lineage(book)
    bottlings(book, house)
    run_curves(book, house)
    book.run_file(HERE / "account_entries.sql")
    book.run_file(HERE / "batch_yields.sql")
    book.run_file(HERE / "monthly.sql")
    note_made(book, fingerprint(book))
