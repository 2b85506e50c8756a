"""Speed of receive on a wide one-hertz log, as ratios against DuckDB's own reading of the same file in the same run.

Run from the root of the repository: python tests/benchmarks/bench_receive.py [ROWS]
"""

import resource
import subprocess
import sys
import tempfile
import time
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
BASELINE = """
import sys, duckdb
duckdb.connect(sys.argv[2]).execute(f"CREATE TABLE log AS SELECT * FROM read_csv('{sys.argv[1]}')")
"""
RECEIVE = """
import sys
from pathlib import Path
from pipeline.flow import receive
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


def seconds(code: str, *arguments: str) -> tuple[float, float]:
    """Wall time of a Python process, and the largest memory that any child has had so far [MiB]."""
    begun = time.monotonic()
    subprocess.run([sys.executable, "-c", code, *arguments], check=True, cwd=ROOT)
    return time.monotonic() - begun, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def main(rows: int) -> None:
    """Print the table of ratios."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "maps").mkdir()
        (folder / "house.toml").write_text(HOUSE)
        (folder / "maps" / "log.toml").write_text(MAP)
        times = {}
        print(f"{'rows':>12} {'MB':>7} {'DuckDB s':>9} {'receive s':>10} {'speed ratio':>12} {'MiB':>6}")
        for count in (rows // 2, rows):
            log = folder / f"log{count}.csv"
            refused = write_log(log, count)
            receive_s, memory = seconds(RECEIVE, str(log), str(folder / f"book{count}"), str(refused))
            baseline_s, _ = seconds(BASELINE, str(log), str(folder / f"{count}.duckdb"))
            times[count] = receive_s
            size = log.stat().st_size / 1e6
            speeds = f"{baseline_s:9.1f} {receive_s:10.1f} {baseline_s / receive_s:12.2f}"
            print(f"{count:12,} {size:7.0f} {speeds} {memory:6.0f}")
            log.unlink()
        print(f"twice the rows take {times[rows] / times[rows // 2]:.2f} times as long")
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
    first_s, _ = seconds(again, str(site), str(folder / "small_book"))
    again_s, _ = seconds(again, str(site), str(folder / "small_book"))
    print(f"1,000 small files: {first_s:.1f} s at first, {again_s:.1f} s when already held")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000)
