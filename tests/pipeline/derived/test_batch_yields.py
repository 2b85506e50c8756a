"""Grain to bottle, on a lineage put in by hand."""

import pytest


def test_a_batch_of_two_mashes_and_two_washes(put, made_by):
    """100 and 50 kg of grain stand behind it, the first mashed on 1 January; of two washes of 50 and 20 LPA, where 60
    and 20 were promised, it took 30 and 10: 36 and 10 LPA were promised. 40 LPA are in bottles on 31 January. Yeast
    and what another batch took have no part in it."""
    put("derived.bottlings", batch="B", alcohol_bottled_l=40.0, bottled_at="2031-01-31 12:00")
    put("derived.bottlings", batch="C", alcohol_bottled_l=1.0, bottled_at="2031-01-31")
    for run, on in (("M1", "2031-01-03"), ("M2", "2031-01-01"), ("F", "2030-01-01"), ("S1", "2031-01-05")):
        put("typed.runs", run=run, stage="x", equipment="x", started_at=on)
    for batch, run, stage, lot, consumed, share in (
        ("B", "M1", "mash", "G1", 100.0, 0.5), ("B", "M2", "mash", "G2", 50.0, 0.5),
        ("B", "M1", "mash", "YEAST", 7.0, None),
        ("B", "F", "ferment", "WORT", 500.0, 1.0), ("C", "M1", "mash", "G1", 20.0, 1.0),
        ("B", "S1", "strip", "W1", 30.0, 0.7), ("B", "S1", "strip", "W2", 10.0, 0.3),
        ("B", "S1", "strip", "WATER", 10.0, None), ("C", "S1", "strip", "W1", 1.0, 0.5),
        ("C", "S1", "strip", "W9", 1.0, 0.5),
    ):  # fmt: skip
        put("derived.lineage", batch=batch, run=run, stage=stage, lot=lot, consumed=consumed, share=share)
    put("derived.ferment_yields", wash_lot="W1", predicted_alcohol_l=60.0, alcohol_l=50.0)
    put("derived.ferment_yields", wash_lot="W2", predicted_alcohol_l=20.0, alcohol_l=20.0)

    batch, other = made_by("batch_yields")

    assert batch == {
        "batch": "B", "grain_kg": 150.0, "predicted_alcohol_l": pytest.approx(46.0), "alcohol_bottled_l": 40.0,
        "yield_l_per_t": pytest.approx(1000 * 40 / 150), "grain_to_bottle": pytest.approx(40 / 46),
        "days_grain_to_bottle": pytest.approx(30.5),
    }  # fmt: skip
    assert (other["grain_kg"], other["predicted_alcohol_l"], other["grain_to_bottle"]) == (20.0, None, None)


def test_a_batch_without_grain_has_no_yield(put, made_by):
    """Of bought spirit; and of a wash that held nothing nothing was promised."""
    put("derived.bottlings", batch="B", alcohol_bottled_l=40.0, bottled_at="2031-01-31")
    put("derived.lineage", batch="B", run="S1", stage="strip", lot="W1", consumed=0.0, share=1.0)
    put("derived.ferment_yields", wash_lot="W1", predicted_alcohol_l=60.0, alcohol_l=0.0)

    (row,) = made_by("batch_yields")

    assert {name: value for name, value in row.items() if value is not None} == {
        "batch": "B", "alcohol_bottled_l": 40.0,
    }  # fmt: skip
