"""Which movement of a ring is refused, on movements put in by hand."""

import polars as pl
import pytest

from gaugebook.pipeline.typed.lot_cycles import without_cycles


def _moves(*rows):
    """Movements as (line, run, direction, lot)."""
    return pl.DataFrame(list(rows), schema=["line", "run", "direction", "lot"], orient="row")


def test_no_movements_close_no_ring(empty_book):
    """And there is no fault."""
    kept, faults = without_cycles(empty_book, _moves())

    assert (kept.height, faults.height) == (0, 0)


def test_the_last_line_of_a_ring_is_refused(empty_book):
    """Lines in whatever order: the greatest closes it."""
    ring = _moves(
        (4, "B", "in", "Y"), (2, "A", "in", "X"), (5, "B", "out", "X"), (3, "A", "out", "Y"), (6, "A", "out", "Z")
    )

    kept, faults = without_cycles(empty_book, ring)

    assert kept["line"].to_list() == [4, 2, 3, 6]
    assert faults.select("line", "value", "raw").rows() == [(5, "X", "B / out / X")]


def test_a_ring_with_what_the_book_holds(empty_book, put):
    """Runs A and B made Y of X; what the next file adds closes it, and the rest of that file is kept."""
    put("typed.movements", run="A", direction="in", lot="X", part="spirit")
    put("typed.movements", run="A", direction="out", lot="Y", part="spirit")
    put("typed.movements", run="B", direction="in", lot="Y", part="spirit")

    kept, faults = without_cycles(empty_book, _moves((2, "B", "out", "X"), (3, "B", "out", "W"), (4, "C", "in", "W")))

    assert faults["line"].to_list() == [2]
    assert kept["line"].to_list() == [3, 4]


def test_two_rings_lose_a_line_each(empty_book):
    """And a lot between them, made by one and drawn by the other, is in neither."""
    rows = _moves(
        (1, "A", "in", "X"), (2, "A", "out", "X"), (3, "A", "out", "M"), (4, "B", "in", "M"), (5, "B", "in", "Y"),
        (6, "B", "out", "Y"),
    )  # fmt: skip

    kept, faults = without_cycles(empty_book, rows)

    assert faults["line"].to_list() == [2, 6]
    assert kept["line"].to_list() == [1, 3, 4, 5]


@pytest.mark.parametrize("long", [2, 5])
def test_a_ring_is_closed_over_any_number_of_runs(empty_book, long):
    """Each run draws the lot of the one before."""
    rows = [
        row
        for n in range(long)
        for row in ((2 * n + 1, f"R{n}", "in", f"L{n}"), (2 * n + 2, f"R{n}", "out", f"L{(n + 1) % long}"))
    ]

    _, faults = without_cycles(empty_book, _moves(*rows))

    assert faults["line"].to_list() == [2 * long]
