"""The subjects' frames: what SQL joins to a batch for its category, contaminants and allergens, on small books filled
by hand (all made up)."""

import pytest
from by_hand import put_batch

PRODUCTS = """
[[products]]
code = "BOURBON"
name = "Bourbon"
category = "Straight Bourbon Whiskey"
jurisdiction = "US"
label_strength_pct_vol = 45.0
nominal_ml = 750.0
markets = ["CA"]

[[products]]
code = "CORDIAL"
name = "Cordial"
category = "cordial"
jurisdiction = "US"
label_strength_pct_vol = 25.0
nominal_ml = 750.0

[[products]]
code = "CHERRY"
name = "Cherry spirit"
category = "Kirsch"
jurisdiction = "EU"
label_strength_pct_vol = 42.0
nominal_ml = 500.0
markets = ["CA", "DE"]

[[products]]
code = "NUT"
name = "Nut liqueur"
category = "liqueur"
jurisdiction = "EU"
label_strength_pct_vol = 25.0
nominal_ml = 500.0
allergens_on_label = ["nuts"]
"""


RUM = """
[[products]]
code = "RUM"
name = "Rum"
category = "rum"
jurisdiction = "US"
label_strength_pct_vol = 42.0
nominal_ml = 750.0
targets_ug_kg = { ethyl_carbamate = 125.0 }
"""


@pytest.fixture
def framed(frames_with):
    """The frames of the small house with four products more."""
    return lambda: frames_with(PRODUCTS)


def material(put, lot, name, kind):
    """A delivery as the book knows it."""
    put("derived.openings", lot=lot, origin="received", material=name, kind=kind)


def test_a_category_goes_by_any_of_its_names(put, framed, row_of):
    """The profile says Kirsch, the rules look at the fruit spirit of cherries, its citation and its least strength."""
    put_batch(put, "K-1", "CHERRY", "PROOF-1")

    row = row_of(framed()["batches"], batch="K-1")

    assert (row["category_in_profile"], row["least_strength_pct_vol"]) == ("fruit spirit cherry", 37.5)
    assert row["category_citation"].endswith("category 9 (stone fruit)")


def test_the_proof_of_a_distillate_is_brought_to_20_c(put, framed, row_of):
    """27 CFR 5.143: at most 160 proof, which is 80.04 % vol at 20 °C and no 80.00 (27 CFR 30.11)."""
    put_batch(put, "B-1", "BOURBON", "PROOF-1")
    put("derived.lineage", batch="B-1", run="STR-1", stage="strip", lot="WASH-1", into_lot="PROOF-1", depth=2)
    put("derived.gauges", run="STR-1", lot="HRT-1", direction="out", part="hearts", strength_pct_vol=70.0)

    row = row_of(framed()["gauges"], lot="HRT-1")

    assert row["distilled_most_pct_vol"] == pytest.approx(80.04, abs=0.01)
    assert row["distilled_above_pct_vol"] is None


def mash(put, batch, *lots):
    """Lots of grain that a batch took through its mash: lot, material, kind, kg."""
    put_batch(put, batch, "BOURBON", "PROOF-1")
    for lot, name, kind, mass_kg in lots:
        origin = "bought" if kind == "spirit" else "fermented"
        put("derived.batch_bill", batch=batch, lot=lot, material=name, kind=kind, origin=origin, mass_kg=mass_kg)


@pytest.mark.parametrize(
    ("lots", "share", "said"),
    [
        ([("A", "Organic maize", "adjunct", 60.0), ("B", "rye malt", "malt", 40.0)], 0.6, ""),
        ([("A", "Corn", "adjunct", 40.0), ("B", "rye", "adjunct", 60.0)], 0.4, ""),
        ([("A", "Corn", "adjunct", 90.0)], 1.0, ""),
        # 51 % are enough; 40 % and two unknown lots that are 15 % together may be
        ([("A", "corn", "adjunct", 51.0), ("B", "house blend", "malt", 49.0)], 0.51, "49 % of the mash"),
        (
            [
                ("A", "corn", "adjunct", 40.0),
                ("B", "house blend", "malt", 5.0),
                ("C", "house blend 2", "malt", 10.0),
                ("D", "rye", "adjunct", 45.0),
            ],
            None,
            "15 % of the mash",
        ),
        # enough whatever the blend is; too little whatever it is; and neither
        ([("A", "corn", "adjunct", 60.0), ("B", "house blend", "malt", 40.0)], 0.6, "40 % of the mash"),
        ([("A", "rye", "adjunct", 60.0), ("B", "house blend", "malt", 40.0)], 0.0, "40 % of the mash"),
        ([("A", "corn", "adjunct", 40.0), ("B", "house blend", "malt", 60.0)], None, "60 % of the mash"),
        ([("A", "corn", "adjunct", None)], None, "not all of the mash was weighed"),
        ([], None, "no mash on record"),
        ([("A", "corn", "adjunct", 90.0), ("S", "sourced whisky", "spirit", None)], None, "bought in"),
    ],
)
def test_the_share_of_a_grain(put, framed, row_of, lots, share, said):
    """Corn over all that was mashed, by mass. What the record leaves open is not shown, and the note says why."""
    mash(put, "B-1", *lots)

    row = row_of(framed()["mash_bills"], batch="B-1")

    assert (row["grain"], row["least_share"]) == ("corn", 0.51)
    assert row["share"] == (None if share is None else pytest.approx(share))
    assert said in (row["note"] or "")


