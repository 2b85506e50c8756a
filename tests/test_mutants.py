"""The faults that `make mutants` plants are faults: each changes the code, and the code stays code."""

import ast
import importlib.util
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SPEC = importlib.util.spec_from_file_location("mutants", ROOT / "tests" / "mutation" / "mutants.py")
assert SPEC and SPEC.loader
mutants = sys.modules["mutants"] = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(mutants)


@pytest.mark.parametrize(
    ("name", "source", "faults"),
    [
        ("a.py", "x = a + b", ["x = a - b"]),
        ("a.py", "x = a < b", ["x = a <= b"]),
        ("a.py", "x = not a", ["x = a"]),
        ("a.py", "x = min(a, 3)", ["x = max(a, 3)", "x = min(a, 4)"]),
        (
            "a.py",
            "def f(x: int = 1) -> 'a - b':\n    '''1 + 1'''\n",
            ["def f(x: int = 2) -> 'a - b':\n    '''1 + 1'''\n"],
        ),
        ("a.sql", "SELECT sum(a) FROM t -- a < b", ["SELECT max(a) FROM t -- a < b"]),
        ("a.sql", "SELECT 'a + b' WHERE a <> 2", ["SELECT 'a + b' WHERE a = 2", "SELECT 'a + b' WHERE a <> 3"]),
    ],
)
def test_which_faults_there_are(name, source, faults):
    """Operators, comparisons, numbers and choices; no comments, texts, annotations or docstrings."""
    assert [mutant.applied(source) for mutant in mutants.mutants_of(Path(name), source)] == faults


@pytest.mark.parametrize("file", ["engineering/blending.py", "statistics/steps.py", "typed/section.py"])
def test_each_fault_of_our_own_code_can_be_parsed_and_is_another_program(file):
    """Else it would be noticed by its spelling."""
    source = (ROOT / "gaugebook" / "pipeline" / file).read_text(encoding="utf-8")
    for mutant in mutants.mutants_of(Path(file), source):
        assert ast.dump(ast.parse(mutant.applied(source))) != ast.dump(ast.parse(source)), mutant.shown(source)
