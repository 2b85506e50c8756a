"""Records of the charts that remember, which the records of `measures` hold."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Average:
    """The EWMA of the runs since the baseline, with its widening limits; it confirms and dates, and raises no alarm.

    `beyond` are places, `first_run` the first of them; `by_chance` is how often a stable chart of so long a baseline
    and so many runs since leaves its limits at all.
    """

    centre: float
    when: tuple[datetime, ...]
    values: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    beyond: tuple[int, ...]
    first_run: str
    by_chance: float


@dataclass(frozen=True)
class Sums:
    """The CUSUM of the runs since the baseline, in standard deviations."""

    when: tuple[datetime, ...]
    high: tuple[float, ...]
    low: tuple[float, ...]


@dataclass(frozen=True)
class Dating:
    """When the charts that remember saw a change; "" and None where they did not.

    `ewma_run` is the first beyond the limits; `cusum_run` that from which the sum did not come back to nought before it
    passed its decision value with `passed_run`.
    """

    ewma_run: str
    ewma_at: datetime | None
    cusum_run: str
    cusum_from: datetime | None
    passed_run: str
    passed_at: datetime | None
