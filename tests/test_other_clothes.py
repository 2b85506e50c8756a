"""One house in other clothes: told once more in other units, zones, files and words, it gets the same answers.

The other house is written by `tests/support/other_clothes`, with conversions of its own: US proof, wine gallons and
pounds, °F and K, inches of mercury, clocks of seven zones, decimal commas and points between thousands, UTF-16 and code
page 1252, workbooks for text files and text files for workbooks, rows shuffled and dealt out to other files, words in
German.
"""

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from compared_books import Difference, Row, differences, tables_of
from compared_values import is_close, unlike
from other_clothes import units, write_other_house
from other_clothes.words import ENGLISH
from r22_formula import density, solve, strength

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.intake.flow import FileOutcome, profile_in_force, receive
from gaugebook.reports.accounts.account import gather_account
from gaugebook.reports.accounts.lot_trace import gather_trace
from gaugebook.reports.cli import main
from gaugebook.reports.trends.trends_gather import gather_trends

SAMPLE_LOGS = Path(__file__).parents[1] / "sample_logs"

WORDS = dict(sorted(ENGLISH.items(), key=lambda pair: -len(pair[0])))

# Leaves of reports that differ by right.
NOT_COMPARED = {
    ".house.": "the profiles, which have other units and names",
    ".register_head": "a hash over all that was received",
}

# Cells that may differ by more than the rounding of the telling, by how much, and why.
LOOSER = {
    # A mean over the rows that a limit chooses: a rounding can let one row of some hundred in or out. Of 0.4 K.
    ("derived.run_curves", "vapour_residual_c"): 0.005,
    ("derived.run_curves", "u_vapour_residual_c"): 0.0005,
}

# Tables that say which files, code or profile a book was made from; what they say of the house is compared elsewhere.
ABOUT_FILES = {
    "derived.kept_curves": "curves as text under a hash of the files; their figures stand in curve_* tables",
    "derived.build_state": "hash of files and code",
    "flagged.checked_from": "hash of files, rule book and code",
    "typed.log_files": "names of Parquet files",
    "typed.log_blocks": "blocks by file; the other house cuts its files elsewhere",
    "typed.log_rows": "compared in test_logs_are_the_same_values",
    "typed.readings": "compared in test_logs_are_the_same_values",
    "typed.refused": "compared in test_as_many_rows_are_kept_and_refused",
    "typed.row_counts": "compared in test_as_many_rows_are_kept_and_refused",
    "derived.house_products": "names of products, which the other house has in German",
    "flagged.batch_flags": "by the short names of flags; compared in test_the_same_flags_stand_before_each_batch",
}


@pytest.fixture(scope="module")
def other_outcomes(tmp_path_factory) -> tuple[Path, list[FileOutcome]]:
    """Folder of the other house's book, received and checked, and what became of each file."""
    folder = tmp_path_factory.mktemp("other")
    files = write_other_house(SAMPLE_LOGS, folder)
    outcomes = receive(folder / "book", [files], folder / "house.toml")
    with open_book(folder / "book", writing=True) as opened:
        run_checks(opened)
    return folder / "book", outcomes


@pytest.fixture(scope="module")
def books(sample_book, other_outcomes) -> Iterator[tuple[Book, Book]]:
    """The sample's book and the other one."""
    with open_book(sample_book) as first, open_book(other_outcomes[0]) as second:
        yield first, second


def in_english(text: str) -> str:
    """A text of the other house with the sample's names of materials and recipes."""
    for german, english in WORDS.items():
        text = text.replace(german, english)
    return text


def agree(table: str, column: str, first: Row, second: Row) -> bool:
    """Whether one cell agrees."""
    here, there = first[column], second[column]
    if is_close(here, there):
        return True
    slack = LOOSER.get((table, column))
    return slack is not None and None not in (here, there) and abs(here - there) <= slack


def unlike_records(first: object, second: object) -> list[str]:
    """Leaves in which records of the two houses differ, but for those that do by right."""
    return [place for place in unlike(first, second, in_english) if not place.startswith(tuple(NOT_COMPARED))][:40]


def shown(found: list[Difference]) -> str:
    """Some differences of each column, and how many there are."""
    by_column: dict[tuple[str, str], list[Difference]] = {}
    for item in found:
        by_column.setdefault((item.table, item.column), []).append(item)
    return "\n".join(
        f"{len(items)} x {table}.{column}, such as {str(items[0])[:600]}"
        for (table, column), items in by_column.items()
    )


def as_proof(row: Row) -> Row:
    """A strength of the laboratory that a sheet has in % vol, as the other house's sheet has it: in US proof."""
    if row.get("reading_kind") == "pct_vol_20c":
        row = row | {"reading_kind": "us_proof_60f", "strength_reading": units.proof(row["strength_reading"])}
    if row.get("strength_from") == "pct_vol_20c":
        row = row | {"strength_from": "us_proof_60f"}
    return row


def compared(books: tuple[Book, Book], *schemas: str) -> list[Difference]:
    """Differences in all tables of some schemas, but for those about files."""
    tables = [table for table in tables_of(books[0], *schemas) if table not in ABOUT_FILES]
    assert tables == [table for table in tables_of(books[1], *schemas) if table not in ABOUT_FILES]
    return differences(*books, tables, agree, WORDS, as_proof)


