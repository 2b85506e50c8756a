"""A run beside eight good ones whose band can be reckoned by hand.

Of eight runs four show 79.5 and four 80.5 throughout: mean 80, standard deviation sqrt(8 x 0.25 / 7) = 0.5345. Each
lies just one standardised deviation from the other seven, so that the limit of the distance is 1. The band for one more
run reaches t(7; 0.9995) x 0.5345 x sqrt(1 + 1/8) = 5.408 x 0.5669 = 3.07 from the mean (Student's t: any handbook).
"""

import numpy as np
import pytest

from gaugebook.pipeline.derived.curves.good_run_comparison import band_against, compared
from gaugebook.pipeline.derived.curves.records import FLOW, POT, Cut, RunCurve

APART = np.sqrt(2 / 7) * np.sqrt(9 / 8)  # of one more run from the mean, in its own unit


def curve(values, tag=POT):
    """A run with places every 100 s from 50 s on: 12 of the heating, 40 of the hearts, 12 of the tails."""
    profile = {tag: tuple(np.broadcast_to(np.asarray(values, dtype=float), 64).tolist())} if values is not None else {}
    return RunCurve(
        65, 100.0, heat_from_s=0.0, first_drop_s=1200.0, hearts_to=Cut(5200.0), end_s=6400.0, profile=profile
    )  # fmt: skip


def with_step(size, first, last):
    """80 throughout, but for the places from first to last."""
    values = np.full(64, 80.0)
    values[first : last + 1] += size
    return curve(values)


GOOD = [curve(79.5 + number % 2) for number in range(8)]


def beside_good(run):
    """What is said of a run that is not among the eight good ones."""
    return compared([*GOOD, run], [True] * 8 + [False])[-1]


def test_a_run_that_leaves_the_band_is_told_with_where_and_by_how_much():
    """5 K too much in the last 12 of 64 places: sqrt(12 / 64) of 5 / 0.5669."""
    comparison = beside_good(with_step(5.0, 52, 63))

    assert (comparison.runs, comparison.band) == (8, "left")
    assert comparison.limit == pytest.approx(1.0)
    assert comparison.distance == pytest.approx(5.0 / APART * np.sqrt(12 / 64))
    (finding,) = comparison.findings
    assert (finding.kind, finding.tag, finding.first_s, finding.last_s) == ("left the band", POT, 5250.0, 6350.0)
    assert finding.size == pytest.approx(5.0)
    assert finding.detail == "+5 K from its mean, tails"


def test_the_greatest_part_of_a_stretch_is_told_with_its_sign():
    """Four, then six kelvins too little, from the hearts into the tails; where it stays within, nothing."""
    values = np.full(64, 80.0)
    values[48:50], values[50:56], values[20:30] = 76.0, 74.0, 83.0
    (finding,) = beside_good(curve(values)).findings

    assert (finding.first_s, finding.last_s) == (4850.0, 5550.0)
    assert finding.size == pytest.approx(-6.0)
    assert finding.detail == "-6 K from its mean, hearts to tails"


def test_a_flow_is_told_in_litres_an_hour():
    """No two runs are told apart by less than 3 % of the mean flow, which is more than these eight differ by."""
    flows = [curve(79.5 + number % 2, FLOW) for number in range(8)]
    (comparison,) = compared([*flows, curve(110.0, FLOW)], [True] * 8 + [False])[-1:]

    assert [finding.detail for finding in comparison.findings] == ["+30 L/h from its mean, heating to tails"]
    assert comparison.distance == pytest.approx(30.0 / (0.03 * (8 * 80 + 110) / 9 * np.sqrt(9 / 8)))


@pytest.mark.parametrize(("size", "band"), [(0.0, "within"), (0.5, "within"), (0.6, "left")])
def test_a_run_may_lie_as_far_away_as_good_ones_do(size, band):
    """The limit of 1 is passed by 0.5669 K throughout; no place is outside the band for that."""
    comparison = beside_good(with_step(size, 0, 63))

    assert (comparison.band, comparison.findings) == (band, ())
    assert comparison.distance == pytest.approx(size / APART)
    assert comparison.limit == pytest.approx(1.0)


def test_no_run_is_judged_by_itself():
    """Of eight good runs each has seven others, too few for a band; of nine it has eight, and is not among them."""
    of_eight = compared(GOOD, [True] * 8)
    of_nine = compared([*GOOD, with_step(20.0, 0, 63)], [True] * 9)

    assert {(comparison.runs, comparison.band) for comparison in of_eight} == {(7, "no band yet")}
    assert (of_nine[8].runs, of_nine[8].band) == (8, "left")
    assert of_nine[8].distance == pytest.approx(20.0 / APART)
    assert compared([], []) == []


def test_a_run_without_a_profile_has_no_curve():
    """And with too few good ones no band, whatever it shows."""
    assert (beside_good(curve(None)).runs, beside_good(curve(None)).band) == (8, "no curve")
    assert compared([*GOOD[:7], curve(80.0)], [True] * 7 + [False])[-1].band == "no band yet"
    assert np.isnan(beside_good(curve(None)).distance)


def test_the_latest_forty_good_runs_make_the_band():
    """Two older ones of 50 K do not move it; nor does a run that was not good."""
    old, lately = [curve(50.0)] * 2, [curve(79.5 + number % 2) for number in range(40)]
    runs = [*old, curve(20.0), *lately, with_step(3.0, 0, 63)]
    good = [True, True, False, *[True] * 40, False]
    comparison = compared(runs, good)[-1]

    assert comparison.runs == 40
    assert comparison.distance == pytest.approx(3.0 / (np.sqrt(40 * 0.25 / 39) * np.sqrt(41 / 40)))
    assert band_against(runs, good, 43).mean[:64] == pytest.approx(80.0)
    assert band_against(runs, good, 42).runs == 39


def test_the_band_that_a_run_stands_against():
    """That of the others: without itself, where it is good; none with fewer than eight of them."""
    runs, good = [*GOOD, curve(100.0)], [True] * 9

    assert band_against(runs, good, 8).mean[:64] == pytest.approx(80.0)
    assert band_against(runs, good, 0).mean[:64] == pytest.approx((3 * 79.5 + 4 * 80.5 + 100.0) / 8)
    assert band_against(runs, good, 8).low[:64] == pytest.approx(80.0 - 5.408 * APART, abs=0.001)
    assert band_against(GOOD, [True] * 8, 0) is None
    assert band_against([*GOOD, curve(1.0)], [True] * 8 + [False], 8).runs == 8
