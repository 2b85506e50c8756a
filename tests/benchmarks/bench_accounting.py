"""How tracing a lot and the account of a month grow from one year of records to ten, in a made-up house.

Run as a script: it writes books of 1, 3 and 10 years (19,980 runs and some 57,000 lots), prints how long deriving,
tracing either way and the account take by the clock and of the processor, and ends with status 1 if at ten years a
trace takes 1 s or an account 2 s or more. The clock counts; on a busy machine the processor's time tells what it hides.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))

from large_book import make_large_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.tracing import recall, trace
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts.account import gather_account, known_months

YEARS = (1, 3, 10)
REPEATS = 5
MOST_TRACE_S, MOST_ACCOUNT_S = 1.0, 2.0


def _seconds(run: Callable[[], object]) -> tuple[float, float]:
    """Least of several times by the clock and of the processor [s]: what the machine can do undisturbed."""
    times = []
    for _ in range(REPEATS):
        start, processor = time.perf_counter(), time.process_time()
        run()
        times.append((time.perf_counter() - start, time.process_time() - processor))
    clock, busy = zip(*times, strict=True)
    return min(clock), min(busy)


def measure(folder: Path, years: int) -> dict[str, Any]:
    """Sizes and seconds for a book of so many years; opening the book is part of each."""
    start = time.perf_counter()
    make_large_book(folder, years)
    made = time.perf_counter() - start

    def follow(lot: str) -> int:
        with open_book(folder) as book:
            found = trace(book, lot)
            recall(book, found)
            return found.back.height + found.forward.height

    def account() -> None:
        with open_book(folder) as book:
            gather_account(book, profile_in_force(book), known_months(book)[-2])

    with open_book(folder) as book:
        last = book.value("SELECT max_by(batch, bottled_at) FROM derived.bottlings")
        runs, lots = (book.value(f"SELECT count(*) FROM {name}") for name in ("typed.runs", "derived.lots"))
    return {
        "runs": runs, "lots": lots, "made": made, "steps back": follow(last), "back": _seconds(lambda: follow(last)),
        "steps forward": follow("RYE-0000-0"), "forward": _seconds(lambda: follow("RYE-0000-0")),
        "account": _seconds(account),
    }  # fmt: skip


def main() -> int:
    """Print the table and answer whether both limits are kept at ten years."""
    heads = ("years", "runs", "lots", "write and derive", "trace back", "trace forward", "account")
    print("".join(f"{head:>{width}}" for head, width in zip(heads, (5, 9, 9, 18, 32, 32, 18), strict=True)))
    for years in YEARS:
        with tempfile.TemporaryDirectory() as folder:
            found = measure(Path(folder), years)
        back, forward = (f"{found[f'steps {way}']:,.0f} steps, {_told(found[way])}" for way in ("back", "forward"))
        print(f"{years:>5}{found['runs']:>9,}{found['lots']:>9,}{found['made']:>16.0f} s{back:>32}{forward:>32}"
              f"{_told(found['account']):>18}", flush=True)  # fmt: skip
    kept = max(found["back"][0], found["forward"][0]) < MOST_TRACE_S and found["account"][0] < MOST_ACCOUNT_S
    limits = f"a trace under {MOST_TRACE_S:g} s and an account under {MOST_ACCOUNT_S:g} s at {YEARS[-1]} years"
    print(f"{limits}: {'kept' if kept else 'NOT kept'}")
    print(f"{os.getloadavg()[0]:.1f} processes were running on {os.cpu_count()} processors")
    return 0 if kept else 1


def _told(seconds: tuple[float, float]) -> str:
    return f"{seconds[0]:.2f} s ({seconds[1]:.2f} s)"


if __name__ == "__main__":
    sys.exit(main())
