"""What is done by the calendar and not by the run: month-end dips, calibration checks, tasting panels."""

from datetime import datetime, timedelta

from .chance import bounded, stream
from .instruments import cellar_temperature_c, gauge_tank
from .plan import FIRST_DAY, LAST_DAY
from .records import Check, Dip, Panel
from .stillhouse import Stillhouse

LEAST_DIPPED_LPA = 25.0
DIPPED = ("H", "N", "D", "P", "B", "Q", "FE3")
CHECKED = (  # instrument, reference value, standard uncertainty, unit, decimals
    ("HYD-1", 90.0, 0.10, "pct_vol", 1), ("HYD-2", 70.0, 0.10, "pct_vol", 1), ("HYD-3", 40.0, 0.10, "pct_vol", 1),
    ("DM-1", 998.20, 0.06, "kg/m3", 2), ("DM-2", 998.20, 0.03, "kg/m3", 2), ("BAL-1", 5.000, 0.0006, "kg", 3),
    ("BAL-2", 500.0, 0.15, "kg", 1), ("TH-1", 20.0, 0.1, "degC", 1), ("SG-1", 998.2, 0.3, "kg/m3", 1),
    ("GC-1", 50.0, 0.3, "g/hL pa", 1),
)  # fmt: skip
CHECK_EVERY_DAYS, ASSESSORS, MOST_CORRECT = 91, 18, 9


def month_ends() -> list[datetime]:
    """Four in the afternoon of the last day of each month."""
    day = datetime(FIRST_DAY.year, FIRST_DAY.month, 1, 16)
    ends = []
    while day.date() <= LAST_DAY:
        day = (day.replace(day=28) + timedelta(days=4)).replace(day=1)
        ends.append(day - timedelta(days=1))
    return ends


def dips(house: Stillhouse) -> None:
    """Each tank with spirit in it, at the end of each month."""
    for end in month_ends():
        for lot in sorted(house.cellar.lots.values(), key=lambda item: (item.vessel, item.name)):
            if not lot.vessel.startswith(DIPPED):
                continue
            held = lot.held_at(end)
            if held.alcohol_l < LEAST_DIPPED_LPA:
                continue
            rng = stream(f"dip {end:%Y%m} {lot.name}")
            meter = "laboratory" if held.extract_kg > 0.5 else "alcoholmeter"
            when = end + timedelta(minutes=5 * len(house.book.dips) % 60)
            gauge = gauge_tank(rng, held, cellar_temperature_c(rng, end), meter)
            house.book.dips.append(Dip(lot.vessel, lot.name, when, gauge))


def checks(house: Stillhouse) -> None:
    """Instruments against their references, each quarter."""
    for number in range(5):
        day = datetime(2025, 10, 1, 8, 30) + timedelta(days=CHECK_EVERY_DAYS * number)
        for position, (instrument, reference, u, unit, decimals) in enumerate(CHECKED):
            when = day + timedelta(minutes=20 * position)
            reading = round(bounded(stream(f"check {instrument} {number}"), reference, 0.7 * u), decimals)
            due = (when + timedelta(days=CHECK_EVERY_DAYS + 14)).replace(hour=0, minute=0)
            house.book.checks.append(Check(instrument, when, reference, reading, unit, due))


def panels(house: Stillhouse) -> None:
    """Triangle tests of a batch against the one before it; one in six batches is tasted."""
    before: dict[str, str] = {}
    for number, item in enumerate(house.book.bottlings):
        if item.product in before and number % 6 == 3:
            rng = stream(f"panel {item.batch}")
            correct = min(sum(rng.random() < 1.0 / 3.0 for _ in range(ASSESSORS)), MOST_CORRECT)
            held = item.bottled.replace(hour=14, minute=0) + timedelta(days=1)
            session = house.number("TST", held.date())
            house.book.panels.append(Panel(session, item.batch, before[item.product], held, ASSESSORS, correct))
        before[item.product] = item.batch
