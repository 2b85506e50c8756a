"""Receive in a process that is killed at a random moment, again and again, then in peace."""

import random
import subprocess
import sys
import time
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import open_book

COMMAND = """
import sys
from pathlib import Path
from gaugebook.pipeline.intake.flow import receive
print("ready", flush=True)
receive(Path(sys.argv[1]), [Path(sys.argv[2])], None)
"""
TABLES = (
    "landed.sources", "landed.rows", "typed.intake", "typed.runs", "typed.movements", "typed.readings",
    "typed.laboratory", "typed.bottling", "typed.fills", "typed.refused", "typed.row_counts", "derived.gauges",
    "derived.lineage",
)  # fmt: skip


def receive_in_process(book: Path, site: Path, kill_after_s: float | None = None) -> float | None:
    """Run receive in a process of its own; its seconds from the first step, None where it was killed before its end."""
    with subprocess.Popen([sys.executable, "-c", COMMAND, str(book), str(site)], stdout=subprocess.PIPE) as process:
        assert process.stdout is not None and process.stdout.readline() == b"ready\n"
        begun = time.monotonic()
        try:
            process.wait(timeout=kill_after_s)
        except subprocess.TimeoutExpired:
            process.kill()
            return None
        assert process.returncode == 0
        return time.monotonic() - begun


def killed_and_resumed(site: Path, folder: Path, rounds: int, seed: int) -> int:
    """Kill receive at so many random moments; assert that what stands at the end is what peace would have given.

    A round in which the process was quicker than its killer is repeated, at most twice as many rounds in all.
    Returns how many rounds were really cut short.
    """
    whole = receive_in_process(folder / "peace", site) or 1.0
    peace = tables(folder / "peace")
    chance = random.Random(seed)
    cut_short = 0
    for number in range(2 * rounds):
        book = folder / f"round{number}"
        seconds = receive_in_process(book, site, chance.uniform(0.0, 1.0) * whole)
        if seconds is not None:
            whole = seconds  # the machine is less busy than it was
            continue
        cut_short += 1
        receive_in_process(book, site)
        for name, frame in tables(book).items():
            assert frame.equals(peace[name]), f"round {number}: {name}"
        if cut_short == rounds:
            break
    return cut_short


def tables(folder: Path) -> dict[str, pl.DataFrame]:
    """Every table that must be the same, row for row."""
    with open_book(folder) as book:
        return {name: book.frame(f"SELECT * FROM {name} ORDER BY ALL") for name in TABLES}
