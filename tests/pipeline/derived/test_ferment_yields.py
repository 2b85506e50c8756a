"""Yields of ferments, on rows put in by hand: two mashes of 150 and 50 kg of grain make one wash of 60 LPA."""

import pytest
from small_house import HOUSE

from gaugebook.pipeline.derived.ferment_yields import ferment_yields
from gaugebook.pipeline.derived.house_tables import house_tables
from gaugebook.pipeline.house.settings import parse_house

RECIPES = """
[[recipes]]
name = "weak mash"
stage = "mash"
fermentability = 0.80
"""


@pytest.fixture
def yields(empty_book, put):
    """Rows of derived.ferment_yields by run, after more was put in; masses are known to so many per cent."""
    for mash, recipe in (("MASH-1", "rye mash"), ("MASH-2", "weak mash")):
        put("typed.runs", run=mash, stage="mash", recipe=recipe, equipment="M", started_at="2031-01-01")
    put("typed.runs", run="FER-1", stage="ferment", equipment="F1", started_at="2031-01-02", ended_at="2031-01-05")
    for run, lot, mass_kg, extract_kg, predicted_l in (
        ("MASH-1", "G1", 100.0, 76.0, 60.0), ("MASH-1", "G2", 50.0, 37.5, 30.0), ("MASH-2", "G3", 50.0, 40.0, 20.0),
    ):  # fmt: skip
        put("derived.mash_bill", run=run, stage="mash", lot=lot, mass_kg=mass_kg, extract_kg=extract_kg,
            predicted_alcohol_l=predicted_l)  # fmt: skip
    for run, direction, lot, part, stage, amounts in (
        ("MASH-1", "in", "G1", "grain", "mash", {"mass_kg": 100.0}),
        ("MASH-1", "in", "G2", "fruit", "mash", {"mass_kg": 50.0}),
        ("MASH-1", "out", "WORT-1", "wort", "mash", {"volume_l": 500.0}),
        ("MASH-2", "in", "G3", "grain", "mash", {"mass_kg": 50.0}),
        ("MASH-2", "in", "YEAST", "yeast", "mash", {"mass_kg": 7.0}),
        ("MASH-2", "out", "WORT-2", "wort", "mash", {"volume_l": 300.0}),
        ("FER-1", "in", "WORT-1", "wort", "ferment", {"volume_l": 400.0}),
        ("FER-1", "in", "WORT-1", "wort", "ferment", {"volume_l": 100.0}),
        ("FER-1", "in", "WORT-2", "wort", "ferment", {"volume_l": 300.0}),
        ("FER-1", "out", "WASH-1", "wash", "ferment", {"volume_l": 500.0, "alcohol_l": 40.0}),
        ("FER-1", "out", "WASH-1", "wash", "ferment", {"volume_l": 250.0, "alcohol_l": 20.0}),
        ("STR-1", "in", "WORT-1", "wort", "strip", {"volume_l": 1.0}),
        ("STR-1", "out", "WASH-9", "wash", "strip", {"volume_l": 1.0, "alcohol_l": 1.0}),
    ):  # fmt: skip
        put("derived.gauges", run=run, direction=direction, lot=lot, part=part, stage=stage, **amounts)
    put("derived.run_uncertainties", run="FER-1", u_alcohol_out_l=0.6)
    for lot, analyte, unit, value in (
        ("WORT-1", "specific_gravity", "sg", 1.060), ("WASH-1", "specific_gravity", "sg", 0.998),
        ("WASH-1", "density", "sg", 2.0), ("WORT-1", "specific_gravity", "x", 2.0),
    ):  # fmt: skip
        put("derived.laboratory", lot=lot, analyte=analyte, unit=unit, value=value)

    def rows(mass_pct=0.05):
        house = parse_house(HOUSE.replace("mass_pct = 0.05", f"mass_pct = {mass_pct}") + RECIPES, "house.toml")
        house_tables(empty_book, house)
        empty_book.execute("DELETE FROM derived.ferment_yields")
        ferment_yields(empty_book, house)
        return {row["run"]: row for row in empty_book.frame("SELECT * FROM derived.ferment_yields").to_dicts()}

    return rows


