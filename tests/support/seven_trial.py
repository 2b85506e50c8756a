"""The trial of the seven styles: cuts and litres against the truth in their own uncertainties, findings of clean runs.

As a script it prints the table: `.venv/bin/python tests/support/seven_trial.py` (with `--runs` of each style).
"""

import argparse
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

if __name__ == "__main__":  # pytest puts these on the path itself
    sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import numpy as np
from seven_stills import STYLES, SevenRun, simulated

from gaugebook.pipeline.derived.curves.analysis import curve_of_run

HEAD = "style                      runs   heads  within   med u  tails  within   med u  parts  within   med u  false"


@dataclass
class StyleTrial:
    """What became of the runs of one style."""

    style: str
    runs: int = 0
    errors: dict[str, list[float]] = field(default_factory=lambda: {"to hearts": [], "to tails": []})  # [s]
    u: dict[str, list[float]] = field(default_factory=lambda: {"to hearts": [], "to tails": []})  # [s]
    said_nothing: Counter[str] = field(default_factory=Counter)
    parts: list[float] = field(
        default_factory=list
    )  # errors of litres (of alcohol, where the log has strengths) over u
    u_part: list[float] = field(default_factory=list)  # u as part of the quantity
    by: Counter[str] = field(default_factory=Counter)
    false_findings: Counter[str] = field(default_factory=Counter)
    runs_with_false_findings: list[int] = field(default_factory=list)

    def within(self, cut: str) -> float:
        """Share of the cuts that lie within twice their uncertainty."""
        return float(np.mean(np.abs(self.errors[cut]) <= 2 * np.array(self.u[cut])))

    @property
    def parts_within(self) -> float:
        return float(np.mean(np.abs(self.parts) <= 2))

    def median_u_min(self, cut: str) -> float:
        return float(np.median(self.u[cut])) / 60

    def line(self) -> str:
        """One line of the table."""
        cells = [f"{self.style:<26}{self.runs:>5}"]
        for cut in self.errors:
            n = len(self.errors[cut])
            shown = f"{100 * self.within(cut):>6.0f} %{self.median_u_min(cut):>8.2f}" if n else f"{'-':>8}{'-':>8}"
            cells.append(f"{n:>{8 if cut == 'to hearts' else 7}}{shown}")
        n = len(self.parts)
        shown = f"{100 * self.parts_within:>6.0f} %{100 * float(np.median(self.u_part)):>6.1f} %" if n else ""
        return "".join([*cells, f"{n:>7}{shown}{len(self.runs_with_false_findings):>7}"])


def trial(style: str, numbers: range) -> StyleTrial:
    """These runs of one style."""
    result = StyleTrial(style)
    for number in numbers:
        _add(result, simulated(style, number), number)
    return result


def _add(result: StyleTrial, run: SevenRun, number: int) -> None:
    curve = curve_of_run(run.times_s, run.values, run.circumstances)
    result.runs += 1
    for name, cut, truth in zip(result.errors, (curve.hearts_from, curve.hearts_to), run.cuts_s, strict=True):
        truth = run.end_s if np.isnan(truth) and cut.by == "end of the run" else truth
        result.by[f"{name} by {cut.by or 'nothing'}"] += 1
        if not cut.by or not np.isfinite(truth):
            result.said_nothing[name] += not cut.by and bool(np.isfinite(truth))
            if cut.by:  # a cut where there is none
                result.errors[name].append(np.inf)
                result.u[name].append(cut.u_s)
            continue
        result.errors[name].append(cut.at_s - truth)
        result.u[name].append(cut.u_s)
    for part in curve.parts:
        if part.part == "all":
            continue
        has_strength = np.isfinite(part.alcohol_l)
        logged, u = (part.alcohol_l, part.u_alcohol_l) if has_strength else (part.volume_l, part.u_volume_l)
        truth = (run.alcohol_l if has_strength else run.volume_l)[part.part]
        result.parts.append((logged - truth) / u)
        result.u_part.append(u / truth if truth else np.inf)
    kinds = [f"{finding.kind} {finding.tag or ''}".strip() for finding in curve.findings]
    result.false_findings.update(kinds)
    if kinds:
        result.runs_with_false_findings.append(number)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=40, help="of each style")
    parser.add_argument("--style", choices=[*STYLES, "all"], default="all")
    parser.add_argument("--first", type=int, default=0)
    options = parser.parse_args()
    print(HEAD)
    for style in STYLES if options.style == "all" else [options.style]:
        done = trial(style, range(options.first, options.first + options.runs))
        print(done.line())
        print("    ", dict(done.by))
        print("    ", dict(done.false_findings), done.runs_with_false_findings)


if __name__ == "__main__":
    main()
