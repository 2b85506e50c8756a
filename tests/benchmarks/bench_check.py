"""Checking a book of 1,000 batches: a full run, a run with nothing new, and a run after one new batch.

Run as a script; it receives the sample logs, multiplies the book, and starts the command anew for each run, so that
the import of Great Expectations counts. Prints times, and each as a ratio to that import alone; ends with status 1 if
the full run takes more than 60 s or the run after one new batch more than 6 s.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from pipeline.database import open_book
from pipeline.flow import receive

SUPPORT = Path(__file__).parents[1] / "support"
SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"
COPIES = 21  # with the original 22 times 47 batches: 1,034
FULL_S, AGAIN_S = 60.0, 6.0
CHECK = "from reports.cli import run; run()"


def _timed(*arguments: str) -> float:
    """Seconds that a fresh interpreter needs; status 1 is a check that found something."""
    start = time.perf_counter()
    done = subprocess.run([sys.executable, *arguments], capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr)
    return time.perf_counter() - start


def measure(folder: Path) -> dict[str, float]:
    """Seconds of each run, by what it is."""
    sys.path.insert(0, str(SUPPORT))
    from many_batches import copy_batches, copy_one

    receive(folder, sorted(SAMPLE_LOGS.glob("20*")), SAMPLE_LOGS / "house.toml")
    with open_book(folder, writing=True) as book, book.transaction():
        copy_batches(book, COPIES)
        print(f"{book.value('SELECT count(*) FROM derived.bottlings'):,} batches, "
              f"{book.value('SELECT count(*) FROM derived.gauges'):,} gauges")  # fmt: skip
    check = ("-c", CHECK, "--book", str(folder), "check", "--summary")
    times = {"import of Great Expectations alone": _timed("-W", "ignore", "-c", "import great_expectations")}
    times["full run"] = _timed(*check)
    times["nothing new"] = _timed(*check)
    with open_book(folder, writing=True) as book, book.transaction():
        copy_one(book, "GIN-2605A", "-new", COPIES)
    times["one new batch"] = _timed(*check)
    return times


def main() -> int:
    """Print the table and answer whether both yardsticks are met."""
    with tempfile.TemporaryDirectory() as folder:
        times = measure(Path(folder) / "book")
    base = times["import of Great Expectations alone"]
    met = times["full run"] <= FULL_S and times["one new batch"] <= AGAIN_S
    for name, seconds in times.items():
        print(f"{name:<40}{seconds:>8.1f} s{seconds / base:>8.1f}")
    print(f"full run within {FULL_S:.0f} s and one new batch within {AGAIN_S:.0f} s: {'met' if met else 'NOT met'}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
