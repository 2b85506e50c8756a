"""The frames that the rules look at: one SELECT a subject, with the limits and the house profile offered to it.

Each frame has the key columns (record, run, lot, batch, equipment, note, source_id, line), NULL where they say
nothing, then its values. What SQL cannot say (a chart's signal, a binomial tail, a strength from a mass fraction)
is added by a pure function.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path

import numpy as np
import polars as pl

from gaugebook.checks.decisions.decisions import decided_batches
from gaugebook.checks.evaluation.calibration_errors import calibration_errors
from gaugebook.checks.evaluation.cask_entries import entry_limits
from gaugebook.checks.evaluation.claims import claims
from gaugebook.checks.evaluation.per_mass import contaminants_per_kg, sugar_by_mass
from gaugebook.checks.evaluation.stills import drifts
from gaugebook.checks.rulebook.contaminants import contaminant_frame
from gaugebook.checks.rulebook.materials import material_frames
from gaugebook.checks.rulebook.published_limits import Limits
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.engineering.ethanol_water import DENSITY_ETHANOL_20C
from gaugebook.pipeline.engineering.strength import volume_strength_from_mass_fraction
from gaugebook.pipeline.engineering.vapour import highest_strength_pct_vol
from gaugebook.pipeline.house.settings import House
from gaugebook.pipeline.statistics.sensory import chance_of_at_least
from gaugebook.pipeline.typed.readings import TAGS

FOLDER = Path(__file__).parents[1] / "subjects"
KEYS = {
    "record": pl.String, "run": pl.String, "lot": pl.String, "batch": pl.String, "equipment": pl.String,
    "note": pl.String, "source_id": pl.Int32, "line": pl.Int32,
}  # fmt: skip
LEAST_DIFFERENCE = 0.5  # % vol; below it a careful hand's reading error explains a difference (common practice)
HELPERS = (
    "batch_products",
    "finished_lots",
    "congeners",
)  # tables that several subjects join, offered to them in this order
SUBJECTS = (
    "gauges", "lot_strengths", "true_strengths", "neutral_spirit", "laboratory", "duplicates", "required_laboratory",
    "ferments", "runs", "still_runs", "stills", "lots", "stock", "dips", "botanicals", "bills", "charges", "batches",
    "fills", "panels",
    "log_tags", "log_clocks", "run_curves", "curve_findings", "instruments", "calibrations", "decisions",
    "samples", "methods", "vouched", "reductions", "filtrations", "cask_events", "casks", "cask_entries", "claims",
    "mash_bills", "certificates", "bought_spirits", "liqueurs", "contaminants", "allergens",
    "removals", "goods", "counts",
)  # fmt: skip


def subject_frames(book: Book, house: House, limits: Limits) -> dict[str, pl.DataFrame]:
    """Every subject's frame, by name."""
    with tables_for_subjects(book, house, limits):
        return {name: subject_frame(book, name) for name in SUBJECTS}


@contextmanager
def tables_for_subjects(book: Book, house: House, limits: Limits) -> Iterator[None]:
    """Offer the house profile, the limits, the decisions and the helpers' tables to SQL for a while."""
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")  # days are those of the house's calendar
    offers = house_frames(house, limits) | limits.frames() | material_frames()
    offers["limit_contaminants"] = contaminant_frame(limits)
    offers["log_tag_units"] = pl.DataFrame(
        [(tag, unit) for tag, (unit, _) in TAGS.items()], ["tag", "unit"], orient="row"
    )
    offers |= {"decided": decided_batches(book), "calibration_errors": calibration_errors(book, house)}
    offers |= {"label_claims": claims(book, house, limits), "entry_limits": entry_limits(book, house, limits)}
    with ExitStack() as offered:
        for name, frame in offers.items():
            offered.enter_context(book.with_temp_view(name, frame))
        for name in HELPERS:
            offered.enter_context(book.with_temp_view(name, book.frame(_sql(name))))
        yield


def subject_frame(book: Book, name: str) -> pl.DataFrame:
    """The frame of one subject; call it while the tables for subjects are offered."""
    frame = book.frame(_sql(name))
    return _with_keys(COMPUTED[name](frame) if name in COMPUTED else frame)


def columns_of(frames: Mapping[str, pl.DataFrame]) -> dict[str, dict[str, bool]]:
    """Subject -> column -> is it a number: what the rule book is held against."""
    return {
        subject: {name: kind.is_numeric() for name, kind in frame.schema.items()} for subject, frame in frames.items()
    }


