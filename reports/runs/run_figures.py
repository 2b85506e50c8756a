"""What the figure of a run is made of: log, cuts by sheet and by curve, band of the good runs, findings. No drawing.

`figure_of` gives the data of one run, `figures_of` of several, `as_json` the same for a browser. All times are hours
after the first row of the log, on the clock on which the curve was reckoned: a clock that was set while the log ran is
set right. The documents draw it in `run_chart.py`.
"""

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.curves.analysis import cleaned
from gaugebook.pipeline.derived.curves.good_run_comparison import MOST_RUNS, band_against
from gaugebook.pipeline.derived.curves.phase_profiles import PLACES, TAGS, times_of_places
from gaugebook.pipeline.derived.curves.records import PARROT, PARROT_TEMPERATURE, STRENGTH, RunCurve, from_json
from gaugebook.pipeline.derived.curves.run_curves import CLOCK_OFF_MIN, read_logs
from gaugebook.pipeline.engineering.strength import strength_from_alcoholmeter
from gaugebook.pipeline.statistics.log_cleaning import CleanLog
from gaugebook.pipeline.statistics.log_times import GAP_INTERVALS
from gaugebook.pipeline.statistics.run_band import Band
from gaugebook.pipeline.statistics.thinning import extremes

Array = NDArray[np.float64]
Row = dict[str, Any]
Points = tuple[tuple[float, float | None], ...]  # hours and values; a value of None interrupts the line

STRETCHES = 160  # of a log, of each of which the least and the greatest value are drawn
BROKEN = None
_HERE = Path(__file__).parent


@dataclass(frozen=True)
class CutMark:
    """One cut [h]; None where it is not known.

    `sheet_h` is moved by the clock's offset where the log's clock is off; `expanded_h` is U (k = 2) of `curve_h`; `by`
    says what the curve's cut rests on.
    """

    name: str  # to hearts, to tails
    sheet_h: float | None
    curve_h: float | None
    expanded_h: float | None
    by: str | None


@dataclass(frozen=True)
class BandLine:
    """Limits of the good runs for one tag at this run's own hours: 99.9 % of further good runs lie between them."""

    hours: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class FindingMark:
    """A finding and its stretch [h]; `tag` is None for the whole row or the clock."""

    kind: str
    tag: str | None
    from_h: float
    to_h: float
    detail: str


@dataclass(frozen=True)
class RunFigure:
    """All that is shown of one run."""

    run: str
    equipment: str
    log_started_at: datetime  # UTC
    hours: float  # length of the log
    rows: int  # of the log; the lines hold the least and greatest value of each of 160 stretches of it
    series: dict[
        str, Points
    ]  # by tag the values used; STRENGTH is the parrot's reading at 20 °C, from first drop to end
    set_aside: dict[str, Points]  # by tag the values that cleaning does not use: spikes, stuck, end of scale
    phases: dict[str, float]  # heating, vapour, first drop, end; those that the log shows
    cuts: tuple[CutMark, ...]
    clock_off_min: float  # by which the sheet's cuts were moved; 0 where the clocks agree
    band: dict[str, BandLine]
    band_standing: str  # within, left, no band yet, no curve
    band_runs: int  # good runs in it, or so far
    distance: float | None  # from the band's mean, and the most that a good run shows
    distance_limit: float | None
    findings: tuple[FindingMark, ...]


def figure_of(book: Book, run: str) -> RunFigure | None:
    """The data of one run's figure; None where the book holds no log of it."""
    return figures_of(book, [run]).get(run)


def figures_of(book: Book, runs: Iterable[str]) -> dict[str, RunFigure]:
    """The figures' data by run, in order of time; runs without a log are left out."""
    wanted = list(runs)
    rows = book.frame((_HERE / "run_figures.sql").read_text(encoding="utf-8"), {"runs": wanted}).to_dicts()
    marks: dict[str, list[FindingMark]] = {row["run"]: [] for row in rows}
    listed = book.frame("SELECT * FROM derived.curve_findings WHERE run IN $runs ORDER BY ALL", {"runs": wanted})
    starts = {row["run"]: row["first_at"] for row in rows}
    for finding in listed.to_dicts():
        start, end = (_hours(finding[name], starts[finding["run"]]) for name in ("from_at", "to_at"))
        if start is not None:
            mark = FindingMark(
                finding["kind"], finding["tag"], start, start if end is None else max(start, end), finding["detail"]
            )
            marks[finding["run"]].append(mark)
    bands = _bands(book, rows)
    return {row["run"]: _figure(book, row, bands.get(row["run"]), marks[row["run"]]) for row in rows}


def as_json(figure: RunFigure) -> dict[str, Any]:
    """The figure as plain data for JSON: the fields of `RunFigure`, points as [hours, value or null]."""
    plain = dataclasses.asdict(figure)
    return plain | {"log_started_at": f"{figure.log_started_at:%Y-%m-%dT%H:%M:%S}Z"}


