"""Marks stand where they are put, axes where arithmetic by hand puts them, and words are cut where they must be.

Places and values are worked out by hand beside each assertion; what is drawn is read back from the SVG as XML.
"""

import math
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.reports.page.drawing import (
    FAINT,
    INK,
    SMALL,
    SOFT,
    Drawing,
    Scale,
    fitted,
    scale_over,
    straightened,
    tick_label,
)
from gaugebook.reports.page.fonts import width

NAN = math.nan
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def drawing():
    """A sheet of 100 by 20.5 points."""
    return Drawing(100, 20.5, "Cuts & <b>")


def marks(drawing):
    """The marks after the title, as kind and attributes; words of a text as `words`."""
    root = ElementTree.fromstring(str(drawing.svg()))
    return [(e.tag.removeprefix(SVG), e.attrib | ({"words": e.text} if e.text else {})) for e in root][1:]


def only(drawing):
    """The one mark of a drawing."""
    (mark,) = marks(drawing)
    return mark


@pytest.mark.parametrize(
    ("span", "value", "place"),
    [
        ((10, 30, 100, 500), 10, 100), ((10, 30, 100, 500), 30, 500),
        ((10, 30, 100, 500), 15, 200),  # a quarter of the way: 100 + 400 / 4
        ((0, 4, 90, 10), 1, 70),  # upwards on a page whose y grows downwards: 90 - 80 / 4
        ((-2, 6, 0, 16), 0, 4), ((10, 30, 100, 500), 35, 600),
        ((3, 3, 0, 100), 3, 50), ((3, 3, 0, 100), 3.25, 75),  # one value: half a unit of room on both sides
    ],
)  # fmt: skip
def test_a_value_stands_in_proportion(span, value, place):
    """start + (value - least) / (most - least) x (end - start)."""
    assert Scale(*span)(value) == pytest.approx(place)


@pytest.mark.parametrize(
    ("least", "most", "about", "ticks"),
    [
        (0, 10, 5, [0, 2, 4, 6, 8, 10]),
        (0, 12, 5, [0, 2.5, 5, 7.5, 10]),  # 2.4 asked, 2.5 is the next round step
        (0, 20, 5, [0, 5, 10, 15, 20]),  # 4 asked
        (0, 49, 5, [0, 10, 20, 30, 40]),  # 9.8 asked
        (0.3, 4.7, 5, [1, 2, 3, 4]),
        (-30, 70, 5, [-20, 0, 20, 40, 60]),
        (-7, -2, 5, [-7, -6, -5, -4, -3, -2]),
        (1000, 5000, 2, [2000, 4000]),
        (0.1 + 0.2, 0.7, 4, [0.3, 0.4, 0.5, 0.6, 0.7]),  # 0.30000000000000004 and 0.7 are themselves ticks
    ],
)
def test_ticks_by_hand(least, most, about, ticks):
    """Steps are 1, 2, 2.5 or 5 of a power of ten, none below what was asked, and ends that are round are ticks."""
    assert Scale(least, most, 0, 1).ticks(about) == pytest.approx(ticks)


def test_about_five_ticks_where_nothing_is_asked():
    """A span of 12 in five is a step of 2.5."""
    assert Scale(0, 12, 0, 1).ticks() == [0, 2.5, 5, 7.5, 10]


@pytest.mark.parametrize(
    ("values", "least", "most"),
    [
        ([4.0, 2.0, 3.0], 1.88, 4.12),  # 6 % of 2
        ([2.0, NAN, 4.0, math.inf, -math.inf], 1.88, 4.12),
        ([5.0, 5.0], 4.95, 5.05), ([-5.0], -5.05, -4.95),  # one value: a hundredth of it
        ([0.0], -0.5, 0.5), ([], -0.5, 0.5), ([NAN], -0.5, 0.5),
        ([1000.0, 1000.001], 999.99994, 1000.00106),
        ([1e6, 1e6 + 1e-5], 990_000.0, 1_010_000.0),  # apart by less than 1e-9 of themselves: one value
    ],
)  # fmt: skip
def test_room_on_both_sides(values, least, most):
    """The least finite value and the greatest, each with a margin, lie at start and end."""
    scale = scale_over(values, 10, 90)
    assert (scale.least, scale.most) == pytest.approx((least, most), rel=1e-9)
    assert (scale(least), scale(most)) == pytest.approx((10, 90), abs=1e-3)


