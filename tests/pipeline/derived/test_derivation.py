"""What each derived table is made from is declared at the table, the declaration is true, and the order follows."""

import re

import pytest
from table_names import WatchedBook, read_and_filled

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.derivation import Derivation, DerivationError, from_sql, in_order, lineage_lines
from gaugebook.pipeline.derived.rebuild import COMPUTED, HERE, IN_ORDER, SCHEMAS, SETS, VIEWS
from gaugebook.pipeline.house.profile_in_force import profile_in_force

DECLARED = [path for path in sorted(HERE.rglob("*.sql")) if from_sql(path)]


@pytest.mark.parametrize("path", DECLARED, ids=lambda path: path.stem)
def test_a_sql_file_reads_and_fills_what_its_first_lines_say(path):
    """The names in the text are those declared, no more and no fewer."""
    read, filled = read_and_filled(path.read_text(encoding="utf-8"))
    step = from_sql(path)

    assert set(step.makes) == filled
    assert set(step.made_from) == read - filled


def test_every_sql_file_that_fills_a_table_declares_it():
    """A file that fills a derived table is a step of its own, or is given to the book by a module that is one."""
    given_by_modules = {"extracts"}  # with a parameter
    filling = {
        path.stem
        for path in HERE.rglob("*.sql")
        if path.name != "schema.sql" and read_and_filled(path.read_text(encoding="utf-8"))[1]
    }

    assert filling == {path.stem for path in DECLARED} | given_by_modules


def test_each_step_reads_and_fills_what_it_declares(received, tmp_path):
    """Watched while the tables of the small house are made anew: no input is left out and none is there for show.

    Tables that a step fills it may read as well: the curves that are kept from before.
    """
    received()

    with open_book(tmp_path / "book", writing=True) as book:
        house = profile_in_force(book)
        for schema in SCHEMAS:
            book.run_file(schema)
        for step in IN_ORDER:
            watched = WatchedBook(book)
            step.make(watched, house)
            if step not in VIEWS:
                assert watched.read - set(step.makes) == set(step.made_from), step.makes
            assert watched.filled <= set(step.makes), step.makes


def test_each_view_shows_what_it_declares():
    """The names between the line above a view and its end are those of the line."""
    texts = "".join(path.read_text(encoding="utf-8") for path in SCHEMAS)
    for view in VIEWS:
        text = re.search(rf"CREATE OR REPLACE VIEW {view.makes[0]} AS(.*?);", re.sub(r"--[^\n]*", "", texts), re.DOTALL)
        assert read_and_filled(text[1])[0] == set(view.made_from), view.makes


def test_every_table_of_the_schema_is_made_by_a_step():
    """No derived table is declared without something that fills it, and nothing fills a table that is not declared."""
    schema = "".join(path.read_text(encoding="utf-8") for path in SCHEMAS)
    tables = set(re.findall(r"CREATE (?:OR REPLACE )?(?:TABLE|VIEW) (?:IF NOT EXISTS )?(derived\.\w+)", schema))
    of_names_only = {"derived.entry_errors", "derived.ancestor_runs", "derived.ancestor_lots"}  # no step reads them
    made = {name for step in IN_ORDER for name in step.makes if name.startswith("derived.")}

    assert {name for name in made if not name.startswith("derived.house_")} == tables - of_names_only


def test_what_is_read_of_the_typed_records_is_there(book):
    """Names of typed tables are of the book: a slip of the pen in one would otherwise pass for an input."""
    known = set(
        book.frame("SELECT table_schema || '.' || table_name AS name FROM information_schema.tables")["name"].to_list()
    )
    typed = {name for step in IN_ORDER for name in step.made_from if name.startswith("typed.")}

    assert typed <= known


def test_each_step_stands_behind_all_that_make_its_inputs():
    """In whatever order the steps are given."""
    for steps in ((*COMPUTED, *SETS, *VIEWS), (*VIEWS, *reversed(SETS), *reversed(COMPUTED))):
        order = in_order(steps)
        assert sorted(map(id, order)) == sorted(map(id, steps))
        for place, step in enumerate(order):
            later = {name for other in order[place + 1 :] for name in other.makes}
            assert not later & set(step.made_from), step.makes


def test_an_input_that_nothing_makes_is_named():
    """A table that was renamed, or whose declaration is missing."""
    step = Derivation(print, ("typed.runs", "derived.lotts"), ("derived.steps",))

    with pytest.raises(DerivationError, match=r"derived\.steps is made from derived\.lotts, which nothing makes"):
        in_order([step])


def test_tables_that_are_made_of_each_other_are_named():
    """A ring has no order."""
    steps = [
        Derivation(print, ("derived.b",), ("derived.a",)),
        Derivation(print, ("derived.a",), ("derived.b",)),
        Derivation(print, (), ("derived.c",)),
    ]

    with pytest.raises(DerivationError, match=r"made of each other: derived\.[ab] < derived\.[ab]"):
        in_order(steps)


def test_the_lineage_of_all_tables_can_be_printed():
    """A line a step, in the order in which they are made; shown by `pytest -s`."""
    lines = lineage_lines(IN_ORDER)
    print("\n" + "\n".join(lines))

    assert len(lines) == len(IN_ORDER)
    assert "derived.steps <- derived.gauges, derived.lots, derived.openings" in lines
    assert any(line.endswith("<- the house profile") for line in lines)
