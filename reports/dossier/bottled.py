"""The bottled batch itself, what it was made from, and what a panel said of it: frozen records of a dossier."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Bottling:
    batch: str
    run: str
    product: str
    jurisdiction: str | None
    bottled_at: datetime
    nominal_ml: float
    label_strength_pct_vol: float
    bottles_filled: int
    bottles_rejected: int
    stated_at_c: float | None
    laboratory_strength_pct_vol: float | None
    u_laboratory_strength_pct_vol: float | None
    stated_strength_pct_vol: float | None
    label_deviation_pct_vol: float | None
    laboratory_strength_is: str | None
    alcohol_in_l: float | None
    u_alcohol_in_l: float | None
    alcohol_bottled_l: float | None
    u_alcohol_bottled_l: float | None
    bottling_loss: float | None
    fills: int | None
    fill_mean_ml: float | None
    fill_sd_ml: float | None
    fill_least_ml: float | None
    fills_over: int | None
    fills_under: int | None
    fills_asked: int | None
    tolerable_negative_error_ml: float | None
    fills_below_tne: int | None
    fills_below_2tne: int | None
    accepted_below_tne: int | None
    rejected_below_tne: int | None
    fill_mean_deficit_ml: float | None


@dataclass(frozen=True)
class Yield:
    grain_kg: float | None
    predicted_alcohol_l: float | None
    alcohol_bottled_l: float | None
    own_share: float | None
    bought_share: float | None
    opening_share: float | None
    own_alcohol_l: float | None
    yield_l_per_t: float | None
    grain_to_bottle: float | None
    days_grain_to_bottle: float | None


@dataclass(frozen=True)
class Material:
    """One material of a batch, its lots taken together: of its mash bill, or spirit by its share of the alcohol."""

    origin: str  # fermented, bought, opening
    material: str | None
    basis: str | None
    not_known: str | None
    lots: tuple[str, ...]
    mass_kg: float | None
    share: float | None
    predicted_alcohol_l: float | None
    predicted_share: float | None
    alcohol_share: float | None
    strength_pct_vol: float | None


@dataclass(frozen=True)
class Panel:
    session: str
    lot: str
    reference_lot: str
    held_at: datetime | None
    test: str
    assessors: int
    correct_answers: int
