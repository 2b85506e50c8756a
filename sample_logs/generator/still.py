"""A batch distillation, minute by minute, with its cuts: nothing is made or lost but what is named.

The pot gives off vapour at a steady rate; the column and its reflux set what leaves as distillate; a small
share of that is lost as vapour and hold-up, and is counted as lost. Heads, hearts and tails are cut where
the shares of the charged ethanol are reached; what stays in the pot is spent.
"""

from dataclasses import dataclass, field

from gaugebook.pipeline.engineering.vapour import mole_fraction_from_strength

from .equilibrium import ETHANOL_KG_PER_KMOL, WATER_KG_PER_KMOL, column
from .mixing import Liquid

_LONGEST_MIN = 1500


@dataclass(frozen=True)
class Policy:
    """How a still is run: shares are of the ethanol charged."""

    stages: int
    boil_up_kmol_h: float
    target_pct_vol: float  # strength that the reflux is set to hold through heads and hearts
    least_reflux: float
    most_reflux: float
    tails_reflux: float
    heads: float
    hearts: float
    lost: float
    spent: float


@dataclass
class Course:
    """What happened: parts, losses, and the state at each minute of distillation."""

    heads: Liquid = field(default_factory=Liquid)
    hearts: Liquid = field(default_factory=Liquid)
    tails: Liquid = field(default_factory=Liquid)
    spent: Liquid = field(default_factory=Liquid)
    lost: Liquid = field(default_factory=Liquid)
    hearts_from_min: int = 0
    hearts_to_min: int = 0
    pot: list[float] = field(default_factory=list)  # mole fractions
    distillate: list[float] = field(default_factory=list)
    reflux: list[float] = field(default_factory=list)
    kmol_h: list[float] = field(default_factory=list)

    @property
    def minutes(self) -> int:
        return len(self.pot)


def distil(charge: Liquid, policy: Policy) -> Course:
    """Distil a charge to the end of its tails."""
    tower = column(policy.stages)
    ethanol, water = charge.ethanol_kg / ETHANOL_KG_PER_KMOL, charge.water_kg / WATER_KG_PER_KMOL
    charged, target = ethanol, float(mole_fraction_from_strength(policy.target_pct_vol))
    course = Course()
    kept = {"heads": [0.0, 0.0], "hearts": [0.0, 0.0], "tails": [0.0, 0.0]}
    lost, part = [0.0, 0.0], "heads"
    while ethanol > policy.spent * charged and course.minutes < _LONGEST_MIN:
        x = ethanol / (ethanol + water)
        wanted = policy.tails_reflux if part == "tails" else tower.reflux_for(x, target)
        reflux = wanted if part == "tails" else min(max(wanted, policy.least_reflux), policy.most_reflux)
        y = tower.distillate(x, reflux)
        flow = policy.boil_up_kmol_h / (reflux + 1.0)
        taken = (flow / 60.0 * y, flow / 60.0 * (1.0 - y))
        for i in (0, 1):
            kept[part][i] += taken[i] * (1.0 - policy.lost)
            lost[i] += taken[i] * policy.lost
        ethanol, water = ethanol - taken[0], water - taken[1]
        for values, value in zip(
            (course.pot, course.distillate, course.reflux, course.kmol_h), (x, y, reflux, flow), strict=True
        ):
            values.append(value)
        if part == "heads" and kept["heads"][0] >= policy.heads * charged:
            part, course.hearts_from_min = "hearts", course.minutes
        elif part == "hearts" and kept["hearts"][0] >= policy.hearts * charged:
            part, course.hearts_to_min = "tails", course.minutes
    course.heads, course.hearts, course.tails = (_liquid(*kept[name]) for name in ("heads", "hearts", "tails"))
    course.lost = _liquid(*lost)
    course.spent = Liquid(ethanol * ETHANOL_KG_PER_KMOL, water * WATER_KG_PER_KMOL, charge.extract_kg)
    return course


def _liquid(ethanol_kmol: float, water_kmol: float) -> Liquid:
    return Liquid(ethanol_kmol * ETHANOL_KG_PER_KMOL, water_kmol * WATER_KG_PER_KMOL)
