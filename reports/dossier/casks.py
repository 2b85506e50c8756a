"""The casks behind a batch and the age of its spirit, as the record shows them."""

from dataclasses import dataclass
from datetime import datetime
from math import hypot


@dataclass(frozen=True)
class CaskBehind:
    """One filling of a cask that stands behind the batch."""

    contents: str
    cask: str
    cooperage: str | None
    wood: str | None
    treatment: str | None
    char_level: int | None
    former_contents: str | None
    nominal_l: float | None
    filled_at: datetime | None
    emptied_at: datetime | None
    entry_strength_pct_vol: float | None
    filled_l: float | None
    u_filled_l: float | None
    lost_l: float | None
    u_lost_l: float | None
    per_year: float | None
    u_per_year: float | None
    like_it: str | None
    usual_per_year: float | None
    u_usual_per_year: float | None
    scatter_per_year: float | None
    is_outlier: bool
    years: int | None
    months: int | None
    days: int | None
    not_known: str | None

    @property
    def u_among_usual(self) -> float | None:
        """With which a cask like it loses what is usual: the scatter from cask to cask, and the mean's own."""
        if self.usual_per_year is None:
            return None
        return hypot(self.scatter_per_year or 0.0, self.u_usual_per_year or 0.0)


@dataclass(frozen=True)
class Age:
    """Of the batch's own spirit, as its youngest part; NULL where the record cannot show it."""

    years: int | None
    months: int | None
    days: int | None
    youngest: str
    casks: int
    not_known: str | None
