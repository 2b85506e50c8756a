"""What casks lost from one measurement to the next, and how surely, on gauges put in by hand."""

from datetime import datetime
from pathlib import Path

import pytest

from gaugebook.pipeline.derived import rebuild

CASKS = Path(rebuild.__file__).parent / "casks"


@pytest.fixture
def put_gauge(put):
    """A gauge with its errors: put_gauge("out", 1, "C1/1", "2024-01-01", 100.0, a=0.5, b=0.3)."""

    def put_one(what, number, lot, on, alcohol_l, **errors):
        if what == "dip":
            put("derived.stock_gauges", gauge=number, vessel=lot.split("/")[0], lot=lot, gauged_at=on,
                alcohol_l=alcohol_l, source_id=1, line=number)  # fmt: skip
        elif what == "opening":
            put("derived.openings", gauge=number, vessel=lot.split("/")[0], lot=lot, came_at=on, alcohol_l=alcohol_l)
        elif what in ("in", "out"):
            put("derived.gauges", gauge=number, lot=lot, gauged_at=on, alcohol_l=alcohol_l, direction=what)
        else:
            put("derived.removals", gauge=number, lot=lot, removed_at=on, alcohol_l=alcohol_l, kind=what,
                is_bottled=False)  # fmt: skip
        for error, part in errors.items():
            put("derived.gauge_errors", gauge=number, error=error, alcohol_l=part)

    return put_one


@pytest.fixture
def losses(empty_book):
    """Rows of derived.cask_losses."""

    def rows():
        empty_book.run_file(CASKS / "cask_losses.sql")
        return empty_book.frame("SELECT * FROM derived.cask_losses ORDER BY contents, number").to_dicts()

    return rows


def put_event(put, contents, event, on, line=1):
    put("derived.cask_events", cask=contents.split("/")[0], contents=contents, event=event, happened_at=on,
        source_id=1, line=line)  # fmt: skip


def test_a_filling_from_gauge_to_gauge_until_it_is_emptied(put, put_gauge, losses):
    """100 LPA were filled and 95 found: 5 lost, with 0.5 - 0.4 of error a, 0.3 of b and 0.2 of c. 10 were topped up and
    1 drawn as a sample, 104 should be there; 97 were drawn when it was emptied: 7 lost, with 0.4 - 0.1 - 0.4 of a, 0.1
    of b and 0.2 of c."""
    for event, on in (("filled", "2024-01-01"), ("filled", "2025-06-01"), ("emptied", "2026-01-01")):
        put_event(put, "C1/1", event, on, line=7)
    put_gauge("out", 1, "C1/1", "2024-01-01", 100.0, a=0.5, b=0.3)
    put_gauge("dip", 10, "C1/1", "2025-01-01", 95.0, a=0.4, c=0.2)
    put_gauge("out", 2, "C1/1", "2025-06-01", 10.0, b=0.1)
    put_gauge("sampled", 20, "C1/1", "2025-07-01", 1.0, a=0.1)
    put_gauge("in", 3, "C1/1", "2026-01-01", 97.0, a=0.4)

    first, second = losses()

    assert first == {
        "contents": "C1/1", "cask": "C1", "number": 1, "found_when": "regauged", "source_id": 1, "line": 10,
        "from_at": datetime(2024, 1, 1), "to_at": datetime(2025, 1, 1), "found_l": 95.0, "held_l": 100.0,
        "loss_l": pytest.approx(5.0), "u_loss_l": pytest.approx((0.1**2 + 0.3**2 + 0.2**2) ** 0.5),
    }  # fmt: skip
    assert second == {
        "contents": "C1/1", "cask": "C1", "number": 2, "found_when": "emptied", "source_id": 1, "line": 7,
        "from_at": datetime(2025, 1, 1), "to_at": datetime(2026, 1, 1), "found_l": 0.0, "held_l": pytest.approx(104.0),
        "loss_l": pytest.approx(7.0), "u_loss_l": pytest.approx((0.1**2 + 0.1**2 + 0.2**2) ** 0.5),
    }  # fmt: skip


def test_a_cask_of_the_opening_stock_begins_with_what_stood_there(put_gauge, losses):
    """90 LPA, 88 found; a tank of the opening stock is no cask. Without errors the loss is sure."""
    put_gauge("opening", 1, "C9/1", "2024-01-01", 90.0)
    put_gauge("dip", 2, "C9/1", "2025-01-01", 88.0)
    put_gauge("opening", 3, "NM", "2024-01-01", 90.0)
    put_gauge("dip", 4, "NM", "2025-01-01", 80.0)

    (row,) = losses()

    assert (row["contents"], row["cask"], row["from_at"]) == ("C9/1", "C9", datetime(2024, 1, 1))
    assert (row["held_l"], row["loss_l"], row["u_loss_l"]) == (90.0, 2.0, 0.0)


def test_what_moved_at_the_moment_of_a_gauge_is_in_it(put, put_gauge, losses):
    """Topped up by 10 as it was gauged: 100 + 10 less 95 at that gauge, 95 less 90 at the next."""
    put_event(put, "C1/1", "filled", "2024-01-01")
    put_gauge("out", 1, "C1/1", "2024-01-01", 100.0)
    put_gauge("out", 2, "C1/1", "2025-01-01", 10.0)
    put_gauge("dip", 3, "C1/1", "2025-01-01", 95.0)
    put_gauge("dip", 4, "C1/1", "2026-01-01", 90.0)

    assert [row["loss_l"] for row in losses()] == [15.0, 5.0]


@pytest.mark.parametrize("unknown", ["filled", "found", "sampled"])
def test_what_was_not_gauged_leaves_the_loss_unknown(put, put_gauge, losses, unknown):
    """One gauge of it is enough; its uncertainty is unknown as well."""
    put_event(put, "C1/1", "filled", "2024-01-01")
    put_gauge("out", 1, "C1/1", "2024-01-01", None if unknown == "filled" else 100.0, a=0.5)
    put_gauge("sampled", 2, "C1/1", "2024-06-01", None if unknown == "sampled" else 1.0)
    put_gauge("dip", 3, "C1/1", "2025-01-01", None if unknown == "found" else 95.0)

    (row,) = losses()

    assert (row["loss_l"], row["held_l"], row["u_loss_l"]) == (None, None, None)


def test_a_cask_gauged_and_emptied_at_one_moment(put, put_gauge, losses):
    """The gauge comes first: 5 of 100 LPA lost until then, and 2 of the 95 between it and what was drawn. What came
    back, and bottles, have no part in it."""
    put_event(put, "C1/1", "filled", "2024-01-01")
    put_event(put, "C1/1", "emptied", "2025-01-01")
    put_gauge("out", 1, "C1/1", "2024-01-01", 90.0)
    put_gauge("returned", 2, "C1/1", "2024-02-01", 10.0)
    put("derived.removals", gauge=5, lot="C1/1", removed_at="2024-02-01", alcohol_l=50.0, kind="sampled",
        is_bottled=True)  # fmt: skip
    put_gauge("dip", 3, "C1/1", "2025-01-01", 95.0)
    put_gauge("in", 4, "C1/1", "2025-01-01", 93.0)

    gauged, emptied = losses()

    assert (gauged["found_when"], gauged["held_l"], gauged["found_l"], gauged["loss_l"]) == (
        "regauged",
        100.0,
        95.0,
        5.0,
    )
    assert (emptied["found_when"], emptied["held_l"], emptied["found_l"], emptied["loss_l"]) == (
        "emptied",
        95.0,
        0.0,
        2.0,
    )
    assert emptied["from_at"] == emptied["to_at"] == datetime(2025, 1, 1)
