"""Drawings: values stand where their axis says, signals by shape, text escaped."""

import math
import re
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports import charts
from reports.drawing import Drawing, Scale, fitted, scale_over, tick_label
from reports.fonts import width
from reports.language import language
from reports.limits import Limit
from reports.records import Curve, Run
from reports.results import position

ENGLISH = language("en")
START = datetime(2031, 3, 3, 7)
RUN = Run("R-1", "strip", "S1", None, None, START, START + timedelta(hours=6), "AQ", START + timedelta(hours=1),
          START + timedelta(hours=5), 1, 1)  # fmt: skip


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5), st.integers(2, 10))
def test_ticks_are_round_and_inside(least, span, about):
    """Ticks lie inside the scale, evenly, and their labels read back as themselves."""
    scale = Scale(least, least + span, 0, 100)
    ticks = scale.ticks(about)
    assert 1 <= len(ticks) <= 2 * about + 2
    assert all(-1e-6 <= scale(tick) <= 100 + 1e-6 for tick in ticks)
    for tick in ticks:
        assert float(tick_label(tick, ticks).replace(",", "").replace("−", "-")) == pytest.approx(
            tick, rel=1e-9, abs=1e-9
        )


def test_scale_of_one_value():
    """Equal values still give a scale that they lie inside of."""
    scale = scale_over([0.95, 0.95, math.nan], 0, 100)
    assert 0 < scale(0.95) < 100


def test_run_curve_marks_the_cuts():
    """The hearts of the run sheet are a band from the first cut to the second, at their hours."""
    svg = str(charts.run_curve(RUN, Curve(3, {"pot_temperature_c": ((0.0, 20.0), (3.0, 90.0), (6.0, 99.0))}), ENGLISH))
    band = re.search(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"[^>]*fill="#efefef"', svg)
    left, right = 34.0, 480.0 - 40.0  # the axis of six hours
    assert float(band[1]) == pytest.approx(left + (right - left) / 6, abs=0.01)
    assert float(band[2]) == pytest.approx((right - left) * 4 / 6, abs=0.02)
    assert "to hearts" in svg
    assert "to tails" in svg


def test_run_without_cuts_has_no_band():
    """Where the run sheet has no cuts none are drawn."""
    bare = Run(**{**vars(RUN), "hearts_from": None, "hearts_to": None})
    assert "#efefef" not in charts.run_curve(bare, Curve(2, {"pot_temperature_c": ((0.0, 20.0), (3.0, 90.0))}), ENGLISH)


@pytest.mark.parametrize(
    ("value", "expanded", "least", "most", "answer"),
    [
        (39.9, 0.05, 39.7, 40.3, "within"),
        (39.72, 0.05, 39.7, 40.3, "near"),
        (39.68, 0.05, 39.7, 40.3, "near"),
        (39.5, 0.05, 39.7, 40.3, "below"),
        (1300.0, 20.0, None, 1200.0, "above"),
        (0.0, 0.0, None, 1200.0, "within"),
    ],
)
def test_position(value, expanded, least, most, answer):
    """Within, beyond, or so near that the uncertainty reaches over the limit; the shape of the mark agrees."""
    limit = Limit(least, most, "g/hL pa", "made up")
    assert position(value, expanded, limit) == answer
    diamond = "M0,-1.25" in charts.position_bar(value, False, limit, "made up")
    assert diamond == ((least is not None and value < least) or (most is not None and value > most))


def test_every_fill_is_a_dot():
    """As many dots as fills, those short by more than the tolerable error as diamonds."""
    svg = charts.fill_strip([700.1, 700.2, 699.0, 684.9], 700.0, 15.0, ENGLISH)
    assert svg.count("M1,0A1") == 3
    assert svg.count("M0,-1.25") == 1
    assert "nominal less tolerable error" in svg


def test_words_are_escaped_and_fitted():
    """Markup in a label is text, and a label never runs wider than it may."""
    drawing = Drawing(100, 20, "<b>")
    drawing.text(0, 10, '<script>"&', widest=200)
    svg = str(drawing.svg())
    assert "<script>" not in svg
    assert "&lt;script&gt;" in svg
    assert width(fitted("STR-2609-04 and many more", 7, 40), 7) <= 40
