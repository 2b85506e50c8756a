"""Dossiers: our own part beside WeasyPrint's in a cold one, and two processes against one.

Run as a script; it receives and checks the sample logs, then

- makes a dossier in a fresh process, and once more when all is imported: our own part is gathering its data, drawing,
  filling in templates, writing its data and the file, set against what WeasyPrint as it comes takes for the same page;
  beside it the same cold, with whatever we import besides WeasyPrint; median of three;
- makes some dossiers by one process and by two, start of the processes included: how many times the rate, best of two.

Prints ratios, each taken within one run, and the most memory that a process held. On a machine that others use, the
clock says little of two processes; beside it stands what the processor's time allows: what one needed over half of what
two needed, and what the parent needed, which nothing shares, in full on both sides. Ends with status 1 where our own
part passes 30 %, two processes reach less than 1.8 times the rate of one by both measures, or a process passes 600 MiB.

    python tests/benchmarks/bench_dossier.py [DOSSIERS, 16 where left out] [BOOK, made anew where left out]
"""

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from itertools import cycle, islice
from pathlib import Path

import pikepdf

import gaugebook.reports.page
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.settings import Documents
from gaugebook.pipeline.intake.flow import receive
from gaugebook.reports.dossier import dossier_command
from gaugebook.reports.dossier.batch import batch_codes

SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"
MOST_OWN_PART, LEAST_GAIN, MOST_MIB = 0.30, 1.8, 600
# Prints the processor's seconds of a cold dossier, of the rendering in it with its import, and of our own part of a
# second one; leaves the page behind.
COLD = """
import json, sys, time
start = time.process_time()
import gaugebook.reports.page.renderer
imported = time.process_time() - start
from pathlib import Path
from gaugebook.pipeline.house.settings import Documents
from gaugebook.reports.page import pages
from gaugebook.reports.dossier.dossier_command import write_dossier
spent, render = [], pages.pdf
def timed(page, *arguments, **named):
    start = time.process_time()
    made = render(page, *arguments, **named)
    spent.append(time.process_time() - start)
    (Path(sys.argv[3]) / "page.html").write_text(page, encoding="utf-8")
    return made
pages.pdf = timed
wanted = (Path(sys.argv[1]), sys.argv[2], Documents(), Path(sys.argv[3]))
write_dossier(*wanted)
cold = time.process_time()
write_dossier(*wanted)
print(json.dumps([cold, imported + spent[0], time.process_time() - cold - spent[1]]))
"""
# The same page by WeasyPrint as it comes, with our style and faces: its seconds, its import included.
PLAIN = """
import sys, time
from pathlib import Path
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
page, style = (Path(name).read_text(encoding="utf-8") for name in sys.argv[1:3])
from gaugebook.reports.page import fonts
for name, file in fonts.FILES.items():
    style = style.replace(f"url(bundled:{name})", f"url({file.as_uri()})")
style = style.replace(" img {", " svg {")
faces = FontConfiguration()
sheet = CSS(string=style, font_config=faces)
HTML(string=page).write_pdf(stylesheets=[sheet], font_config=faces, pdf_variant="pdf/a-3u", pdf_tags=True)
print(time.process_time())
"""


def main() -> int:
    """Print the table and answer whether the three yardsticks are met."""
    dossiers = int(sys.argv[1]) if len(sys.argv) > 1 else 16
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        book = Path(sys.argv[2]) if len(sys.argv) > 2 else _made_book(folder / "book")
        with open_book(book) as opened:
            codes = batch_codes(opened)
        own, with_imports, cold_s, pages = _own_part(book, codes[-1], folder)
        print(f"a cold dossier of {pages} pages: {cold_s:.1f} s of the processor")
        print(
            f"our own part beside plain WeasyPrint's time: {100 * own:.0f} % (at most {100 * MOST_OWN_PART:.0f} %), "
            f"cold {100 * with_imports:.0f} %",
            flush=True,
        )
        gains = [_gain(book, list(islice(cycle(codes[-12:]), dossiers)), folder) for _ in range(2)]
    clock, processor = (max(gain[place] for gain in gains) for place in (0, 1))
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{dossiers} dossiers by two processes, times the rate of one (at least {LEAST_GAIN}):")
    print(f"    {clock:.2f} by the clock, {processor:.2f} by the processor's time")
    print(f"memory of a process: {most:.0f} MiB (at most {MOST_MIB})")
    return 0 if own <= MOST_OWN_PART and max(clock, processor) >= LEAST_GAIN and most <= MOST_MIB else 1


def _made_book(folder: Path) -> Path:
    receive(folder, sorted(SAMPLE_LOGS.glob("20*")), SAMPLE_LOGS / "house.toml")
    with open_book(folder, writing=True) as book:
        run_checks(book)
    return folder


def _own_part(book: Path, code: str, folder: Path) -> tuple[float, float, float, int]:
    """Our own time over plain WeasyPrint's for the page, the same cold, seconds of a cold dossier, its pages."""
    style = Path(gaugebook.reports.page.__path__[0]) / "templates" / "pages.css"
    parts = []
    for _ in range(3):
        whole, rendering, own_s = json.loads(_printed(COLD, book, code, folder))
        plain = float(_printed(PLAIN, folder / "page.html", style))
        parts.append((own_s / plain, (whole - rendering) / plain, whole))
    own, with_imports, cold_s = sorted(parts)[1]
    with pikepdf.open(folder / f"{code}.pdf") as made:
        return own, with_imports, cold_s, len(made.pages)


def _printed(program: str, *arguments: object) -> str:
    command = [sys.executable, "-c", program, *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def _gain(book: Path, codes: list[str], folder: Path) -> tuple[float, float]:
    """Rate of two processes over the rate of one, by the clock and by the processor's time."""
    clock, processor = [], []
    for workers in (1, 2):
        with _workers(workers):
            start, parent, children = time.perf_counter(), time.process_time(), _spent_by_children()
            make = partial(dossier_command.write_dossier, book, documents=Documents(), folder=folder)
            made = list(dossier_command.in_order(make, codes))
            clock.append(time.perf_counter() - start)
            processor.append(time.process_time() - parent + (_spent_by_children() - children) / workers)
            assert len(made) == len(codes)
    return clock[0] / clock[1], processor[0] / processor[1]


def _spent_by_children() -> float:
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


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
