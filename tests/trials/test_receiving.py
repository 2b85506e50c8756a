"""Long trials of receiving; their tables are printed. `make trials` runs them."""

from datetime import datetime, timedelta
from pathlib import Path

from hostile import receive_spoilt
from killing import killed_and_resumed
from small_house import write_house

from gaugebook.pipeline.landed.delimited import BLOCK_BYTES


def test_three_thousand_spoilt_files(tmp_path: Path) -> None:
    """None gives a traceback, and every row is accounted for."""
    totals = receive_spoilt(tmp_path, 3000, seed=2026)

    print("\nspoilt files: " + ", ".join(f"{name} {count}" for name, count in totals.items()))
    assert totals["files"] == 3000 + 12 * 7


def test_killed_at_thirty_moments(tmp_path: Path) -> None:
    """Killed at 30 random moments and resumed each time, the book is what it would have been, row for row.

    The log is long enough to be read behind its copy and ahead of its typing.
    """
    begin = datetime(2026, 1, 12)
    lines = [
        f"{begin + timedelta(seconds=n):%d.%m.%Y %H:%M:%S},{60 + n % 100},{20 + n % 20_000 / 1000}\n"
        for n in range(400_000)
    ]
    paths = write_house(
        tmp_path / "site", {"S1_0112.csv": "controller\nTime,Pot,Vapour\n,degF,degC\n" + "".join(lines)}
    )
    assert max(path.stat().st_size for path in paths) > BLOCK_BYTES

    cut_short = killed_and_resumed(tmp_path / "site", tmp_path, rounds=30, seed=2026)

    print(f"\nkilled at {cut_short} moments: all tables as in peace")
    assert cut_short == 30
