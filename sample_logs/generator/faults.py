"""The planted faults: where each one strikes. Everything else in the demo is meant to be clean."""

from datetime import date, datetime

# Days on which something goes wrong; the workings ask for their own day.
WARM_ALCOHOLMETER = date(2025, 11, 11)  # strip on S1: read at 27 °C, written down as if at 20 °C
LOG_HOUR = date(2026, 3, 31)  # the logger of S1 missed the change to summer time
FALL_FROM, FALL_TO = date(2026, 3, 13), date(2026, 5, 22)  # S2 loses vapour at a worn gasket
REPAIRED = date(2026, 5, 29)  # the next run on S2, with a new gasket
FALL_RECOVERY = 0.08  # by the last run
FALL_VAPOUR_SHARE = 0.42  # of it leaves as vapour; the rest is cut into the tails, whose strength falls with it
POOR_MALT_FROM, POOR_MALT_TO = date(2026, 1, 12), date(2026, 1, 29)
POOR_MALT_SHORT = 0.12  # of the certificate's extract

# Cycles (numbered from nought, one a rectifying run) that carry a fault.
HALF_BOTANICAL = (5, "coriander seed")
UNKNOWN_LOT = (7, "WAT-2640")  # its digits were swapped
DRIED_PEEL = 9
OVERLAP = 10
STUCK_PROBE = (11, "column_temperature_c", 95)  # minutes
MISSING_RESULT = (6, "methanol")
TRANSPOSED_FROM = 8  # the first neutral spirit from here whose digits can be swapped
LABEL_OFF = (13, -0.56)  # % vol, akvavit
SHORT_STEEP = (2, 4)  # days
SHORT_FILLS = 14  # vodka
OVERDRAWN = 8  # the blend names the distillate of the cycle before
METHANOL = (3, 1318.0)  # apple spirit, numbered from nought [g/hL of pure alcohol]


def fall(still: str, started: datetime) -> float:
    """Share of the charge that the worn gasket costs a strip run."""
    day = started.date()
    if still != "S2" or not FALL_FROM <= day <= FALL_TO:
        return 0.0
    return FALL_RECOVERY * (day - FALL_FROM).days / (FALL_TO - FALL_FROM).days


def is_clearly_low(fall_share: float) -> bool:
    """Whether a strip run has fallen so far that its own recovery is flagged, not only the row of runs."""
    return fall_share > 0.75 * FALL_RECOVERY


def swappable(strength: float) -> float | None:
    """The strength with its two decimals swapped, where that adds 0.27 to 0.45 % vol."""
    tenths, hundredths = int(strength * 10.0 + 1e-6) % 10, round(strength * 100.0) % 10
    if hundredths - tenths not in (3, 4, 5):
        return None
    return round(int(strength + 1e-9) + hundredths / 10.0 + tenths / 100.0, 2)
