"""One filling of a cask as the register has it: what law calls its wood, and whether it is what a category asks."""

from dataclasses import dataclass
from typing import Any

from gaugebook.checks.rulebook.maturation import CASK_WOODS, Maturation

OAKS = ("american oak", "european oak", "oak")
CHARRED = ("charred", "charred and toasted")


@dataclass(frozen=True)
class Filling:
    """One filling of a cask behind a batch, as the register of casks has it."""

    contents: str
    wood: str | None  # one of CASK_WOODS; None where the register does not say enough
    nominal_l: float | None
    entry_pct_vol: float | None
    u_entry_pct_vol: float | None
    took_new_spirit: bool = True  # and not only what had lain in another cask

    @property
    def cask(self) -> str:
        return self.contents.rsplit("/", 1)[0]


def wood_of(row: dict[str, Any]) -> str | None:
    """What law calls a filling's cask, by the register; None where it does not say enough.

    >>> wood_of({"wood": "oak", "treatment": "charred", "former_contents": "new", "filling": 1})
    'charred new oak'
    >>> wood_of({"wood": "oak", "treatment": "charred", "former_contents": "new", "filling": 2})
    'used oak'
    """
    if row["wood"] is None or row["wood"] == "other":
        return None
    if row["wood"] not in OAKS:
        return "other wood"
    if row["filling"] > 1:
        return "used oak"
    if row["former_contents"] is None:
        return None
    if row["former_contents"].strip().casefold() != "new":
        return "used oak"
    if row["treatment"] is None:
        return None
    return "charred new oak" if row["treatment"] in CHARRED else "uncharred new oak"


def filling_of(row: dict[str, Any]) -> Filling:
    """As a row of casks_behind.sql has it."""
    return Filling(
        row["contents"], wood_of(row), row["nominal_l"], row["entry_pct_vol"], row["u_entry_pct_vol"],
        row["took_new_spirit"],
    )  # fmt: skip


def fits(filling: Filling, item: Maturation) -> bool | None:
    """Whether a filling lies in the wood and size that is asked; None where that is not known."""
    if filling.wood is not None and filling.wood not in item.cask_woods:
        return False
    bounds = (item.cask_least_l, item.cask_below_l, item.cask_most_l)
    if filling.nominal_l is not None:
        least, below, most = bounds
        if (least is not None and filling.nominal_l < least) or (below is not None and filling.nominal_l >= below):
            return False
        if most is not None and filling.nominal_l > most:
            return False
    is_known = (filling.wood is not None or item.cask_woods == CASK_WOODS) and (
        filling.nominal_l is not None or bounds == (None, None, None)
    )
    return True if is_known else None


def entered(filling: Filling, most_pct_vol: float) -> bool | None:
    """Whether a filling went in at most at this strength, twice its standard uncertainty allowed (GUM)."""
    if filling.entry_pct_vol is None:
        return None
    return filling.entry_pct_vol <= most_pct_vol + 2 * (filling.u_entry_pct_vol or 0.0)
