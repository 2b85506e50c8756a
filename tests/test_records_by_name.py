"""Records are filled by name: a column that changes its place in a query must not change its meaning on a page."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MODULES = [path for room in ("pipeline", "checks", "reports") for path in sorted((ROOT / room).rglob("*.py"))]
# A span on an axis is a pair of like numbers, and the heads of a table on the screen are all of one kind.
ALIKE = {"Wanted", "Table"}


def filled_by_place(source: str) -> Iterator[str]:
    """Names of classes, or of a class held in `record`, that are called with a row spread over their places."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and any(isinstance(given, ast.Starred) for given in node.args):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            if (name == "record" or name[:1].isupper()) and name not in ALIKE:
                yield f"{name}, line {node.lineno}"


def test_it_sees_a_record_filled_by_place() -> None:
    """It tells `Entry(*row)` and `record(*row)` from `Entry(**row)`, `print(*row)` and a pattern's span."""
    source = "Entry(*row)\nrecord(*row)\nEntry(**row)\nprint(*row)\nWanted(*span)\nbook.Entry(*row)\n"
    assert list(filled_by_place(source)) == ["Entry, line 1", "record, line 2", "Entry, line 6"]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_record_is_filled_by_place(path: Path) -> None:
    """No module spreads a row over the places of a record's fields."""
    assert list(filled_by_place(path.read_text(encoding="utf-8"))) == []
