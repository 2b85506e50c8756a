"""Record kinds: each is a record and its table, which say the same, and nothing else asks for one by its name."""

import ast
import re
from pathlib import Path

import polars as pl
import pytest
from one_row import typed, written
from record_tables import PLACE, columns_of, table_of

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.typed import kinds
from gaugebook.pipeline.typed.kinds import IN_TABLES, RECORDS
from gaugebook.pipeline.typed.log_store import FOLDER, SCHEMA, show_readings
from gaugebook.pipeline.typed.parse_errors import FAULT_SCHEMA
from gaugebook.pipeline.typed.quantities import Quantity
from gaugebook.pipeline.typed.record import Field, Record
from gaugebook.pipeline.typed.recording import StagedSection

TYPED = Path(kinds.__file__).parent
ENGINE = ("typed", "intake", "received", "landed")  # folders of the pipeline that take in records of whatever kind


@pytest.fixture(scope="module")
def typed_book(tmp_path_factory: pytest.TempPathFactory):
    """A book with the typed tables alone."""
    with open_book(tmp_path_factory.mktemp("typed"), writing=True) as opened:
        opened.run_file(TYPED / "schema.sql")
        show_readings(opened)
        yield opened


@pytest.mark.parametrize("record", IN_TABLES, ids=lambda record: record.kind)
def test_the_table_of_a_record_has_its_fields(typed_book, record):
    """The same names with the same types, NOT NULL where a field is required; and whence the row was read."""
    assert columns_of(typed_book, record.table) == table_of(record)


def test_the_log_store_has_a_column_of_each_tag():
    """A log's records stand one row an instant: the fields but tag and value, each tag, and whence the row was read."""
    (log,) = (record for record in RECORDS.values() if record.is_log)
    spread = str(log.spread_over)
    common = {item.name for item in log.fields} - {spread, "value"}

    assert set(SCHEMA) == common | set(log.field(spread).choices) | set(PLACE)


def test_a_view_shows_the_log_one_value_a_row(typed_book):
    """The view has the fields of the record, so that SQL finds a log as it finds any other kind."""
    (log,) = (record for record in RECORDS.values() if record.is_log)

    assert set(columns_of(typed_book, log.table)) == {item.name for item in log.fields} | set(PLACE)


def test_every_table_of_records_is_of_a_kind():
    """A table with a source and a line that no record fills would be filled by nothing."""
    schema = (TYPED / "schema.sql").read_text(encoding="utf-8")
    own = {"refused", "row_counts", "amendments", "log_files", "log_blocks"}

    tables = set(re.findall(r"CREATE TABLE IF NOT EXISTS typed\.(\w+)", schema))
    assert tables == {record.kind for record in IN_TABLES} | own


@pytest.mark.parametrize("folder", ENGINE)
def test_no_module_asks_for_a_kind_by_its_name(folder):
    """A record's name stands in its own module alone; what differs between kinds the record says itself."""
    named = []
    for path in sorted((TYPED.parent / folder).glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        own = {
            keyword.value.value
            for node in ast.walk(tree)
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Record"
            for keyword in node.keywords
            if keyword.arg == "kind"
        }
        words = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and node.value in RECORDS]
        named += [f"{path.name}:{node.lineno} {node.value}" for node in words if node.value not in own]

    assert [name for name in named if name.split()[1] != FOLDER or not name.startswith("log_store.py")] == []


def of_colour(colour: str | None, given: str | None) -> Quantity:
    """Amounts by colour: of black ones in litres, of others plain."""
    return Quantity("L", (0.0, 10.0), ("L", "mL")) if colour == "black" else Quantity(None, None, ())


MADE_UP = Record(
    kind="made_up",
    fields=(
        Field("vessel", "text", required=True),
        Field("colour", "choice", required=True, choices=("black", "red")),
        Field("value", "number", required=True, goes_by="colour", of_word=of_colour, below_field="is_less"),
    ),
    key=("vessel", "colour"),
    spread_over="colour",
)


@pytest.fixture
def made_up(monkeypatch):
    """A kind that no module knows."""
    monkeypatch.setitem(RECORDS, MADE_UP.kind, MADE_UP)


def test_a_new_kind_is_wide_and_below_a_limit_by_what_it_says(made_up, tmp_path):
    """1200 mL are 1.2 L and less than that; red ones are plain; the wide columns are spread over the colour."""
    section = {"columns": {"vessel": "v"}, "wide": {"black": {"column": "b", "unit": "mL"}, "red": "r"}}

    found = typed(*written(tmp_path, "made_up", section, {"v": "T1", "b": "<1200", "r": "7"}))

    assert found.refused.is_empty()
    assert found.kept.select("vessel", "colour", "value", "is_less").rows() == [
        ("T1", "black", 1.2, True),
        ("T1", "red", 7.0, False),
    ]


def test_a_new_kind_says_which_units_and_words_fit(made_up, tmp_path):
    """Its own quantity refuses a unit at load and an impossible number in the row; its own words name wide columns."""
    row = {"v": "T1", "b": "12000"}
    too_much = typed(*written(tmp_path, "made_up", _of("black", "mL"), row)).refused
    assert too_much["expected"].to_list() == ["0 to 10 L (0 to 10000 mL)"]
    with pytest.raises(SettingsError, match='the unit "kg" does not measure it; expected one of L, mL'):
        written(tmp_path, "made_up", _of("black", "kg"), row)
    with pytest.raises(SettingsError, match='"green" is no colour; known: black, red'):
        written(tmp_path, "made_up", _of("green", "mL"), row)


def _of(colour: str, unit: str) -> dict:
    return {"columns": {"vessel": "v"}, "wide": {colour: {"column": "b", "unit": unit}}}


def test_a_kind_that_is_not_spread_has_no_wide_columns(tmp_path):
    """The refusal names the kinds that are."""
    section = {"columns": {"lot": "v"}, "wide": {"black": "b"}}

    with pytest.raises(SettingsError, match=r"records of fills: wide is for readings and laboratory only"):
        written(tmp_path, "fills", section, {"v": "T1", "b": "1"})


def test_the_records_own_check_against_the_book_is_asked(typed_book, monkeypatch):
    """What may not stand with the other records is refused with the check's own fault, and holds nothing."""

    def none_of_red(book: Book, new: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        red = new.filter(pl.col("colour") == "red")
        told = {"code": "red", "column_name": "colour", "value": "red", "expected": "no red", "to_do": "none"}
        faults = red.select("line", **{name: pl.lit(text) for name, text in told.items()}).with_columns(
            pl.lit("raw").alias("raw")
        )
        return new.filter(pl.col("colour") != "red"), faults.select(*FAULT_SCHEMA, "raw")

    record = Record("made_up", MADE_UP.fields, MADE_UP.key, spread_over="colour", stands_with=none_of_red)
    typed_book.execute("CREATE OR REPLACE TABLE typed.made_up (vessel VARCHAR, colour VARCHAR, value DOUBLE, "
                       "is_less BOOLEAN, source_id INTEGER, line INTEGER)")  # fmt: skip
    kept = pl.DataFrame(
        {"line": [2, 3], "vessel": ["T1", "T1"], "colour": ["black", "red"], "value": [1.0, 2.0],
         "is_less": [False, False]},
        schema_overrides={"line": pl.Int32},
    )  # fmt: skip

    before = typed_book.frame("FROM typed.made_up")
    new, held, faults = StagedSection(record, 1, 1)._judged(typed_book, kept, record.table, before)

    assert (new["colour"].to_list(), held) == (["black"], 0)
    assert pl.concat(faults, how="diagonal")["code"].to_list() == ["red"]
