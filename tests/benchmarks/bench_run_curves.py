"""A year of one-hertz logs of one still read to run curves, and whether a run costs more in a longer book.

Run as a script; `--rows` makes it smaller (default 30,000,000). It writes a book of its own into a temporary folder
(about 1 GB for 30 million rows), reads it in a process of its own, and prints time, processor time (what a busy machine
leaves comparable), rows a second, peak memory and the time a run takes in a book a tenth as long. It ends with status 1
unless 30 million rows would take less than 60 s, memory stays under 2 GiB, and a run costs less than half more in the
long book than in the short one.

Six simulated runs are repeated through the year; their noise repeats with them.
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

import polars as pl
from simulated_runs import SimulatedRun, finer, simulated_run

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.curves.run_curves import kept_or_new
from gaugebook.pipeline.house.settings import parse_house
from gaugebook.pipeline.typed.log_store import LogFile, log_path, show_readings

ROWS, YARDSTICK_S, YARDSTICK_GIB, DEARER = 30_000_000, 60.0, 2.0, 1.5
RUNS_A_FILE = 30
PIPELINE = Path(__file__).parents[2] / "gaugebook" / "pipeline"
HOUSE = """
[house]
name = "A still in a simulation"
time_zone = "UTC"
site_pressure_kpa = 100.606
[[stills]]
code = "S1"
name = "Strip still"
capacity_l = 2900.0
plates = 8
"""


def make_book(folder: Path, rows: int, runs: list[SimulatedRun]) -> int:
    """A book with so many rows of log and their run sheet; returns the number of runs."""
    at, written, number = datetime(2026, 1, 1), 0, 0
    with open_book(folder, writing=True) as book, book.transaction():
        for schema in ("received", "landed", "typed", "derived/casks", "derived/goods", "derived"):
            book.run_file(PIPELINE / schema / "schema.sql")
        while written < rows:
            source = number // RUNS_A_FILE + 1
            log = LogFile(log_path(folder, f"{source:064d}", 0, 1))
            line = 0
            for _ in range(RUNS_A_FILE):
                if written >= rows:
                    break
                run = runs[number % len(runs)]
                number += 1
                frame = pl.DataFrame(run.values).with_columns(
                    pl.lit("S1").alias("equipment"),
                    (pl.lit(at) + pl.Series(run.times_s * 1e6).cast(pl.Int64).cast(pl.Duration("us"))).alias("read_at"),
                    pl.int_range(line, line + run.times_s.size, dtype=pl.Int32).alias("line"),
                )
                log.add(frame, source)
                values = [f"STR-{number}", at, at + timedelta(seconds=run.times_s[-1])]
                book.execute("INSERT INTO typed.runs (run, stage, equipment, started_at, ended_at, source_id, line) "
                             "VALUES (?, 'strip', 'S1', ?, ?, 1, 1)", values)  # fmt: skip
                line, written = line + run.times_s.size, written + run.times_s.size
                at += timedelta(seconds=run.times_s[-1] + 7200)
            log.close(book, source)
        show_readings(book)
    return number


def analyse(folder: Path) -> None:
    """Read every run of a book to its curve; prints runs, seconds, seconds of processor and peak memory [MiB]."""
    house = parse_house(HOUSE, "house.toml")
    with open_book(folder, writing=True) as book:
        start, worked = time.perf_counter(), time.process_time()
        book.run_file(PIPELINE / "derived" / "log_blocks.sql")
        runs = book.frame((PIPELINE / "derived" / "curves" / "curve_runs.sql").read_text(encoding="utf-8")).to_dicts()
        curves = kept_or_new(book, house, runs)
        seconds, worked = time.perf_counter() - start, time.process_time() - worked
    assert all(curve.hearts_to.by for curve in curves), "a cut was not found"
    print(len(curves), seconds, worked, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def measured(folder: Path, rows: int, runs: list[SimulatedRun]) -> tuple[int, float, float, float]:
    """Runs, seconds, processor seconds, peak memory [MiB] of reading so many rows, in a process of its own."""
    make_book(folder, rows, runs)
    told = subprocess.run(
        [sys.executable, __file__, "--analyse", str(folder)], check=True, capture_output=True, text=True
    )
    count, seconds, worked, memory = told.stdout.split()
    return int(count), float(seconds), float(worked), float(memory)


def main() -> int:
    """Print the table and answer whether the yardsticks are met."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rows", type=int, default=ROWS)
    parser.add_argument("--analyse", type=Path)
    options = parser.parse_args()
    if options.analyse:
        analyse(options.analyse)
        return 0
    runs = [finer(simulated_run(4 * seed, "strip"), 1.0, seed) for seed in range(6)]
    with tempfile.TemporaryDirectory() as folder:
        short = measured(Path(folder) / "short", options.rows // 10, runs)
        long = measured(Path(folder) / "long", options.rows, runs)
    heads = f"{'runs':>7}{'s':>9}{'CPU s':>9}{'ms a run':>10}{'rows a second':>15}{'MiB':>8}"
    print(f"{'one-hertz log of one still':<34}{heads}")
    for rows, (count, seconds, worked, memory) in ((options.rows // 10, short), (options.rows, long)):
        speed = f"{1000 * seconds / count:>10.1f}{rows / seconds:>15,.0f}"
        print(f"{f'{rows:,} rows':<34}{count:>7}{seconds:>9.1f}{worked:>9.1f}{speed}{memory:>8.0f}")
    dearer = (long[1] / long[0]) / (short[1] / short[0])
    year_s = long[1] * ROWS / options.rows
    print(f"a run in the long book against one in the short: {dearer:.2f}")
    print(f"{ROWS:,} rows at this rate: {year_s:.0f} s")
    met = year_s < YARDSTICK_S and long[3] < 1024 * YARDSTICK_GIB and dearer < DEARER
    print(f"under {YARDSTICK_S:.0f} s, {YARDSTICK_GIB:.0f} GiB and {DEARER} times: {'met' if met else 'NOT met'}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