def test_more_room_where_it_is_asked():
    """A quarter of the spread of 4 is 1."""
    scale = scale_over([2.0, 6.0], 0, 1, room=0.25)
    assert (scale.least, scale.most) == (1.0, 7.0)


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=20))
def test_a_scale_over_values_keeps_their_order(values):
    """Whoever is greater stands further along, and everybody stands between start and end."""
    scale = scale_over(values, 20, 80)
    places = [scale(value) for value in sorted(values)]
    assert places == sorted(places)
    assert all(20 <= place <= 80 for place in places)


@pytest.mark.parametrize(
    ("points", "kept"),
    [
        ([(0, 0), (1, 0), (2, 0), (3, 1), (4, 2)], [(0, 0), (2, 0), (4, 2)]),  # level, then one up for one along
        ([(10, 50), (11, 50), (13, 50), (14, 49), (16, 47)], [(10, 50), (13, 50), (16, 47)]),
        ([(0, 0), (1, 0.09), (2, 0)], [(0, 0), (2, 0)]),  # 0.09 is within the usual tenth
        ([(0, 0), (1, 0.12), (2, 0)], [(0, 0), (1, 0.12), (2, 0)]),
        # after (1, 0.09) and (2, 0.36) only slopes from (0.36 - 0.1) / 2 = 0.13 on pass both; to (3, 0.36) it is 0.12
        ([(0, 0), (1, 0.09), (2, 0.36), (3, 0.36)], [(0, 0), (2, 0.36), (3, 0.36)]),
        ([(0, 0), (1, -0.09), (2, -0.36), (3, -0.36)], [(0, 0), (2, -0.36), (3, -0.36)]),
        # (1, 0.3) narrows to 0.2 to 0.4, and (2, 0.78) at 0.39 to 0.34 to 0.4; (3, 1.23) at 0.41 is out
        ([(0, 0), (1, 0.3), (2, 0.78), (3, 1.23)], [(0, 0), (2, 0.78), (3, 1.23)]),
        # the same after a corner at (1, 5): from there 0.1 up over 1 along allows at most 0.2; over 2 it is 0.5
        ([(0, 0), (1, 5), (2, 5.1), (3, 6)], [(0, 0), (1, 5), (2, 5.1), (3, 6)]),
        ([(0, 7), (1, NAN), (2, NAN), (3, 1)], [(0, 7), (1, NAN), (3, 1)]),
        ([(0, 7)], [(0, 7)]), ([], []), ([(0, 7), (1, 8)], [(0, 7), (1, 8)]),
    ],
)  # fmt: skip
def test_a_line_keeps_its_corners(points, kept):
    """What lies on a straight line, within a tenth of a point, goes; corners, ends and one mark a gap stay."""
    assert str(straightened(points)) == str(kept)  # as text, since a gap is no number and equals nothing


def test_a_line_is_as_exact_as_it_is_asked():
    """A bend of 0.4 is a corner within 0.3 and none within 0.5."""
    bend = [(0, 0), (1, 0.4), (2, 0)]
    assert straightened(bend, 0.3) == bend
    assert straightened(bend, 0.5) == [(0, 0), (2, 0)]


@pytest.mark.parametrize(
    ("value", "ticks", "label"),
    [
        (1250.0, [0.0, 1250.0], "1,250"), (5.0, [0.0, 2.5, 5.0], "5.0"), (0.5, [0.0, 0.5], "0.5"),
        (-20.0, [-20.0, 0.0], "−20"), (-0.0, [-20.0, -0.0], "0"),
        (0.3, [0.2, 0.1 + 0.2], "0.3"),  # a step of 0.10000000000000003
        (0.000025, [0.0, 0.000025], "0.000025"),
        (3e-9, [0.0, 3e-9], "0.00000000"),  # eight places at the most
        (0.6, [0.6], "0.6"), (-0.25, [-0.25], "−0.25"), (0.0, [0.0], "0"), (7.0, [], "7"),
    ],
)  # fmt: skip
def test_a_tick_has_the_decimals_of_its_step(value, ticks, label):
    """As many as tell one tick from the next; a tick that stands alone has its own."""
    assert tick_label(value, ticks) == label