def test_no_mash_bill_is_asked_of_other_categories(put, framed):
    """An apple spirit has no grain to ask for."""
    put_batch(put, "A-1", "APPLE", "PROOF-1")

    assert framed()["mash_bills"].is_empty()


def liqueur(put, strength_pct_vol, sugar_g_l, strength_is="true"):
    """A cordial with its strength and sweetening on record."""
    put_batch(
        put, "C-1", "CORDIAL", "PROOF-1", laboratory_strength_pct_vol=strength_pct_vol,
        laboratory_strength_is=strength_is,
    )  # fmt: skip
    put("derived.laboratory", lot="PROOF-1", analyte="sweetening", value=sugar_g_l, unit="g/L", u_value=1.0)


def test_sugar_of_a_liqueur_by_mass(put, framed, row_of):
    """103.8 g of sucrose in a litre of water are 10 % by mass: density 1.0381 at 20 °C (CRC Handbook, from memory)."""
    liqueur(put, 0.0, 103.81)

    row = row_of(framed()["liqueurs"], batch="C-1")

    assert row["sugar_pct_mass"] == pytest.approx(10.0, abs=0.005)
    assert row["u_sugar_pct_mass"] == pytest.approx(0.0963, abs=0.001)


def test_an_apparent_strength_is_the_density_itself(put, framed, row_of):
    """A reading of 40 % vol means 948.05 kg/m3 (OIML R 22), whatever is dissolved: 94.805 g/L are 10 %."""
    liqueur(put, 40.0, 94.805, "apparent")

    assert row_of(framed()["liqueurs"], batch="C-1")["sugar_pct_mass"] == pytest.approx(10.0, abs=1e-3)


def test_sugar_that_was_not_measured_is_not_shown(put, framed, row_of):
    """A batch without a result has a row without a value."""
    put_batch(put, "C-1", "CORDIAL", "PROOF-1", laboratory_strength_pct_vol=25.0)

    row = row_of(framed()["liqueurs"], batch="C-1")

    assert (row["sugar_pct_mass"], row["sugar_least_pct_mass"]) == (None, 2.5)


@pytest.mark.parametrize(("unit", "below_limit"), [("g/L", True), ("pct_mass", False), ("pct_mass", True)])
def test_sugar_below_its_limit_or_in_another_unit_is_no_sugar(put, framed, row_of, unit, below_limit):
    """ "<100 g/L" is no hundred, and a hundred of another unit no grams in a litre."""
    put_batch(put, "C-1", "CORDIAL", "PROOF-1", laboratory_strength_pct_vol=25.0, laboratory_strength_is="true")
    put("derived.laboratory", lot="PROOF-1", analyte="sweetening", value=100.0, unit=unit, below_limit=below_limit)

    row = row_of(framed()["liqueurs"], batch="C-1")

    assert (row["sugar_g_l"], row["sugar_pct_mass"]) == (None, None)


def test_contaminants_of_each_market(put, framed):
    """A cherry spirit sold in Canada and Germany meets a limit and two targets; not measured, none is shown."""
    put_batch(put, "K-1", "CHERRY", "PROOF-1", laboratory_strength_pct_vol=42.0)

    rows = framed()["contaminants"].filter(batch="K-1").sort("market")

    assert rows.select("market", "standing", "most_ug_kg", "value_ug_kg").rows() == [
        ("CA", "limit", 400.0, None), ("DE", "target", 800.0, None), ("EU", "target", 1000.0, None),
    ]  # fmt: skip


def test_a_target_of_the_house_is_one_of_its_products(put, frames_with, bottle, row_of):
    """Where no law says anything of rum, the house's own figure does; of its other products it says nothing."""
    bottle("R-1", "RUM", "LIQ-R")
    bottle("V-1", "VODKA", "LIQ-V")
    rows = frames_with(RUM)["contaminants"]

    row = row_of(rows, batch="R-1")
    assert (row["record"], row["standing"], row["most_ug_kg"]) == (
        "batch R-1, ethyl carbamate (house)", "house target", 125.0,
    )  # fmt: skip
    assert row["value_ug_kg"] is None
    assert rows.filter(batch="V-1").is_empty()


