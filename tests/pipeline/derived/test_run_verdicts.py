"""Verdicts on runs by significance, suspect readings, and rises of losses, on books that can be reckoned by hand."""

import numpy as np
import pytest

from pipeline.database import open_book
from pipeline.statistics.rises import rises

HEAD = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\n"


def _strip(hearts_l: float, wash_kind: str = "pct_vol_20c", wash: str = "10.0", temperature: str = "") -> str:
    """Movements of STR-1: 1000 L of wash at 10 % vol are 100 LPA in; hearts at 80 % vol."""
    return HEAD + (
        f"STR-1,in,WASH-1,wash,F1,1000,20,{wash},{wash_kind},{temperature},\n"
        f"STR-1,out,SPIRIT-1,hearts,T1,{hearts_l},20,80,pct_vol_20c,,\n"
    )


@pytest.mark.parametrize(
    ("hearts_l", "verdict"),
    [
        # u of the loss, by hand below: 0.828; 2 u = 1.66
        (125.0, "closes"),  # nothing lost
        (123.0, "closes"),  # 1.6 LPA, within 2 u
        (122.5, "loses"),  # 2.0 LPA, beyond 2 u
        (127.5, "gains"),  # 2.0 LPA more than went in
    ],
)
def test_a_loss_is_told_by_its_uncertainty(received, tmp_path, hearts_l, verdict):
    """Closes within twice the standard uncertainty, else loses or gains; the wash's strength limits it."""
    received({"moves.csv": _strip(hearts_l)})

    with open_book(tmp_path / "book") as book:
        row = book.frame("SELECT * FROM derived.run_verdicts WHERE run = 'STR-1'").row(0, named=True)
    assert row["verdict"] == verdict
    # Two vessels, each 0.3 % of 100 LPA. One instrument, 0.08 % vol of 1000 L in and of 125 L out: of its variance
    # 0.3^2 is scatter and adds in squares, the rest is its own error and is subtracted first.
    by_strength = (1 - 0.3**2) * (0.8 - 0.1) ** 2 + 0.3**2 * (0.8**2 + 0.1**2)
    variance = 0.3**2 + 0.3**2 + by_strength
    assert row["u_loss_l"] == pytest.approx(variance**0.5, rel=0.01)
    assert (row["limited_by_lot"], row["limited_by_direction"]) == ("WASH-1", "in")
    assert row["limiting_share"] == pytest.approx(1 - (0.3**2 + 0.1**2) / variance, rel=0.01)


def test_a_balance_that_could_not_see_a_loss_says_so(received, tmp_path):
    """An alcoholmeter in the wash (0.15 % vol in 10) cannot show 2 % of the charge: cannot tell, and it is named."""
    received({"moves.csv": _strip(124.0, "alcoholmeter", "10.0", "20")})

    with open_book(tmp_path / "book") as book:
        row = book.frame("SELECT * FROM derived.run_verdicts WHERE run = 'STR-1'").row(0, named=True)
    assert row["verdict"] == "cannot tell"
    assert row["limited_by_lot"] == "WASH-1"
    assert row["limiting_share"] > 0.9


def test_a_run_with_a_part_not_gauged_cannot_be_told(received, tmp_path):
    """A part without a strength leaves no balance, and the verdict names it."""
    moves = HEAD + "STR-1,in,WASH-1,wash,F1,1000,20,10,pct_vol_20c,,\nSTR-1,out,SPIRIT-1,hearts,T1,120,20,,,,\n"
    received({"moves.csv": moves})

    with open_book(tmp_path / "book") as book:
        row = book.frame("SELECT verdict, not_computed FROM derived.run_verdicts WHERE run = 'STR-1'").row(0)
    assert row == ("cannot tell", "SPIRIT-1: no strength was read and none is known of the lot")


def test_a_misread_strength_is_named(received, tmp_path):
    """Of three readings of a lot, the one two % vol off is suspect, and the balances go on without it."""
    received(
        {
            "moves.csv": HEAD
            + "STR-1,in,WASH-1,wash,F1,1000,20,10,pct_vol_20c,,\n"
            + "STR-1,out,SPIRIT-1,hearts,T1,118.75,20,82,pct_vol_20c,,\n"  # 80 in truth
            + "RED-1,in,SPIRIT-1,hearts,T1,118.75,20,80,pct_vol_20c,,\n"
            + "RED-1,out,RED-L1,spirit,T1,237.5,20,40,pct_vol_20c,,\n",
            "lab.csv": """
                sample;lot;analyte;value;unit;t;rep;instrument
                L9;SPIRIT-1;strength;80,02;pct_vol;;1;
            """,
        }
    )

    with open_book(tmp_path / "book") as book:
        suspects = book.frame(
            "SELECT lot, run, direction, readings FROM derived.strength_checks WHERE verdict = 'suspect'"
        )
        gauge = book.frame(
            "SELECT verdict, measured_l, reconciled_l FROM derived.reconciled WHERE run = 'STR-1' AND lot = 'SPIRIT-1'"
        )
    assert suspects.rows() == [("SPIRIT-1", "STR-1", "out", 3)]
    verdict, measured, _ = gauge.row(0)
    assert (verdict, measured) == ("suspect", pytest.approx(97.4, abs=0.1))  # the measured value stays as it was


def test_the_rise_of_a_series_is_dated():
    """A shift of 1.5 standard deviations from the 20th value on is found within 15 values, and seldom without one."""
    rng = np.random.default_rng(11)
    late, false = [], 0
    for _ in range(200):
        series = rng.standard_normal(60)
        false += bool(rises(series[:20]))
        series[20:] += 1.5
        found = [rise for rise in rises(series) if rise.last >= 20]
        late.append(found[0].signal - 20 if found else 99)

    assert np.mean(np.array(late) <= 15) > 0.95
    # at h = 5 and k = 0.5 a false alarm comes about once in 930 values (NIST/SEMATECH 6.3.2.3): 20 of them give 2 %
    assert false / 200 < 0.06
