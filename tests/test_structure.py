"""How the code hangs together is a test too."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LONGEST_MODULE = 400


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
        if {"pipeline", "checks", "reports"} & set(path.relative_to(ROOT).parts)
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
