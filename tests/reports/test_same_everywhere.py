"""The same records give the same figures on every machine and in whatever order they came."""

import os
import random
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from shutil import copytree, ignore_patterns

import openpyxl
import pytest
from exports import write_exports

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive

ROOT = Path(__file__).parents[2]
SAMPLE_LOGS = ROOT / "sample_logs"
AT = datetime(2026, 1, 2, 8)
# Machines: one in UTC with the kernels of a newer processor, one in a zone with summer time and with those of an older.
MACHINES = (
    {"TZ": "UTC", "OPENBLAS_CORETYPE": "Haswell", "PYTHONHASHSEED": "1"},
    {"TZ": "America/New_York", "OPENBLAS_CORETYPE": "Prescott", "PYTHONHASHSEED": "2"},
)
RECORDS = ("balance", "densitometer", "fills", "gravities", "intake", "panel", "residue", "stock")


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def differing(one: dict[str, bytes], other: dict[str, bytes]) -> list[str]:
    assert one.keys() == other.keys() and len(one) > 10
    return [name for name in one if one[name] != other[name]]


def test_exports_are_the_same_on_every_machine(sample_book, tmp_path):
    """Trends, accounts, traces, dossiers and board of the sample book: the same bytes in child processes with other
    time zones, other kernels for linear algebra and other orders of hashing."""
    script = str(ROOT / "tests" / "support" / "exports.py")
    made = []
    for number, machine in enumerate(MACHINES):
        out = tmp_path / str(number)
        subprocess.run([sys.executable, script, str(sample_book), str(out)], env={**os.environ, **machine}, check=True)
        made.append(contents(out))
    assert differing(*made) == []


@pytest.fixture(scope="module")
def in_order(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Exports of the first three months of the sample distillery, received as its files lie in the folder."""
    return exports_of(tmp_path_factory.mktemp("in_order"), SAMPLE_LOGS, sorted)


def exports_of(folder: Path, site: Path, order) -> dict[str, bytes]:
    files = order(path for month in ("2025-10", "2025-11", "2025-12") for path in (site / month).iterdir())
    book = folder / "book"
    receive(book, files, site / "house.toml")
    with open_book(book, writing=True) as opened:
        run_checks(opened, AT)
    write_exports(book, folder / "out")
    return contents(folder / "out")


def shuffle_rows(site: Path, chance: random.Random) -> None:
    """Put the records of each file into an order of chance; its head stays."""
    for path in site.glob("20*/*"):
        if path.name.startswith(RECORDS) and path.suffix == ".csv":
            ending = b"\r\n" if b"\r\n" in path.read_bytes() else b"\n"
            head, *rows = [line for line in path.read_bytes().split(ending) if line.strip()]
            path.write_bytes(ending.join([head, *chance.sample(rows, len(rows)), b""]))
        elif path.name.startswith("runs_"):
            book = openpyxl.load_workbook(path)
            for sheet in book:
                _shuffle_sheet(sheet, chance)
            book.save(path)


def _shuffle_sheet(sheet, chance: random.Random) -> None:
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    head = next(number for number, row in enumerate(rows) if sum(cell is not None for cell in row) > 3)
    records = [row for row in rows[head + 1 :] if sum(cell is not None for cell in row) > 2]
    rest = [row for row in rows[head + 1 :] if sum(cell is not None for cell in row) <= 2]
    for number, row in enumerate([*chance.sample(records, len(records)), *rest], start=head + 2):
        for column, value in enumerate(row, start=1):
            sheet.cell(number, column).value = value


def test_the_order_of_files_and_rows_changes_nothing(in_order, tmp_path):
    """The last file first, and the rows of every sheet in an order of chance: the same flags before the same batches
    and the same bytes of trends, accounts, traces, dossiers and board."""
    site = tmp_path / "site"
    copytree(SAMPLE_LOGS, site, ignore=ignore_patterns("generator", "broken", "2026-*"))
    shuffle_rows(site, random.Random(11))
    other = exports_of(tmp_path, site, lambda files: sorted(files, reverse=True))
    assert differing(in_order, other) == []
