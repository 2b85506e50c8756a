"""From spirit to bottle: steep, filter, blend, reduce, bottle."""

from datetime import datetime, timedelta
from random import Random

from . import faults, laboratory
from .chance import bounded, stream
from .distilling import CHARGE_LPA
from .instruments import read_laboratory, weigh
from .mixing import Liquid, water, water_to_reduce
from .plan import CYCLES
from .records import Bottling, Gauge
from .stillhouse import Stillhouse, near

STEEP_LPA = 115.0
THIRD_LPA = {"akvavit": CHARGE_LPA["AKVAVIT"], "quince": STEEP_LPA, None: 0.0}
HEEL_LPA = 8.0  # stays in a neutral-spirit tank
MOST_VODKA_LPA = 440.0
PREFIXES = {"VODKA": "VOD", "GIN": "GIN", "AKVAVIT": "AKV", "QUINCE": "QUI", "APPLE": "APP"}
BLENDS = {"GIN": "quillmere gin blend"}  # recipe of each product that is blended
QUINCE_WATER, QUINCE_EXTRACT = 0.84, 0.115  # of the fruit's mass
FIRST_FILLS, FILLS = 30, 50  # 50 is the sample that the reference test asks of 501 to 3200 bottles


def steep(house: Stillhouse, at: datetime, cycle: int | str, product: str, days: int) -> None:
    """Quinces in spirit; the marc keeps a little of it."""
    run = house.number("STE", at.date())
    rng = stream(run)
    started = near(at, run)
    ended = started + timedelta(days=days, minutes=5 * rng.randint(-6, 6))
    recipe = house.recipes["quince steep"]
    house.run(run, "steep", f"Q{rng.randint(1, 2)}", started, ended, product, recipe["name"])
    lot = house.recovered[int(cycle.split()[1])] if isinstance(cycle, str) else house.neutral[cycle]
    drawn = house.draw(run, lot, "spirit", started - timedelta(minutes=30), "alcoholmeter",
                       alcohol_l=bounded(rng, STEEP_LPA, 0.8))  # fmt: skip
    added = water_to_reduce(drawn, recipe["charge_strength_pct_vol"])
    house.add_water(run, added, started - timedelta(minutes=20))
    item = recipe["ingredients"][0]
    mass = bounded(rng, item["g_per_lpa"] * drawn.alcohol_l / 1000.0, 0.5)
    store = house.stores.take(item["material"], at.date(), mass)
    gauge = Gauge(mass_kg=weigh(rng, mass, 0.5), instrument="BAL-2")
    house.move(run, "in", store.lot, "fruit", None, started - timedelta(minutes=10), gauge)
    fruit = Liquid(water_kg=mass * QUINCE_WATER, extract_kg=mass * QUINCE_EXTRACT)
    mixed = drawn + water(added) + fruit
    lost, marc = mixed.times(bounded(rng, 0.010, 0.002)), mixed.times(bounded(rng, 0.065, 0.004))
    liquid = mixed - lost - marc
    steeped = f"STEEP-{run[4:]}"
    house.lay_down(run, steeped, "liquid", liquid, house.book.runs[-1].equipment, ended, "laboratory")
    marc_gauge = Gauge(mass_kg=weigh(rng, marc.mass_kg, 0.5))
    read_laboratory(rng, marc_gauge, marc)
    house.move(run, "out", f"{run}-S", "spent", "SP1", ended + timedelta(minutes=30), marc_gauge)
    into = [(lot, drawn), ("water", water(added)), (store.lot, fruit)]
    house.account(run, into, [(steeped, liquid), (f"{run}-S", marc)], [("vapour and drips", lost)])
    house.spirits[(cycle, product)] = [steeped]
    house.methanol[steeped] = bounded(rng, 85.0, 10.0)
    if days != recipe["steep_days"]:
        house.fault("a steep of four days where seven are specified", "steep-time", [run], False,
                    f"run sheet, {run}: {days} days")  # fmt: skip


def filtrate(house: Stillhouse, at: datetime, cycle: int | str, product: str) -> None:
    """Through the sheet filter."""
    _pass_on(house, at, cycle, product, "filter", "FT1", hours=3)


