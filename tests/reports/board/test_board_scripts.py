"""The pure functions of the board's scripts, run in the browser that will run them."""

import json
from datetime import UTC, datetime

import pytest

from gaugebook.reports.board.board_curves import _steps
from gaugebook.reports.board.board_page import script


@pytest.fixture(scope="module")
def call(browser):
    """Calls a function of a module with JSON arguments."""
    browser.send("Page.navigate", url="about:blank")
    browser.settle()
    browser.js(script(("scale.js", "draw.js", "lists.js", "shelf.js")).replace("const modules", "globalThis.modules"))

    def called(module, function, *arguments):
        return browser.js(f'modules["{module}.js"].{function}({", ".join(json.dumps(item) for item in arguments)})')

    return called


def minute(*date):
    return int(datetime(*date, tzinfo=UTC).timestamp() // 60)


@pytest.mark.parametrize(
    ("span", "expected"),
    [
        ((0, 10, 5), [0, 2, 4, 6, 8, 10]),
        ((88.2, 97.6, 5), [90, 92, 94, 96]),
        ((-0.03, 0.02, 5), [-0.03, -0.02, -0.01, 0, 0.01, 0.02]),
        ((7, 7, 5), [7]),
    ],
)
def test_ticks_are_round_and_inside(call, span, expected):
    """Ticks are round values that lie inside the axis."""
    assert call("scale", "ticks", *span) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("value", "ticks", "words"),
    [
        (90, [90, 92.5, 95], "90.0"),
        (-0.02, [-0.02, 0, 0.02], "−0.02"),
        (0, [-0.5, 0], "0.0"),
        (1000, [0, 1000], "1000"),
    ],
)
def test_tick_has_the_decimals_of_its_step(call, value, ticks, words):
    """As many decimals as the step needs, a true minus sign, no minus zero."""
    assert call("scale", "tickWords", value, ticks) == words


@pytest.mark.parametrize(
    ("first", "last", "most", "expected"),
    [
        ((2025, 10, 1), (2026, 11, 1), 14, ["2025-10", "2025-11", "2025-12", "2026-01"]),
        ((2025, 10, 1), (2026, 11, 1), 5, ["2025-10", "2026-01", "2026-04", "2026-07"]),
        ((2016, 1, 1), (2026, 1, 1), 12, ["2016", "2017", "2018", "2019"]),
        ((2026, 3, 1), (2026, 3, 11), 10, ["2026-03-01", "2026-03-02", "2026-03-03", "2026-03-04"]),
        ((2026, 3, 1), (2026, 4, 20), 12, ["2026-03-01", "2026-03-06", "2026-03-11", "2026-03-16"]),
    ],
)
def test_time_axis(call, first, last, most, expected):
    """Years, months or days, never more ticks than fit."""
    ticks = call("scale", "timeTicks", minute(*first), minute(*last), most)

    assert [tick["words"] for tick in ticks][:4] == expected
    assert len(ticks) <= most + 1


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ((-5, 5), [0, 10]),
        ((95, 105), [90, 100]),
        ((50, 51), [48.5, 52.5]),
        ((-100, 300), [0, 100]),
        ((20, 40), [20, 40]),
    ],
)
def test_a_zoom_stays_inside(call, wanted, expected):
    """A span is moved inside the whole and is never shorter than the least."""
    assert call("scale", "inside", wanted, [0, 100], 4) == pytest.approx(expected)


def test_zoom_keeps_its_place(call):
    """Zooming keeps the place that it is about at the same part of the axis."""
    start, end = call("scale", "zoomed", [0, 100], 0.5, 20)
    assert (start, end) == (10, 60)
    assert (20 - start) / (end - start) == pytest.approx(0.2)


def test_curve_comes_back_as_it_was_packed(call):
    """Steps packed in Python unpack to the same numbers; a gap stays one."""
    assert call("scale", "unpacked", _steps([783, 785, None, 12, -40]), 10) == [78.3, 78.5, None, 1.2, -4.0]


@pytest.mark.parametrize(("wanted", "value"), [(1, 10), (2.5, 25), (4, 40), (0.5, None), (4.5, None)])
def test_value_between_points(call, wanted, value):
    """Between two points the line is straight; beyond its ends there is no value."""
    assert call("scale", "valueAt", [1, 2, 4], [10, 20, 40], wanted) == value


def test_reach_of_nothing(call):
    """An axis of no values or of one value still has a length."""
    for values in ([], [None], [5.0, 5.0]):
        least, most = call("scale", "reach", values)
        assert most > least


@pytest.mark.parametrize(
    ("asked", "find", "answer"),
    [({}, "", True), ({"state": "held"}, "", False), ({"state": "waiting"}, "gin MARSH", True), ({}, "gin rye", False)],
)
def test_a_row_answers_to_the_form(call, asked, find, answer):
    """Every field and every word must agree."""
    row = {"data": {"state": "waiting"}, "text": "gin-3105a marsh gin"}
    assert call("lists", "answers", row, asked, find) is answer


@pytest.mark.parametrize(
    ("places", "expected"), [([10, 50, 90], [10, 50, 90]), ([40, 41, 42], [40, 53, 66]), ([95, 96], [87, 100])]
)
def test_labels_are_spread(call, places, expected):
    """Labels lie at their places where there is room, else apart, and none below the floor."""
    assert call("scale", "spread", places, 13, 100) == expected


def test_every_month_between(call):
    """A month without a bottling has its column."""
    assert call("shelf", "monthsBetween", "2030-11", "2031-02") == ["2030-11", "2030-12", "2031-01", "2031-02"]


@pytest.mark.parametrize("scores", [(1, "1 run"), (0, "no runs"), (12, "12 runs")])
def test_counts_in_words(call, scores):
    """As the documents say them."""
    assert call("draw", "plural", scores[0], "run") == scores[1]
