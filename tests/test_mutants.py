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
RUNNER = importlib.util.spec_from_file_location("mutation_runner", ROOT / "tests" / "mutation" / "__main__.py")
assert RUNNER and RUNNER.loader
runner = sys.modules["mutation_runner"] = importlib.util.module_from_spec(RUNNER)
RUNNER.loader.exec_module(runner)


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


def outcome(file: str, *, survived: bool):
    """What became of a fault of a module."""
    room = next(room for room in runner.ROOMS if file.startswith(room))
    return runner.Outcome(mutants.Mutant(Path(file), 1, 0, 1, "a", "b"), room, survived, "shown")


def test_the_table_says_killed_and_survived_by_module(capsys):
    """Three faults of one module, one of them survived, and one of another: 2 of 3 is below the 90 % of its room."""
    steps, cells = "pipeline/statistics/steps.py", "pipeline/typed/cells.py"
    outcomes = [outcome(steps, survived=number == 1) for number in range(3)] + [outcome(cells, survived=False)]

    assert runner.report(outcomes, 4) == 1

    rows = [line.split() for line in capsys.readouterr().out.splitlines() if line]
    assert rows[0] == ["module", "faults", "killed", "survived"]
    assert [steps, "3", "2", "1"] in rows and [cells, "1", "1", "0"] in rows
    assert ["pipeline/statistics", "3", "2", "1", "67%", "killed", "(at", "least", "90%)"] in rows
    assert runner.report(outcomes[3:], 1) == 0


def test_a_sample_says_what_it_left_out(capsys):
    """Of ten faults one was tried; nothing tried is no success."""
    assert runner.report([outcome("pipeline/typed/cells.py", survived=False)], 10) == 0
    assert "for 9 of 10 faults there was no time" in capsys.readouterr().out
    assert runner.report([], 10) == 1


def command(monkeypatch, *words: str) -> list[str]:
    """The faults that a command would try, none of them tried."""
    tried: list[str] = []
    monkeypatch.setattr(sys, "argv", ["mutation", *words])
    monkeypatch.setattr(runner, "_copy", lambda folder: folder)
    monkeypatch.setattr(runner, "_tried", lambda room, mutant, copies: tried.append(str(mutant.file)))
    runner.main()
    return tried


def test_modules_are_named_by_name_or_path(monkeypatch, capsys):
    """Only their faults are tried, six a module at most; a name that no module has is told, and nothing is tried."""
    tried = command(monkeypatch, "cells.py", "pipeline/statistics/steps.py")
    assert set(tried) == {"pipeline/typed/cells.py", "pipeline/statistics/steps.py"} and len(tried) == 12
    assert command(monkeypatch, "cell.py", "steps.py") == []
    assert "cell.py" in capsys.readouterr().err


def test_no_fault_is_begun_after_the_minutes(monkeypatch, capsys):
    """With no time nothing is tried, with some the sample spreads over modules in an order that is always the same."""
    assert command(monkeypatch, "--minutes", "1e-12") == []
    first = command(monkeypatch, "--minutes", "5", "--room", "pipeline/statistics", "--workers", "1")
    assert first == command(monkeypatch, "--minutes", "5", "--room", "pipeline/statistics", "--workers", "1")
    assert len(set(first[:12])) > 6
