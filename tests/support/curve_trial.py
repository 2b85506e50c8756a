"""The trial of the run curves against simulated runs: how often cuts, alcohol and faults come out right.

Run as a script from the root of the repository it prints the table of 500 runs and 200 of each fault:
`.venv/bin/python tests/support/curve_trial.py` (with `--runs` and `--faults` for fewer). `make trials` asserts it.
"""

import argparse
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

if __name__ == "__main__":  # pytest puts these on the path itself
    sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import numpy as np
from log_faults import FAULTS, SECOND_SENSOR
from simulated_runs import SimulatedRun, simulated_run

from gaugebook.pipeline.derived.curves.analysis import curve_of_run
from gaugebook.pipeline.statistics.log_finding import KINDS

CUT_MIN = 3.0
NEAR_S = 300.0


@dataclass
class Trial:
    """Counts of one trial."""

    runs: int = 0
    cuts: list[float] = field(default_factory=list)  # errors [min]
    alcohol: list[float] = field(default_factory=list)  # errors in expanded uncertainties (k = 2)
    runs_with_false_findings: int = 0
    false_findings: Counter[str] = field(default_factory=Counter)
    planted: Counter[str] = field(default_factory=Counter)
    detected: Counter[str] = field(default_factory=Counter)
    named: Counter[str] = field(default_factory=Counter)  # right kind and right sensor

    @property
    def cuts_in_time(self) -> float:
        return float(np.mean(np.abs(self.cuts) <= CUT_MIN))  # a cut not found is NaN, and not in time

    @property
    def alcohol_within(self) -> float:
        return float(np.mean(np.abs(self.alcohol) <= 1.0))


def clean_runs(runs: range, trial: Trial) -> Trial:
    """Runs without fault: cuts, alcohol by part, and findings where there should be none."""
    for seed in runs:
        run = simulated_run(seed)
        curve = curve_of_run(run.times_s, run.values, run.circumstances)
        trial.runs += 1
        trial.cuts += [
            (curve.hearts_from.at_s - run.hearts_from_s) / 60, (curve.hearts_to.at_s - run.hearts_to_s) / 60,
        ]  # fmt: skip
        if "parrot_strength_pct_vol" in run.values:
            by_part = {part.part: part for part in curve.parts}
            for part, truth in run.alcohol_l.items():
                logged = by_part.get(part)
                trial.alcohol.append((logged.alcohol_l - truth) / (2 * logged.u_alcohol_l) if logged else np.inf)
        kinds = [finding.kind for finding in curve.findings]
        trial.runs_with_false_findings += bool(kinds)
        trial.false_findings.update(kinds)
    return trial


def faulty_runs(each: int, trial: Trial, base: int = 24) -> Trial:
    """Every fault so many times, on runs drawn in turn."""
    pool = [simulated_run(10_000 + seed) for seed in range(base)]
    for kind, plant in FAULTS.items():
        suited = [run for run in pool if kind not in ("drift",) or run.kind in SECOND_SENSOR]
        for number in range(each):
            _one(suited[number % len(suited)], Random(f"{kind}-{number}"), plant, trial)
    return trial


def _one(run: SimulatedRun, rng: Random, plant, trial: Trial) -> None:
    planted = plant(run, rng)
    faulty = planted.run
    curve = curve_of_run(faulty.times_s, faulty.values, faulty.circumstances)
    at = [
        finding for finding in curve.findings
        if finding.kind == planted.kind
        and finding.first_s <= planted.last_s + NEAR_S and finding.last_s >= planted.first_s - NEAR_S
    ]  # fmt: skip
    trial.planted[planted.kind] += 1
    trial.detected[planted.kind] += bool(at)
    trial.named[planted.kind] += any(planted.tag is None or planted.tag == finding.tag for finding in at)


def table(trial: Trial) -> str:
    """The outcome as lines of text."""
    lines = [
        f"{'simulated runs without fault':<44}{trial.runs:>8}",
        f"{'cuts within 3 min of the truth':<44}{100 * trial.cuts_in_time:>7.1f} %",
        f"{'alcohol by part within its own U (k = 2)':<44}{100 * trial.alcohol_within:>7.1f} %",
        f"{'runs with a false finding':<44}{100 * trial.runs_with_false_findings / max(trial.runs, 1):>7.1f} %",
        "", f"{'fault':<22}{'planted':>9}{'found':>9}{'sensor named':>15}",
    ]  # fmt: skip
    for kind in KINDS:
        n = trial.planted[kind]
        shares = [f"{100 * count[kind] / n:.0f} %" if n else "-" for count in (trial.detected, trial.named)]
        lines.append(f"{kind:<22}{n:>9}{shares[0]:>9}{shares[1]:>15}")
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=500)
    parser.add_argument("--faults", type=int, default=200, help="of each kind")
    options = parser.parse_args()
    print(table(faulty_runs(options.faults, clean_runs(range(options.runs), Trial()))))


if __name__ == "__main__":
    main()