def house_frames(house: House, limits: Limits) -> dict[str, pl.DataFrame]:
    """What SQL needs of the house profile; a product's category goes by its own name, whatever the profile calls it."""
    text, number = pl.String, pl.Float64
    products = pl.DataFrame(
        [
            (p.code, limits.category_name(p.category, p.jurisdiction) or p.category, p.jurisdiction,
             p.label_strength_pct_vol, p.nominal_ml, p.age_years, "cask strength" in p.claims, p.macerated,
             p.allergens_on_label is not None)
            for p in house.products
        ],
        schema={
            "product": text, "category": text, "jurisdiction": text, "label_strength_pct_vol": number,
            "nominal_ml": number, "age_years": number, "is_cask_strength": pl.Boolean, "macerated": pl.Boolean,
            "label_names_allergens": pl.Boolean,
        },
        orient="row",
    )  # fmt: skip
    return {
        "products": products,
        "house_markets": pl.DataFrame(
            [(p.code, market) for p in house.products for market in dict.fromkeys((p.jurisdiction, *p.markets))],
            schema={"product": text, "market": text}, orient="row",
        ),
        "house_targets": pl.DataFrame(
            [(p.code, analyte, float(most)) for p in house.products for analyte, most in p.targets_ug_kg.items()],
            schema={"product": text, "analyte": text, "most_ug_kg": number}, orient="row",
        ),
        "house_allergens": pl.DataFrame(
            [(p.code, allergen) for p in house.products for allergen in p.allergens_on_label or ()],
            schema={"product": text, "allergen": text}, orient="row",
        ),
        "house_laboratory": pl.DataFrame(
            [(p.code, analyte) for p in house.products for analyte in p.laboratory],
            schema={"product": text, "analyte": text}, orient="row",
        ),
        "house_people": pl.DataFrame({"code": [person.code for person in house.people]}, schema={"code": text}),
        "house_stills": pl.DataFrame(
            [(still.code, still.capacity_l, still.log_interval_s) for still in house.stills],
            schema={"code": text, "capacity_l": number, "log_interval_s": number}, orient="row",
        ),
        "house_instruments": pl.DataFrame(
            [(item.code,) for item in house.instruments], schema={"code": text}, orient="row"
        ),
        "house_recipes": pl.DataFrame(
            [(r.name, r.stage, r.charge_strength_pct_vol, r.steep_days) for r in house.recipes],
            schema={"name": text, "stage": text, "charge_strength_pct_vol": number, "steep_days": number},
            orient="row",
        ),
        "house_ingredients": pl.DataFrame(
            [(recipe.name, item.material) for recipe in house.recipes for item in recipe.ingredients],
            schema={"recipe": text, "material": text}, orient="row",
        ),
        "site": pl.DataFrame(
            {
                "highest_strength_pct_vol": [float(highest_strength_pct_vol(house.pressure_kpa))],
                "ethanol_density_kg_l": [DENSITY_ETHANOL_20C / 1000],
            }
        ),
    }  # fmt: skip


def charge_strengths(charges: pl.DataFrame) -> pl.DataFrame:
    """Strength of a charge from the mass fraction of alcohol in it; contraction makes volumes no guide."""
    fractions = charges["mass_fraction"].cast(pl.Float64).fill_null(np.nan).to_numpy()
    strengths = pl.Series(np.asarray(volume_strength_from_mass_fraction(fractions)), dtype=pl.Float64, nan_to_null=True)
    return charges.with_columns(charge_strength_pct_vol=strengths)


def panel_chances(panels: pl.DataFrame) -> pl.DataFrame:
    """Chance of at least as many correct answers if nobody could tell the lots apart; NULL where there is none."""
    chances = [
        chance_of_at_least(correct, assessors, test) if 0 <= correct <= assessors else None
        for correct, assessors, test in panels.select("correct_answers", "assessors", "test").iter_rows()
    ]
    return panels.with_columns(chance=pl.Series(chances, dtype=pl.Float64))


def reduced_strengths(reductions: pl.DataFrame) -> pl.DataFrame:
    """Strength that a reduction must give, with its standard uncertainty."""
    predicted = charge_strengths(reductions).rename({"charge_strength_pct_vol": "predicted_pct_vol"})
    return predicted.with_columns(
        u_predicted_pct_vol=pl.col("predicted_pct_vol") * pl.col("ur_predicted")
    ).with_columns(
        allowed_pct_vol=pl.max_horizontal(
            pl.lit(LEAST_DIFFERENCE),
            3 * (pl.col("u_predicted_pct_vol") ** 2 + pl.col("u_strength_pct_vol") ** 2).sqrt(),
        )
    )


COMPUTED: dict[str, Callable[[pl.DataFrame], pl.DataFrame]] = {
    "charges": charge_strengths, "panels": panel_chances, "reductions": reduced_strengths, "stills": drifts,
    "liqueurs": sugar_by_mass, "contaminants": contaminants_per_kg,
}  # fmt: skip


def _sql(name: str) -> str:
    return (FOLDER / f"{name}.sql").read_text(encoding="utf-8")


def _with_keys(frame: pl.DataFrame) -> pl.DataFrame:
    missing = [pl.lit(None, kind).alias(name) for name, kind in KEYS.items() if name not in frame.columns]
    frame = frame.with_columns(missing)
    return frame.select(*KEYS, pl.exclude(KEYS))
