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
        ("a.py", "x = a < b", ["x = a <= b", "x = a >= b"]),
        ("a.py", "x = not a", ["x = a"]),
        ("a.py", "x = ~a", ["x = a"]),
        ("a.py", "x = min(a, 3)", ["x = max(a, 3)", "x = min(a, 4)"]),
        ("a.py", "x = np.maximum(a, b)", ["x = np.minimum(a, b)"]),
        ("a.py", "x = f(a, b, 'c')", ["x = f(b, a, 'c')"]),
        ("a.py", "x = F(one=a, other=b)", ["x = F(one=b, other=a)"]),
        ("a.py", "x = a and b and c", ["x = a or b and c", "x = a and b or c"]),
        ("a.py", "x += a", ["pass", "x -= a"]),
        ("a.py", "if a:\n    f()\n", ["if not (a):\n    f()\n", "if a:\n    pass\n"]),
        ("a.py", "if a == b:\n    raise E\n", ["if a != b:\n    raise E\n", "if a == b:\n    pass\n"]),
        ("a.py", "def f():\n    return a, b\n", ["def f():\n    return b, a\n"]),
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
    """Operators, comparisons, numbers, statements, what changes places; no comments, texts, annotations, docstrings."""
    assert [mutant.applied(source) for mutant in mutants.mutants_of(Path(name), source)] == faults


@pytest.mark.parametrize("file", ["engineering/blending.py", "statistics/steps.py", "typed/section.py"])
def test_each_fault_of_our_own_code_can_be_parsed_and_is_another_program(file):
    """Else it would be noticed by its spelling."""
    source = (ROOT / "gaugebook" / "pipeline" / file).read_text(encoding="utf-8")
    for mutant in mutants.mutants_of(Path(file), source):
        assert ast.dump(ast.parse(mutant.applied(source))) != ast.dump(ast.parse(source)), mutant.shown(source)
