"""Bills of mashes and ferments: masses, shares and what is promised, on runs of round numbers."""

import pytest

from gaugebook.pipeline.derived.ferment_yields import ferment_yields


def lot(put, name, material, kind, **content):
    """A delivery with what its certificate says of a kilogram."""
    put("derived.openings", lot=name, origin="received", material=material, kind=kind)
    put("derived.contents", lot=name, material=material, kind=kind, **content)


def charge(put, run, stage, name, part, mass_kg):
    put("derived.gauges", run=run, stage=stage, direction="in", lot=name, part=part, mass_kg=mass_kg, alcohol_l=0.0,
        source_id=1, line=7)  # fmt: skip


def molasses(put, name="MOL"):
    lot(put, name, "molasses", "sugar", basis="total sugars", fermentable_kg_per_kg=0.5, possible_l_per_kg=0.32,
        predicted_l_per_kg=0.32, extract_kg_per_kg=0.8)  # fmt: skip


def recipe(put, empty_book, run, stage, fermentability=None, **ingredients):
    put("typed.runs", run=run, stage=stage, equipment="E", recipe="R", started_at="2031-01-01")
    empty_book.execute("CREATE TABLE IF NOT EXISTS derived.house_recipes (name VARCHAR, fermentability DOUBLE)")
    empty_book.execute(
        "CREATE TABLE IF NOT EXISTS derived.house_ingredients (recipe VARCHAR, material VARCHAR, fermentability DOUBLE)"
    )
    put("derived.house_recipes", name="R", fermentability=fermentability)
    for material, share in ingredients.items():
        put("derived.house_ingredients", recipe="R", material=material, fermentability=share)


def bill(made_by):
    return {(row["run"], row["lot"]): row for row in made_by("mash_bill")}


def test_shares_of_a_bill(put, empty_book, made_by):
    """3 parts of molasses and 1 of a malt: by mass 75 %; by fermentable matter 1500 of 2100 kg; by alcohol predicted
    864 of 1224. Water and yeast are no part of it."""
    recipe(put, empty_book, "M", "mash", None, molasses=0.9)
    molasses(put)
    lot(put, "BAR", "barley malt", "malt", basis="extract", fermentable_kg_per_kg=0.75, possible_l_per_kg=0.5,
        predicted_l_per_kg=0.45, fermentability=0.8, dry_pct=95.0)  # fmt: skip
    for name, part, mass in (
        ("MOL", "sugar", 3000.0),
        ("BAR", "grain", 1000.0),
        ("W", "water", 9000.0),
        ("Y", "yeast", 5.0),
    ):
        charge(put, "M", "mash", name, part, mass)

    rows = bill(made_by)

    assert set(rows) == {("M", "MOL"), ("M", "BAR")}
    sugar, grain = rows["M", "MOL"], rows["M", "BAR"]
    assert (sugar["share"], grain["share"]) == (0.75, 0.25)
    assert (sugar["fermentable_kg"], grain["fermentable_kg"]) == pytest.approx((1500.0, 600.0))
    assert (sugar["possible_alcohol_l"], grain["possible_alcohol_l"]) == pytest.approx((960.0, 400.0))
    assert (sugar["predicted_alcohol_l"], grain["predicted_alcohol_l"]) == pytest.approx((864.0, 360.0))
    assert sugar["fermentable_share"] == pytest.approx(1500 / 2100)
    assert sugar["predicted_share"] == pytest.approx(864 / 1224)
    assert (sugar["dry_share"], grain["dry_kg"]) == (None, 950.0)  # of the molasses nobody said the moisture
    assert (sugar["part"], sugar["source_id"], sugar["line"]) == ("sugar", 1, 7)


