"""Drawings: values stand where their axis says, signals by shape, text escaped."""

import math
from itertools import pairwise

import pytest
from fontTools.subset import Subsetter
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont
from hypothesis import example, given
from hypothesis import strategies as st

from gaugebook.reports.dossier import charts
from gaugebook.reports.dossier.limits import Limit
from gaugebook.reports.dossier.results import position
from gaugebook.reports.page.drawing import Drawing, Scale, fitted, scale_over, straightened, tick_label
from gaugebook.reports.page.fonts import FILES, REGULAR, width
from gaugebook.reports.page.language import language

ENGLISH = language("en")


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5), st.integers(2, 10))
@example(0.5, 0.25, 2)  # one tick, at 0.6
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
    """As many dots as fills, those beyond an edge of law as diamonds; an edge that none passes is not drawn."""
    edges = [charts.FillEdge(685.0, "least"), charts.FillEdge(714.0, "most", is_floor=False)]
    svg = charts.fill_strip([700.1, 700.2, 699.0, 684.9], 700.0, edges, "contents", ENGLISH)
    assert svg.count("M1,0A1") == 3
    assert svg.count("M0,-1.25") == 1
    assert "least" in svg and "most" not in svg and "contents" in svg
    assert charts.fill_strip([684.9, 714.1], 700.0, edges, "contents", ENGLISH).count("M0,-1.25") == 2


def test_a_label_is_as_wide_as_its_face_is():
    """Widths are those of the regular weight, as cut out of the variable font by fontTools' instancer."""
    words = "curve 07:19 ± 1 min"
    with TTFont(FILES["sans"]) as face:
        subsetter = Subsetter()
        subsetter.populate(text=words)
        subsetter.subset(face)
        regular = instantiateVariableFont(face, {"wght": REGULAR})
        names, em = regular.getBestCmap(), regular["head"].unitsPerEm
        wide = sum(regular["hmtx"][names[ord(character)]][0] for character in words) / em
    assert width(words, 7.0) == pytest.approx(7.0 * wide, rel=1e-3)


def test_words_are_escaped_and_fitted():
    """Markup in a label is text, and a label never runs wider than it may."""
    drawing = Drawing(100, 20, "<b>")
    drawing.text(0, 10, '<script>"&', widest=200)
    svg = str(drawing.svg())
    assert "<script>" not in svg
    assert "&lt;script&gt;" in svg
    assert width(fitted("STR-2609-04 and many more", 7, 40), 7) <= 40


@given(st.lists(st.one_of(st.floats(-50.0, 50.0), st.just(math.nan)), max_size=40), st.floats(0.05, 2.0))
def test_a_straightened_line_passes_all_its_points_within_reach(values, reach):
    """Every point left out lies within reach of the line between its neighbours that were kept; gaps stay gaps."""
    points = [(float(number), value) for number, value in enumerate(values)]

    kept = straightened(points, reach)

    drawn = [point for point in kept if not math.isnan(point[1])]
    assert set(drawn) <= {point for point in points if not math.isnan(point[1])}
    for x, value in points:
        if math.isnan(value) or (x, value) in drawn:
            continue
        before, after = (max(p for p in drawn if p[0] < x), min(p for p in drawn if p[0] > x))
        assert not any(math.isnan(values[place]) for place in range(int(before[0]), int(after[0])))
        on_line = before[1] + (after[1] - before[1]) * (x - before[0]) / (after[0] - before[0])
        assert abs(value - on_line) <= reach + 1e-9
    interrupted = [any(math.isnan(v) for v in values[int(a[0]) : int(b[0])]) for a, b in pairwise(drawn)]
    places = [kept.index(point) for point in drawn]
    assert interrupted == [second - first > 1 for first, second in pairwise(places)]
