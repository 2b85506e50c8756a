"""Dossiers: a cold one, our own part beside WeasyPrint's, and two processes against one.

Run as a script; it receives and checks the sample logs, then

- makes a dossier in a fresh process and, in another fresh process, lets WeasyPrint alone write the same HTML: what the
  first needs more is our own part (starting, gathering, drawing, templates);
- makes some dossiers one at a time and by two processes, start of the processes included.

Prints ratios, taken within one round, best of three, and the most memory that a process held. Times of the machine are
printed beside them and judge nothing. Ends with status 1 where our own part passes 30 % of WeasyPrint's time, two
processes reach less than 1.8 times the rate of one, or a process passes 600 MiB.

    python tests/benchmarks/bench_dossier.py [DOSSIERS, 12 where left out] [BOOK, made anew where left out]
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import cycle, islice
from pathlib import Path

import pikepdf

from checks.run import run_checks
from pipeline.database import open_book
from pipeline.flow import receive
from pipeline.settings import Documents
from reports import dossier_command
from reports.batch import batch_codes

SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"
ROUNDS = 3
MOST_OWN_PART, LEAST_GAIN, MOST_MIB = 0.30, 1.8, 600
# Both scripts print what they needed of the processor, start of the interpreter included: other programs on the machine
# do not count then.
COLD = """
import json, os, sys, time
from pathlib import Path
from pipeline.settings import Documents
from reports.dossier_command import write_dossier
path, _ = write_dossier(Path(sys.argv[1]), sys.argv[2], Documents(), Path(sys.argv[3]))
print(json.dumps(time.process_time()))
"""
PAGE_ALONE = """
import json, sys, time
from datetime import datetime
from pathlib import Path
from reports import pages
pages.pdf(Path(sys.argv[1]).read_text(encoding="utf-8"), datetime(2031, 1, 1))
print(json.dumps(time.process_time()))
"""


def main() -> int:
    """Print the table and answer whether the three yardsticks are met."""
    dossiers = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        book = Path(sys.argv[2]) if len(sys.argv) > 2 else _made_book(folder / "book")
        with open_book(book) as opened:
            codes = batch_codes(opened)
        own, cold_s, pages = _own_part(book, codes[-1], folder)
        gain = max(_gain(book, list(islice(cycle(codes[-12:]), dossiers)), folder) for _ in range(ROUNDS))
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"a cold dossier of {pages} pages: {cold_s:.1f} s of the processor")
    print(f"our own part beside WeasyPrint's: {100 * own:.0f} % (at most {100 * MOST_OWN_PART:.0f} %)")
    print(f"{dossiers} dossiers by two processes: {gain:.2f} times the rate of one (at least {LEAST_GAIN})")
    print(f"memory of a process: {most:.0f} MiB (at most {MOST_MIB})")
    return 0 if own <= MOST_OWN_PART and gain >= LEAST_GAIN and most <= MOST_MIB else 1


def _made_book(folder: Path) -> Path:
    receive(folder, sorted(SAMPLE_LOGS.glob("20*")), SAMPLE_LOGS / "house.toml")
    with open_book(folder, writing=True) as book:
        run_checks(book)
    return folder


def _own_part(book: Path, code: str, folder: Path) -> tuple[float, float, int]:
    """What a cold dossier needs beyond WeasyPrint on the same HTML, as a part of that; its seconds; its pages."""
    html = folder / "page.html"
    html.write_text(_html(book, code), encoding="utf-8")
    parts = []
    for _ in range(ROUNDS):
        cold = _seconds(COLD, str(book), code, str(folder))
        alone = _seconds(PAGE_ALONE, str(html))
        parts.append((cold / alone - 1, cold))
    own, cold_s = min(parts)
    with pikepdf.open(folder / f"{code}.pdf") as made:
        return own, cold_s, len(made.pages)


def _html(book: Path, code: str) -> str:
    from pipeline.kept_profile import house_of
    from reports.batch import gather_batch
    from reports.dossier import dossier_html

    with open_book(book) as opened:
        return dossier_html(gather_batch(opened, house_of(opened), code))


def _seconds(script: str, *arguments: str) -> float:
    done = subprocess.run([sys.executable, "-c", script, *arguments], capture_output=True, text=True, check=True)
    return float(json.loads(done.stdout))


def _gain(book: Path, codes: list[str], folder: Path) -> float:
    """Rate of two processes over the rate of one."""
    times = []
    for workers in (1, 2):
        with _workers(workers):
            start = time.perf_counter()
            made = list(dossier_command._written(book, codes, Documents(), folder))
            times.append(time.perf_counter() - start)
            assert len(made) == len(codes)
    return times[0] / times[1]


@contextmanager
def _workers(number: int) -> Iterator[None]:
    before = dossier_command.WORKERS
    dossier_command.WORKERS = number
    try:
        yield
    finally:
        dossier_command.WORKERS = before


if __name__ == "__main__":
    sys.exit(main())
