"""How the code hangs together is a test too."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LONGEST_MODULE = 400
PACKAGES = {"pipeline", "checks", "reports"}


def _files(*suffixes: str) -> list[Path]:
    """Files of the repository of these kinds; in an unpacked source distribution, whatever lies there."""
    if (ROOT / ".git").exists():
        names = subprocess.run(
            ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
            cwd=ROOT, check=True, capture_output=True, text=True,
        ).stdout.splitlines()  # fmt: skip
        files = [ROOT / name for name in names]
    else:
        files = [*ROOT.rglob("*")]
    return [path for path in files if path.is_file() and path.suffix in suffixes]


def test_data_flows_one_way():
    """The import contracts of pyproject.toml hold; asked in a process of its own, for the linter silences loggers."""
    lint = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports(no_cache=True))"
    done = subprocess.run([sys.executable, "-c", lint], cwd=ROOT, capture_output=True, text=True)

    assert done.returncode == 0, done.stdout


def test_no_module_is_too_long():
    """A module has one purpose; none passes 400 lines."""
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in _files(".py", ".sql")}

    assert len(lengths) > 50
    assert {str(path): n for path, n in lengths.items() if n > LONGEST_MODULE} == {}


def test_every_module_of_the_pipeline_says_what_it_is_for():
    """Each module of the three packages opens with a docstring."""
    silent = [
        path
        for path in _files(".py")
        if PACKAGES & set(path.relative_to(ROOT).parts)
        and not re.match(r'\s*(#.*\n)*r?"""', path.read_text(encoding="utf-8"))
    ]

    assert silent == []


@pytest.mark.parametrize(
    "word", ["pypi" + ".org", "pythonhosted" + ".org", "registry.npmjs" + ".org", "/work" + "/main"]
)
def test_no_file_names_a_registry_or_this_machine(word):
    """No registry's host and no absolute path of a developer's machine stands in a text file."""
    texts = _files(".py", ".md", ".toml", ".txt", ".sql", ".jinja", ".css", "")

    assert len(texts) > 50
    assert [str(path) for path in texts if word in path.read_text(encoding="utf-8", errors="replace")] == []


CATCH_ALL = {"around", "found", "here", "made", "one", "said", "speaks", "told"}


def _names_given(tree: ast.Module) -> Iterator[tuple[str, int]]:
    """Every name that a module gives, to a value, a parameter, a function or a class, with its line."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id, node.lineno
        elif isinstance(node, ast.arg):
            yield node.arg, node.lineno
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name, node.lineno


def test_names_say_what_they_hold():
    """Words that any value could bear name none, in the packages and in what supports the tests."""
    files = [
        path
        for path in _files(".py")
        if path.relative_to(ROOT).parts[0] in PACKAGES or path.relative_to(ROOT).parts[:2] == ("tests", "support")
    ]
    assert len(files) > 300
    names = [
        f"{path.relative_to(ROOT)}:{line} {name}"
        for path in files
        for name, line in _names_given(ast.parse(path.read_text(encoding="utf-8")))
        if name in CATCH_ALL
    ]
    assert names == []
