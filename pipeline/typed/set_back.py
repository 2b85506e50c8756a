"""Rows that repeat an instant because the log's clock was set back: they contradict nothing, and are kept.

A log's time goes one way. Where it falls back, the rows that follow are behind it until they pass where it had come.
When they show other values at the instants that they share, another time was meant; when they show the same, rows were
written twice. The order of the lines keeps the two apart, and the curve sets the clock forward again
(`pipeline/statistics/log_times.py`).
"""

from dataclasses import dataclass, field

import numpy as np
import polars as pl

from gaugebook.pipeline.typed.log_store import LogFile
from gaugebook.pipeline.typed.readings import TAGS

STRAY_ROWS = 3  # so few rows behind their time are out of order
MOST_STRETCHES = 50  # a log that falls back more often has no order of its own


@dataclass
class _Series:
    """How far one series has come, and its rows that lie behind that."""

    sign: int  # -1 where the newest row comes first
    ahead: int | None = None  # microseconds, with the sign
    is_behind: bool = False
    stretches: list[list[pl.DataFrame]] = field(default_factory=list)


@dataclass
class RowsBehind:
    """What each series of a log has shown, frame by frame in the order of its lines."""

    series: dict[str, _Series] = field(default_factory=dict)

    def note(self, kept: pl.DataFrame) -> None:
        """Take the typed rows of one frame."""
        named = ["equipment", "tag"] if "tag" in kept.columns else ["equipment"]
        if kept.select(pl.all_horizontal((pl.col(name) == pl.col(name).first()).all() for name in named)).item():
            self._note_series(" ".join(kept.select(named).row(0)), kept)
            return
        for key, rows in kept.group_by(named, maintain_order=True):
            self._note_series(" ".join(str(part) for part in key), rows)

    def _note_series(self, name: str, rows: pl.DataFrame) -> None:
        micros = rows["read_at"].dt.epoch("us").to_numpy()
        own = self.series.get(name)
        if own is None:
            own = self.series[name] = _Series(-1 if np.sign(np.diff(micros)).sum() < 0 else 1)
        at = own.sign * micros
        before = np.concatenate([[at[0] - 1 if own.ahead is None else own.ahead], at[:-1]])
        behind = at <= np.maximum.accumulate(before)
        own.ahead = int(max(before[0], at.max()))
        if behind.any() and len(own.stretches) <= MOST_STRETCHES:
            begins = behind & ~np.concatenate([[own.is_behind], behind[:-1]])
            for number, places in enumerate(np.split(np.arange(at.size), np.flatnonzero(begins))):
                part = rows[places[behind[places]]]
                if number:
                    own.stretches.append([part])
                elif not part.is_empty():
                    own.stretches[-1].append(part)
        own.is_behind = bool(behind[-1])

    def lines_of_set_backs(self, log: LogFile) -> pl.Series:
        """Lines that repeat an instant since the clock was set back, by what the log showed there before."""
        lines = [pl.Series("line", [], dtype=pl.Int64)]
        for own in self.series.values():
            if len(own.stretches) > MOST_STRETCHES:
                continue
            for stretch in map(pl.concat, own.stretches):
                if stretch.height > STRAY_ROWS and _means_another_time(stretch, log):
                    lines.append(stretch["line"].cast(pl.Int64))
        return pl.concat(lines)


def _means_another_time(stretch: pl.DataFrame, log: LogFile) -> bool:
    """Whether more of these rows contradict than repeat what the log showed earlier at the same instants."""
    earlier = log.rows_at(stretch.select("equipment", "read_at").unique())
    earlier = earlier.filter(pl.col("line") < stretch["line"].min())
    first = earlier.sort("line").unique(["equipment", "read_at"], keep="first")
    beside = by_tag(stretch).join(by_tag(first), on=["equipment", "read_at", "tag"], suffix="_earlier")
    differs = beside.group_by("line").agg((pl.col("value") != pl.col("value_earlier")).any())["value"]
    return bool(2 * differs.sum() > differs.len())


def by_tag(rows: pl.DataFrame) -> pl.DataFrame:
    """One row a value, wide or long as they come."""
    columns = ["line", "equipment", "read_at", "tag", "value"]
    if "tag" in rows.columns:
        return rows.select(columns)
    tags = [name for name in rows.columns if name in TAGS]
    long = rows.unpivot(tags, index=columns[:3], variable_name="tag", value_name="value")
    return long.filter(pl.col("value").is_not_null())


def parted_by_held(rows: pl.DataFrame, held: pl.DataFrame) -> tuple[pl.DataFrame, int]:
    """Of rows after a set-back those that the book does not hold value for value, and how many lines it does."""
    values = by_tag(rows)
    known = by_tag(held).select("equipment", "read_at", "tag", "value").unique()
    new = values.join(known, on=["equipment", "read_at", "tag", "value"], how="anti")["line"]
    is_new = pl.col("line").is_in(new.unique().implode())
    return rows.filter(is_new), rows.filter(~is_new)["line"].n_unique()
