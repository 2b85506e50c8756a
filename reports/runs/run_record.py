"""What the book holds of one run's curve, and how it is told in lines of text."""

import difflib
import math
from dataclasses import dataclass
from math import inf
from typing import Any

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.page import figures
from gaugebook.reports.page.language import language
from gaugebook.reports.page.wording import plural
from gaugebook.reports.runs.run_chart import clock
from gaugebook.reports.runs.run_figures import CutMark, RunFigure, as_json, figure_of
from gaugebook.reports.runs.run_views import clock_difference, describe_band, describe_finding

Row = dict[str, Any]
ENGLISH = language("en")  # as all commands speak

# Column of derived.run_curves, its standard uncertainty, words, unit.
QUANTITIES = (
    ("heat_up_k_min", None, "heat-up", "K/min"),
    ("hearts_l_h", None, "flow in the hearts", "L/h"),
    ("hearts_alcohol_l_h", None, "alcohol in the hearts", "LPA/h"),
    ("hearts_reflux_ratio", None, "reflux ratio in the hearts", ""),
    ("steam_kg", None, "steam", "kg"),
    ("heating_kwh", None, "heating", "kWh"),
    ("energy_kwh_per_alcohol_l", None, "energy", "kWh/LPA"),
    ("vapour_residual_c", "u_vapour_residual_c", "vapour less equilibrium", "K"),
    ("reached_pct_vol", None, "strength reached", "% vol"),
)


_CUT = "{:<12}{:>10}{:>10}{:>9}{:>13}  {}"
_PART = "{:<8}{:>20}{:>20}{:>20}{:>11}"


@dataclass(frozen=True)
class RunRecord:
    """One run: its row of derived.run_curves, its parts, the data of its figure."""

    house: House
    curve: Row
    parts: list[Row]
    figure: RunFigure

    @property
    def needs_attention(self) -> bool:
        return bool(self.figure.findings)


def gather_run(book: Book, house: House, run: str) -> RunRecord:
    """All of one run's curve.

    Raises
    ------
    UnknownRecord
        If the book holds no such run, or no log of it.
    """
    stage = book.frame("SELECT stage, equipment FROM derived.runs WHERE run = ?", [run]).rows()
    if not stage:
        known = book.frame("SELECT run FROM derived.run_curves ORDER BY run")["run"].to_list()
        near = difflib.get_close_matches(run, known, n=3, cutoff=0.5)
        hint = f": did you mean {' or '.join(near)}?" if near else "."
        raise UnknownRecord(f'The book holds no run "{run}"{hint}')
    figure = figure_of(book, run)
    if figure is None:
        raise UnknownRecord(
            f'The book holds no log of run "{run}" ({stage[0][0]} on {stage[0][1]}): only a still run whose log was '
            "received, and began within three hours of the run sheet's time, has a curve."
        )
    curve = book.frame("SELECT * FROM derived.run_curves WHERE run = ?", [run]).to_dicts()[0]
    parts = book.frame(
        """SELECT * FROM derived.curve_cuts WHERE run = ?
           ORDER BY list_position(['heads', 'hearts', 'tails', 'all'], part)""",
        [run],
    ).to_dicts()
    return RunRecord(house, curve, parts, figure)


def record_json(record: RunRecord) -> dict[str, Any]:
    """The same for machines; times in the curve and its parts are UTC."""
    return {"curve": record.curve, "parts": record.parts, "figure": as_json(record.figure)}


def quantities(curve: Row) -> list[tuple[str, str]]:
    """What follows from the curve, as words and values; what the still does not log is left out."""
    rows_shown = [
        (words, figures.stated(curve[name], curve[u] if u else None, unit) if u else _three_digits(curve[name], unit))
        for name, u, words, unit in QUANTITIES
        if curve[name] is not None
    ]
    if curve["stages_needed"] is not None:
        needed, there = curve["stages_needed"], f"{curve['stages_available']:.1f}"
        rows_shown.append(
            ("ideal stages for that", f"{'no number' if needed == inf else f'{needed:.1f}'} of {there} there are")
        )
    if curve["likely_wrong"]:
        rows_shown.append(("most likely wrong", ENGLISH.name("tag", curve["likely_wrong"])))
    return rows_shown


def _three_digits(value: float, unit: str) -> str:
    """To three digits, since no uncertainty is stated."""
    decimals = max(0, 2 - math.floor(math.log10(abs(value)))) if value else 0
    return f"{figures.number(value, decimals)} {unit}".rstrip()


def cut_row(figure: RunFigure, cut: CutMark, zone: str) -> tuple[str, ...]:
    """A cut in words: name, by the sheet, by the curve, its U, how far apart, what the curve's rests on."""
    apart = None if cut.curve_h is None or cut.sheet_h is None else 60 * (cut.curve_h - cut.sheet_h)
    expanded = None if cut.expanded_h is None else 60 * cut.expanded_h
    return (
        cut.name, clock(figure, cut.sheet_h, zone), clock(figure, cut.curve_h, zone), figures.number(expanded, 1),
        figures.number(apart, 1), cut.by or "not seen in the curve",
    )  # fmt: skip


def measure(record: RunRecord) -> str:
    """What the parts are measured in: LPA, or L at 20 °C where the still logs no strength."""
    return "LPA" if any(part["alcohol_l"] is not None for part in record.parts) else "L"


def part_row(part: Row, unit: str) -> tuple[str, ...]:
    """A part in words: name, by the log, gauged, difference, share whose flow or strength was not measured."""
    name = "alcohol_l" if unit == "LPA" else "volume_l"
    logged, gauged = part[name], part[f"gauged_{name}"]
    u_logged, u_gauged = part[f"u_{name}"], part[f"u_gauged_{name}"]
    known = logged is not None and gauged is not None
    return (
        part["part"], figures.stated(logged, u_logged), figures.stated(gauged, u_gauged),
        figures.stated(logged - gauged, math.hypot(u_logged or 0.0, u_gauged or 0.0)) if known else figures.MISSING,
        figures.percent(max(part["bridged"], part["strength_bridged"]) if unit == "LPA" else part["bridged"]),
    )  # fmt: skip


def lines(record: RunRecord) -> list[str]:
    """The run as text."""
    figure, zone = record.figure, record.house.time_zone
    printed = [
        f"{figure.run}: {record.curve['stage']} on {figure.equipment}, log from "
        f"{figures.moment(figure.log_started_at, zone)}, {figure.rows:,} rows, {record.curve['interval_s']:g} s apart",
        "",
        _CUT.format("cut", "run sheet", "curve", "U [min]", "apart [min]", "by"),
        *(_CUT.format(*cut_row(figure, cut, zone)) for cut in figure.cuts),
    ]
    if figure.clock_off_min:
        printed.append(clock_difference(figure, ENGLISH))
    unit = measure(record)
    printed += ["", _PART.format("part", f"by the log [{unit}]", f"gauged [{unit}]", "log less gauged", "bridged")]
    printed += [_PART.format(*part_row(part, unit)) for part in record.parts] or ["the curve shows no parts"]
    printed += ["", *(f"{words:<28}{value}" for words, value in quantities(record.curve))]
    printed += ["", describe_band(figure, ENGLISH)]
    printed += ["", f"{plural(len(figure.findings), 'finding')}{':' if figure.findings else ''}"]
    return printed + [f"  {describe_finding(figure, mark, zone, ENGLISH).striptags()}" for mark in figure.findings]