@pytest.mark.parametrize(
    ("words", "as_wide_as", "shown"),
    [
        ("abcdef", "abcdef", "abcdef"), ("abcdef", "ab…", "ab…"), ("ab cdef", "ab …", "ab…"), ("abc", "", "…"),
    ],
)  # fmt: skip
def test_words_are_cut_no_earlier_than_they_must(words, as_wide_as, shown):
    """Words that just fit stay; else as many characters as leave room for an ellipsis, and no blank before it."""
    assert fitted(words, 7, width(as_wide_as, 7)) == shown


def test_bold_words_need_a_tenth_more_room(drawing):
    """What fits with a twentieth to spare is cut when it is bold."""
    room = width("Feints and heads", SMALL) * 1.05
    drawing.text(0, 0, "Feints and heads", widest=room)
    drawing.text(0, 0, "Feints and heads", widest=room, bold=True)
    plain, bold = (look["words"] for _, look in marks(drawing))
    assert plain == "Feints and heads"
    assert bold == fitted("Feints and heads", SMALL * 1.1, room) != plain


def test_the_sheet_has_its_size_and_title(drawing):
    """Width, height and the view in points, lettering of seven points, and what is read aloud."""
    root = ElementTree.fromstring(str(drawing.svg()))
    assert root.attrib == {
        "width": "100pt", "height": "20.5pt", "viewBox": "0 0 100 20.5", "font-family": "Source Sans 3",
        "font-size": "7.0",
    }  # fmt: skip
    assert root.findtext(f"{SVG}title") == "Cuts & <b>"


def test_a_line_goes_from_one_point_to_the_other(drawing):
    """In ink half a point thick, or as it is asked."""
    drawing.line(1, 2.25, 3, 4.125)
    drawing.line(5, 6, 7, 8, ink=SOFT, weight=2.0, dash="3,2")
    (_, plain), (_, dashed) = marks(drawing)
    assert (plain["d"], plain["stroke"], plain["stroke-width"]) == ("M1,2.25L3,4.12", INK, "0.5")
    assert "stroke-dasharray" not in plain
    assert [dashed[key] for key in ("d", "stroke", "stroke-width", "stroke-dasharray")] == [
        "M5,6L7,8", SOFT, "2.0", "3,2",
    ]  # fmt: skip


def test_a_path_is_interrupted_where_there_is_no_number(drawing):
    """Either of the two being none lifts the pen, and the next point sets it down."""
    drawing.path([(0, 1), (2, 3), (NAN, 4), (5, 6), (7, 8), (9, NAN), (10, 11), (12, 13)])
    kind, look = only(drawing)
    assert (kind, look["d"]) == ("path", "M0,1L2,3M5,6L7,8M10,11L12,13")
    assert (look["fill"], look["stroke"], look["stroke-width"]) == ("none", INK, "0.8")


def test_a_curve_leaves_and_arrives_level(drawing):
    """Its two handles lie half way along, at the height of its own end: (10 + 30) / 2 = 20."""
    drawing.curve(10, 1, 30, 5)
    _, look = only(drawing)
    assert (look["d"], look["stroke"], look["stroke-width"]) == ("M10,1C20,1,20,5,30,5", SOFT, "0.6")


def test_a_box_has_its_corner_and_size(drawing):
    """A size below nought is none; fill and edge only where they are asked for."""
    drawing.box(1, 2, 30, 4)
    drawing.box(1, 2, -3, -4, fill=FAINT, ink=SOFT, weight=1.5, dash="1,1")
    drawing.box(1, 2, 0.5, 0.25)
    (kind, plain), (_, turned), (_, small) = marks(drawing)
    assert (kind, plain) == ("rect", {
        "x": "1", "y": "2", "width": "30", "height": "4", "fill": "none", "stroke": "none", "stroke-width": "0.5",
    })  # fmt: skip
    assert turned == {
        "x": "1", "y": "2", "width": "0", "height": "0", "fill": FAINT, "stroke": SOFT, "stroke-width": "1.5",
        "stroke-dasharray": "1,1",
    }  # fmt: skip
    assert (small["width"], small["height"]) == ("0.5", "0.25")


