"""Rows of a run's log as it was written, whichever files they came in: one an instant, in the order of the log's clock.

A logger may write a file a day or a file a tag, its newest row first, all of one tag and then all of the next, or in no
order at all. None of that says anything of the still or its clock. What does is a step back of the time within one file
and the same tags, in rows that run forward otherwise: the clock was set back, and those rows stay as they were written.
"""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from gaugebook.pipeline.statistics.log_times import runs_forward
from gaugebook.pipeline.typed.readings import TAGS


def as_logged(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows of one still in the order of the log, those of one instant as one.

    Parameters
    ----------
    rows : DataFrame
        read_at, source_id, line and tags, in order of file and line

    Returns
    -------
    DataFrame
        read_at and tags among its columns; in order of time, but for what a clock that was set back shows again

    Examples
    --------
    >>> from datetime import datetime
    >>> at = [datetime(2026, 1, 2, 10, minute) for minute in (0, 1, 1, 0)]
    >>> pot, flow = [78.0, 79.0, None, None], [None, None, 40.5, 40.0]
    >>> rows = pl.DataFrame({"read_at": at, "source_id": [1, 1, 2, 2], "line": [2, 3, 2, 3],
    ...                      "pot_temperature_c": pot, "distillate_flow_l_h": flow})
    >>> as_logged(rows).select("pot_temperature_c", "distillate_flow_l_h").rows()
    [(78.0, 40.0), (79.0, 40.5)]
    """
    if rows["source_id"].n_unique() <= 1 and bool((rows["read_at"].dt.epoch("us").diff().drop_nulls() > 0).all()):
        return rows
    rows = _in_order(rows)
    if rows["read_at"].is_duplicated().any():  # in several files or series, or once more since a clock was set back
        beside = (rows["read_at"] != rows["read_at"].shift()) | (rows["_series"] != rows["_series"].shift())
        rows = _joined(rows.with_columns(_key=beside.fill_null(True).cum_sum()), "_key")
        rows = _joined(rows.with_columns(_key=pl.int_range(pl.len()).over("read_at", "_series")), "read_at", "_key")
    return rows


def _in_order(rows: pl.DataFrame) -> pl.DataFrame:
    """The rows of each series, as far as it had come and then as it was written."""
    at = rows["read_at"].dt.epoch("us").to_numpy()
    series = np.unique(np.c_[rows["source_id"].to_numpy(), _together(rows)], axis=0, return_inverse=True)[1].ravel()
    came, written = at.copy(), np.arange(at.size)
    for number in range(series.max() + 1):
        own = np.flatnonzero(series == number)
        if np.sign(np.diff(at[own])).sum() < 0:  # the newest row first
            written[own] = own[::-1]
            own = own[::-1]
        if runs_forward(at[own]):
            came[own] = np.maximum.accumulate(at[own])
    return rows.with_columns(_series=pl.Series(series))[np.lexsort((written, series, came))]


def _joined(rows: pl.DataFrame, *key: str) -> pl.DataFrame:
    """Rows alike in the key made one, where none of them shows a tag that another does."""
    tags = _tags(rows)
    shown = rows.select(pl.all_horizontal(pl.col(tag).count().over(*key) <= 1 for tag in tags)).to_series()
    own = pl.when(shown).then(None).otherwise(pl.int_range(pl.len()))
    first = pl.all().drop_nulls().first()
    rows = rows.with_columns(_own=own).group_by(*key, "_own", maintain_order=True).agg(first)
    return rows.select("read_at", "source_id", "line", "_series", *tags)


def _together(rows: pl.DataFrame) -> NDArray[np.int64]:
    """Of each row a number for the tags that are written together: those that share a row, and those of their rows."""
    shows = rows.select(pl.col(_tags(rows)).is_not_null()).to_numpy()
    linked = (shows.T.astype(np.int64) @ shows) > 0
    for _ in range(linked.shape[0]):
        linked = (linked.astype(np.int64) @ linked) > 0
    return linked.argmax(axis=0)[shows.argmax(axis=1)]


def _tags(rows: pl.DataFrame) -> list[str]:
    return [tag for tag in TAGS if tag in rows.columns]
