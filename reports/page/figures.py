"""Numbers and times as the documents show them: one rounding rule, in one place.

± is the expanded uncertainty U = 2 u (coverage factor k = 2, about 95 %), given to two significant digits; the
value is rounded to the same decimal place, half to even. GUM (JCGM 100) 7.2.2 to 7.2.6 keeps ± for expanded
uncertainties and finds two digits enough; clause numbers from memory.
"""

from datetime import UTC, date, datetime
from decimal import ROUND_HALF_EVEN, Decimal
from functools import lru_cache
from typing import TypeGuard
from zoneinfo import ZoneInfo

COVERAGE = 2
MISSING = "–"
_NOISE = 1e-14  # a relative uncertainty below this is the rounding of floating point, not a measurement

# Decimals of a value that comes without an uncertainty.
DECIMALS = {
    "% vol": 2, "LPA": 1, "L": 1, "kg": 1, "°C": 1, "mL": 1, "%": 1, "g/hL pa": 1,
    "bottles": 0, "": 1, "SG": 4, "kg/m³": 1, "mg/L": 1, "g/L": 2, "pH": 2, "NTU": 2,
}  # fmt: skip


def stated(value: float | None, u: float | None = None, unit: str = "") -> str:
    """A value with its expanded uncertainty and unit.

    Parameters
    ----------
    value : float
        The value [unit]
    u : float
        Its standard uncertainty, None or 0 where it has none [unit]
    unit : str
        As printed [-]

    Returns
    -------
    str
        For example "1,350.0 ± 8.4 LPA"; a dash where there is no value

    Source
    ------
    GUM (JCGM 100) 7.2; see the head of this module.

    Examples
    --------
    >>> stated(1350.04, 4.2, "LPA"), stated(0.95312, 0.0021), stated(1234.5, 61.0, "L")
    ('1,350.0 ± 8.4 LPA', '0.9531 ± 0.0042', '1,230 ± 120 L')
    >>> stated(None, 0.1, "L"), stated(12.34, None, "°C")
    ('–', '12.3 °C')
    """
    return _with_unit(bare(value, u, unit), unit) if _is_number(value) else MISSING


def bare(value: float | None, u: float | None = None, unit: str = "") -> str:
    """As `stated`, to the decimals of a value in this unit, and without the unit.

    >>> bare(1350.04, 4.2, "LPA"), bare(0.99821, None, "SG")
    ('1,350.0 ± 8.4', '0.9982')
    """
    if not _is_number(value):
        return MISSING
    if not _is_number(u) or u <= _NOISE * abs(value):
        return number(value, DECIMALS.get(unit, 2))
    expanded, places = _two_digits(COVERAGE * u)
    return f"{_at(Decimal(repr(float(value))), places)} ± {_at(expanded, places)}"


def uncertainty(u: float | None, unit: str = "") -> str:
    """The expanded uncertainty alone, for a column of its own: "± 8.4 LPA"."""
    if not _is_number(u) or u <= 0:
        return MISSING
    expanded, places = _two_digits(COVERAGE * u)
    return _with_unit(f"± {_at(expanded, places)}", unit)


def percent(fraction: float | None, u: float | None = None) -> str:
    """A fraction as per cent, with its expanded uncertainty.

    >>> percent(0.9531, 0.0021), percent(0.04)
    ('95.31 ± 0.42 %', '4.0 %')
    """
    scaled = 100 * fraction if _is_number(fraction) else None
    return stated(scaled, 100 * u if _is_number(u) else None, "%")


def number(value: float | None, decimals: int = 0) -> str:
    """A number without uncertainty, to so many decimals.

    >>> number(1234.565, 2), number(-0.04, 1), number(None)
    ('1,234.56', '0.0', '–')
    """
    return _at(Decimal(repr(float(value))), decimals) if _is_number(value) else MISSING


def moment(at: datetime | None, zone: str) -> str:
    """Date and time in the house's time zone; the book's times are UTC.

    >>> moment(datetime(2031, 7, 2, 22, 30), "Europe/Copenhagen")
    '2031-07-03 00:30'
    """
    return f"{local(at, zone):%Y-%m-%d %H:%M}" if at else MISSING


def day(at: datetime | None, zone: str) -> str:
    """Date in the house's time zone."""
    return f"{local(at, zone):%Y-%m-%d}" if at else MISSING


def local_day(at: datetime, zone: str) -> date:
    """Day of a moment in the house's time zone."""
    return local(at, zone).date()


@lru_cache(100_000)  # the trends ask for the same runs again and again
def local_month(at: datetime, zone: str) -> date:
    """First day of the month that a moment belongs to in the house's time zone."""
    return local(at, zone).date().replace(day=1)


def hours(start: datetime | None, end: datetime | None) -> str:
    """Time between two moments in hours."""
    return f"{number((end - start).total_seconds() / 3600, 1)} h" if start and end else MISSING


def local(at: datetime, zone: str) -> datetime:
    """A moment of the book, which is UTC, in the house's time zone."""
    return at.replace(tzinfo=UTC).astimezone(ZoneInfo(zone))


def _is_number(value: float | None) -> TypeGuard[float]:
    return value is not None and value == value and abs(value) != float("inf")


def _two_digits(expanded: float) -> tuple[Decimal, int]:
    """Rounded to two significant digits, and the decimal place that this leaves (negative: tens, hundreds)."""
    rounded = Decimal(f"{expanded:.1e}")
    return rounded, 1 - rounded.adjusted()


def _at(value: Decimal, places: int) -> str:
    rounded = value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
    if rounded == 0:
        rounded = abs(rounded)
    return f"{rounded:,.{max(places, 0)}f}".replace("-", "−")


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit else text
