"""Gauges of hot liquid: a run whose stillage was dipped hot closes, and what nothing supports stays not computed."""

import pytest
from small_books import small_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.engineering.hot_liquid import hot_volume_at_20c, u_of_expansion

RUNS = "STR-1,strip,S1,,,2026-01-12 06:00,2026-01-12 12:00,AB"
MOVES = """
    STR-1,in,WASH-1,wash,F1,1000,20,8.0,pct_vol_20c,,,
    STR-1,out,LW-1,hearts,T1,250,20,31.0,pct_vol_20c,,,
    STR-1,out,SPENT-1,spent,,760,{t},{strength},pct_vol_20c,,,
"""


@pytest.fixture
def gauged(tmp_path):
    """The gauge of the stillage and the balance of its run: gauged(80, 0.2)."""

    def of(t, strength):
        moves = MOVES.format(t=t, strength=strength)
        with open_book(small_book(tmp_path / f"at {t} of {strength}", RUNS, moves)) as book:
            (gauge,) = book.frame("SELECT * FROM derived.gauges WHERE part = 'spent'").to_dicts()
            (balance,) = book.frame("SELECT * FROM derived.run_balances WHERE run = 'STR-1'").to_dicts()
        return gauge, balance

    return of


def test_a_run_closes_with_its_stillage_dipped_at_80_c(gauged):
    """760 L at 80 °C are 739.9 L at 20 °C (water, 971.8 over 998.2 kg/m3); 80 LPA in, 77.5 and 1.48 out."""
    gauge, balance = gauged(80, 0.2)

    assert gauge["volume_l"] == pytest.approx(760 * 971.8 / 998.2, abs=0.2)
    assert gauge["not_computed"] is None
    assert balance["loss_l"] == pytest.approx(80.0 - 77.5 - 0.002 * 739.9, abs=0.01)
    assert balance["parts_not_computed"] == 0


def test_its_volume_is_less_certain_than_a_cold_one(gauged):
    """The expansion adds to the vessel's own uncertainty, in squares, beside that of the temperature."""
    hot, _ = gauged(80, 0.2)
    cold, _ = gauged(30, 0.2)
    of_hot, of_cold = (gauge["u_volume_l"] / gauge["volume_l"] for gauge in (hot, cold))

    # half a kelvin, where water expands by 0.064 % a kelvin at 80 °C and by 0.030 % at 30 °C (handbooks)
    of_temperature = (0.5 * 0.00064) ** 2 - (0.5 * 0.00030) ** 2
    assert of_hot**2 == pytest.approx(of_cold**2 + u_of_expansion(80.0, 0.2) ** 2 + of_temperature, rel=0.01)
    assert of_hot > 1.02 * of_cold


@pytest.mark.parametrize(("t", "strength"), [(80, 30.0), (105, 0.2)])
def test_what_no_source_supports_is_not_computed(gauged, t, strength):
    """Strong and hot, or above boiling water: the reason says how far it goes, and the run does not close."""
    gauge, balance = gauged(t, strength)

    assert gauge["alcohol_l"] is None
    assert "cannot be brought to 20 °C" in gauge["not_computed"]
    assert "100 °C at most at 22.5 % vol" in gauge["not_computed"]
    assert balance["loss_l"] is None


def test_hot_wash_is_gauged_by_its_own_strength(gauged):
    """8 % vol at 65 °C: not as water, but as the mixture expands."""
    gauge, _ = gauged(65, 8.0)

    assert gauge["volume_l"] == pytest.approx(hot_volume_at_20c(760.0, 65.0, 8.0), rel=1e-9)
