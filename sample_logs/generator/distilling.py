"""Workings of the stills: strip, rectify, feints campaign, botanical run, second distillation of apples."""

from datetime import datetime, timedelta
from random import Random
from typing import Any

from . import faults, laboratory
from .chance import bounded, stream
from .equilibrium import SITE_PRESSURE_KPA
from .instruments import read_alcoholmeter, weigh
from .logs import COOLING_MIN, Setting, still_log
from .mixing import Liquid, water, water_to_reduce
from .plan import STRIPS_A_RECTIFYING
from .records import Gauge, Run
from .still import Course, Policy, distil
from .stillhouse import Stillhouse, near

CHARGE_LPA = {"GIN": 200.0, "AKVAVIT": 185.0}
RECIPES = {"GIN": "quillmere gin", "AKVAVIT": "caraway akvavit"}
RECTIFY_PCT_VOL, RECTIFY_LPA = 45.0, 715.0  # of a full charge
# Ideal stages that the plates of house.toml are worth at the reflux they are run at: five and forty-four plates.
STRIP_STAGES, RECTIFY_STAGES = 3, 18
WARM_C = 27.0


def strip(house: Stillhouse, at: datetime, still: str, apples: bool = False) -> None:
    """A wash to low wines or strong hearts."""
    run = house.number("STR", at.date())
    rng = stream(run)
    wash_lot = _oldest_wash(house, at, apples)
    started = near(at, run)
    wash = house.draw(run, wash_lot, "wash", started - timedelta(minutes=10), "laboratory", share=0.997)
    reading = next(m.gauge.reading for m in house.book.movements if m.lot == wash_lot and m.direction == "out")
    house.book.movements[-1].gauge.reading = reading  # the laboratory's figure is carried over
    fall = faults.fall(still, started) if not apples else 0.0
    hearts = bounded(rng, 0.955, 0.002 if fall else 0.0065) - fall
    lost = bounded(rng, 0.0115, 0.0015) + fall * faults.FALL_VAPOUR_SHARE
    policy = (
        Policy(1, 7.5, 60.0, 0.5, 1.0, 0.6, 0.006, hearts, lost, 0.004)
        if apples
        else Policy(STRIP_STAGES, 8.7, bounded(rng, 86.0, 0.2), 1.0, 8.0, 2.0, 0.007, hearts, lost, 0.004)
    )
    course = distil(wash, policy)
    clock = -60 if started.date() == faults.LOG_HOUR else 0
    entry = _work(house, run, "strip", still, started, course, rng, "APPLE" if apples else None, clock_error_min=clock)
    hearts_lot = f"HRT-{run[4:]}"
    house.account(run, [(wash_lot, wash)], _parts(run, hearts_lot, course), [("vapour and hold-up", course.lost)])
    vessel = f"H{len([r for r in house.book.runs if r.stage == 'strip']) % 7 + 1}"
    _lay_down_parts(house, entry, hearts_lot, course, "D4" if apples else vessel)
    laboratory.strength(house, hearts_lot, course.hearts, _next_morning(entry.ended), 1)
    if apples:
        house.spirits[("apples", "APPLE")] = [*house.spirits.get(("apples", "APPLE"), []), hearts_lot]
    else:
        house.hearts.append(hearts_lot)
    _strip_faults(house, entry, hearts_lot, course, fall)


def _strip_faults(house: Stillhouse, entry: Run, hearts_lot: str, course: Course, fall: float) -> None:
    """Notes of what is planted in a strip run, and the one that is planted on the sheet itself."""
    if entry.started.date() == faults.WARM_ALCOHOLMETER:
        movement = next(m for m in house.book.movements if m.lot == hearts_lot)
        read_alcoholmeter(stream("warm alcoholmeter"), movement.gauge, course.hearts, WARM_C)
        movement.gauge.reading_temperature_c = 20.0
        house.fault("strength read on a warm alcoholmeter, written down as if at 20 °C", "gauge-against-laboratory",
                    [hearts_lot], False, f"run sheet, hearts of {entry.run}: read at {WARM_C:.0f} °C")  # fmt: skip
    if entry.equipment == "S2" and entry.started.date() == faults.REPAIRED:
        entry.note = "new gasket on the condenser"
    if entry.started.date() == faults.LOG_HOUR:
        house.fault("a log one hour off after the clocks changed", "log-clock", [entry.run], False,
                    f"log of S1 for {entry.run}: its clock stayed on winter time")  # fmt: skip
    if faults.is_clearly_low(fall):
        house.fault("slow fall of stripping recovery on one still over ten weeks", "strip-recovery", [entry.run], False,
                    f"run {entry.run} on S2: worn gasket, recovery lower by {fall:.3f}")  # fmt: skip
        if entry.started.date() == faults.FALL_TO:
            house.fault("slow fall of stripping recovery on one still over ten weeks", "strip-recovery-drift", ["S2"],
                        False, f"S2 from {faults.FALL_FROM} to {faults.FALL_TO}, repaired after")  # fmt: skip


