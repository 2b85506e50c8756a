"""Readings of one strength against their weighted mean."""

import pytest


def _gauge(put, line, lot, strength, u, reading=1.0, **more):
    put("typed.movements", run="R", direction="out", lot=lot, part="hearts", strength_reading=reading, line=line)
    put(
        "derived.gauges", run="R", direction="out", lot=lot, strength_pct_vol=strength, u_strength_pct_vol=u, line=line,
        source_id=1, **{"strength_is": "true", "strength_from": "pct_vol_20c"} | more,
    )  # fmt: skip


def _dip(put, line, lot, strength, u, reading=1.0):
    put(
        "typed.stock",
        vessel="T",
        lot=lot,
        gauged_at="2031-01-31",
        volume_at_t_l=1.0,
        strength_reading=reading,
        line=line,
    )
    put(
        "derived.stock_gauges", lot=lot, strength_pct_vol=strength, u_strength_pct_vol=u, strength_is="true", line=line,
        source_id=1,
    )  # fmt: skip


def _opening(put, line, lot, strength, u, reading=1.0, by="pct_vol_20c"):
    put(
        "derived.openings", lot=lot, strength_reading=reading, strength_from=by, strength_pct_vol=strength,
        u_strength_pct_vol=u, strength_is="true", source_id=1, line=line,
    )  # fmt: skip


def test_mean_and_distance_of_three_readings(put, made_by):
    """A gauge of 40.0 and a dip of 40.1, u 0.1 each, and an opening of 41.0, u 0.2; it is just not suspect."""
    _gauge(put, 1, "A", 40.0, 0.1)
    _dip(put, 2, "A", 40.1, 0.1)
    _opening(put, 3, "A", 41.0, 0.2)

    rows = {row["kind"]: row for row in made_by("strength_checks")}

    # weights 100, 100, 25: (4000 + 4010 + 1025) / 225 = 40.15556; its u is 1/sqrt(225) = 0.066667
    assert rows["gauge"]["mean_strength_pct_vol"] == pytest.approx(40.15556, abs=1e-5)
    assert rows["dip"]["u_mean_strength_pct_vol"] == pytest.approx(0.066667, abs=1e-6)
    # 0.15556 / sqrt(0.01 - 0.004444), 0.05556 / sqrt(0.01 - 0.004444), 0.84444 / sqrt(0.04 - 0.004444)
    assert rows["gauge"]["z"] == pytest.approx(2.0870, abs=1e-4)
    assert rows["dip"]["z"] == pytest.approx(0.7454, abs=1e-4)
    assert rows["opening"]["z"] == pytest.approx(4.4783, abs=1e-4)
    assert {row["readings"] for row in rows.values()} == {3}
    assert {row["verdict"] for row in rows.values()} == {"agrees"}
    assert {kind: row["line"] for kind, row in rows.items()} == {"gauge": 1, "dip": 2, "opening": 3}


def test_beyond_four_and_a_half_it_is_suspect(put, made_by):
    """The same with 41.01: 0.85333 / 0.188562 = 4.5255."""
    _gauge(put, 1, "A", 40.0, 0.1)
    _dip(put, 2, "A", 40.1, 0.1)
    _opening(put, 3, "A", 41.01, 0.2)

    verdicts = {row["kind"]: row["verdict"] for row in made_by("strength_checks")}

    assert verdicts == {"gauge": "agrees", "dip": "agrees", "opening": "suspect"}


def test_only_the_farthest_of_a_lot_is_suspect(put, made_by):
    """Of 40, 40, 45 and 50, all within 0.1, the last alone; and no other lot is measured by it."""
    for line, strength in enumerate((40.0, 40.0, 45.0, 50.0), start=1):
        _gauge(put, line, "A", strength, 0.1)
    for line, strength in enumerate((60.0, 60.0, 62.0), start=11):
        _gauge(put, line, "B", strength, 0.1)

    verdicts = [(row["line"], row["verdict"]) for row in made_by("strength_checks")]

    assert [line for line, verdict in verdicts if verdict == "suspect"] == [4, 13]
    assert len(verdicts) == 7


def test_of_two_that_disagree_neither_is_blamed(put, made_by):
    """One alone cannot be checked at all; true and apparent strengths of a lot are none of each other's business."""
    _gauge(put, 1, "A", 40.0, 0.1)
    _gauge(put, 2, "A", 41.0, 0.1)
    _gauge(put, 3, "B", 40.0, 0.1, strength_is="true")
    _gauge(put, 4, "B", 38.0, 0.1, strength_is="apparent")

    rows = {row["line"]: row for row in made_by("strength_checks")}

    assert [rows[line]["verdict"] for line in (1, 2)] == ["one of two is wrong"] * 2
    assert [rows[line]["verdict"] for line in (3, 4)] == ["cannot be checked"] * 2
    assert rows[3]["z"] is None
    assert rows[3]["readings"] == 1


def test_what_is_no_reading_of_its_own_is_not_taken(put, made_by):
    """No strength read, one that the laboratory replaced, one without strength or without uncertainty."""
    _gauge(put, 1, "A", 40.0, 0.1)
    _gauge(put, 2, "A", 40.0, 0.1, reading=None)
    _gauge(put, 3, "A", 40.0, 0.1, strength_from="laboratory")
    _gauge(put, 4, "A", None, 0.1)
    _gauge(put, 5, "A", 40.0, 0.0)
    _dip(put, 6, "A", 40.0, 0.1, reading=None)
    _opening(put, 7, "A", 40.0, 0.1, reading=None)
    _opening(put, 8, "A", 40.0, 0.1, by="laboratory")

    assert [row["line"] for row in made_by("strength_checks")] == [1]


def test_a_laboratorys_strength_is_true_of_what_holds_nothing_or_was_distilled(put, made_by):
    """Else it is apparent; other analytes are no strengths."""
    put("derived.extracts", lot="B", may_hold_from="cask")
    put("derived.extracts", lot="C", may_hold_from="cask")
    for line, (lot, preparation) in enumerate((("A", "direct"), ("B", "direct"), ("C", "distilled")), start=1):
        put(
            "derived.laboratory", lot=lot, analyte="strength", value=40.0, u_value=0.1, preparation=preparation,
            source_id=1, line=line,
        )  # fmt: skip
    put("derived.laboratory", lot="A", analyte="methanol", value=40.0, u_value=0.1, source_id=1, line=9)
    # a gauge of each, true, so that it shares the laboratory's mean where that is true
    for line, lot in enumerate("ABC", start=11):
        _gauge(put, line, lot, 40.0, 0.1)

    readings = {row["line"]: row["readings"] for row in made_by("strength_checks")}

    assert readings == {1: 2, 2: 1, 3: 2, 11: 2, 12: 1, 13: 2}
