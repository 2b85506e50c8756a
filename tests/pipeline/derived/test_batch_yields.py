"""Grain to bottle, on a lineage put in by hand."""

import pytest


def put_batch(put, batch, bottled_l, own_share, **masses):
    """A batch bottled at noon on 31 January, so much of it fermented here, with the masses that stand behind it."""
    put("derived.bottlings", batch=batch, alcohol_bottled_l=bottled_l, bottled_at="2031-01-31 12:00")
    put("derived.lot_origins", lot=batch, own_share=own_share, bought_share=1 - own_share, opening_share=0.0)
    for lot, mass_kg in masses.items():
        put("derived.batch_bill", batch=batch, lot=lot, mass_kg=mass_kg, origin="fermented")


def test_a_batch_of_two_mashes_and_two_washes(put, made_by):
    """100 and 50 kg stand behind it, the first mashed on 1 January; of two washes of 50 and 20 LPA, where 60 and 20
    were promised, it took 30 and 10: 36 and 10 LPA were promised. 50 LPA are in bottles, 40 of them fermented here;
    what was bought in and what another batch took have no part in it."""
    put_batch(put, "B", 50.0, 0.8, G1=100.0, G2=50.0)
    put("derived.batch_bill", batch="B", lot="SPIRIT", mass_kg=9.0, origin="bought")
    put_batch(put, "C", 1.0, 1.0, G1=20.0)
    for run, on in (("M1", "2031-01-03"), ("M2", "2031-01-01"), ("S1", "2030-01-05"), ("Q", "2030-01-01")):
        put("typed.runs", run=run, stage="x", equipment="x", started_at=on)
    for batch, run, stage, lot, consumed, share in (
        ("B", "M1", "mash", "G1", 100.0, 0.5), ("B", "M2", "ferment", "G2", 50.0, 0.5),
        ("B", "Q", "mash", "YEAST", 7.0, None),
        ("B", "S1", "strip", "W1", 30.0, 0.7), ("B", "S1", "strip", "W2", 10.0, 0.3),
        ("B", "F", "ferment", "W1", 9.0, 1.0),
        ("B", "S1", "strip", "WATER", 10.0, None), ("C", "S1", "strip", "W1", 1.0, 0.5),
        ("C", "S1", "strip", "W9", 1.0, 0.5),
    ):  # fmt: skip
        put("derived.lineage", batch=batch, run=run, stage=stage, lot=lot, consumed=consumed, share=share)
    put("derived.ferment_yields", wash_lot="W1", predicted_alcohol_l=60.0, alcohol_l=50.0)
    put("derived.ferment_yields", wash_lot="W2", predicted_alcohol_l=20.0, alcohol_l=20.0)
    put("derived.ferment_yields", wash_lot="W9", alcohol_l=20.0)

    batch, other = made_by("batch_yields")

    assert batch == {
        "batch": "B", "grain_kg": 150.0, "predicted_alcohol_l": pytest.approx(46.0), "alcohol_bottled_l": 50.0,
        "own_share": 0.8, "bought_share": pytest.approx(0.2), "opening_share": 0.0,
        "own_alcohol_l": pytest.approx(40.0),
        "yield_l_per_t": pytest.approx(1000 * 40 / 150), "grain_to_bottle": pytest.approx(40 / 46),
        "days_grain_to_bottle": pytest.approx(30.5),
    }  # fmt: skip
    assert (other["grain_kg"], other["predicted_alcohol_l"], other["grain_to_bottle"]) == (20.0, None, None)


def test_a_batch_whose_grain_is_not_known_has_no_yield(put, made_by):
    """One lot of two without a mass; of a wash that held nothing nothing was promised; of a batch without grain nothing
    is told."""
    put_batch(put, "B", 40.0, 1.0, G1=100.0, G2=None)
    put_batch(put, "C", 40.0, 1.0)
    put("derived.lineage", batch="B", run="S1", stage="strip", lot="W1", consumed=0.0, share=1.0)
    put("derived.ferment_yields", wash_lot="W1", predicted_alcohol_l=60.0, alcohol_l=0.0)

    for row in made_by("batch_yields"):
        names = ("grain_kg", "predicted_alcohol_l", "yield_l_per_t", "grain_to_bottle", "days_grain_to_bottle")
        assert [row[name] for name in names] == [None] * 5