def rectify(house: Stillhouse, at: datetime, cycle: int) -> None:
    """The strip hearts that wait to neutral spirit."""
    lots, house.hearts = house.hearts[:STRIPS_A_RECTIFYING], house.hearts[STRIPS_A_RECTIFYING:]
    run = house.number("REC", at.date())
    stuck = faults.STUCK_PROBE[1:] if cycle == faults.STUCK_PROBE[0] else None
    lot = _rectified(house, at, run, f"NS-{run[4:]}", lots, "hearts", f"N{cycle % 3 + 1}", stuck)
    house.neutral[cycle] = lot
    house.tails[cycle] = f"{run}-T"
    if stuck:
        house.fault("a stuck temperature probe", "log-stuck-sensor", [run, stuck[0]], False,
                    f"log of R1 for {run}, {stuck[0]}: one value for {stuck[1]} minutes of the hearts")  # fmt: skip


def campaign(house: Stillhouse, at: datetime, number: int, cycles: tuple[int, ...]) -> None:
    """Tails of earlier rectifying runs to spirit that goes to the quinces."""
    run = house.number("REC", at.date())
    lots = [house.tails[cycle] for cycle in cycles]
    house.recovered[number] = _rectified(house, at, run, f"NSF-{run[4:]}", lots, "feints", "FE3", None)


def _rectified(
    house: Stillhouse, at: datetime, run: str, lot: str, lots: list[str], part: str, vessel: str,
    stuck: tuple[str, int] | None,
) -> str:  # fmt: skip
    """One run of the rectifying still; returns its spirit's lot."""
    rng = stream(run)
    started = near(at, run)
    into = [
        (name, house.draw(run, name, part, started - timedelta(minutes=30 - n), "alcoholmeter", share=0.995))
        for n, name in enumerate(lots)
    ]
    charge = sum((liquid for _, liquid in into), Liquid())
    added = water_to_reduce(charge, RECTIFY_PCT_VOL)
    if added > 1.0:
        house.add_water(run, added, started - timedelta(minutes=15))
        into.append(("water", water(added)))
        charge += water(added)
    scale = charge.alcohol_l / RECTIFY_LPA
    policy = Policy(RECTIFY_STAGES, 9.0 * max(scale, 0.4), bounded(rng, 96.31, 0.04), 2.5, 9.0, 1.5, 0.03,
                    bounded(rng, 0.88, 0.009), bounded(rng, 0.0145, 0.003), 0.012)  # fmt: skip
    course = distil(charge, policy)
    entry = _work(house, run, "rectify", "R1", started, course, rng, stuck=stuck)
    house.account(run, into, _parts(run, lot, course), [("vapour and hold-up", course.lost)])
    _lay_down_parts(house, entry, lot, course, vessel)
    morning = _next_morning(entry.ended)
    house.methanol[lot] = bounded(rng, 3.2, 0.6)
    laboratory.strength(house, lot, course.hearts, morning, 2)
    methanol = {"methanol": (house.methanol[lot], 0.05)}
    laboratory.congeners(house, lot, methanol | laboratory.CLEAN, morning + timedelta(hours=2))
    return lot


