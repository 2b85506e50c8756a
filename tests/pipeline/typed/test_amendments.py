"""Amendments: one value changed with person, reason and time; the first stays readable."""

from dataclasses import replace
from datetime import datetime

import pytest
import xlsxwriter
from click.testing import CliRunner
from small_house import MAPS, keep_fills_in_a_workbook, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.commands.amend_command import amend_command
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.intake.flow import receive, receive_again
from gaugebook.pipeline.typed.amendments import AmendmentRefused, Target, amend

AT = datetime(2026, 2, 1, 12)
SPIRIT = Target("moves.csv", None, 9)


def _amend(folder, target, field, text, reason="misread"):
    with open_book(folder, writing=True) as book, book.transaction():
        return amend(book, target, field, text, "AB", reason, AT, "UTC")


def test_a_value_is_changed_and_the_first_stays_readable(received, tmp_path):
    """The record holds the new value; the amendment holds both, with person, reason and time."""
    received()

    done = _amend(tmp_path / "book", SPIRIT, "strength_reading", "79.5")

    assert (done.old_value, done.new_value) == ("80.0", "79.5")
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT strength_reading FROM typed.movements WHERE line = 9") == 79.5
        row = book.frame("SELECT old_value, person, reason, amended_at FROM typed.amendments").row(0)
    assert row == ("80.0", "AB", "misread", AT)


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("strength_reading", "eighty", "is no number"),
        ("strength_reading", "180", "expected alcoholmeter and % vol 0 to 100"),
        ("volume_at_t_l", "-1", "expected 0 to 1e"),
        ("part", "porridge", "expected one of grain"),
        ("lot", "", "cannot be blank"),
        ("colour", "red", 'no field "colour"'),
        ("strength_reading", "80", "already"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_changes(received, tmp_path, field, text, words):
    """An impossible amendment is one sentence, and neither record nor amendment is written."""
    received()

    with pytest.raises(AmendmentRefused, match=words):
        _amend(tmp_path / "book", SPIRIT, field, text)

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM typed.amendments") == 0
        assert book.value("SELECT strength_reading FROM typed.movements WHERE line = 9") == 80


def test_a_place_without_a_record(received, tmp_path):
    """A line that gave no record is named."""
    received()

    with pytest.raises(UnknownRecord, match=r"moves.csv:99"):
        _amend(tmp_path / "book", Target("moves.csv", None, 99), "lot", "X")


def test_an_amendment_outlives_a_new_reading_of_its_file(received, tmp_path):
    """Read anew under a mended map, the record is amended again."""
    received()
    _amend(tmp_path / "book", SPIRIT, "strength_reading", "79.5")
    (tmp_path / "site" / "maps" / "moves.toml").write_text(MAPS["moves"] + "\n# mended\n", encoding="utf-8")

    outcomes = receive_again(tmp_path / "book", None)

    assert [outcome.path.name for outcome in outcomes] == ["moves.csv"]
    with open_book(tmp_path / "book") as book:
        assert (
            book.value("SELECT strength_reading FROM typed.movements WHERE lot = 'SPIRIT-1' AND direction = 'out'")
            == 79.5
        )


def test_amendments_of_the_key_and_after_it_outlive_a_new_reading(received, tmp_path):
    """A record whose lot was amended, and then its strength, is found again by both."""
    received()
    _amend(tmp_path / "book", Target("moves.csv", None, 9), "lot", "SPIRIT-X", "wrong label")
    _amend(tmp_path / "book", Target("moves.csv", None, 9), "strength_reading", "79.5")
    (tmp_path / "site" / "maps" / "moves.toml").write_text(MAPS["moves"] + "\n# mended\n", encoding="utf-8")

    (outcome,) = receive_again(tmp_path / "book", None)

    assert outcome.reason == ""
    with open_book(tmp_path / "book") as book:
        row = book.frame("SELECT lot, strength_reading FROM typed.movements WHERE line = 9").row(0)
    assert row == ("SPIRIT-X", 79.5)


def test_an_amendment_that_finds_its_record_no_more_is_told(received, tmp_path):
    """Read anew under other keys, the file's outcome says which amendment is not in force."""
    received()
    _amend(tmp_path / "book", SPIRIT, "strength_reading", "79.5")
    mended = MAPS["moves"].replace('lot = "lot"', 'lot = { column = "lot", also = "run" }')
    (tmp_path / "site" / "maps" / "moves.toml").write_text(mended, encoding="utf-8")

    (outcome,) = receive_again(tmp_path / "book", None)

    assert "amendment 1 finds its record no more" in outcome.reason
    assert outcome.lost_amendments == (1,)
    for words in ("", outcome.reason):  # what a person reads of it decides nothing
        assert replace(outcome, reason=words).needs_attention
        assert not replace(outcome, reason=words, lost_amendments=()).needs_attention


def test_a_place_in_a_workbook_is_taken_as_it_is_printed(tmp_path):
    """File, sheet and line, in one word, as refusals, flags and dossiers print them."""
    write_house(tmp_path / "site")
    keep_fills_in_a_workbook(tmp_path / "site", "Net contents")
    (tmp_path / "site" / "fills.csv").unlink()
    with xlsxwriter.Workbook(tmp_path / "site" / "fills.xlsx") as workbook:
        sheet = workbook.add_worksheet("Net contents")
        for number, row in enumerate((["lot", "no", "ml"], ["RYE-1", 1, 500])):
            sheet.write_row(number, 0, row)
    receive(tmp_path / "book", [tmp_path / "site"], None)

    place = "fills.xlsx, sheet Net contents:2"
    words = [place, "net_content_ml", "501", "--by", "AB", "--reason", "misread"]
    result = CliRunner().invoke(amend_command, words, obj=tmp_path / "book", catch_exceptions=False)

    assert "net_content_ml: 500.0 is now 501.0" in result.output