def test_proof_is_told_as_the_regulation_has_it():
    """These tests' own conversions: 27 CFR 30.64 has 81,000 lb of 190 proof as 11,921.6 wine gallons.

    In 81,000 lb, weighed in air of 1.2 kg/m3 against 8000 kg/m3 (OIML R 22, Table XII); the regulation rounds the
    weight of a gallon to five figures. 80 proof is 40.069 % vol at 20 °C: 27 CFR 30 by the same density.
    """
    p = solve(lambda p: units.proof(strength(p)) - 190.0)
    in_air = density(p, 140.0 / 9.0) - 1.2
    litres = 1000.0 * 81_000 * units.KG_A_POUND * (1 - 1.2 / 8000.0) / in_air
    assert units.gallons(litres) == pytest.approx(11_921.6, rel=1e-4)
    assert units.proof(40.069) == pytest.approx(80.0, abs=0.002)
    assert units.number(units.gallons)("3.785411784") == "1,00000000"
    assert units.number(units.fahrenheit, ",", ".")("537.8") == "1.000,04000000"
    assert units.number(units.by(10.0))("<0.05") == "<0,50000000"
    assert units.number(units.fahrenheit)("n/a") == "n/a"


def test_every_file_is_taken(other_outcomes):
    """No file of the other house is refused."""
    assert [(item.path.name, item.reason) for item in other_outcomes[1] if item.outcome != "received"] == []


def test_as_many_rows_are_kept_and_refused(books):
    """Of each kind as many rows are kept and refused, for the same faults; the sheet of gauges is read twice."""
    counts = "SELECT kind, sum(kept), sum(held), sum(refused) FROM typed.row_counts GROUP BY kind ORDER BY kind"
    faults = "SELECT code, count(*) FROM typed.refused GROUP BY code ORDER BY code"

    assert books[0].frame(counts).rows() == books[1].frame(counts).rows()
    assert books[0].frame(faults).rows() == books[1].frame(faults).rows()


def test_logs_are_the_same_values(books):
    """Each value of each still's log stands at the same moment in both books."""
    count = "SELECT equipment, tag, count(*), count(DISTINCT read_at) FROM typed.readings GROUP BY ALL ORDER BY ALL"
    values = "SELECT equipment, tag, read_at, value FROM typed.readings ORDER BY ALL"
    first, second = (book.frame(values) for book in books)

    assert books[0].frame(count).rows() == books[1].frame(count).rows()
    assert first.select("equipment", "tag", "read_at").equals(second.select("equipment", "tag", "read_at"))
    assert (first["value"] - second["value"]).abs().max() < 1e-5


def test_records_are_the_same(books):
    """Every typed record: one meaning a column, whatever unit it was told in."""
    found = compared(books, "typed")

    assert found == [], shown(found)


def test_quantities_are_the_same(books):
    """Litres, yields, losses, cuts, verdicts, genealogy and ledger, each with its uncertainty."""
    found = compared(books, "derived")

    assert found == [], shown(found)


def test_flags_and_standings_are_the_same(books):
    """Flags with value, limits and sentence, what each rule looked at, and the standings of the batches."""
    found = compared(books, "flagged")

    assert found == [], shown(found)


def test_the_same_flags_stand_before_each_batch(books):
    """Each batch is held by the same flags, named by rule and record."""
    held_by = (
        "SELECT batch_flags.batch, rule, record FROM flagged.batch_flags JOIN flagged.flags USING (flag) ORDER BY ALL"
    )
    first, second = (book.frame(held_by).rows() for book in books)

    assert set(first) == {(batch, rule, in_english(record)) for batch, rule, record in second}


@pytest.mark.parametrize("month", [date(2025, 10, 1), date(2026, 5, 1), date(2026, 10, 1)])
def test_accounts_are_the_same(books, month):
    """The account of a month, line by line."""
    first, second = (gather_account(book, profile_in_force(book), month) for book in books)

    assert unlike_records(first, second) == []


@pytest.mark.parametrize("lot", ["GIN-2605A", "NS-2602-02", "RYE-2601A", "QUI-2601A"])
def test_traces_are_the_same(books, lot):
    """Back to the grain, forward to the bottles, and the mock recall."""
    first, second = (gather_trace(book, profile_in_force(book), lot) for book in books)

    assert unlike_records(first, second) == []


def test_trends_are_the_same(books):
    """Every chart, limit, change and sentence of the trends."""
    first, second = (gather_trends(book, profile_in_force(book)) for book in books)

    assert unlike_records(first, second) == []


@pytest.mark.parametrize("run", ["STR-2603-07", "REC-2607-01", "BOT-2606-04", "STR-2604-06"])
def test_run_reports_are_the_same(sample_book, other_outcomes, run):
    """What `gaugebook run` says of a still run: cuts, alcohol, findings, and the lines of its figure."""
    first, second = (
        json.loads(CliRunner().invoke(main, ["--book", str(folder), "run", run, "--json"]).stdout)
        for folder in (sample_book, other_outcomes[0])
    )

    assert unlike_records(first, second) == []