def botanical(house: Stillhouse, at: datetime, cycle: int, product: str, charge: int) -> None:
    """Neutral spirit over botanicals in the gin still."""
    run = house.number("BOT", at.date())
    rng = stream(run)
    overlaps = product == "GIN" and cycle == faults.OVERLAP
    started = house.free["G1"] if overlaps and charge == 1 else near(at, run)
    recipe = house.recipes[RECIPES[product]]
    spirit_lot = house.neutral[cycle]
    drawn = house.draw(run, spirit_lot, "spirit", started - timedelta(minutes=50), "alcoholmeter",
                       alcohol_l=bounded(rng, CHARGE_LPA[product], 0.8))  # fmt: skip
    added = water_to_reduce(drawn, recipe["charge_strength_pct_vol"])
    wrong = faults.UNKNOWN_LOT[1] if cycle == faults.UNKNOWN_LOT[0] and product == "GIN" else None
    house.add_water(run, added, started - timedelta(minutes=40), wrong)
    _weigh_botanicals(house, run, started, recipe, drawn.alcohol_l, cycle, product)
    policy = Policy(0, 1.8 if product == "GIN" else 1.6, 95.0, 0.0, 0.0, 0.0, 0.012, bounded(rng, 0.855, 0.008),
                    bounded(rng, 0.0145, 0.003), 0.04)  # fmt: skip
    course = distil(drawn + water(added), policy)
    forgotten = 80 if overlaps and charge == 0 else COOLING_MIN
    entry = _work(house, run, "botanical", "G1", started, course, rng, product, RECIPES[product], cooling_min=forgotten)
    lot = f"DIST-{run[4:]}"
    into = [(spirit_lot, drawn), ("water", water(added))]
    house.account(run, into, _parts(run, lot, course), [("vapour and hold-up", course.lost)])
    lots = house.spirits.setdefault((cycle, product), [])
    _lay_down_parts(house, entry, lot, course, "D3" if product == "AKVAVIT" else f"D{len(lots) + 1}")
    laboratory.strength(house, lot, course.hearts, _next_morning(entry.ended), 1)
    house.methanol[lot] = house.methanol[spirit_lot]
    lots.append(lot)
    house.distillates[(cycle, product)] = lot
    if overlaps and charge == 0:
        house.free["G1"] = _five(entry.ended + timedelta(minutes=100))
        entry.ended = _five(house.free["G1"] + timedelta(minutes=20))
    elif overlaps:
        first = next(r.run for r in reversed(house.book.runs[:-1]) if r.equipment == "G1")
        house.fault("two runs overlapping on one still", "still-overlap", [run], False,
                    f"run sheet, {first}: its end was written two hours late, after {run} began on G1")  # fmt: skip
    if wrong:
        house.fault("an unknown lot charged", "lot-unknown", [wrong], True,
                    f"run sheet, gauges of {run}: water charged under a lot that never came")  # fmt: skip


def _weigh_botanicals(
    house: Stillhouse, run: str, started: datetime, recipe: dict[str, Any], alcohol_l: float, cycle: int, product: str
) -> None:
    """The botanicals of a recipe, each from its lot, on the balance."""
    rng = stream(f"botanicals {run}")
    is_gin = product == "GIN"
    for number, item in enumerate(recipe["ingredients"]):
        material = item["material"]
        mass = bounded(rng, item["g_per_lpa"] * alcohol_l / 1000.0, 0.006 * item["g_per_lpa"] * alcohol_l / 1000.0)
        if is_gin and (cycle, material) == faults.HALF_BOTANICAL:
            mass /= 2.0
            house.fault("a botanical weighed at half", "botanical-quantity", [run, material], True,
                        f"balance file, {run}: {material} at half its recipe")  # fmt: skip
        dried = is_gin and cycle == faults.DRIED_PEEL and material == "lemon peel"
        if dried:
            house.fault("dried peel where fresh is specified", "botanical-condition", [run, material], False,
                        f"intake and balance file, {run}: its lemon peel came dried")  # fmt: skip
        store = house.stores.take(material, started.date(), mass, dried)
        gauge = Gauge(mass_kg=weigh(rng, mass, 0.001), instrument="BAL-1")
        when = started - timedelta(minutes=35 - 3 * number)
        house.move(run, "in", store.lot, "botanical", None, when, gauge, by_balance=True)


