"""Receive in a process that is killed at a random moment, again and again, then in peace."""

import random
import subprocess
import sys
import time
from pathlib import Path

import polars as pl

from pipeline.database import open_book

COMMAND = """
import sys
from pathlib import Path
from pipeline.flow import receive
receive(Path(sys.argv[1]), [Path(sys.argv[2])], None)
"""
TABLES = (
    "landed.sources", "landed.rows", "typed.intake", "typed.runs", "typed.movements", "typed.readings",
    "typed.laboratory", "typed.bottling", "typed.fills", "typed.refused", "typed.row_counts", "derived.gauges",
    "derived.lineage",
)  # fmt: skip


def receive_in_process(book: Path, site: Path, kill_after_s: float | None = None) -> bool:
    """Run receive in a process of its own; whether it came to its end."""
    process = subprocess.Popen([sys.executable, "-c", COMMAND, str(book), str(site)])
    try:
        process.wait(timeout=kill_after_s)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return False
    assert process.returncode == 0
    return True


def killed_and_resumed(site: Path, folder: Path, rounds: int, seed: int) -> int:
    """Kill receive at so many random moments; assert that what stands at the end is what peace would have given.

    Returns how many rounds were really cut short.
    """
    begun = time.monotonic()
    receive_in_process(folder / "peace", site)
    whole = time.monotonic() - begun
    chance = random.Random(seed)
    cut_short = 0
    for number in range(rounds):
        book = folder / f"round{number}"
        cut_short += not receive_in_process(book, site, chance.uniform(0.3, 1.0) * whole)
        receive_in_process(book, site)
        for name, frame in tables(book).items():
            assert frame.equals(tables(folder / "peace")[name]), f"round {number}: {name}"
    return cut_short


def tables(folder: Path) -> dict[str, pl.DataFrame]:
    """Every table that must be the same, row for row."""
    with open_book(folder) as book:
        return {name: book.frame(f"SELECT * FROM {name} ORDER BY ALL") for name in TABLES}
