"""Speed of receive on a wide one-hertz log, as ratios against DuckDB's own reading of the same file in the same run.

Run from the root of the repository: python tests/benchmarks/bench_receive.py [ROWS]

The ratio "of cores" compares the time of all cores; on a machine that others use too it wavers less than that of speed.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

ROOT = Path(__file__).parents[2]
TAGS = (
    "pot_temperature_c", "vapour_temperature_c", "column_temperature_c", "pressure_kpa", "steam_kg_h", "reflux_ratio",
    "distillate_flow_l_h", "parrot_strength_pct_vol", "parrot_temperature_c",
)  # fmt: skip
HOUSE = '[house]\nname = "Bench (invented)"\ntime_zone = "Europe/Copenhagen"\nsite_altitude_m = 0.0\n'
MAP = (
    'describes = "log"\nfiles = ["log*.csv"]\n[read]\nformat = "csv"\n[[records]]\nkind = "readings"\n'
    'header = ["Time"]\n[records.constants]\nequipment = "S1"\n[records.columns]\n'
    'read_at = { column = "Time", time = "%Y-%m-%d %H:%M:%S" }\n'
    "[records.wide]\n" + "".join(f'{tag} = "T{number}"\n' for number, tag in enumerate(TAGS))
)
REPEATS = 5
BASELINE = """
import sys, duckdb
book = duckdb.connect(sys.argv[2])
book.execute("SET enable_progress_bar = false")
book.execute(f"CREATE TABLE log AS SELECT * FROM read_csv('{sys.argv[1]}')")
"""
RECEIVE = """
import sys
from pathlib import Path
from gaugebook.pipeline.intake.flow import receive
outcome, = receive(Path(sys.argv[2]), [Path(sys.argv[1])], None)
assert outcome.counts[0].refused == int(sys.argv[3]), outcome.counts
"""


def write_log(path: Path, rows: int) -> int:
    """A log of nine drifting tags, one row a second, with an impossible value in every millionth row; how many."""
    chance, begin, at_once = np.random.default_rng(1), np.datetime64("2025-11-01T00:00:00", "ms"), 1_000_000
    with path.open("wb") as stream:
        for start in range(0, rows, at_once):
            count = min(at_once, rows - start)
            times = begin + np.arange(start, start + count) * np.timedelta64(1000, "ms")
            columns = {"Time": pl.Series(times).dt.strftime("%Y-%m-%d %H:%M:%S")}
            for number in range(len(TAGS)):
                drift = 60 + number + np.round(chance.normal(0, 1, count).cumsum() * 1e-3, 2)
                columns[f"T{number}"] = pl.Series(drift).round(2).cast(pl.String)
            columns["T8"][count // 2] = "999"
            pl.DataFrame(columns).write_csv(stream, include_header=start == 0)
    return -(-rows // at_once)


@dataclass(frozen=True)
class Cost:
    """What one process took: wall time [s], time of all cores [s], largest memory [MiB]."""

    wall_s: float
    cores_s: float
    memory_mib: float


def cost(code: str, *arguments: str) -> Cost:
    """Run a Python process of its own to its end; compiled modules are kept, as on a machine that is used."""
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    begun = time.monotonic()
    process = subprocess.Popen([sys.executable, "-c", code, *arguments], cwd=ROOT)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, f"ended with {process.returncode}"
    return Cost(time.monotonic() - begun, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def compared(log: Path, refused: int, folder: Path) -> tuple[Cost, Cost]:
    """DuckDB's own reading and receive, one after the other, several times; the pair with the middle ratio of speed."""
    pairs = []
    for _ in range(REPEATS):
        own = cost(BASELINE, str(log), str(folder / "baseline.duckdb"))
        ours = cost(RECEIVE, str(log), str(folder / "book"), str(refused))
        pairs.append((own, ours))
        (folder / "baseline.duckdb").unlink()
        shutil.rmtree(folder / "book")
    return sorted(pairs, key=lambda pair: pair[0].wall_s / pair[1].wall_s)[REPEATS // 2]


def main(rows: int) -> None:
    """Print the table of ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "maps").mkdir()
        (folder / "house.toml").write_text(HOUSE)
        (folder / "maps" / "log.toml").write_text(MAP)
        times = {}
        print(
            f"{'rows':>12} {'MB':>7} {'DuckDB s':>9} {'receive s':>10} {'speed ratio':>12} {'of cores':>9} {'MiB':>6}"
        )
        for count in (rows // 2, rows):
            log = folder / f"log{count}.csv"
            refused = write_log(log, count)
            own, ours = compared(log, refused, folder)
            times[count] = ours
            speeds = f"{own.wall_s:9.1f} {ours.wall_s:10.1f} {own.wall_s / ours.wall_s:12.2f}"
            size, of_cores = log.stat().st_size / 1e6, own.cores_s / ours.cores_s
            print(f"{count:12,} {size:7.0f} {speeds} {of_cores:9.2f} {ours.memory_mib:6.0f}", flush=True)
            log.unlink()
        longer = times[rows].wall_s / times[rows // 2].wall_s
        cores = times[rows].cores_s / times[rows // 2].cores_s
        print(f"twice the rows take {longer:.2f} times as long, {cores:.2f} times the cores' time")
        held_again(folder)


def held_again(folder: Path) -> None:
    """A thousand small files already held."""
    site = folder / "small"
    (site / "maps").mkdir(parents=True)
    (site / "house.toml").write_text(HOUSE)
    (site / "maps" / "log.toml").write_text(MAP)
    header = "Time," + ",".join(f"T{number}" for number in range(len(TAGS))) + "\n"
    for number in range(1000):
        second = f"2025-12-01 {number // 60:02d}:{number % 60:02d}:00"
        (site / f"log{number:04d}.csv").write_text(header + second + ",60" * len(TAGS) + "\n")
    again = RECEIVE.split("outcome,")[0] + "receive(Path(sys.argv[2]), [Path(sys.argv[1])], None)"
    first, held = (cost(again, str(site), str(folder / "small_book")) for _ in range(2))
    print(
        f"1,000 small files: {first.wall_s:.1f} s at first, {held.wall_s:.1f} s when already held "
        f"(of the cores {first.cores_s:.1f} and {held.cores_s:.1f} s)"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000)