def redistil(house: Stillhouse, at: datetime, cycle: str, product: str, number: int) -> None:
    """The apple low wines a second time, below 86 % vol."""
    run = house.number("REC", at.date())
    rng = stream(run)
    started = near(at, run)
    lot = house.spirits[("apples", product)][number]
    drawn = house.draw(run, lot, "hearts", started - timedelta(minutes=20), "alcoholmeter", share=0.995)
    policy = Policy(1, 2.0, bounded(rng, 80.0, 0.4), 0.3, 3.0, 0.6, 0.03, bounded(rng, 0.88, 0.008),
                    bounded(rng, 0.0145, 0.003), 0.012)  # fmt: skip
    course = distil(drawn, policy)
    entry = _work(house, run, "rectify", "G1", started, course, rng, product)
    spirit_lot = f"DIST-{run[4:]}R"
    house.account(run, [(lot, drawn)], _parts(run, spirit_lot, course), [("vapour and hold-up", course.lost)])
    _lay_down_parts(house, entry, spirit_lot, course, "D4")
    laboratory.strength(house, spirit_lot, course.hearts, _next_morning(entry.ended), 1)
    house.spirits[(cycle, product)] = [spirit_lot]
    house.methanol[spirit_lot] = faults.METHANOL[1] if number == faults.METHANOL[0] else bounded(rng, 830.0, 50.0)


def _work(
    house: Stillhouse, run: str, stage: str, still: str, started: datetime, course: Course, rng: Random,
    product: str | None = None, recipe: str | None = None, cooling_min: int = COOLING_MIN, clock_error_min: int = 0,
    stuck: tuple[str, int] | None = None,
) -> Run:  # fmt: skip
    """Log a distillation and enter it on the sheet with its cuts."""
    warm_up = rng.randint(50, 62)
    began = started + timedelta(minutes=rng.randint(-2, 3))
    pressure = bounded(rng, SITE_PRESSURE_KPA, 0.8)
    setting = Setting(run, still, began, warm_up, pressure, cooling_min, clock_error_min, stuck)
    house.book.logs.append(still_log(rng, setting, course))
    ended = _five(began + timedelta(minutes=warm_up + course.minutes + cooling_min))
    entry = house.run(run, stage, still, started, ended, product, recipe)
    entry.hearts_from = began + timedelta(minutes=warm_up + course.hearts_from_min)
    entry.hearts_to = began + timedelta(minutes=warm_up + course.hearts_to_min)
    return entry


def _parts(run: str, hearts_lot: str, course: Course) -> list[tuple[str, Liquid]]:
    return [
        (f"{run}-H", course.heads),
        (hearts_lot, course.hearts),
        (f"{run}-T", course.tails),
        (f"{run}-S", course.spent),
    ]


def _lay_down_parts(house: Stillhouse, entry: Run, hearts_lot: str, course: Course, vessel: str) -> None:
    """The four parts of a run, each gauged."""
    run, at = entry.run, entry.ended
    rng = stream(f"warm {run}")
    warm = [rng.uniform(17.0, 25.5) for _ in range(3)]
    house.lay_down(run, hearts_lot, "hearts", course.hearts, vessel, at + timedelta(minutes=5), "alcoholmeter", warm[0])
    house.lay_down(run, f"{run}-H", "heads", course.heads, "FE4", at, "alcoholmeter", warm[1])
    tank = "FE2" if entry.equipment == "R1" else "FE1"
    house.lay_down(run, f"{run}-T", "tails", course.tails, tank, at + timedelta(minutes=10), "alcoholmeter", warm[2])
    house.lay_down(run, f"{run}-S", "spent", course.spent, "SP1", at + timedelta(minutes=20), "laboratory", 38.0)


def _oldest_wash(house: Stillhouse, at: datetime, apples: bool) -> str:
    """The wash that has waited longest, of apples or of grain."""
    fermenters = ("F5",) if apples else ("F1", "F2", "F3", "F4")
    waiting = [
        lot
        for lot in house.cellar.lots.values()
        if lot.name.startswith("WASH") and lot.vessel in fermenters and lot.made <= at and lot.holds.alcohol_l > 20.0
    ]
    return min(waiting, key=lambda lot: lot.made).name


def _next_morning(at: datetime) -> datetime:
    return at.replace(hour=9, minute=20) + timedelta(days=1)


def _five(at: datetime) -> datetime:
    """To the five minutes that people write."""
    return at - timedelta(minutes=at.minute % 5)
