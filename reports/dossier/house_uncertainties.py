"""The standard uncertainties in force, as the method statement lists them."""

from collections import defaultdict
from dataclasses import dataclass, fields

from gaugebook.pipeline.house.settings import House, Instrument
from gaugebook.reports.page.language import Language
from gaugebook.reports.page.wording import unit

# Unit of each of the profile's defaults; those of volume and mass are relative, scatter is a part of each.
_UNITS = {
    "volume_pct": "%", "mass_pct": "%", "temperature_c": "°C", "alcoholmeter_pct_vol": "% vol",
    "density_kg_m3": "kg/m³", "strength_pct_vol": "% vol",
}  # fmt: skip


@dataclass(frozen=True)
class Stated:
    """One line: of what, and how much."""

    what: str
    u: str
    default: bool


def _of_instrument(item: Instrument, language: Language) -> str:
    """What does not depend on the reading, and the part that grows with it."""
    shown_u = f"{language.plain(item.u)} {unit(item.unit)}"
    if not item.u_relative_pct:
        return shown_u
    return language.say("method.and_relative", u=shown_u, pct=language.plain(item.u_relative_pct))


def uncertainties(house: House, language: Language) -> tuple[Stated, ...]:
    """The profile's defaults, its instruments and its vessels, vessels of one uncertainty in one line."""
    defaults = [
        Stated(
            language.say(f"method.{item.name}"),
            f"{language.plain(getattr(house.uncertainty, item.name))} {_UNITS.get(item.name, '')}".rstrip(),
            True,
        )
        for item in fields(house.uncertainty)
    ]
    instruments = [
        Stated(
            language.say("method.instrument", name=item.name, code=item.code),
            _of_instrument(item, language),
            False,
        )
        for item in house.instruments
    ]
    alike = defaultdict(list)
    for vessel in house.vessels:
        if vessel.u_volume_pct is not None:
            alike[vessel.u_volume_pct].append(vessel.code)
    vessels = [
        Stated(language.say("method.vessels", vessels=", ".join(codes)), f"{language.plain(u)} %", False)
        for u, codes in sorted(alike.items())
    ]
    return (*defaults, *instruments, *vessels)
