"""Still runs with a log, their files, their gauges by part and how their loss compares: on rows put in by hand."""

from datetime import datetime

import pytest

NINE, TEN, NOON = (datetime(2031, 1, 1, hour) for hour in (9, 10, 12))


@pytest.fixture
def row(empty_book, put, made_by):
    """The one row of run R, of a log from ten to noon in two blocks of one still."""
    empty_book.execute("CREATE OR REPLACE TEMP TABLE log_blocks (run VARCHAR, equipment VARCHAR, first_at TIMESTAMP, "
                       "last_at TIMESTAMP)")  # fmt: skip
    for first, last in ((TEN, datetime(2031, 1, 1, 11)), (datetime(2031, 1, 1, 11), NOON)):
        empty_book.execute("INSERT INTO log_blocks VALUES ('R', 'S1', ?, ?)", [first, last])
    for source, still, first, last in (
        (1, "S1", TEN, NOON), (2, "S1", NINE, TEN), (3, "S1", NOON, NOON), (4, "S1", NINE, NINE), (5, "S2", TEN, NOON),
    ):  # fmt: skip
        empty_book.execute("INSERT INTO typed.log_blocks VALUES (?, ?, ?, ?)", [source, still, first, last])
        empty_book.execute("INSERT INTO typed.log_files VALUES (?, ?)", [source, f"file-{source}"])
    put("typed.runs", run="R", stage="strip", equipment="S1", product="GIN", started_at=TEN)

    def only():
        (one_row,) = made_by("curves/curve_runs")
        return one_row

    return only


def put_gauge(put, number, part, volume_l, alcohol_l, direction="out", **errors):
    strength = 100 * alcohol_l / volume_l if volume_l and alcohol_l is not None else None
    put("derived.gauges", gauge=number, run="R", direction=direction, part=part, volume_l=volume_l, alcohol_l=alcohol_l,
        strength_pct_vol=strength)  # fmt: skip
    for error, size in errors.items():
        put("derived.gauge_errors", gauge=number, error=error, volume_l=2 * size, alcohol_l=size)


def test_the_stretch_and_the_files_of_a_log(row):
    """From the first row to the last, in every file of the still that touches it."""
    run = row()

    assert (run["first_at"], run["last_at"], run["files"]) == (TEN, NOON, ["file-1", "file-2", "file-3"])
    assert (run["run"], run["equipment"], run["stage"], run["recipe"], run["gauged"]) == (
        "R",
        "S1",
        "strip",
        "GIN",
        None,
    )
    assert (run["charge_strength_pct_vol"], run["is_unusual"]) == (None, False)


def test_receivers_of_one_part_are_added_up(row, put):
    """Foreshots and heads, 10 of 8 and 30 of 21 LPA: 40 L of 29 LPA, 72.5 % vol; errors that they share first, then in
    squares: 0.3 + 0.4 of e, 0.1 of f. What was charged is no receiver."""
    put_gauge(put, 1, "foreshots", 10.0, 8.0, e=0.3)
    put_gauge(put, 2, "heads", 30.0, 21.0, e=0.4, f=0.1)
    put_gauge(put, 3, "wash", 100.0, 9.0, direction="in", e=9.0)
    (heads,) = row()["gauged"]

    assert (heads["part"], heads["volume_l"], heads["alcohol_l"]) == ("heads", 40.0, 29.0)
    assert heads["strength_pct_vol"] == pytest.approx(72.5)
    assert heads["u_alcohol_l"] == pytest.approx((0.7**2 + 0.1**2) ** 0.5)
    assert heads["u_volume_l"] == pytest.approx(2 * (0.7**2 + 0.1**2) ** 0.5)


@pytest.mark.parametrize(
    ("parts", "cut"),
    [(("hearts", "spirit"), "hearts"), (("tails", "feints"), "tails"), (("spent",), "spent")],
)
def test_which_part_a_receiver_belongs_to(row, put, parts, cut):
    """By the name that its house gives it."""
    for number, part in enumerate(parts):
        put_gauge(put, number, part, 10.0, 5.0)

    assert [(one_part["part"], one_part["volume_l"]) for one_part in row()["gauged"]] == [(cut, 10.0 * len(parts))]


def test_a_receiver_that_could_not_be_gauged_leaves_its_part_unknown(row, put):
    """Of two hearts one without alcohol: litres stand, alcohol does not; of one receiver its strength is told, though
    its volume is not."""
    put_gauge(put, 1, "hearts", 10.0, 8.0, e=0.3)
    put_gauge(put, 2, "hearts", 30.0, None, e=0.3)
    put("derived.gauges", gauge=3, run="R", direction="out", part="tails", strength_pct_vol=30.0)
    hearts, tails = row()["gauged"]

    assert (hearts["volume_l"], hearts["alcohol_l"], hearts["u_alcohol_l"]) == (40.0, None, None)
    assert hearts["u_volume_l"] == pytest.approx(1.2)
    assert (tails["volume_l"], tails["u_volume_l"], tails["strength_pct_vol"]) == (None, None, 30.0)


@pytest.mark.parametrize(
    ("verdict", "loss_l", "u_loss_l", "u_usual_l", "is_unusual"),
    [
        ("gains", 0.0, 1.0, 1.0, True), ("as usual", 6.1, 1.0, 0.5, True), ("as usual", 5.9, 1.0, 0.5, False),
        ("as usual", 6.1, 0.5, 1.0, True), ("as usual", 5.9, 0.5, 1.0, False), (None, None, None, None, False),
    ],
)  # fmt: skip
def test_a_loss_that_is_unusual(row, put, verdict, loss_l, u_loss_l, u_usual_l, is_unusual):
    """More than 3 L are usual, by over three times the greater uncertainty; or a gain. The charge: 9 LPA in 100 L."""
    put("derived.run_verdicts", run="R", verdict=verdict, loss_l=loss_l, usual_loss_l=3.0, u_loss_l=u_loss_l,
        u_usual_loss_l=u_usual_l)  # fmt: skip
    put("derived.run_balances", run="R", alcohol_in_l=9.0, volume_in_l=100.0)
    run = row()

    assert run["is_unusual"] is is_unusual
    assert run["charge_strength_pct_vol"] == pytest.approx(9.0)
