"""Lots, runs and batches whose names hold the signs that people put between names ("A, B", "X / Y"): from the file to
the dossier the same house as under plain names."""

import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from textwrap import dedent

import pytest
from click.testing import CliRunner
from small_house import FILES, HOUSE, MAPS, write_house

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.cli import main
from gaugebook.reports.dossier.amendments import Marks, amended_values
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier_data import dossier_data
from gaugebook.reports.page.language import language
from gaugebook.reports.proof.verification import verify_book
from gaugebook.reports.trends.trends_gather import gather_trends

NAMES = {
    "MALT-1": "MALT A, B / 1", "MSH-1": "MSH / 1", "WORT-1": "WORT, 1", "FER-1": "FER / 1, a", "WASH-1": "WASH / 1",
    "STR-1": "STR / 1", "SPIRIT-1": "SPIRIT / 1, b", "RED-1": "RED, 1", "RED-L1": "RED / L1", "RYE-1": "RYE / 1, c",
    "L3": "L / 3", "L4": "L, 4",
}  # fmt: skip
BATCH = NAMES["RYE-1"]
PLAIN = {name: plain for plain, name in NAMES.items()}
COMPARED = (
    "derived.gauges", "derived.lots", "derived.lineage", "derived.run_balances", "derived.ferment_yields",
    "derived.recipe_bill", "derived.bottlings", "derived.batch_yields", "typed.laboratory",
)  # fmt: skip
INGREDIENT = '[[recipes.ingredients]]\nmaterial = "rye malt"\nshare = 1.0\n'
AMENDED = (  # place, field, value: of each file a record whose key holds such a name
    ("intake.csv:2", "extract_pct", "79"), ("moves.csv:2", "mass_kg", "201"),
    ("moves.csv:9", "strength_reading", "79.5"), ("lab.csv:6", "value", "6"),
)  # fmt: skip


def renamed(text: str, names: dict[str, str]) -> str:
    """A file of the house with other names in its cells."""
    separator = ";" if ";" in text else ","
    out = io.StringIO()
    rows = csv.reader(io.StringIO(dedent(text).strip()), delimiter=separator)
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(
        [names.get(cell, cell) for cell in row] for row in rows
    )
    return out.getvalue()


def run(folder: Path, *words: str) -> str:
    """What a command prints; its status says at most that something needs attention."""
    result = CliRunner().invoke(main, ["--book", str(folder / "book"), *words], catch_exceptions=False)
    assert result.exit_code in (0, 1), result.output
    return result.output


def went_through(folder: Path, names: dict[str, str]) -> Path:
    """A book received, checked, amended and checked once more."""
    files = {name: renamed(text, names) for name, text in FILES.items() if name != "S1_0112.csv"}
    write_house(folder / "site", files)
    profile = folder / "site" / "house.toml"
    profile.write_text(
        HOUSE.replace("fermentability = 0.85\n", f"fermentability = 0.85\n{INGREDIENT}"), encoding="utf-8"
    )
    run(folder, "receive", str(folder / "site"))
    run(folder, "check")
    for place, field, value in AMENDED:
        run(folder, "amend", place, field, value, "--by", "AB", "--reason", "misread")
    run(folder, "check")
    return folder


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The house as it is."""
    return went_through(tmp_path_factory.mktemp("plain"), {})


@pytest.fixture(scope="module")
def signs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The house with signs in its names."""
    return went_through(tmp_path_factory.mktemp("signs"), NAMES)


def under_plain_names(value: object) -> object:
    if isinstance(value, list):
        return sorted(map(str, map(under_plain_names, value)))
    if isinstance(value, float):  # sums go by the order of names: their last digit may differ
        return float(f"{value:.10g}")
    return PLAIN.get(value, value) if isinstance(value, str) else value


def rows_of(book: Book, table: str) -> list[str]:
    columns = "* EXCLUDE (gauge)" if table == "derived.gauges" else "*"  # gauges are numbered in the order of names
    rows = book.frame(f"SELECT {columns} FROM {table}").to_dicts()
    return sorted(str({name: under_plain_names(value) for name, value in row.items()}) for row in rows)


@pytest.mark.parametrize("table", COMPARED)
def test_what_is_derived_is_the_same(plain, signs, table):
    """Every row of these tables, with names and amended values, but for the names themselves."""
    with open_book(plain / "book") as first, open_book(signs / "book") as other:
        rows = rows_of(first, table)
        assert rows
        assert rows_of(other, table) == rows


