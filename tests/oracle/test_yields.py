"""Yields of the ferment, bills of mash and gin, and the month's ratios."""

from math import hypot, sqrt

from tests.oracle.book_by_hand import BookByHand
from tests.oracle.expectation import Row, day, expect
from tests.oracle.house_by_hand import SHARED, SINGLE, utc
from tests.oracle.test_lots import behind, expected_extract_kg, made, origins
from tests.oracle.test_runs import HEARTS, alcohol, sides

WATER_20C, ETHANOL_20C = 998.201, 789.239  # OIML R 22 (1975) [kg/m3]
MALTOSE = 0.5114 * 360.3 / 342.3  # ethanol a gram of maltose: Gay-Lussac's 0.5114 of the hexose that it becomes: 0.5383


def plato(gravity: float) -> float:
    """Degrees Plato of a specific gravity 20/20 (fit of Plato's table). 1.0842: 20.275; 0.9987: -0.340."""
    return 135.997 * gravity**3 - 630.272 * gravity**2 + 1111.14 * gravity - 616.868


@expect("derived.ferment_yields", "run", loose={"fermentation_efficiency": 1e-4, "u_yield_l_per_t": 2.5e-3})
def test_ferment(by_hand: BookByHand) -> list[Row]:
    """Extract of 610 kg rye and 152 kg oats: 553.003 kg; predicted 553.003 x 0.84 x 0.606 = 281.50 LPA (Bringhurst
    et al. 1996: 6.06 L a tonne for each per cent). Made 277.231: 0.98483 of it, 277.231 / 0.762 t = 363.82 L a
    tonne. All of the 464.522 kg that can ferment, as maltose: x 0.5383 / 0.789239 = 316.83 LPA, the most
    that is possible. Apparent attenuation (20.275 + 0.340) / 20.275 = 1.01675; real extract 0.1808 x 20.275 +
    0.8192 x -0.340 = 3.388, so real (20.275 - 3.388) / 20.275 = 0.83292. Fermented: 2478.25 L x 1.0842 x 0.998201
    x 16.888 % = 452.94 kg; x 0.5383 / 0.789239 = 308.93 L; 277.23 / 308.93 = 0.8974. The yield's uncertainty: 1.1345 %
    of the alcohol and, of the grain on one balance, 0.2 % x sqrt(0.8^2 + 0.6^2 x (610^2 + 152^2) / 762^2) = 0.188 %;
    the book takes all of the 0.2 % as the balance's own, which is 0.2 % of the result more."""
    wash, wort = by_hand.gauges["FER-1", "out", "WASH-1"], by_hand.gauges["FER-1", "in", "WORT-1"]
    assert wash.alcohol and wash.u_alcohol and wort.volume
    original, final = plato(1.0842), plato(0.9987)
    real = 0.1808 * original + 0.8192 * final
    fermented_kg = wort.volume * 1.0842 * WATER_20C / 1000.0 * (original - real) / 100.0
    predicted = expected_extract_kg() * 0.84 * 0.606
    possible = expected_extract_kg() * 0.84 * 0.5383 / (ETHANOL_20C / 1000.0)
    of_grain = 0.002 * sqrt(SHARED**2 + SINGLE**2 * (610**2 + 152**2) / 762**2)
    u_yield = wash.alcohol / 0.762 * hypot(wash.u_alcohol / wash.alcohol, of_grain)
    return [{
        "run": "FER-1", "mash_run": "MSH-1", "wash_lot": "WASH-1", "equipment": "F1",
        "started_at": utc("2026-03-02 15:00"),
        "ended_at": utc("2026-03-09 08:00"), "grain_kg": 762.0, "extract_kg": expected_extract_kg(),
        "original_gravity": 1.0842, "final_gravity": 0.9987, "apparent_attenuation": (original - final) / original,
        "real_attenuation": (original - real) / original, "wash_volume_l": wash.volume, "wash_strength_pct_vol": 11.3,
        "alcohol_l": wash.alcohol, "u_alcohol_l": wash.u_alcohol, "predicted_alcohol_l": predicted,
        "fermentable_kg": expected_extract_kg() * 0.84, "possible_alcohol_l": possible,
        "yield_of_possible": wash.alcohol / possible,
        "yield_l_per_t": wash.alcohol / 0.762, "u_yield_l_per_t": u_yield,
        "predicted_yield_l_per_t": predicted / 0.762, "yield_ratio": wash.alcohol / predicted,
        "fermentation_efficiency": wash.alcohol / (fermented_kg * MALTOSE / (ETHANOL_20C / 1000.0)),
        "malt_lots": ["OAT-1", "RYE-1"],
    }]  # fmt: skip


GRAIN = (
    ("RYE-1", "rye malt", 610.0, 78.5, 5.2, "intake.csv", 2), ("OAT-1", "oat malt", 152.0, 69.4, 6.1, "intake.csv", 3),
)  # fmt: skip


