"""What the figure of a run is drawn from: log, cuts by sheet and by curve, the good runs' band, findings."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from pipeline.database import Book
from pipeline.derived.curve_bands import band_against
from pipeline.derived.curve_profile import PLACES, TAGS, times_of_places
from pipeline.derived.curve_records import RunCurve, from_json
from pipeline.typed.readings import TAGS as LOGGED

MOST_POINTS = 400  # of one line; more cannot be told apart on a page
_LANE_ROOM_H = 0.05  # between two findings in one lane


@dataclass(frozen=True)
class CutMark:
    """One cut: hours after the start of the log, None where it is not known; U is expanded (k = 2)."""

    name: str
    sheet_h: float | None
    curve_h: float | None
    expanded_h: float | None
    by: str | None


@dataclass(frozen=True)
class BandLine:
    """Limits of the good runs for one tag, at this run's own hours; pieces are broken where there is no band."""

    hours: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@dataclass(frozen=True)
class FindingMark:
    """A finding as a bar; bars of one lane do not overlap."""

    kind: str
    tag: str | None
    from_h: float
    to_h: float
    lane: int
    detail: str


@dataclass(frozen=True)
class RunFigure:
    """All that is drawn of one run."""

    run: str
    log_started_at: datetime
    series: dict[str, tuple[tuple[float, float], ...]]  # by tag: hours and values, as logged
    cuts: tuple[CutMark, ...]
    band: dict[str, BandLine]  # parrot strength under strength_pct_vol: corrected to 20 °C
    band_standing: str  # within, left, no band yet, no curve
    band_runs: int
    findings: tuple[FindingMark, ...]


def run_figure(book: Book, run: str) -> RunFigure | None:
    """The figure's data for one run; None where no log of it is in the book."""
    rows = book.frame("SELECT * FROM derived.run_curves WHERE run = ?", [run]).to_dicts()
    if not rows:
        return None
    row = rows[0]
    start: datetime = row["log_started_at"]

    def hours(moment: datetime | None) -> float | None:
        return None if moment is None else (moment - start).total_seconds() / 3600

    cuts = tuple(
        CutMark(name, hours(row[f"{field}_sheet_at"]), hours(row[f"{field}_at"]), _expanded_h(row[f"u_{field}_min"]),
                row[f"{field}_by"])
        for name, field in (("to hearts", "hearts_from"), ("to tails", "hearts_to"))
    )  # fmt: skip
    found = book.frame(
        "SELECT kind, tag, from_at, to_at, detail FROM derived.curve_findings WHERE run = ? ORDER BY ALL", [run]
    ).to_dicts()
    marks = [(one["kind"], one["tag"], hours(one["from_at"]), hours(one["to_at"]), one["detail"]) for one in found]
    return RunFigure(run, start, _series(book, run, start), cuts, _band(book, run), row["band"], row["band_runs"],
                     in_lanes(marks))  # fmt: skip


def in_lanes(marks: Sequence[tuple[str, str | None, float | None, float | None, str]]) -> tuple[FindingMark, ...]:
    """Findings (kind, tag, from, to, detail) laid in as few lanes as let none overlap another."""
    placed: list[FindingMark] = []
    ends: list[float] = []
    timed = [(start, start if end is None else max(start, end), kind, tag, words)
             for kind, tag, start, end, words in marks if start is not None]  # fmt: skip
    for start, end, kind, tag, words in sorted(timed, key=lambda mark: mark[:3]):
        lane = next((number for number, last in enumerate(ends) if last + _LANE_ROOM_H <= start), len(ends))
        ends[lane : lane + 1] = [end]
        placed.append(FindingMark(kind, tag, start, end, lane, words))
    return tuple(placed)


def _expanded_h(u_min: float | None) -> float | None:
    return None if u_min is None else 2 * u_min / 60


def _series(book: Book, run: str, start: datetime) -> dict[str, tuple[tuple[float, float], ...]]:
    """The logged values, every n-th row of them; nothing is averaged, so that a spike stays one."""
    last = book.value("SELECT max(last_at) FROM derived.log_summaries WHERE run = ?", [run])
    equipment = book.value("SELECT equipment FROM derived.run_curves WHERE run = ?", [run])
    files = book.frame(
        """SELECT DISTINCT file FROM typed.log_files JOIN typed.log_blocks USING (source_id)
           WHERE equipment = ? AND first_at <= ? AND last_at >= ? ORDER BY file""",
        [equipment, last, start],
    )["file"].to_list()
    listed = ", ".join(f"'{name}'" for name in files)
    frame = book.frame(
        f"""SELECT epoch(read_at - ?::TIMESTAMP) / 3600 AS hours, * FROM read_parquet([{listed}])
            WHERE equipment = ? AND read_at BETWEEN ? AND ? ORDER BY read_at""",
        [start, equipment, start, last],
    )
    drawn = frame.gather_every(max(1, frame.height // MOST_POINTS))
    return {
        tag: tuple(drawn.select("hours", tag).drop_nulls().iter_rows())
        for tag in LOGGED
        if drawn[tag].null_count() < drawn.height
    }


def _band(book: Book, run: str) -> dict[str, BandLine]:
    """The band that the run stands against, at the run's own times."""
    alike = book.frame(
        """
        SELECT k.run, k.curve, c.good
        FROM derived.kept_curves AS k JOIN derived.run_curves AS c USING (run) JOIN typed.runs AS r USING (run)
        WHERE (c.equipment, c.stage, coalesce(r.recipe, r.product, '')) IN (
            SELECT (o.equipment, o.stage, coalesce(recipe, product, ''))
            FROM derived.run_curves AS o JOIN typed.runs USING (run) WHERE o.run = ?
        )
        ORDER BY c.log_started_at, k.run
        """,
        [run],
    )
    curves = [from_json(text) for text in alike["curve"]]
    place = alike["run"].to_list().index(run)
    against = band_against(curves, alike["good"].to_list(), place)
    if against is None:
        return {}
    own: RunCurve = curves[place]
    at, places = times_of_places(own) / 3600, sum(PLACES.values())
    lines = {}
    for number, tag in enumerate(TAGS):
        span = slice(number * places, (number + 1) * places)
        low, high = against.low[span], against.high[span]
        known = np.isfinite(low) & np.isfinite(high) & np.isfinite(at)
        if known.any():
            lines[tag] = BandLine(*(tuple(values[known].tolist()) for values in (at, low, high)))
    return lines
