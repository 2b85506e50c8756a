"""What is dissolved in each lot, or may be."""

from pathlib import Path

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.derived.true_strength import NEGLIGIBLE_EXTRACT_G_L

HERE = Path(__file__).parent


def extracts(book: Book) -> None:
    """Make derived.extracts from the laboratory's results and from what runs drew and made."""
    book.execute((HERE / "extracts.sql").read_text(encoding="utf-8"), {"negligible": NEGLIGIBLE_EXTRACT_G_L})


EXTRACTS = Derivation(
    lambda book, _: extracts(book),
    made_from=(
        "typed.intake", "derived.cask_events", "derived.movements", "typed.opening_stock", "derived.runs",
        "derived.dips", "derived.house_vessels", "derived.laboratory",
    ),
    makes=("derived.extracts",),
)  # fmt: skip