@pytest.mark.parametrize(
    ("mass_kg", "content", "share", "why"),
    [
        (None, {"basis": "sugars", "possible_l_per_kg": 0.3, "predicted_l_per_kg": 0.3}, 0.9, "no mass"),
        (5.0, {"not_known": "no certificate"}, 0.9, "no certificate"),
        (5.0, {"not_known": "more sugar than solids"}, 0.9, "more sugar than solids"),
        (5.0, {"basis": "sugars", "possible_l_per_kg": 0.3, "predicted_l_per_kg": 0.3}, None, "no fermentability"),
    ],
)
def test_one_unknown_part_leaves_the_sum_unknown(put, empty_book, made_by, mass_kg, content, share, why):
    """A second lot of which something is not known: its share of the mass where it was weighed, nothing of the rest."""
    recipe(put, empty_book, "M", "mash", None, molasses=0.9, **({"syrup": share} if share else {}))
    molasses(put)
    lot(put, "SYR", "syrup", "sugar", **content)
    charge(put, "M", "mash", "MOL", "sugar", 15.0)
    charge(put, "M", "mash", "SYR", "sugar", mass_kg)

    rows = bill(made_by)

    assert rows["M", "SYR"]["not_known"] == why
    assert rows["M", "MOL"]["share"] == (None if mass_kg is None else 0.75)
    assert rows["M", "MOL"]["predicted_alcohol_l"] == pytest.approx(15 * 0.32 * 0.9)
    assert rows["M", "MOL"]["predicted_share"] is None
    assert rows["M", "SYR"]["predicted_alcohol_l"] is None


def test_fermentability_of_lot_ingredient_and_recipe(put, empty_book, made_by):
    """Of an extract the lot's own certificate goes first; else what the recipe says of the material, else of all."""
    recipe(put, empty_book, "M", "mash", 0.7, corn=0.8)
    lot(put, "OWN", "malt", "malt", basis="extract", fermentability=0.9)
    lot(put, "CORN", "corn", "adjunct", basis="sugars")
    lot(put, "RYE", "rye", "adjunct", basis="extract")
    for name in ("OWN", "CORN", "RYE"):
        charge(put, "M", "mash", name, "grain", 10.0)

    rows = bill(made_by)

    assert {name: row["fermentability"] for (_, name), row in rows.items()} == {"OWN": 0.9, "CORN": 0.8, "RYE": 0.7}


def gauged(put, run, stage, direction, name, part, volume_l, alcohol_l=0.0):
    put("derived.gauges", run=run, stage=stage, direction=direction, lot=name, part=part, volume_l=volume_l,
        mass_kg=volume_l, alcohol_l=alcohol_l)  # fmt: skip


def yields(empty_book, made_by):
    """Yields of all ferments by run; the house's uncertainty of a mass is 0."""

    class House:
        class uncertainty:  # noqa: N801
            mass_pct = 0.0

    made_by("mash_bill")
    ferment_yields(empty_book, House())  # type: ignore[arg-type]
    return {row["run"]: row for row in empty_book.frame("SELECT * FROM derived.ferment_yields").to_dicts()}


def test_a_mash_shared_by_two_ferments(put, empty_book, made_by):
    """A wort of 1000 L of which 750 and 250 are drawn: each ferment has that part of the molasses, and none is counted
    twice."""
    recipe(put, empty_book, "M", "mash", 0.9)
    molasses(put)
    charge(put, "M", "mash", "MOL", "sugar", 400.0)
    gauged(put, "M", "mash", "out", "WORT", "wort", 1000.0)
    for run, drawn in (("F-1", 750.0), ("F-2", 250.0)):
        put("typed.runs", run=run, stage="ferment", equipment="E", started_at="2031-01-02")
        gauged(put, run, "ferment", "in", "WORT", "wort", drawn)
        gauged(put, run, "ferment", "out", f"WASH {run}", "wash", drawn, drawn * 0.1)

    rows = yields(empty_book, made_by)

    assert (rows["F-1"]["grain_kg"], rows["F-2"]["grain_kg"]) == pytest.approx((300.0, 100.0))
    assert (rows["F-1"]["predicted_alcohol_l"], rows["F-2"]["predicted_alcohol_l"]) == pytest.approx((86.4, 28.8))
    assert rows["F-1"]["yield_l_per_t"] == pytest.approx(250.0)
    assert rows["F-1"]["yield_of_possible"] == pytest.approx(75.0 / (300 * 0.32))


def test_a_ferment_that_is_fed_directly(put, empty_book, made_by):
    """Juice needs no mash: what goes into the ferment itself is its bill, beside what came as wort."""
    recipe(put, empty_book, "F", "ferment", 0.9)
    molasses(put)
    charge(put, "F", "ferment", "MOL", "sugar", 400.0)
    gauged(put, "F", "ferment", "out", "WASH", "wash", 1000.0, 80.0)

    row = yields(empty_book, made_by)["F"]

    assert (row["grain_kg"], row["mash_run"], row["malt_lots"]) == (400.0, None, ["MOL"])
    assert row["predicted_alcohol_l"] == pytest.approx(400 * 0.32 * 0.9)
    assert row["yield_ratio"] == pytest.approx(80 / 115.2)
