"""The network of alcohol as it is set up: nodes, legs and measured streams, on rows put in by hand."""

import pytest


@pytest.fixture
def streams(put, made_by):
    """Lot S: 50 LPA by run A, 20 LPA into run B before a dip and 25 after it; rows by kind, run and direction."""
    put("derived.lots", lot="S", material="hearts", quantity_in=50.0)
    put(
        "derived.gauges",
        gauge=1,
        run="A",
        stage="strip",
        direction="out",
        lot="S",
        part="hearts",
        alcohol_l=50.0,
        gauged_at="2031-01-01",
    )
    put(
        "derived.gauges",
        gauge=2,
        run="B",
        stage="rectify",
        direction="in",
        lot="S",
        part="spirit",
        alcohol_l=20.0,
        gauged_at="2031-01-10",
    )
    put(
        "derived.gauges",
        gauge=3,
        run="C",
        stage="rectify",
        direction="in",
        lot="S",
        part="spirit",
        alcohol_l=25.0,
        gauged_at="2031-02-10",
    )

    def rows(kind):
        return [row for row in made_by("streams") if row["kind"] == kind]

    return rows


def _dip(put, gauge, alcohol_l, at="2031-01-31 08:00", vessel="T1"):
    put(
        "derived.stock_gauges",
        gauge=gauge,
        lot="S",
        vessel=vessel,
        alcohol_l=alcohol_l,
        gauged_at=at,
        source_id=7,
        line=gauge,
    )


def test_a_dip_parts_the_life_of_a_lot(put, streams):
    """Made and first drawn before it, in leg 0; drawn again in leg 1."""
    _dip(put, 11, 29.0)

    assert [(row["run"], row["source"], row["target"]) for row in streams("gauge")] == [
        ("A", "run A", "lot S leg 0"), ("B", "lot S leg 0", "run B"), ("C", "lot S leg 1", "run C"),
    ]  # fmt: skip
    (dip,) = streams("dip")
    assert (dip["source"], dip["target"], dip["measured_l"]) == ("lot S leg 0", "lot S leg 1", 29.0)


def test_what_is_drawn_at_the_moment_of_a_dip_is_drawn_before_it(put, streams):
    """Run B draws at the very time of the dip: in leg 0."""
    _dip(put, 11, 29.0, "2031-01-10")

    assert [(row["run"], row["source"]) for row in streams("gauge")] == [
        ("A", "run A"), ("B", "lot S leg 0"), ("C", "lot S leg 1"),
    ]  # fmt: skip


def test_dips_of_a_day_in_two_vessels_are_one(put, streams):
    """20 and 9 LPA are 29; its time is the later's, its place the first line's; the next month's is another."""
    _dip(put, 12, 9.0, "2031-01-31 09:00", "T2")
    _dip(put, 11, 20.0)
    _dip(put, 13, 3.0, "2031-02-28 08:00")

    first, second = streams("dip")

    assert (first["measured_l"], first["gauges"], first["line"], first["source_id"]) == (29.0, [11, 12], 11, 7)
    assert str(first["gauged_at"]) == "2031-01-31 09:00:00"
    # nothing was drawn after the second, and the lot is not used up: it leads to what nobody has measured
    assert (second["source"], second["target"], second["measured_l"]) == ("lot S leg 1", None, 3.0)


def test_a_vessel_without_strength_leaves_the_dip_unknown(put, streams):
    """The sum of the others would pass for all."""
    _dip(put, 11, 20.0)
    _dip(put, 12, None, vessel="T2")

    (dip,) = streams("dip")

    assert dip["measured_l"] is None