def blend(house: Stillhouse, at: datetime, cycle: int | str, product: str) -> None:
    """Two distillates together."""
    _pass_on(house, at, cycle, product, "blend", "B1", hours=1)


def reduce(house: Stillhouse, at: datetime, cycle: int | str, product: str, number: int = 0) -> None:
    """Water down to the strength of the label."""
    if product == "VODKA":
        house.spirits[(cycle, product)] = [house.neutral[int(cycle)]]
    equipment = {"VODKA": "P1", "GIN": "P2"}.get(product, "P3")
    _pass_on(house, at, cycle, product, "reduce", equipment, hours=2)


_RUN_AND_LOT = {"filter": ("FIL", "FILT"), "blend": ("BLE", "BLEND"), "reduce": ("RED", "PROOF")}


def _pass_on(
    house: Stillhouse, at: datetime, cycle: int | str, product: str, stage: str, equipment: str, hours: int
) -> None:
    """One working from tank to tank; what it makes is the product's liquid from then on."""
    prefix, lot_prefix = _RUN_AND_LOT[stage]
    run = house.number(prefix, at.date())
    rng = stream(run)
    started = near(at, run)
    ended = started + timedelta(hours=hours, minutes=5 * rng.randint(0, 8))
    house.run(run, stage, equipment, started, ended, product, BLENDS[product] if stage == "blend" else None)
    meter = "laboratory" if product == "QUINCE" else "alcoholmeter" if stage == "blend" else "density"
    into = []
    for number, lot in enumerate(house.spirits[(cycle, product)]):
        written = _overdrawn_lot(house, run, cycle, stage, number)
        amount = _vodka_lpa(house, int(cycle)) if product == "VODKA" and stage == "reduce" else None
        when = started - timedelta(minutes=25 - 5 * number)
        neutral = product == "VODKA" and stage == "reduce"
        drawn = house.draw(run, lot, "liquid" if stage == "filter" else "spirit", when,
                           "alcoholmeter" if neutral else meter, amount, 0.997, written)  # fmt: skip
        into.append((lot, drawn))
    total = sum((liquid for _, liquid in into), Liquid())
    if stage == "reduce":
        added = water_to_reduce(total, _target(house, cycle, product))
        house.add_water(run, added, started - timedelta(minutes=5))
        into.append(("water", water(added)))
        total += water(added)
    lost = total.times(bounded(rng, 0.006 if stage == "filter" else 0.0025, 0.0006))
    made, liquid = f"{lot_prefix}-{run[4:]}", total - lost
    part = "liquid" if stage == "filter" else "spirit"
    vessel = "BT1" if stage == "filter" else equipment
    house.lay_down(run, made, part, liquid, vessel, ended + timedelta(minutes=15), meter)
    house.account(run, into, [(made, liquid)], [("filter and hoses", lost)])
    house.methanol[made] = max(house.methanol[lot] for lot, _ in into if lot in house.methanol)
    house.spirits[(cycle, product)] = [made]
    last = {"VODKA": "filter", "AKVAVIT": "filter"}.get(product, "reduce")
    if stage == last:
        missing = faults.MISSING_RESULT[1] if (cycle, product) == (faults.MISSING_RESULT[0], "VODKA") else None
        laboratory.finished(house, made, liquid, product, ended.replace(hour=8, minute=40) + timedelta(days=1), missing)
        if house.methanol[made] > 1200.0:
            house.fault("methanol over its limit", "methanol-limit", [made], True,
                        f"chromatography table of {ended:%Y-%m}, lot {made}: apple spirit")  # fmt: skip


def _target(house: Stillhouse, cycle: int | str, product: str) -> float:
    """Strength to reduce to: the label's, as near as the tank allows."""
    off = faults.LABEL_OFF[1] if (cycle, product) == (faults.LABEL_OFF[0], "AKVAVIT") else 0.0
    label = float(house.products[product]["label_strength_pct_vol"])
    near_label = 0.0 if off else bounded(stream(f"target {cycle} {product}"), 0.02, 0.03)
    return label + off + near_label