def test_the_same_flags_are_raised_and_amended_away(plain, signs):
    """Rule, answer and value of every flag, where its record stands, and what became of those that are gone."""
    flags = "SELECT rule, answer, severity, value, line FROM flagged.flags ORDER BY ALL"
    events = "SELECT rule, happened, reason FROM history.flag_events ORDER BY ALL"
    with open_book(plain / "book") as first, open_book(signs / "book") as other:
        assert other.frame(flags).rows() == first.frame(flags).rows() != []
        assert other.frame(events).rows() == first.frame(events).rows()


def test_an_amendment_finds_its_record_in_a_file_that_is_read_again(signs):
    """The map was touched: the file is read anew, each amendment is in force again, and the register holds."""
    path = signs / "site" / "maps" / "moves.toml"
    path.write_text(MAPS["moves"] + "\n# mended\n", encoding="utf-8")

    printed = run(signs, "receive", "--again")

    assert "finds its record no more" not in printed
    with open_book(signs / "book") as book:
        values = book.frame("SELECT mass_kg, strength_reading FROM typed.movements WHERE line IN (2, 9) ORDER BY line")
        assert values.rows() == [(201.0, None), (None, 79.5)]
        assert verify_book(book).faults == ()


def test_the_dossier_names_the_amended_records_by_their_fields(signs, tmp_path):
    """Each amended value with its key, and the sign at what rests on the malt's lot; the document is written."""
    run(signs, "check")
    assert Path(run(signs, "dossier", BATCH, "--out", str(tmp_path)).strip()).is_file()
    with open_book(signs / "book") as book:
        batch = gather_batch(book, profile_in_force(book), BATCH)
    keys = {(item.kind, item.field): item.record_key for item in batch.amendments}
    assert keys["intake", "extract_pct"] == {"lot": "MALT A, B / 1"}
    assert keys["movements", "strength_reading"] == {
        "run": "STR / 1", "direction": "out", "lot": "SPIRIT / 1, b", "part": "hearts", "vessel": "T1",
        "gauged_at": None,
    }  # fmt: skip
    values = {item.field: (item.record, item.first, item.now) for item in amended_values(batch, language("en"))}
    assert values["strength_reading"] == ("STR / 1 / out / SPIRIT / 1, b / hearts / T1", "80.0", "79.5")
    assert [item["record_key"] for item in dossier_data(batch)["amendments"]] == [*keys.values()]
    (ferment,) = [item for stage in batch.stages for item in stage.ferments.values()]
    assert ferment.malt_lots == ("MALT A, B / 1",)
    only_malt = tuple(item for item in batch.amendments if item.kind == "intake")
    assert Marks(replace(batch, amendments=only_malt)).ferment(ferment)


def test_a_lot_is_traced_under_such_a_name(signs):
    """Forward from the malt to the bottles, and back from the batch to the malt."""
    forward = json.loads(run(signs, "trace", NAMES["MALT-1"], "--json"))
    assert BATCH in json.dumps(forward, ensure_ascii=False)
    assert NAMES["SPIRIT-1"] in run(signs, "trace", NAMES["SPIRIT-1"])


def test_trends_keep_the_lot_whole(signs):
    """The yield's point names one lot of malt."""
    with open_book(signs / "book") as book:
        trends = gather_trends(book, profile_in_force(book))
    points = [point for chart in trends.charts if chart.measure.code == "yield_l_per_t" for point in chart.points]
    assert [point.malt_lots for point in points] == [("MALT A, B / 1",)]


def test_two_records_whose_keys_read_alike(received, tmp_path):
    """Lot "Y / grain" in vessel V and lot "Y" in vessel "grain / V" give one text and two keys: each amendment finds
    its own record again."""
    head = FILES["moves.csv"].strip().splitlines()[0].strip()
    site = tmp_path / "site"
    received({"moves2.csv": f"{head}\nX,in,Y / grain,grain,V,,,,,,5\nX,in,Y,grain,grain / V,,,,,,6\n"})
    for line, mass in ((2, "5.5"), (3, "6.5")):
        run(tmp_path, "amend", f"moves2.csv:{line}", "mass_kg", mass, "--by", "AB", "--reason", "misread")
    (site / "maps" / "moves.toml").write_text(MAPS["moves"] + "\n# mended\n", encoding="utf-8")

    run(tmp_path, "receive", "--again", "--house", str(site / "house.toml"))

    with open_book(tmp_path / "book") as book:
        shown = book.frame("SELECT record FROM typed.amendments")["record"]
        masses = book.frame("SELECT lot, mass_kg FROM typed.movements WHERE run = 'X' ORDER BY lot").rows()
    assert shown.n_unique() == 1
    assert masses == [("Y", 6.5), ("Y / grain", 5.5)]