def _figure(book: Book, row: Row, band: Band | None, findings: list[FindingMark]) -> RunFigure:
    curve = from_json(row["curve"])
    (times_s, values), *_ = read_logs(book, [row])
    log, raw = cleaned(times_s, values, curve.findings)
    offset = row["offset_min"] or 0.0
    offset = offset if abs(offset) > CLOCK_OFF_MIN else 0.0
    cuts = []
    for name, cut, sheet_at in (
        ("to hearts", curve.hearts_from, row["hearts_from_sheet_at"]),
        ("to tails", curve.hearts_to, row["hearts_to_sheet_at"]),
    ):
        sheet = _hours(sheet_at, row["first_at"])
        known = bool(cut.by)
        cuts.append(
            CutMark(
                name, None if sheet is None else sheet + offset / 60, cut.at_s / 3600 if known else None,
                2 * cut.u_s / 3600 if known and np.isfinite(cut.u_s) else None, cut.by or None,
            )
        )  # fmt: skip
    used, aside = _series(log, raw, curve)
    when = {"heating": curve.heat_from_s, "vapour": curve.vapour_at_s, "first drop": curve.first_drop_s,
            "end": curve.end_s}  # fmt: skip
    return RunFigure(
        run=row["run"], equipment=row["equipment"], log_started_at=row["first_at"],
        hours=float(log.times_s[-1]) / 3600 if log.times_s.size else 0.0,
        rows=int(times_s.size),
        series=used, set_aside=aside,
        phases={name: at / 3600 for name, at in when.items() if np.isfinite(at)}, cuts=tuple(cuts),
        clock_off_min=offset,
        band=_lines(band, curve) if band else {}, band_standing=row["band"], band_runs=row["band_runs"],
        distance=row["distance"], distance_limit=row["distance_limit"], findings=tuple(findings),
    )  # fmt: skip


def _hours(moment: datetime | None, start: datetime) -> float | None:
    return None if moment is None else (moment - start).total_seconds() / 3600


def _series(log: CleanLog, raw: dict[str, Array], curve: RunCurve) -> tuple[dict[str, Points], dict[str, Points]]:
    """What is used and what is set aside, thinned to the extremes of each stretch."""
    used, aside = {}, {}
    for tag, values in log.values.items():
        used[tag] = _points(log, values)
        left = np.where(np.isfinite(values), np.nan, raw[tag])
        if np.isfinite(left).any():
            aside[tag] = _points(log, left)
    if PARROT in log.values and PARROT_TEMPERATURE in log.values:
        runs = (log.times_s >= curve.first_drop_s) & (log.times_s <= curve.end_s)
        reading = np.where(runs, log.values[PARROT], np.nan)
        used[STRENGTH] = _points(log, _strength(reading, log.values[PARROT_TEMPERATURE]))
    return {tag: points for tag, points in used.items() if points}, aside


def _strength(reading: Array, temperature: Array) -> Array:
    return np.asarray(strength_from_alcoholmeter(np.clip(reading, 0.0, None), temperature))


def _points(log: CleanLog, values: Array) -> Points:
    """Extremes of each stretch; the line is interrupted where values are missing, so that no gap is drawn over."""
    there = np.flatnonzero(np.isfinite(values))
    if not there.size:
        return ()
    t, y = log.times_s[there], values[there]
    breaks = np.flatnonzero(np.diff(t) > GAP_INTERVALS * log.interval_s)
    piece = np.zeros(t.size, dtype=np.int64)
    piece[breaks + 1] = 1
    length = max(float(log.times_s[-1] - log.times_s[0]), 1.0) / STRETCHES
    stretch = ((t - log.times_s[0]) // length).astype(np.int64) + np.cumsum(piece) * (STRETCHES + 1)
    kept = extremes(y, stretch)
    # the ends of each piece too: a line must not end before its log does
    kept = np.unique(np.concatenate([kept, [0], breaks, breaks + 1, [t.size - 1]]))
    points: list[tuple[float, float | None]] = []
    interrupted = set((breaks + 1).tolist())
    for place in kept.tolist():
        if place in interrupted:
            points.append((float(t[place]) / 3600, BROKEN))
        points.append((float(t[place]) / 3600, float(y[place])))
    return tuple(points)


def _bands(book: Book, rows: Sequence[Row]) -> dict[str, Band]:
    """By run the band that it stands against; runs of one still, stage and recipe share what is read."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for row in rows:
        if row["band"] in ("within", "left"):
            groups.setdefault((row["equipment"], row["stage"], row["recipe"]), []).append(row["run"])
    bands = {}
    for kin, runs in groups.items():
        alike = book.frame(
            """SELECT k.run, k.curve, c.good
               FROM derived.kept_curves AS k JOIN derived.run_curves AS c USING (run) JOIN derived.runs AS r USING (run)
               WHERE c.equipment = ? AND c.stage = ? AND coalesce(r.recipe, r.product, '') = ?
               ORDER BY c.log_started_at, k.run""",
            list(kin),
        ).to_dicts()
        good = [row["run"] for row in alike if row["good"]][-MOST_RUNS:]
        read = {row["run"]: from_json(row["curve"]) for row in alike if row["run"] in {*good, *runs}}
        for run in runs:
            against = band_against(list(read.values()), [name in good for name in read], list(read).index(run))
            if against is not None:
                bands[run] = against
    return bands


def _lines(band: Band, curve: RunCurve) -> dict[str, BandLine]:
    """The band's limits at the run's own times."""
    at, places = times_of_places(curve) / 3600, sum(PLACES.values())
    lines = {}
    for number, tag in enumerate(TAGS):
        span = slice(number * places, (number + 1) * places)
        low, high = band.low[span], band.high[span]
        known = np.isfinite(low) & np.isfinite(high) & np.isfinite(at)
        if known.any():
            sides = {"hours": at, "low": low, "high": high}
            lines[tag] = BandLine(**{name: tuple(side[known].tolist()) for name, side in sides.items()})
    return lines
