"""What goes into the curve of a run besides its log, and what comes out: frozen records, fit to be kept as JSON."""

import dataclasses
import json
import math
from dataclasses import dataclass, field
from typing import Any

from gaugebook.pipeline.statistics.log_finding import Finding

NAN = float("nan")
PARTS = ("heads", "hearts", "tails")
POT, VAPOUR, COLUMN = "pot_temperature_c", "vapour_temperature_c", "column_temperature_c"
PRESSURE, STEAM, POWER, REFLUX = "pressure_kpa", "steam_kg_h", "heating_kw", "reflux_ratio"
FLOW, COUNTER = "distillate_flow_l_h", "collected_volume_l"
PARROT, PARROT_TEMPERATURE = "parrot_strength_pct_vol", "parrot_temperature_c"
STRENGTH = "strength_pct_vol"  # parrot reading at 20 °C


@dataclass(frozen=True)
class Gauged:
    """What the receivers of one cut were found to hold; NaN where it is not known."""

    volume_l: float = NAN
    u_volume_l: float = NAN
    alcohol_l: float = NAN
    u_alcohol_l: float = NAN
    strength_pct_vol: float = NAN


@dataclass(frozen=True)
class Circumstances:
    """Still, site, run sheet and gauges; times in seconds after the log's first row."""

    plates: int = 0
    is_continuous: bool = False  # fed while it runs: its pot, the column's foot, neither fills nor empties
    site_pressure_kpa: float = 101.325
    u_strength_pct_vol: float = 0.2
    u_temperature_c: float = 0.5
    u_flow_part: float = 0.010
    charge_strength_pct_vol: float = NAN
    spent_strength_pct_vol: float = NAN
    gauged: dict[str, Gauged] = field(default_factory=dict)  # by part
    hearts_from_s: float = NAN  # run sheet
    hearts_to_s: float = NAN


@dataclass(frozen=True)
class Cut:
    """A cut as the curve shows it; `by` says what it rests on, "" where the curve does not show it."""

    at_s: float = NAN
    u_s: float = NAN
    by: str = ""


@dataclass(frozen=True)
class PartOfCurve:
    """One cut of the run: integrated from the log, beside what was gauged."""

    part: str
    from_s: float
    to_s: float
    volume_l: float
    u_volume_l: float
    alcohol_l: float
    u_alcohol_l: float
    bridged_part: float
    strength_bridged_part: float


@dataclass(frozen=True)
class RunCurve:
    """All that the log of one run says by itself; times in seconds after its first row."""

    points: int
    interval_s: float
    heat_from_s: float = NAN
    vapour_at_s: float = NAN
    first_drop_s: float = NAN
    u_first_drop_s: float = NAN
    hearts_from: Cut = Cut()
    hearts_to: Cut = Cut()
    end_s: float = NAN
    u_end_s: float = NAN
    heat_up_k_min: float = NAN
    hearts_l_h: float = NAN
    hearts_alcohol_l_h: float = NAN
    hearts_reflux_ratio: float = NAN
    steam_kg: float = NAN
    heating_kwh: float = NAN
    vapour_residual_c: float = NAN
    u_vapour_residual_c: float = NAN
    reached_pct_vol: float = NAN
    stages_needed: float = NAN
    stages_available: float = NAN
    likely_wrong: str = ""
    parts: tuple[PartOfCurve, ...] = ()
    findings: tuple[Finding, ...] = ()
    profile: dict[str, tuple[float, ...]] = field(default_factory=dict)  # by tag, at the places of curve_profile.PLACES


def to_json(curve: RunCurve) -> str:
    """The curve as text; what is not a number becomes null."""
    return json.dumps(_plain(dataclasses.asdict(curve)), allow_nan=False, separators=(",", ":"))


def from_json(text: str) -> RunCurve:
    """The curve that `to_json` wrote."""
    read: dict[str, Any] = _numbers(json.loads(text))
    for name in ("stages_needed", "stages_available"):
        read[name] = math.inf if read[name] == "infinite" else read[name]
    for name in ("hearts_from", "hearts_to"):
        read[name] = Cut(**_numbers(read[name]))
    read["parts"] = tuple(PartOfCurve(**_numbers(part)) for part in read["parts"])
    read["findings"] = tuple(Finding(**finding) for finding in read["findings"])
    read["profile"] = {tag: tuple(_numbers(dict(enumerate(v))).values()) for tag, v in read["profile"].items()}
    return RunCurve(**read)


def _numbers(values: dict[Any, Any]) -> dict[Any, Any]:
    return {name: NAN if value is None else value for name, value in values.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return None if math.isnan(value) else "infinite" if math.isinf(value) else float(value)
    if isinstance(value, dict):
        return {name: _plain(item) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value
