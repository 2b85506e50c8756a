"""How the monthly trends grow from one year of records to ten, in a made-up house.

Run as a script: it writes books of 1, 3 and 10 years (`tests/support/large_book.py`), and for each starts a process of
its own that makes the trends as PDF, so that starting Python and its libraries is part of the time. Beside it stand the
seconds of gathering and judging alone, and those of a plain loop at the same time, the yardstick: a busy or slow
machine shows as one. Ends with status 1 if ten years take 10 s or more, and more than twenty such loops (10 s where a
loop takes half a second).
"""

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from large_book import make_large_book

YEARS = (1, 3, 10)
MOST_S, MOST_LOOPS = 10.0, 20.0
REPEATS = 2

MAKE = """
import sys, time
from pathlib import Path
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.trends.trends import trends_pdf
from gaugebook.reports.trends.trends_gather import gather_trends
with open_book(Path(sys.argv[1])) as book:
    start = time.process_time()
    trends = gather_trends(book, profile_in_force(book))
    gathered = time.process_time() - start
made = trends_pdf(trends)
print(gathered, len(trends.charts), sum(len(chart.points) for chart in trends.charts), len(made))
"""


def loop_s() -> float:
    """Processor seconds of ten million additions, the yardstick [s]."""
    start = time.process_time()
    total = 0
    for n in range(10_000_000):
        total += n
    return time.process_time() - start


def measure(folder: Path) -> tuple[float, float, list[str]]:
    """Least processor seconds and least elapsed seconds of a cold process, and what it printed."""
    best = (float("inf"), float("inf"), [""])
    for _ in range(REPEATS):
        before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        said = subprocess.run(
            [sys.executable, "-c", MAKE, str(folder)], check=True, capture_output=True, text=True
        ).stdout.split()
        after, elapsed = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter() - start
        spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        best = min(best, (spent, elapsed, said))
    return best


def main() -> int:
    """Print the table and answer whether ten years stay below the limit."""
    heads = ("years", "charts", "points", "gather", "cold, processor", "cold, elapsed", "yardstick loop", "loops")
    print("".join(f"{head:>17}" for head in heads))
    elapsed = ratio = float("inf")
    for years in YEARS:
        with tempfile.TemporaryDirectory() as folder:
            make_large_book(Path(folder), years)
            _prepare(Path(folder))
            spent, elapsed, (gathered, charts, points, _) = measure(Path(folder))
        loop = loop_s()
        ratio = spent / loop
        columns = (str(years), charts, points, f"{float(gathered):.2f} s", f"{spent:.2f} s", f"{elapsed:.2f} s",
                   f"{loop:.2f} s", f"{ratio:.1f}")  # fmt: skip
        print("".join(f"{column:>17}" for column in columns), flush=True)
    kept = elapsed < MOST_S or ratio < MOST_LOOPS
    limit = f"ten years of trends, cold, in under {MOST_S:g} s or {MOST_LOOPS:g} loops"
    print(f"{limit}: {'kept' if kept else 'NOT kept'}")
    return 0 if kept else 1


def _prepare(folder: Path) -> None:
    """The tables of the checks, which the trends read and a book without checks lacks."""
    from gaugebook import checks
    from gaugebook.pipeline.book.database import open_book

    with open_book(folder, writing=True) as book:
        for file in ("schema.sql", "history.sql"):
            book.run_file(Path(checks.__file__).parent / file)


if __name__ == "__main__":
    sys.exit(main())
