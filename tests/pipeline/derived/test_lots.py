"""What a lot began with, what was drawn and what remains, on gauges put in by hand."""

import pytest


def _came(put, lot, **more):
    put(
        "derived.openings",
        **{"lot": lot, "origin": "received", "came_at": "2031-01-01", "carries_alcohol": False} | more,
    )


def _gauge(put, lot, direction, run, **more):
    put("derived.gauges", **{"lot": lot, "direction": direction, "run": run, "part": "hearts"} | more)


def _lots(made_by):
    return {row["lot"]: row for row in made_by("lots")}


def test_spirit_that_two_runs_made(put, made_by):
    """30 and 20 LPA, of which two runs drew 35 and 10: 5 remain, with the uncertainties of the lot."""
    _gauge(put, "S", "out", "R-2", gauged_at="2031-01-03", alcohol_l=20.0)
    _gauge(put, "S", "out", "R-1", gauged_at="2031-01-05", alcohol_l=30.0)
    _gauge(put, "S", "in", "R-3", alcohol_l=35.0)
    _gauge(put, "S", "in", "R-4", alcohol_l=6.0)
    _gauge(put, "S", "in", "R-4", alcohol_l=4.0)
    u = {"u_alcohol_in_l": 0.3, "u_alcohol_out_l": 0.2, "u_alcohol_remaining_l": 0.1}
    put("derived.lot_uncertainties", lot="S", **u)

    row = _lots(made_by)["S"]

    assert (row["origin"], row["origins"], row["material"], row["basis"]) == ("produced", 1, "hearts", "LPA")
    assert (row["made_by_run"], str(row["made_at"])) == ("R-1", "2031-01-03 00:00:00")
    assert (row["quantity_in"], row["quantity_out"], row["remaining"], row["overdraw"]) == (50.0, 45.0, 5.0, 0.0)
    assert (row["u_quantity_in"], row["u_quantity_out"], row["u_remaining"]) == (0.3, 0.2, 0.1)
    assert (row["drawn_by_runs"], row["draws_not_gauged"], row["not_computed"]) == (2, 0, None)


@pytest.mark.parametrize(("drawn", "overdraw"), [(52.0, 1.0), (50.9, 0.0)])
def test_more_drawn_than_it_held(put, made_by, drawn, overdraw):
    """Of 50 LPA: what goes beyond twice u of the remainder, 0.5, is overdrawn."""
    _gauge(put, "S", "out", "R-1", alcohol_l=50.0)
    _gauge(put, "S", "in", "R-2", alcohol_l=drawn)
    put("derived.lot_uncertainties", lot="S", u_alcohol_remaining_l=0.5)

    assert _lots(made_by)["S"]["overdraw"] == pytest.approx(overdraw)


def test_a_part_that_is_not_known_leaves_the_whole_unknown(put, made_by):
    """Of what was made, of what came, and of what was drawn."""
    _gauge(put, "MADE", "out", "R-1", alcohol_l=30.0)
    _gauge(put, "MADE", "out", "R-1", alcohol_l=None, not_computed="no strength")
    _came(put, "CAME", alcohol_l=30.0, carries_alcohol=True)
    _came(put, "CAME", alcohol_l=None, carries_alcohol=True, not_computed="no volume", vessel="T")
    _gauge(put, "DRAWN", "out", "R-2", alcohol_l=30.0)
    _gauge(put, "DRAWN", "in", "R-3", alcohol_l=None, not_computed="no dip")
    _gauge(put, "DRAWN", "in", "R-3", alcohol_l=12.0)

    lots = _lots(made_by)

    for lot, reason in (("MADE", "no strength"), ("CAME", "no volume")):
        row = lots[lot]
        assert (row["quantity_in"], row["u_quantity_in"], row["remaining"], row["overdraw"]) == (None,) * 4
        assert row["not_computed"] == reason
    row = lots["DRAWN"]
    assert (row["quantity_in"], row["quantity_out"], row["draws_not_gauged"]) == (30.0, 12.0, 1)
    assert (row["remaining"], row["not_computed"]) == (None, None)


def test_a_lot_that_came_twice_and_was_made_as_well(put, made_by):
    """Delivered, in the opening inventory and made under one name: three origins, all of it added up, and there
    from the first day of them."""
    _came(put, "S", alcohol_l=10.0, carries_alcohol=True, material="whisky", came_at="2031-01-02")
    _came(put, "S", alcohol_l=5.0, carries_alcohol=True, material="grappa", origin="opening", came_at="2031-01-01")
    _gauge(put, "S", "out", "R", alcohol_l=20.0, gauged_at="2031-03-01")

    row = _lots(made_by)["S"]

    assert (row["origin"], row["origins"], row["material"], row["quantity_in"]) == ("produced", 3, "grappa", 35.0)
    assert str(row["made_at"]) == "2031-01-01 00:00:00"