def test_what_a_used_up_lot_leaves_is_what_is_usual(put, streams):
    """0.4 % and 0.1 % of 50 LPA, of lots of hearts; of one that is not used up nobody knows."""
    for of_what, kind, fraction, scatter in (
        ("lot", "hearts", 0.004, 0.001), ("run", "hearts", 0.5, 0.5), ("lot", "tails", 0.5, 0.5),
    ):  # fmt: skip
        put("derived.usual_losses", of_what=of_what, kind=kind, fraction=fraction, scatter=scatter)
    (left,) = streams("left")
    assert (left["source"], left["measured_l"]) == ("lot S leg 0", None)

    put("derived.used_up_lots", lot="S", emptied_at="2031-03-01")
    (left,) = streams("left")

    assert (left["measured_l"], left["u_measured_l"]) == (pytest.approx(0.2), pytest.approx(0.05))
    assert str(left["gauged_at"]) == "2031-03-01 00:00:00"


def test_mash_and_ferment_are_no_nodes_and_one_sided_lots_neither(put, streams):
    """A ferment's wash comes from outside; a lot that nobody drew or dipped leads nowhere; grain carries nothing."""
    put(
        "derived.gauges",
        run="F",
        stage="ferment",
        direction="out",
        lot="S",
        part="wash",
        gauged_at="2031-01-02",
        alcohol_l=1.0,
    )
    put(
        "derived.gauges",
        run="A",
        stage="strip",
        direction="out",
        lot="T",
        part="tails",
        gauged_at="2031-01-02",
        alcohol_l=2.0,
    )
    put("derived.gauges", run="A", stage="strip", direction="in", lot="G", part="botanical", gauged_at="2031-01-02")

    rows = {(row["run"], row["lot"]): (row["source"], row["target"]) for row in streams("gauge")}

    assert rows["F", "S"] == (None, "lot S leg 0")
    assert rows["A", "T"] == ("run A", None)
    assert ("A", "G") not in rows


def test_a_run_loses_what_is_usual(put, streams):
    """As its verdict states it."""
    put("derived.run_verdicts", run="A", usual_loss_l=0.7, u_usual_loss_l=0.2, ended_at="2031-01-01")

    (loss,) = streams("loss")

    assert (loss["source"], loss["target"], loss["measured_l"], loss["u_measured_l"]) == ("run A", None, 0.7, 0.2)


def test_a_gauge_without_a_time_stands_at_its_runs(put, streams):
    """What is drawn at the start, what is made at the end, or at the start where there is none."""
    _dip(put, 11, 29.0)
    put("typed.runs", run="D", stage="rectify", equipment="E", started_at="2031-01-30", ended_at="2031-02-02")
    put("typed.runs", run="G", stage="rectify", equipment="E", started_at="2031-01-30")
    put("derived.gauges", run="D", stage="rectify", direction="in", lot="S", part="spirit", alcohol_l=1.0)
    put("derived.gauges", run="D", stage="rectify", direction="out", lot="S", part="hearts", alcohol_l=1.0)
    put("derived.gauges", run="G", stage="rectify", direction="out", lot="S", part="hearts", alcohol_l=1.0)

    ends = {(row["run"], row["direction"]): (row["source"], row["target"]) for row in streams("gauge")}

    assert ends["D", "in"] == ("lot S leg 0", "run D")
    assert ends["D", "out"] == ("run D", "lot S leg 1")
    assert ends["G", "out"] == ("run G", "lot S leg 0")


def test_dips_of_one_day_of_the_house_are_one(empty_book, put, made_by):
    """16:30 and 17:30 on 31 January in a house seven hours west of Greenwich, on two days by UTC: 20 and 9 LPA are one
    dip of 29."""
    empty_book.execute("SET VARIABLE house_zone = 'Etc/GMT+7'")
    put("derived.lots", lot="S", material="hearts", quantity_in=50.0)
    for gauge, direction, alcohol_l, at in ((1, "out", 50.0, "2031-01-01"), (2, "in", 20.0, "2031-01-10")):
        put(
            "derived.gauges", gauge=gauge, run=f"R{gauge}", stage="strip", direction=direction, lot="S", part="hearts",
            alcohol_l=alcohol_l, gauged_at=at,
        )  # fmt: skip
    _dip(put, 11, 20.0, "2031-01-31 23:30", "T1")
    _dip(put, 12, 9.0, "2031-02-01 00:30", "T2")

    assert [row["measured_l"] for row in made_by("streams") if row["kind"] == "dip"] == [29.0]