@pytest.mark.parametrize(("value", "unit"), [(0.4, "mg/L"), (0.1, "g/hL pa")])
def test_a_contaminant_per_kilogram(put, framed, row_of, value, unit):
    """0.4 mg/L at 40 % vol are 0.4 / 0.94805 mg/kg, 421.9 µg/kg (OIML R 22: 948.05 kg/m3); and 0.1 g in a hectolitre of
    pure alcohol are the same 0.4 mg in a litre of 40 % vol."""
    put_batch(put, "K-1", "CHERRY", "PROOF-1", laboratory_strength_pct_vol=40.0)
    put(
        "derived.laboratory", lot="PROOF-1", analyte="ethyl_carbamate", value=value, unit=unit, u_value=value / 10,
        below_limit=False,
    )  # fmt: skip

    row = row_of(framed()["contaminants"], market="CA")

    assert row["value_ug_kg"] == pytest.approx(421.9, abs=0.1)
    assert row["u_value_ug_kg"] == pytest.approx(42.19, abs=0.01)


def test_what_was_not_found_by_too_coarse_a_method_is_not_shown(put, framed):
    """Below 0.5 mg/L settles nothing against 400 µg/kg, and is enough against 1,000."""
    put_batch(put, "K-1", "CHERRY", "PROOF-1", laboratory_strength_pct_vol=40.0)
    put(
        "derived.laboratory", lot="PROOF-1", analyte="ethyl_carbamate", value=0.5, unit="mg/L", below_limit=True
    )  # fmt: skip

    values = dict(framed()["contaminants"].select("market", "value_ug_kg").rows())

    assert values["CA"] is None
    assert values["EU"] == pytest.approx(527.4, abs=0.1)


def steeped(put, name, kind, stage="steep", product="NUT"):
    """A batch whose liquid was made in a run of this stage, of spirit and of a material."""
    put_batch(put, "N-1", product, "PROOF-1")
    material(put, "MAT-1", name, kind)
    put("derived.lineage", batch="N-1", run="RUN-1", stage=stage, lot="MAT-1", into_lot="PROOF-1", depth=2)


@pytest.mark.parametrize(
    ("name", "kind", "stage", "found"),
    # Regulation (EU) 1169/2011, Annex II: 8 nuts and 1 cereals are exempt where distilled, 3 eggs and 9 celery are not
    [
        ("Walnuts, green", "botanical", "steep", [("nuts", "present", "named")]),
        ("hazelnut", "botanical", "botanical", []),
        ("egg yolk", "other", "blend", [("eggs", "present", None)]),
        ("celery seed", "botanical", "botanical", [("celery", "may be present", None)]),
        ("celery seed", "botanical", "steep", [("celery", "present", None)]),
        ("red wine", "other", "blend", [("sulphites", "may be present", None)]),
        ("rye malt", "malt", "blend", [("gluten", "present", None)]),
        ("coconut milk", "other", "blend", []), ("milk thistle", "botanical", "steep", []),
        ("juniper berry", "botanical", "steep", []), ("wheat starch glue", "packaging", "blend", []),
    ],
)  # fmt: skip
def test_allergens_of_a_batch(put, framed, name, kind, stage, found):
    """What is added after the last distillation is present; distilled, only what the text exempts is passed over."""
    steeped(put, name, kind, stage)

    rows = framed()["allergens"]

    assert rows.select("allergen", "standing", "on_label").rows() == found


def test_distilled_further_back_is_exempt(put, framed):
    """Grain went through mash, still and blend: cereals used for distillates, whatever came after."""
    steeped(put, "sugar", "sweetening", "blend")
    material(put, "MALT-1", "wheat malt", "malt")
    put("derived.lineage", batch="N-1", run="RUN-1", stage="blend", lot="HRT-1", into_lot="PROOF-1", depth=2)
    put("derived.lineage", batch="N-1", run="STR-1", stage="strip", lot="WASH-1", into_lot="HRT-1", depth=3)
    put("derived.lineage", batch="N-1", run="MSH-1", stage="mash", lot="MALT-1", into_lot="WASH-1", depth=4)

    assert framed()["allergens"].is_empty()


def test_one_way_past_the_still_is_enough(put, framed):
    """The same malt lot in the mash and, as an extract, in the blend is present by the second way."""
    test_distilled_further_back_is_exempt(put, framed)
    put("derived.lineage", batch="N-1", run="RUN-1", stage="blend", lot="MALT-1", into_lot="PROOF-1", depth=2)

    rows = framed()["allergens"]

    assert rows.select("allergen", "standing", "note").rows() == [("gluten", "present", "of wheat malt")]


def test_a_label_that_nobody_described_is_not_judged(put, framed):
    """Without allergens_on_label in the profile there is nothing to compare."""
    steeped(put, "hazelnut", "botanical", product="CHERRY")

    assert framed()["allergens"].is_empty()
