"""When losses became more than the gauges could feign, on eight runs put in by hand."""

from datetime import datetime

import pytest

from gaugebook.pipeline.derived.loss_signals import loss_signals


@pytest.fixture
def signals(empty_book, put):
    """Rows of derived.loss_signals of runs with these excesses in litres, each with u of 1 L; more may be told of one.

    A run a day from 26 December 2030 on; the loss is 3 L and the excess, since 3 L are usual.
    """

    def rows(*excesses, **more_of_last):
        for number, excess in enumerate(excesses):
            last = more_of_last if number == len(excesses) - 1 else {}
            row = {
                "run": f"R{9 - number}", "stage": "strip", "equipment": "S1",
                "ended_at": datetime(2030, 12, 26 + number) if number < 6 else datetime(2031, 1, number - 5),
                "loss_l": 3.0 + excess, "usual_loss_l": 3.0,
                "u_loss_l": 1.0 if number % 2 else 0.5, "u_usual_loss_l": 0.2 if number % 2 else 1.0,
            } | last  # fmt: skip
            put("derived.run_verdicts", **row)
        loss_signals(empty_book)
        return empty_book.frame("SELECT * FROM derived.loss_signals").to_dicts()

    return rows


def test_a_rise_is_told_from_its_first_to_its_last_run(signals):
    """Excesses of 0, then 4, 4, 4 and 4 L: the sum passes 5 with the second of them, 3.5 + 3.5, on 31 December 2030,
    which is in the first week of 2031 (ISO 8601). 16 L in all, u of four runs 2 L."""
    (row,) = signals(0.0, 0.0, 0.0, 0.0, 4.0, 4.0, 4.0, 4.0)

    assert row == {
        "stage": "strip", "equipment": "S1", "first_run": "R5", "first_at": datetime(2030, 12, 30),
        "signal_run": "R4", "signal_at": datetime(2030, 12, 31), "week": "2031-W01",
        "last_run": "R2", "last_at": datetime(2031, 1, 2), "runs": 4,
        "excess_l": pytest.approx(16.0), "u_excess_l": pytest.approx(2.0),
    }  # fmt: skip


def test_uncertainties_of_a_rise_add_in_squares(signals):
    """Three of 1 L and one of 2 L: sqrt(7) L."""
    (row,) = signals(0.0, 0.0, 0.0, 0.0, 4.0, 4.0, 4.0, 4.0, u_loss_l=2.0)

    assert row["u_excess_l"] == pytest.approx(7**0.5)


def test_seven_runs_have_no_course(signals):
    """However much they lost."""
    assert signals(0.0, 0.0, 0.0, 4.0, 4.0, 4.0, 4.0) == []


@pytest.mark.parametrize(
    "unknown", [{"loss_l": None}, {"usual_loss_l": None}, {"ended_at": None}, {"stage": "rectify"}, {"equipment": "S2"}]
)
def test_a_run_counts_where_loss_and_time_are_known(signals, unknown):
    """On its own still, at its own stage; one of eight that does not leaves too few."""
    assert signals(0.0, 0.0, 0.0, 0.0, 4.0, 4.0, 4.0, 4.0, **unknown) == []


@pytest.mark.parametrize("unsure", ["u_loss_l", "u_usual_loss_l"])
def test_the_greater_of_both_uncertainties_counts(signals, unsure):
    """6 L with u of 8 L, by the gauges or by what is usual, are nothing."""
    assert signals(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 6.0, **{unsure: 8.0}) == []


def test_one_great_loss_is_a_signal(signals):
    """The last of eight alone: 6 less the allowance of half its u is more than 5."""
    (row,) = signals(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 6.0)

    assert (row["first_run"], row["signal_run"], row["last_run"], row["runs"]) == ("R2", "R2", "R2", 1)