def _vodka_lpa(house: Stillhouse, cycle: int) -> float:
    """What is left for vodka when the other uses of a neutral spirit are kept back."""
    charges, third = CYCLES[cycle]
    kept = charges * CHARGE_LPA["GIN"] + THIRD_LPA[third] + HEEL_LPA
    return min(house.cellar.lots[house.neutral[cycle]].holds.alcohol_l - kept, MOST_VODKA_LPA)


def _overdrawn_lot(house: Stillhouse, run: str, cycle: int | str, stage: str, number: int) -> str | None:
    """The lot that is written where the blend names the wrong, empty tank."""
    if (cycle, stage, number) != (faults.OVERDRAWN, "blend", 1):
        return None
    wrong = house.distillates[(faults.OVERDRAWN - 1, "GIN")]
    house.fault("a draw of more than a lot held", "lot-overdrawn", [wrong], True,
                f"run sheet, gauges of {run}: the distillate is written as {wrong}, which was used up")  # fmt: skip
    return wrong


def bottle(house: Stillhouse, at: datetime, cycle: int | str, product: str, number: int = 0) -> None:
    """Fill, count and sample a batch."""
    run = house.number("PAK", at.date())
    rng = stream(run)
    started = near(at, run)
    lot = house.spirits[(cycle, product)][0]
    drawn = house.draw(run, lot, "liquid", started - timedelta(minutes=20),
                       "laboratory" if product == "QUINCE" else "density", share=0.998)  # fmt: skip
    profile = house.products[product]
    nominal, label = profile["nominal_ml"], profile["label_strength_pct_vol"]
    batch = house.batch(PREFIXES[product], started.date())
    short = (cycle, product) == (faults.SHORT_FILLS, "VODKA")
    fills = [_fill_ml(rng, nominal, short, n) for n in range(FIRST_FILLS)]
    more = stream(f"fills {run}")  # of its own, so that what follows in the batch's stream stays what it was
    fills += [_fill_ml(more, nominal, short, n) for n in range(FIRST_FILLS, FILLS)]
    mean_l = (nominal + (-7.2 if short else 1.5)) / 1000.0
    rejected = rng.randint(0, 5)
    filled = int(drawn.volume_l * bounded(rng, 0.9935, 0.0015) / mean_l) - rejected
    ended = started + timedelta(minutes=5 * round((90 + filled / 3.6) / 5))
    house.run(run, "bottle", "BL1", started, ended, product)
    house.stores.take(f"bottle {nominal:.0f} mL", at.date(), filled + rejected)
    house.move(run, "out", batch, "bottles", "BL1", ended, Gauge())
    poured = drawn.times(mean_l * filled / drawn.volume_l)
    house.account(run, [(lot, drawn)], [(batch, poured)], [("line, samples and rejects", drawn - poured)])
    operator = house.book.runs[-1].operator
    house.book.bottlings.append(Bottling(batch, run, product, ended, nominal, label, filled, rejected, operator, fills))
    _batch_faults(house, batch, cycle, product, short)


def _batch_faults(house: Stillhouse, batch: str, cycle: int | str, product: str, short: bool) -> None:
    if short:
        for rule in ("fill-average", "fill-tolerable-error"):
            house.fault("short fills", rule, [batch], True, f"fills of {batch}: one head in three fills short")
    if (cycle, product) == (faults.LABEL_OFF[0], "AKVAVIT"):
        house.fault("label strength 0.5 % vol off", "label-strength", [batch], True,
                    f"densitometer export, liquid of {batch}: over-reduced")  # fmt: skip
    if (cycle, product) == (faults.MISSING_RESULT[0], "VODKA"):
        house.fault("a missing required laboratory reading", "laboratory-complete", [batch, faults.MISSING_RESULT[1]],
                    True, f"chromatography table, liquid of {batch}: blank cell")  # fmt: skip


def _fill_ml(rng: Random, nominal: float, is_short_batch: bool, number: int) -> float:
    """Net content of a sampled bottle; in a short batch one head in three fills far too little, the others a trifle."""
    if not is_short_batch:
        return round(bounded(rng, nominal + 1.5, 1.5, 2.5), 1)
    return round(bounded(rng, nominal - (20.0 if number % 3 == 2 else 0.8), 1.2), 1)
