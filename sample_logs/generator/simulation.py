"""The whole period, one working after another."""

from collections.abc import Callable
from functools import cache

from . import distilling, finishing, grain, laboratory, routine
from .plan import calendar
from .stillhouse import Stillhouse

WORKINGS: dict[str, Callable[..., None]] = {
    "mash": grain.mash,
    "ferment": grain.ferment,
    "strip": distilling.strip,
    "rectify": distilling.rectify,
    "campaign": distilling.campaign,
    "botanical": distilling.botanical,
    "redistil": distilling.redistil,
    "steep": finishing.steep,
    "filtrate": finishing.filtrate,
    "blend": finishing.blend,
    "reduce": finishing.reduce,
    "bottle": finishing.bottle,
}


@cache
def simulate() -> Stillhouse:
    """The house at the end of the period, with all that was written down on the way."""
    house = Stillhouse()
    for step in calendar():
        WORKINGS[step.action](house, step.starts, **step.details)
    laboratory.swap_digits(house)
    routine.dips(house)
    routine.checks(house)
    routine.panels(house)
    house.book.receipts = house.stores.receipts()
    return house
