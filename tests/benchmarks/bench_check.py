"""Checking books of 94 and of 1,034 batches: a full run, a run with nothing new, and a run after one new batch.

Run as a script; it receives the sample logs, multiplies the book, and starts the command anew for each run, so that
the import of Great Expectations counts. Prints seconds by the clock and of the processor, and each as a ratio to that
import alone. What one new batch costs must not grow with the book. The yardsticks for the larger book are 60 s for the
full run and 6 s after one new batch where that import takes 3 s, so 20 and 2 times the import: on a busy machine
seconds say more of the machine than of the program. Ends with status 1 if they are not met.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from shutil import copytree

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive

SUPPORT = Path(__file__).parents[1] / "support"
SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"
COPIES = (1, 21)  # with the original 2 and 22 times 47 batches
FULL, AGAIN = 20.0, 2.0  # times the import alone
CHECK = "from gaugebook.reports.cli import run; run()"
IMPORT = ("-W", "ignore", "-c", "import great_expectations")

Times = tuple[float, float]  # by the clock and of the processor [s]


def _timed(*arguments: str) -> Times:
    """What a fresh interpreter needs; status 1 is a check that found something."""
    start, before = time.perf_counter(), os.times()
    done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr)
    after = os.times()
    processor = after.children_user + after.children_system - before.children_user - before.children_system
    return time.perf_counter() - start, processor


def measure(folder: Path, copies: int) -> dict[str, Times]:
    """What each run on a book of so many copies of the sample needs, by what it is."""
    from many_batches import copy_batches, copy_one

    with open_book(folder, writing=True) as book, book.transaction():
        copy_batches(book, copies)
        print(f"{book.value('SELECT count(*) FROM derived.bottlings'):,} batches, "
              f"{book.value('SELECT count(*) FROM derived.gauges'):,} gauges")  # fmt: skip
    check = ("-c", CHECK, "--book", str(folder), "check", "--summary")
    times = {"full run": _timed(*check), "nothing new": _timed(*check)}
    with open_book(folder, writing=True) as book, book.transaction():
        copy_one(book, "GIN-2605A", "-new", copies)
    return times | {"one new batch": _timed(*check)}


def main() -> int:
    """Print the tables and answer whether both yardsticks are met."""
    sys.path.insert(0, str(SUPPORT))
    with tempfile.TemporaryDirectory() as scratch:
        sample = Path(scratch) / "sample"
        receive(sample, sorted(SAMPLE_LOGS.glob("20*")), SAMPLE_LOGS / "house.toml")
        _timed(*IMPORT)  # so that its files lie in memory for all alike
        base = _timed(*IMPORT)
        print(f"{'':<40}{'clock':>9}{'ratio':>7}{'processor':>12}{'ratio':>7}")
        _print("import of Great Expectations alone", base, base)
        for copies in COPIES:
            folder = Path(scratch) / f"book-{copies}"
            copytree(sample, folder)
            times = measure(folder, copies)
            for name, taken in times.items():
                _print(name, taken, base)
    full, again = (times[name][0] / base[0] for name in ("full run", "one new batch"))
    met = full <= FULL and again <= AGAIN
    print(
        f"full run within {FULL:.0f} times the import, one new batch within {AGAIN:.0f}: {'met' if met else 'NOT met'}"
    )
    print(f"{os.getloadavg()[0]:.1f} processes were running on {os.cpu_count()} processors")
    return 0 if met else 1


def _print(name: str, taken: Times, base: Times) -> None:
    columns = [f"{seconds:>8.1f} s{seconds / of:>7.1f}" for seconds, of in zip(taken, base, strict=True)]
    print(f"{name:<40}{columns[0]}{columns[1]:>19}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
