"""What is built from the repository works away from it, and beside packages of the same common names."""

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NOT_SOURCE = shutil.ignore_patterns(
    ".git", ".venv", ".*_cache", ".hypothesis", "build", "dist", "*.egg-info", "__pycache__"
)
BUILD = "import sys; from setuptools import build_meta as b; print(getattr(b, 'build_' + sys.argv[1])(sys.argv[2]))"


def build(kind: str, source: Path, target: Path) -> Path:
    """The file that the build of this kind, sdist or wheel, leaves in the target."""
    done = subprocess.run([sys.executable, "-c", BUILD, kind, target], cwd=source, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return target / done.stdout.splitlines()[-1]


@pytest.fixture(scope="module")
def unpacked_source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The source distribution, unpacked."""
    folder = tmp_path_factory.mktemp("sdist")
    shutil.copytree(ROOT, folder / "repository", symlinks=True, ignore=NOT_SOURCE)
    with tarfile.open(build("sdist", folder / "repository", folder)) as packed:
        packed.extractall(folder / "unpacked", filter="data")
    return next((folder / "unpacked").iterdir())


@pytest.fixture(scope="module")
def installed(unpacked_source: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel that is built from the source distribution, where an installer would put it."""
    folder = tmp_path_factory.mktemp("wheel")
    with zipfile.ZipFile(build("wheel", unpacked_source, folder)) as wheel:
        wheel.extractall(folder / "site")
    return folder / "site"


@pytest.fixture
def strange_house(tmp_path: Path) -> Path:
    """A folder to work in that holds packages of our packages' names, which must not be imported."""
    for name in ("pipeline", "checks", "reports"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text(f"raise SystemExit('the wrong {name}')")
    return tmp_path


def run(folder: Path, site: Path, *words: str) -> str:
    """What a command of the installed wheel prints; it must not need attention."""
    done = subprocess.run(
        [sys.executable, "-m", "gaugebook.reports.cli", *words],
        cwd=folder, env=os.environ | {"PYTHONPATH": str(site)}, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_wheel_holds_every_file_of_the_packages(installed):
    """Templates, SQL, rules and tables travel with the code, and nothing else does."""
    suffixes = {".py", ".sql", ".csv", ".toml", ".jinja", ".txt", ".css", ".js"}
    expected = {
        path.relative_to(ROOT).as_posix()
        for name in ("pipeline", "checks", "reports")
        for path in (ROOT / "gaugebook" / name).rglob("*")
        if path.suffix in suffixes
    }
    held = {path.relative_to(installed).as_posix() for path in (installed / "gaugebook").rglob("*") if path.is_file()}

    assert held == expected | {"gaugebook/__init__.py", "gaugebook/py.typed"}
    assert not [name for name in ("pipeline", "checks", "reports", "tests") if (installed / name).exists()]


def test_the_wheel_works_beside_packages_of_the_same_names(installed, strange_house):
    """100 L of 96 % vol to 40 % vol is 240 L by volume of alcohol alone; received records come out of a check."""
    assert "240" in run(strange_house, installed, "reduce", "--volume", "100", "--strength", "96", "--to", "40")
    site = ROOT / "sample_logs"
    done = subprocess.run(
        [sys.executable, "-c", "import gaugebook.pipeline as p; print(p.__file__)"],
        cwd=strange_house, env=os.environ | {"PYTHONPATH": str(installed)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert Path(done.stdout.strip()).is_relative_to(installed)
    few = ("map", "draft", str(next((site / "2026-01").glob("*.csv"), site / "house.toml")))
    assert run(strange_house, installed, *few)


def test_tests_run_from_the_source_distribution(unpacked_source):
    """All tests are found there, and a whole file of them passes."""
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
    environment = os.environ | {"PYTHONPATH": str(unpacked_source)}
    found = subprocess.run(
        [*command, "--collect-only", "tests"], cwd=unpacked_source, env=environment, capture_output=True, text=True
    )
    assert found.returncode == 0, found.stdout[-2000:]
    done = subprocess.run(
        [*command, "tests/pipeline/engineering/test_strength.py", "tests/pipeline/intake"],
        cwd=unpacked_source, env=environment, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-2000:]