@expect("derived.contents", "lot", loose={"possible_l_per_kg": 2e-6})
def test_contents(by_hand: BookByHand) -> list[Row]:
    """A kilogram of rye malt of 5.2 % moisture holds 0.948 kg of dry matter, of that 78.5 % extract: 0.74418 kg; by
    theory 0.74418 x 0.5383 / 0.789239 = 0.50757 LPA, of practice x 0.606 = 0.45097."""
    none = dict.fromkeys(("density_kg_l", "fermentability", "sugar_of_solids", "not_known"))
    return [
        {
            **none, "lot": lot, "material": material, "kind": "malt", "basis": "extract", "dry_pct": 100.0 - moisture,
            "moisture_pct": moisture, "extract_kg_per_kg": (extract := (1 - moisture / 100) * percent / 100),
            "fermentable_kg_per_kg": extract, "possible_l_per_kg": extract * 0.5383 / (ETHANOL_20C / 1000.0),
            "predicted_l_per_kg": extract * 0.606, "source_id": file, "line": line,
        }
        for lot, material, _, percent, moisture, file, line in GRAIN
    ]  # fmt: skip


@expect("derived.mash_bill", "run", "lot")
def test_mash_bill(by_hand: BookByHand) -> list[Row]:
    """610 of 762 kg are 80.05 %; of the dry matter 578.28 of 721.008 kg, 80.20 %; of the extract, and so of the alcohol
    predicted, 453.950 of 553.003 kg, 82.09 %."""
    dry, whole = 610 * 0.948 + 152 * 0.939, expected_extract_kg()
    places = {row["lot"]: row for row in by_hand.moves if row["run"] == "MSH-1"}
    return [
        {
            "run": "MSH-1", "stage": "mash", "lot": lot, "material": material, "kind": "malt", "part": "grain",
            "basis": "extract", "mass_kg": kg, "dry_kg": kg * (1 - moisture / 100),
            "extract_kg": (extract := kg * (1 - moisture / 100) * percent / 100), "fermentability": 0.84,
            "fermentable_kg": extract * 0.84, "possible_alcohol_l": extract * 0.84 * 0.5383 / (ETHANOL_20C / 1000.0),
            "predicted_alcohol_l": extract * 0.84 * 0.606, "share": kg / 762.0,
            "dry_share": kg * (1 - moisture / 100) / dry, "fermentable_share": extract / whole,
            "predicted_share": extract / whole, "not_known": None, "source_id": places[lot]["file"],
            "line": int(places[lot]["line"]),
        }
        for lot, material, kg, percent, moisture, _, _ in GRAIN
    ]  # fmt: skip


BOTANICALS = (
    ("juniper berry", "JUN-1", 4.72, 27.0, "dried"), ("coriander seed", "COR-1", 1.905, 11.0, "dried"),
    ("lemon peel", "LEM-1", 0.56, 6.5, "fresh"),
)  # fmt: skip


@expect("derived.botanical_bill", "run", "botanical")
def test_botanical_bill(by_hand: BookByHand) -> list[Row]:
    """Juniper: 4720 g / 175.191 LPA = 26.942 g an LPA, of 27.0: 0.9979. Lemon peel 560 / 175.191 = 3.197 of 6.5:
    0.4918, and dried."""
    charged = alcohol(sides(by_hand, "BOT-1")[0])
    return [
        {
            "run": "BOT-1", "stage": "botanical", "recipe": "lane gin", "botanical": name, "lots": [lot],
            "charged_kg": kg,
            "alcohol_l": charged, "charged_g_per_lpa": kg * 1000 / charged, "recipe_g_per_lpa": asked,
            "ratio": kg * 1000 / charged / asked, "condition": "dried", "recipe_condition": condition,
        }
        for name, lot, kg, asked, condition in BOTANICALS
    ]  # fmt: skip


@expect("derived.recipe_bill", "run", "material")
def test_recipe_bill(by_hand: BookByHand) -> list[Row]:
    """The same for every recipe: a mash by shares of its mass. Rye 610 / 762 = 0.80052 of 0.78: 1.0263; oats
    0.19948 of 0.22."""
    charged = alcohol(sides(by_hand, "BOT-1")[0])
    common = {"is_charged": True, "charged_alcohol_l": 0.0}
    gin = [
        {
            **common, "run": "BOT-1", "stage": "botanical", "recipe": "lane gin", "material": name, "in_recipe": name,
            "lots": [lot],
            "charged_kg": kg, "alcohol_l": charged, "measure": "g/LPA", "charged_quantity": kg * 1000 / charged,
            "recipe_quantity": asked, "ratio": kg * 1000 / charged / asked, "condition": "dried",
            "recipe_condition": condition,
        }
        for name, lot, kg, asked, condition in BOTANICALS
    ]  # fmt: skip
    mash = [
        {
            **common, "run": "MSH-1", "stage": "mash", "recipe": "lane mash", "material": name, "in_recipe": name,
            "lots": [lot],
            "charged_kg": kg, "alcohol_l": 0.0, "measure": "share", "charged_quantity": kg / 762.0,
            "recipe_quantity": share,
            "ratio": kg / 762.0 / share, "condition": None, "recipe_condition": None,
        }
        for name, lot, kg, share in (("rye malt", "RYE-1", 610.0, 0.78), ("oat malt", "OAT-1", 152.0, 0.22))
    ]  # fmt: skip
    return gin + mash