def test_an_area_is_closed(drawing):
    """All its corners in their order, and back to the first."""
    drawing.area([(0, 1), (2, 3), (4, 0)], fill=FAINT)
    assert only(drawing) == ("path", {"d": "M0,1L2,3L4,0Z", "fill": FAINT})


@pytest.mark.parametrize("shape", ["dot", "square", "diamond", "triangle"])
def test_a_marker_stands_at_its_place(drawing, shape):
    """Filled two points to each side, or an outline that is 0.8 pt thick at any size: 0.8 / 4 of its own units."""
    drawing.mark(shape, 5, 6)
    drawing.mark(shape, 7, 8, 4, hollow=True, ink=SOFT)
    (_, filled), (_, hollow) = marks(drawing)
    assert filled["transform"] == "translate(5,6) scale(2.0)"
    assert (filled["fill"], filled.get("stroke")) == (INK, None)
    assert hollow["transform"] == "translate(7,8) scale(4)"
    assert (hollow["fill"], hollow["stroke"], hollow["stroke-width"]) == ("white", SOFT, "0.2")
    assert filled["d"] == hollow["d"]


def test_markers_differ_by_shape(drawing):
    """Nothing is said by colour alone: each kind of marker has an outline of its own, about its place."""
    for shape in ("dot", "square", "diamond", "triangle"):
        drawing.mark(shape, 0, 0)
    assert [look["d"] for _, look in marks(drawing)] == [
        "M1,0A1,1,0,1,1,-1,0A1,1,0,1,1,1,0Z", "M-0.9,-0.9H0.9V0.9H-0.9Z", "M0,-1.25L1.25,0L0,1.25L-1.25,0Z",
        "M0,-1.2L1.2,0.95H-1.2Z",
    ]  # fmt: skip


def test_many_dots_are_one_mark(drawing):
    """Lines of no length with round ends, twice as thick as a dot is from middle to edge."""
    drawing.dots([(1, 2), (3.04, 4.06)])
    drawing.dots([(1, 2)], 0.5, ink=SOFT)
    drawing.dots([])
    (_, dots), (_, small) = marks(drawing)
    assert (dots["d"], dots["stroke"], dots["stroke-width"]) == ("M1.0,2.0h0M3.0,4.1h0", INK, "3.2")
    assert dots["stroke-linecap"] == "round"
    assert (small["stroke"], small["stroke-width"]) == (SOFT, "1")


def test_many_rings_are_one_mark(drawing):
    """From its place r to the left, then two half turns, there and back by the diameter."""
    drawing.rings([(1, 2), (3, 4)])
    drawing.rings([(5, 6)], 2.0, ink=SOFT)
    drawing.rings([])
    (_, rings), (_, large) = marks(drawing)
    turn = "m-1.6,0a1.6,1.6,0,1,1,3.2,0a1.6,1.6,0,1,1,-3.2,0Z"
    assert (rings["d"], rings["fill"], rings["stroke"]) == (f"M1,2{turn}M3,4{turn}", "white", INK)
    assert (large["d"], large["stroke"]) == ("M5,6m-2,0a2,2,0,1,1,4,0a2,2,0,1,1,-4,0Z", SOFT)


def test_a_text_says_only_what_differs_from_the_usual(drawing):
    """Seven points, beginning at its place, upright, in ink; else its size, anchor, weight and quarter turn."""
    drawing.text(1, 2, "Heads")
    drawing.text(3, 4, "Tails", size=9.0, anchor="end", bold=True, ink=SOFT, turned=True)
    assert marks(drawing) == [
        ("text", {"x": "1", "y": "2", "fill": INK, "words": "Heads"}),
        ("text", {
            "x": "3", "y": "4", "fill": SOFT, "font-size": "9.0", "text-anchor": "end", "font-weight": "600",
            "transform": "rotate(-90,3,4)", "words": "Tails",
        }),
    ]  # fmt: skip


def test_marks_are_drawn_in_their_order(drawing):
    """What is put down later lies above."""
    drawing.box(0, 0, 1, 1)
    drawing.text(0, 0, "over it")
    drawing.line(0, 0, 1, 1)
    assert [kind for kind, _ in marks(drawing)] == ["rect", "text", "path"]
