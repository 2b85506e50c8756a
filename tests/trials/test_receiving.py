"""Long trials of receiving; their tables are printed. `make trials` runs them."""

from pathlib import Path

from hostile import receive_spoilt
from killing import killed_and_resumed
from small_house import write_house


def test_three_thousand_spoilt_files(tmp_path: Path) -> None:
    """None gives a traceback, and every row is accounted for."""
    totals = receive_spoilt(tmp_path, 3000, seed=2026)

    print("\nspoilt files: " + ", ".join(f"{name} {count}" for name, count in totals.items()))
    assert totals["files"] == 3000 + 12 * 7


def test_killed_at_thirty_moments(tmp_path: Path) -> None:
    """Killed at 30 random moments and resumed each time, the book is what it would have been, row for row."""
    lines = [
        f"12.01.2026 1{n // 3600}:{n % 3600 // 60:02d}:{n % 60:02d},{60 + n % 100},{20 + n / 1000}\n"
        for n in range(20_000)
    ]
    write_house(tmp_path / "site", {"S1_0112.csv": "controller\nTime,Pot,Vapour\n,degF,degC\n" + "".join(lines)})

    cut_short = killed_and_resumed(tmp_path / "site", tmp_path, rounds=30, seed=2026)

    print(f"\nkilled at {cut_short} moments: all tables as in peace")
    assert cut_short == 30