def test_a_wash_of_two_mashes(yields):
    """200 kg of grain with 76 + 37.5 + 40 = 153.5 kg of extract, 800 L of wort however often it was drawn, 60 LPA in
    750 L: 8 % vol, 300 LPA a tonne where 60 + 30 + 20 LPA of 0.2 t were promised."""
    (row,) = yields().values()

    assert (row["mash_run"], row["wash_lot"], row["malt_lots"]) == ("MASH-1, MASH-2", "WASH-1", ["G1", "G2", "G3"])
    assert (row["grain_kg"], row["extract_kg"]) == (200.0, pytest.approx(153.5))
    assert (row["wash_volume_l"], row["wash_strength_pct_vol"], row["alcohol_l"]) == (750.0, pytest.approx(8.0), 60.0)
    assert (row["original_gravity"], row["final_gravity"]) == (1.060, 0.998)
    assert row["yield_l_per_t"] == pytest.approx(300.0)
    assert row["predicted_yield_l_per_t"] == pytest.approx(550.0)
    assert row["predicted_alcohol_l"] == pytest.approx(110.0)
    assert row["yield_ratio"] == pytest.approx(300.0 / 550.0)


def test_attenuation_and_efficiency_of_the_wort(yields):
    """Apparent: (14.74 + 0.51) / 14.74; a wort of 1.060 has 14.74 °Plato, and 0.998 has -0.51 (ASBC tables, from
    memory). Real extract is 0.1808 x 14.74 - 0.8192 x 0.51 = 2.24 (Balling). 800 L of it weigh 846.5 kg, so that
    105.8 kg were fermented; each kilogram of maltose gives 0.5383 kg of ethanol (Gay-Lussac), 0.5383 / 0.7892 L."""
    (row,) = yields().values()

    assert row["apparent_attenuation"] == pytest.approx(1.035, abs=0.002)
    assert row["real_attenuation"] == pytest.approx(1 - 2.24 / 14.74, abs=0.01)
    assert row["fermentation_efficiency"] == pytest.approx(60.0 / (105.8 * 0.5383 / 0.7892), rel=0.005)


@pytest.mark.parametrize("mass_pct", [0.05, 2.0])
def test_a_yield_is_as_uncertain_as_alcohol_and_grain(yields, mass_pct):
    """0.6 of 60 LPA are 1 %; beside it that of the balance, in squares (JCGM 100:2008, 5.1.6)."""
    (row,) = yields(mass_pct).values()

    assert row["u_yield_l_per_t"] == pytest.approx(3.0 * (1 + mass_pct**2) ** 0.5)


def test_an_extract_that_no_certificate_states_is_not_known(yields, put):
    """Of one lot of three; the grain weighs what it weighs."""
    put("derived.mash_bill", run="MASH-1", stage="mash", lot="G4", mass_kg=100.0)
    (row,) = yields().values()

    assert (row["grain_kg"], row["extract_kg"], row["predicted_yield_l_per_t"]) == (300.0, None, None)
    assert row["yield_l_per_t"] == pytest.approx(200.0)


def test_a_wort_in_two_lots_is_of_one_mash(yields, put):
    """The second mash made 300 and 100 L of wort, and this ferment took half of the one and all of the other: 0.375
    and 0.25 of the mash, 31.25 of 50 kg, and as much of the 20 LPA that were promised."""
    put("derived.gauges", run="MASH-2", direction="out", lot="WORT-2B", part="wort", stage="mash", volume_l=100.0)
    put("typed.runs", run="FER-2", stage="ferment", equipment="F2", started_at="2031-01-02", ended_at="2031-01-06")
    for lot, litres in (("WORT-2", 300.0), ("WORT-2B", 100.0)):
        put("derived.gauges", run="FER-2", direction="in", lot=lot, part="wort", stage="ferment", volume_l=litres)
    row = yields()["FER-2"]

    assert (row["mash_run"], row["grain_kg"]) == ("MASH-2", pytest.approx(31.25))
    assert row["predicted_alcohol_l"] == pytest.approx(12.5)


def test_a_ferment_of_which_little_is_known_has_a_row(yields, put):
    """Wort that no run made, no gravities, no wash; and one whose wash was not gauged in full."""
    put("typed.runs", run="FER-2", stage="ferment", equipment="F2", started_at="2031-01-02", ended_at="2031-01-06")
    put("derived.gauges", run="FER-2", direction="in", lot="BOUGHT", part="wort", stage="ferment", volume_l=100.0)
    put("derived.laboratory", lot="BOUGHT", analyte="specific_gravity", unit="sg", value=1.05)
    put("typed.runs", run="FER-3", stage="ferment", equipment="F2", started_at="2031-01-02", ended_at="2031-01-07")
    rows = yields()

    assert list(rows) == ["FER-1", "FER-2", "FER-3"]
    assert rows["FER-2"].pop("original_gravity") == 1.05
    for run in ("FER-2", "FER-3"):
        known = {name for name, value in rows[run].items() if value is not None}
        assert known == {"run", "equipment", "started_at", "ended_at"}