@expect("derived.monthly", "measure", "equipment")
def test_monthly(by_hand: BookByHand) -> list[Row]:
    """Ratios of sums, here of one run each, so without a scatter and its uncertainty. REC-1's closure cannot be
    told: left out."""
    rows: list[Row] = []

    def month(measure: str, numerator: float | None, denominator: float | None, *equipment: str | None) -> None:
        known = numerator is not None and denominator is not None
        for one in (None, *equipment):
            rows.append({
                "month": day("2026-03-01"), "measure": measure, "equipment": one, "numerator": numerator,
                "denominator": denominator, "ratio": numerator / denominator if known else None, "u_ratio": None,
                 # type: ignore
                "runs": 1 if known else 0, "runs_left_out": 0 if known else 1,
            })  # fmt: skip

    for stage, run, still in (("strip", "STR-1", "S1"), ("rectify", "REC-1", "R1"), ("botanical", "BOT-1", "G1")):
        into, out = sides(by_hand, run)
        month(f"{stage}_recovery", alcohol(out, HEARTS), alcohol(into), still)
        if run == "REC-1":
            month(f"{stage}_closure", None, None, still)
        else:
            month(f"{stage}_closure", alcohol(out), alcohol(into), still)
    wash, predicted = made(by_hand, "FER-1", "WASH-1"), expected_extract_kg() * 0.84 * 0.606
    month("yield_l_per_t", wash, 0.762)
    month("yield_against_prediction", wash, predicted)
    bottled, drawn = made(by_hand, "PAK-1", "GIN-A"), alcohol(sides(by_hand, "PAK-1")[0])
    month("bottling_loss", drawn - bottled, drawn)
    own = bottled * origins(by_hand)["GIN-A"][0]  # of what was fermented here
    month("grain_to_bottle", own, predicted * behind(by_hand)["WASH-1"] / wash)
    return rows


FILLS = (701.4, 699.2, 703.7, 683.1, 702.2)


@expect("derived.bottlings", "batch", loose={"u_laboratory_strength_pct_vol": 2e-3})
def test_bottlings(by_hand: BookByHand) -> list[Row]:
    """Loss 1 - 200.767 / 207.307 = 0.03155. Fills: mean 697.92 mL, deviations 3.48, 1.28, 5.78, -14.82, 4.28,
    their squares 285.108; / 4, root: 8.4426 mL. Tolerable negative error of 700 mL: 15 (Directive 76/211/EEC,
    annex I): below 685.0 one bottle, below 670.0 none. 692 bottles ask a sample of 50 (annex II), so of five
    nothing is accepted or refused."""
    into, out = sides(by_hand, "PAK-1")
    (_, drawn), (_, bottled) = into[0], out[0]
    assert drawn.alcohol and bottled.alcohol
    mean = sum(FILLS) / 5
    d_loss = {
        name: bottled.errors.get(name, (0, 0))[1] - bottled.alcohol / drawn.alcohol * drawn.errors.get(name, (0, 0))[1]
        for name in {**drawn.errors, **bottled.errors}
    }
    unknown = dict.fromkeys(("accepted_below_tne", "rejected_below_tne", "fill_mean_deficit_ml"))
    return [{
        "batch": "GIN-A", "run": "PAK-1", "product": "GIN", "jurisdiction": "EU", "bottled_at": utc("2026-03-26 15:00"),
        "nominal_ml": 700.0, "label_strength_pct_vol": 41.5, "bottles_filled": 692, "bottles_rejected": 9,
        "stated_at_c": 20.0,
        "laboratory_strength_pct_vol": (41.52 + 41.62) / 2, "u_laboratory_strength_pct_vol": bottled.u_strength,
        "stated_strength_pct_vol": 41.57, "label_deviation_pct_vol": 41.57 - 41.5, "laboratory_strength_is": "true",
        "extract_g_l": 0.31, "alcohol_in_l": drawn.alcohol, "u_alcohol_in_l": drawn.u_alcohol,
        "alcohol_bottled_l": bottled.alcohol, "u_alcohol_bottled_l": bottled.u_alcohol,
        "bottling_loss": 1.0 - bottled.alcohol / drawn.alcohol,
        "u_bottling_loss": sqrt(sum(v**2 for v in d_loss.values())) / drawn.alcohol, "fill_factor": 1.0, "fills": 5,
        "fill_mean_ml": mean, "fill_sd_ml": sqrt(sum((x - mean) ** 2 for x in FILLS) / 4), "fill_least_ml": 683.1,
        "fill_most_ml": 703.7, "fills_over": 3, "fills_under": 2, "fills_asked": 50, "fills_asked_for_mean": 50,
        "tolerable_negative_error_ml": 15.0, "fills_below_tne": 1, "fills_below_2tne": 0, **unknown,
    }]  # fmt: skip
