"""From malt and apples to wash: mash and ferment."""

from datetime import datetime, timedelta

from . import faults, laboratory
from .chance import bounded, stream
from .instruments import read_laboratory, read_volume, weigh
from .mixing import Liquid, water
from .records import Gauge
from .stillhouse import Stillhouse, near

# Balling: 2.0665 g of extract give 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast.
EXTRACT_PER_ALCOHOL, GAS_PER_ALCOHOL, YEAST_PER_ALCOHOL = 2.0665, 0.9565, 0.11
GRIST_KG = (("rye malt", 300.0), ("oat malt", 100.0))
MASH_WATER_KG, APPLE_WATER_KG = 1940.0, 350.0
APPLES_KG, WORT_L, APPLE_WORT_L = 2060.0, 1780.0, 2045.0
MASH_YIELD = 0.965  # of the true extract, into the wort


def mash(house: Stillhouse, at: datetime, fermenter: str, apples: bool = False) -> None:
    """Grain or fruit and water to wort; what stays in the spent grain is lost."""
    run = house.number("MSH", at.date())
    rng = stream(run)
    started = near(at, run)
    recipe = "apple mash" if apples else "rye-oat mash"
    house.run(run, "mash", "MT1", started, started + timedelta(hours=5, minutes=5 * rng.randint(0, 6)),
              "APPLE" if apples else None, recipe)  # fmt: skip
    ended = house.book.runs[-1].ended
    solids, into = Liquid(), []
    for material, planned in (("apples", APPLES_KG),) if apples else GRIST_KG:
        mass = bounded(rng, planned, 2.0)
        store = house.stores.take(material, at.date(), mass)
        moist = mass * (store.moisture_pct or 0.0) / 100.0
        solids += Liquid(water_kg=moist, extract_kg=(mass - moist) * store.true_extract_pct / 100.0)
        into.append((store.lot, Liquid(water_kg=moist, extract_kg=(mass - moist) * store.true_extract_pct / 100.0)))
        gauge = Gauge(mass_kg=weigh(rng, mass, 0.5), instrument="BAL-2")
        house.move(run, "in", store.lot, "fruit" if apples else "grain", None, started - timedelta(minutes=20), gauge)
    added = water(APPLE_WATER_KG if apples else bounded(rng, MASH_WATER_KG, 8.0))
    house.add_water(run, added.mass_kg, started - timedelta(minutes=10))
    extract_kg = solids.extract_kg * bounded(rng, MASH_YIELD, 0.006)
    volume_l = bounded(rng, APPLE_WORT_L if apples else WORT_L, 8.0)
    wort = Liquid(water_kg=(volume_l - extract_kg * 0.617) * 0.998201, extract_kg=extract_kg)
    lot = run.replace("MSH", "WORT")
    temperature = bounded(rng, 19.0, 0.6)
    house.lay_down(run, lot, "wort", wort, fermenter, ended, "none", temperature)
    house.account(run, [*into, ("water", added)], [(lot, wort)], [("spent grain", solids + added - wort)])
    laboratory.gravity(house, lot, wort, ended + timedelta(minutes=25))


def ferment(house: Stillhouse, at: datetime, ends: datetime, apples: bool = False) -> None:
    """Wort and yeast to wash, carbon dioxide and yeast; a little alcohol leaves with the gas."""
    mash_run = next(m.run for m in reversed(house.book.movements) if m.part == "wort" and m.direction == "out")
    run = mash_run.replace("MSH", "FER")
    lot, rng = mash_run.replace("MSH", "WORT"), stream(run)
    made = house.cellar.lots[lot].made
    started, ended = made + timedelta(minutes=30), near(ends, run, 60)
    fermenter = house.cellar.lots[lot].vessel
    house.run(run, "ferment", fermenter, started, ended, "APPLE" if apples else None)
    wort = house.cellar.draw(lot, started)
    gauge = Gauge()
    read_volume(rng, gauge, wort, 19.0)
    house.move(run, "in", lot, "wort", fermenter, started, gauge)
    yeast = house.stores.take("yeast", at.date(), 1.0)
    yeast_gauge = Gauge(mass_kg=weigh(rng, 1.0, 0.01), instrument="BAL-1")
    house.move(run, "in", yeast.lot, "yeast", None, started + timedelta(minutes=10), yeast_gauge)
    share = bounded(rng, 0.876 if apples else 0.857, 0.004)
    ethanol = wort.extract_kg * share / EXTRACT_PER_ALCOHOL
    formed = Liquid(ethanol, wort.water_kg, wort.extract_kg * (1.0 - share))
    lost = Liquid(ethanol_kg=0.004 * ethanol, water_kg=3.0)
    wash, wash_lot = formed - lost, mash_run.replace("MSH", "WASH")
    movement = house.lay_down(run, wash_lot, "wash", wash, fermenter, ended, "none", bounded(rng, 22.0, 1.0))
    read_laboratory(rng, movement.gauge, wash)
    house.account(run, [(lot, wort)], [(wash_lot, wash)], [("with the gas", lost)],
                  GAS_PER_ALCOHOL * ethanol, YEAST_PER_ALCOHOL * ethanol)  # fmt: skip
    laboratory.gravity(house, wash_lot, wash, ended + timedelta(minutes=40))
    laboratory.wash_strength(house, wash_lot, movement.gauge.reading or 0.0, ended + timedelta(minutes=60))
    if not apples and faults.POOR_MALT_FROM <= at.date() <= faults.POOR_MALT_TO:
        house.fault("malt lot poor in extract", "mash-yield", [run], False,
                    f"ferment run {run}: rye malt lot of January, true extract below its certificate")  # fmt: skip
