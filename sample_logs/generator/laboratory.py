"""What the laboratory finds of a lot."""

from datetime import datetime, timedelta

from . import faults
from .chance import bounded, stream
from .mixing import Liquid
from .records import Result
from .stillhouse import Stillhouse

# Congeners of a product [g/hL of pure alcohol]: mean and spread.
CLEAN = {
    "acetaldehyde": (0.18, 0.05),
    "ethyl_acetate": (0.35, 0.10),
    "propanol": (0.09, 0.03),
    "isobutanol": (0.05, 0.02),
    "isoamyl_alcohol": (0.07, 0.03),
    "furfural": (0.02, 0.005),
}
APPLE = {
    "acetaldehyde": (14.0, 2.0),
    "ethyl_acetate": (110.0, 15.0),
    "propanol": (38.0, 4.0),
    "isobutanol": (52.0, 5.0),
    "isoamyl_alcohol": (155.0, 12.0),
    "furfural": (0.8, 0.15),
}
LIMIT_OF_QUANTIFICATION = 0.05


def gravity(house: Stillhouse, lot: str, liquid: Liquid, at: datetime) -> None:
    """Specific gravity 20/20 of a wort or wash."""
    value = bounded(stream(f"gravity {lot}"), liquid.specific_gravity, 0.00025)
    _enter(house, lot, at, "specific_gravity", round(value, 4))


def wash_strength(house: Stillhouse, lot: str, value: float, at: datetime) -> None:
    """Strength of a wash by distillation, as it also stands on the run sheet."""
    _enter(house, lot, at, "strength", value, distilled=True)


def strength(house: Stillhouse, lot: str, liquid: Liquid, at: datetime, replicates: int) -> None:
    """Strength by the bench density meter, after distillation where there is extract."""
    rng = stream(f"strength {lot}")
    bias = bounded(rng, 0.0, 0.03)
    sample = _sample(house, at)
    for replicate in range(1, replicates + 1):
        value = round(bounded(rng, liquid.strength_pct_vol + bias, 0.015), 2)
        when = at + timedelta(minutes=12 * (replicate - 1))
        _enter(house, lot, when, "strength", value, replicate, liquid.extract_kg > 0.5, sample)


def congeners(house: Stillhouse, lot: str, means: dict[str, tuple[float, float]], at: datetime) -> None:
    """Congeners by gas chromatography."""
    sample = _sample(house, at)
    for analyte, (mean, spread) in means.items():
        value = bounded(stream(f"{analyte} {lot}"), mean, spread)
        below = value < LIMIT_OF_QUANTIFICATION
        _enter(house, lot, at, analyte, LIMIT_OF_QUANTIFICATION if below else value, sample=sample, below=below)


def dry_extract(house: Stillhouse, lot: str, value_g_l: float, at: datetime) -> None:
    """Residue on evaporation [g/L]."""
    _enter(house, lot, at, "dry_extract", round(value_g_l, 2))


def finished(house: Stillhouse, lot: str, liquid: Liquid, product: str, at: datetime, without: str | None) -> None:
    """All that a product's liquid must have on record before it is bottled."""
    methanol = house.methanol[lot]
    wanted = {"VODKA": CLEAN, "APPLE": APPLE}.get(product, {})
    means = {"methanol": (methanol, 0.02 * methanol), **wanted}
    if product == "AKVAVIT":
        means = {}
    if without:
        del means[without]
    strength(house, lot, liquid, at, 2)
    if means:
        congeners(house, lot, means, at + timedelta(hours=2))
    if "dry_extract" in house.products[product]["laboratory"]:
        rng = stream(f"residue {lot}")
        found = 1000.0 * liquid.extract_kg / liquid.volume_l + bounded(rng, 0.06, 0.02)
        dry_extract(house, lot, bounded(rng, found, 0.01 * found), at + timedelta(hours=5))


def swap_digits(house: Stillhouse) -> None:
    """Plant the typing error: two decimals swapped in the second replicate of a neutral spirit."""
    for cycle in range(faults.TRANSPOSED_FROM, max(house.neutral) + 1):
        lot = house.neutral[cycle]
        second = [r for r in house.book.results if r.lot == lot and r.analyte == "strength" and r.replicate == 2]
        swapped = faults.swappable(second[0].value)
        if swapped is not None:
            second[0].value, second[0].typed_by_hand = swapped, True
            house.fault("transposed digits in a laboratory strength", "laboratory-duplicates", [lot], False,
                        f"densitometer export of {second[0].measured:%Y-%m}, sample {second[0].sample}, "
                        f"second measurement of lot {lot}, typed by hand")  # fmt: skip
            return
    raise ValueError("no neutral spirit has decimals that can be swapped; change the seed")


def _sample(house: Stillhouse, at: datetime) -> str:
    return house.number("L", at.date())


def _enter(
    house: Stillhouse, lot: str, at: datetime, analyte: str, value: float, replicate: int = 1,
    distilled: bool = False, sample: str | None = None, below: bool = False,
) -> None:  # fmt: skip
    house.book.results.append(
        Result(sample or _sample(house, at), lot, at, analyte, value, replicate, below, False, distilled)
    )