def test_grain_is_counted_in_kilograms(put, made_by):
    """300 kg and 200 kg came, 400 kg were drawn, with the uncertainties of the lot."""
    for mass_kg in (300.0, 200.0):
        _came(put, "G", mass_kg=mass_kg, material="barley")
    _gauge(put, "G", "in", "M-1", part="grain", mass_kg=150.0)
    _gauge(put, "G", "in", "M-2", part="grain", mass_kg=250.0)

    put("derived.lot_uncertainties", lot="G", u_mass_in_kg=0.5, u_mass_out_kg=0.4, u_mass_remaining_kg=0.3)

    row = _lots(made_by)["G"]

    assert (row["origin"], row["basis"], row["quantity_in"], row["quantity_out"]) == ("received", "kg", 500.0, 400.0)
    assert (row["remaining"], row["drawn_by_runs"]) == (100.0, 2)
    assert row["origins"] == 1  # two deliveries are of one kind
    assert (row["u_quantity_in"], row["u_quantity_out"], row["u_remaining"]) == (0.5, 0.4, 0.3)


def test_wort_is_counted_in_litres(put, made_by):
    """1000 L made in two vessels, 900 drawn, with the lot's uncertainties of volume."""
    for volume_l in (600.0, 400.0):
        _gauge(put, "W", "out", "M", part="wort", volume_l=volume_l, alcohol_l=0.0)
    _gauge(put, "W", "in", "F", part="wort", volume_l=900.0, alcohol_l=0.0)
    put("derived.lot_uncertainties", lot="W", u_volume_in_l=3.0, u_volume_out_l=2.0, u_volume_remaining_l=1.0)

    row = _lots(made_by)["W"]

    assert (row["basis"], row["quantity_in"], row["quantity_out"], row["remaining"]) == ("L", 1000.0, 900.0, 100.0)
    assert (row["u_quantity_in"], row["u_quantity_out"], row["u_remaining"]) == (3.0, 2.0, 1.0)


def test_water_that_came_by_volume_and_is_weighed_when_drawn(put, made_by):
    """997.2 kg of water at 20 °C in air are 1000 L (0.9972 kg/L; R22 Table IIIa's water less the lift of air)."""
    _came(put, "WATER", volume_l=3000.0, material="water")
    _came(put, "WATER", volume_l=2000.0, material="water")
    _gauge(put, "WATER", "in", "R", part="water", mass_kg=997.2)

    row = _lots(made_by)["WATER"]

    assert (row["basis"], row["quantity_out"], row["remaining"]) == ("L", pytest.approx(1000), pytest.approx(4000))
    # nothing states how well it was measured
    assert (row["u_quantity_in"], row["u_quantity_out"], row["u_remaining"]) == (0.0, 0.0, 0.0)


def test_packaging_is_counted_in_pieces(put, made_by):
    """Without an uncertainty."""
    _came(put, "GLASS", pieces=600.0, material="bottle")
    _gauge(put, "GLASS", "in", "B", part="packaging", pieces=450.0)

    row = _lots(made_by)["GLASS"]

    assert (row["basis"], row["quantity_in"], row["quantity_out"], row["remaining"]) == ("pieces", 600.0, 450.0, 150.0)
    assert (row["u_quantity_in"], row["u_quantity_out"], row["u_remaining"]) == (0.0, 0.0, 0.0)


def test_what_was_only_drawn_is_of_unknown_origin(put, made_by):
    """Spirit in LPA, water in litres, else kilograms; nobody knows what it held, so nothing is overdrawn."""
    _gauge(put, "SPIRIT", "in", "R", alcohol_l=5.0)
    _gauge(put, "WATER", "in", "R", part="water", volume_l=50.0)
    _gauge(put, "GRAIN", "in", "R", part="grain", mass_kg=50.0)

    lots = _lots(made_by)

    assert {lot: (row["origin"], row["basis"], row["quantity_out"]) for lot, row in lots.items()} == {
        "SPIRIT": ("unknown", "LPA", 5.0), "WATER": ("unknown", "L", 50.0), "GRAIN": ("unknown", "kg", 50.0),
    }  # fmt: skip
    assert {(row["origins"], row["quantity_in"], row["overdraw"], row["remaining"]) for row in lots.values()} == {
        (0, None, None, None)
    }


def test_what_nobody_drew_is_all_there(put, made_by):
    """Nought drawn, not unknown."""
    _came(put, "G", mass_kg=300.0)

    row = _lots(made_by)["G"]

    assert (row["quantity_out"], row["remaining"], row["drawn_by_runs"], row["draws_not_gauged"]) == (0.0, 300.0, 0, 0)
