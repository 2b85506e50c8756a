"""Amended values in the dossier: each stands in the table, and each figure that rests on one carries the sign."""

from datetime import datetime
from pathlib import Path

import pytest

from gaugebook import checks
from gaugebook.checks.flags.freshness import note_checked
from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.derived.rebuild import rebuild
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.pipeline.typed.amendments import Target, amend
from gaugebook.reports.dossier.amendments import Marks, amended_values
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier import dossier_html
from gaugebook.reports.dossier.records import Batch
from gaugebook.reports.page.language import language

AT = datetime(2026, 2, 1, 12)
CHANGES = (
    (Target("moves.csv", None, 9), "strength_reading", "79.5", "misread by half a degree"),  # hearts of STR-1
    (Target("moves.csv", None, 9), "strength_reading", "79.0", "read once more"),
    (Target("lab.csv", None, 6), "value", "6", "limit of the other column"),  # methanol of the bottled liquid
    (Target("runs.csv", None, 4), "started_at", "2026-01-12 10:30", "clock of the sheet"),  # STR-1
)


def gathered(book: Book, changes: tuple = ()) -> Batch:
    """The one batch of the small house after these changes, with no rule applied."""
    house = profile_in_force(book)
    for file in ("schema.sql", "history.sql"):
        book.run_file(Path(checks.__file__).parent / file)
    with book.transaction():
        for target, field, value, reason in changes:
            amend(book, target, field, value, "AB", reason, AT, house.time_zone)
        rebuild(book, house)
        note_checked(book, (), AT)
    return gather_batch(book, house, "RYE-1")


@pytest.fixture
def batch(received, tmp_path: Path) -> Batch:
    """The one batch of the small house, after three of its values were amended, one of them twice."""
    received()
    with open_book(tmp_path / "book", writing=True) as book:
        return gathered(book, CHANGES)


def test_the_table_holds_first_value_and_value_now(batch):
    """One line a value, however often it was amended; times stand in the house's zone."""
    told = [(item.field, item.first, item.now, len(item.changes)) for item in amended_values(batch, language("en"))]
    assert told == [
        ("strength_reading", "80.0", "79.0", 2),
        ("value", "5.0", "6.0", 1),
        ("started_at", "2026-01-12 10:00", "2026-01-12 10:30", 1),
    ]


def test_figures_that_rest_on_an_amended_value_carry_the_sign(batch):
    """The reading, what is computed from it, the balance of its run and the later draw of the lot; nothing else."""
    marks = Marks(batch)
    gauges = {(g.run, g.direction, g.lot): g for stage in batch.stages for g in stage.gauges}
    hearts, heads = gauges["STR-1", "out", "SPIRIT-1"], gauges["STR-1", "out", "HEADS-1"]
    assert [marks.gauge(hearts, figure) for figure in ("reading", "strength", "amount")] == [True] * 3
    assert [marks.gauge(heads, figure) for figure in ("reading", "strength", "amount")] == [False] * 3
    balances = {code: item for stage in batch.stages for code, item in stage.balances.items()}
    assert {code for code, item in balances.items() if marks.balance(item)} == {"STR-1"}
    assert {run.run for stage in batch.stages for run in stage.runs if marks.run(run.run)} == {"STR-1"}
    assert {result.analyte for result in batch.results if marks.result(result)} == {"methanol"}
    assert not marks.strength
    assert marks.grain_to_bottle


def test_a_laboratory_strength_reaches_what_it_stands_for(received, tmp_path):
    """An amended density of the bottled liquid marks its strength, the bottled alcohol and the unread draw."""
    received()
    with open_book(tmp_path / "book", writing=True) as book:
        batch = gathered(book, ((Target("lab.csv", None, 4), "value", "948.06", "typed wrongly"),))
    marks = Marks(batch)
    gauges = [gauge for stage in batch.stages for gauge in stage.gauges if gauge.run == "BOT-1"]
    assert marks.strength
    assert all(marks.gauge(gauge, "amount") for gauge in gauges)
    assert not any(marks.gauge(gauge, "reading") for gauge in gauges)


def test_the_page_says_it_in_words(batch):
    """The sign has a title, the table names person, reason and time, and the first page points to it."""
    page = dossier_html(batch)
    assert page.count("<title>amended</title>") > 8
    for words in ("3 values of record", "misread by half a degree", "read once more", "AB, 2026-02-01 13:00", "80.0"):
        assert words in page


def test_a_value_amended_away_from_the_batch_is_told(received, tmp_path):
    """A result moved to another lot is gone from the batch, so the table says so."""
    received()
    with open_book(tmp_path / "book", writing=True) as book:
        batch = gathered(book, ((Target("lab.csv", None, 6), "lot", "OTHER-1", "label mixed up"),))
    assert [(item.field, item.first, item.now) for item in amended_values(batch, language("en"))] == [
        ("lot", "RED-L1", "OTHER-1")
    ]


def test_without_amendments_there_is_no_sign(received, tmp_path):
    """A batch whose records stand as received says so and carries no sign."""
    received()
    with open_book(tmp_path / "book", writing=True) as book:
        page = dossier_html(gathered(book))
    assert "<title>amended</title>" not in page
    assert "No value of the records behind this batch was amended" in page
