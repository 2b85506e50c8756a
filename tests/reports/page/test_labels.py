"""Labels: no two lie on each other, none leaves the figure, and each stays with what it names."""

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from gaugebook.reports.page.labels import Wanted, placed, rows_of, spread

START, END, APART = 34.0, 480.0, 4.0


@st.composite
def labels(draw, most=15):
    """Up to so many labels whose stretches lie inside the figure."""
    found = []
    for _ in range(draw(st.integers(0, most))):
        first = draw(st.floats(START, END))
        last = draw(st.floats(first, END))
        found.append(Wanted(first, last, draw(st.floats(1.0, END - START)), draw(st.booleans())))
    return found


@given(labels())
def test_no_two_boxes_overlap(wanted):
    """In one row the boxes of words and stretch are apart; words lie between the edges."""
    boxes = placed(wanted, START, END, APART)

    for one, other in combinations(boxes, 2):
        if one.row == other.row:
            assert one.right + APART <= other.left or other.right + APART <= one.left
    for box, label in zip(boxes, wanted, strict=True):
        assert box.words >= START
        assert box.words + label.width <= END + 1e-9
        assert box.left <= min(box.words, label.first)
        assert box.right >= max(box.words + label.width, label.last)


def test_fifteen_findings_at_one_moment_take_fifteen_rows():
    """The worst crowd: each gets a row of its own."""
    boxes = placed([Wanted(300.0, 302.0, 90.0)] * 15, START, END)

    assert sorted(box.row for box in boxes) == list(range(15))


def test_labels_with_room_share_a_row():
    """Three short ones far apart stand at their own places in one row."""
    boxes = placed([Wanted(at, at, 40.0) for at in (40.0, 160.0, 280.0)], START, END)

    assert rows_of(boxes) == 1
    assert [box.words for box in boxes] == [40.0, 160.0, 280.0]


def test_words_before_and_after_a_place():
    """The one ends at its place, the other begins there; at the edge both are moved inside."""
    before, after = placed([Wanted(200.0, 200.0, 50.0, before=True), Wanted(204.5, 204.5, 50.0)], START, END)

    assert (before.words, after.words) == (150.0, 204.5)
    assert before.row == after.row
    assert placed([Wanted(470.0, 470.0, 50.0)], START, END)[0].words == END - 50.0


@given(st.lists(st.floats(0.0, 60.0), min_size=1, max_size=6))
def test_spread_places_are_apart_and_above_the_foot(places):
    """At least so far from each other, in the same order, none below the last allowed."""
    moved = spread(places, 7.5, 62.4)

    in_order = [moved[number] for number in sorted(range(len(places)), key=lambda number: places[number])]
    assert all(low + 7.5 <= high + 1e-9 for low, high in pairwise(in_order))
    assert max(moved) <= 62.4


def test_spread_leaves_places_that_are_apart():
    """Nothing is moved that need not be."""
    assert spread([40.0, 10.0, 25.0], 7.5, 62.4) == [40.0, 10.0, 25.0]
