"""A still whose stripping recovery has fallen and stayed low, by its individuals chart.

The limits are frozen on the still's first runs, since limits that follow the data would follow a fall too.
"""

from collections.abc import Sequence

import numpy as np
import polars as pl

from gaugebook.pipeline.statistics.control_limits import individuals_limits, runs_on_one_side

BASELINE = 20  # runs; the number from which control limits are usually taken as settled (common practice)
LENGTH = 8  # runs in a row on one side: the Western Electric rule


def drifts(recoveries: pl.DataFrame) -> pl.DataFrame:
    """One row a still: how many runs in a row its recovery has lain low, counted where that is a signal.

    Parameters
    ----------
    recoveries : DataFrame
        equipment, run, recovery, loss; each still's runs in order of time [fraction]. `loss` says in words since when
        the still has lost more than usual; NULL where it has not.

    Returns
    -------
    DataFrame
        record, equipment, runs_low, note; runs_low is NULL where there are too few runs to judge [runs].
    """
    rows = []
    for key, runs in recoveries.group_by("equipment", maintain_order=True):
        low = low_row(runs["recovery"].to_list())
        still, runs_low, note = (
            str(key[0]),
            None,
            f"{len(runs)} runs, a baseline needs {BASELINE} and a signal {LENGTH} more",
        )
        if low is not None:
            limits = individuals_limits(runs["recovery"].to_list(), baseline=BASELINE)
            runs_low = low[1] - low[0]
            note = f"first {BASELINE} runs: mean {limits.centre:.3f}, lower limit {limits.lower:.3f}"
            if runs_low:
                first, last = runs.item(low[0], "run"), runs.item(low[1] - 1, "run")
                mean = np.mean(runs["recovery"].to_numpy()[low[0] : low[1]])
                note += f"; runs {first} to {last}: mean {mean:.3f}"
            loss = runs.item(0, "loss")
            note += f"; {loss}" if runs_low and loss else ""
        rows.append({"record": f"still {still}", "equipment": still, "runs_low": runs_low, "note": note})
    schema = {"record": pl.String, "equipment": pl.String, "runs_low": pl.Int64, "note": pl.String}
    return pl.DataFrame(rows, schema=schema)


def low_row(recoveries: Sequence[float]) -> tuple[int, int] | None:
    """First and one past the last run of the longest row that lies low and passes the lower limit somewhere.

    Parameters
    ----------
    recoveries : sequence of float
        Recovery of one still's runs in order of time [fraction]

    Returns
    -------
    tuple of int or None
        (0, 0) where there is no such row; None where there are too few runs to judge.

    Examples
    --------
    >>> steady = [0.95, 0.96] * 10
    >>> low_row(steady + [0.95] * 7), low_row(steady + [0.95] * 8), low_row(steady + [0.95] * 7 + [0.90])
    (None, (0, 0), (20, 28))
    """
    if len(recoveries) < BASELINE + LENGTH:
        return None
    limits = individuals_limits(recoveries, baseline=BASELINE)
    series = np.asarray(recoveries, dtype=float)
    in_row = runs_on_one_side(series, limits.centre, LENGTH) & (series < limits.centre)
    longest = (0, 0)
    end = 0
    while end < len(series):
        if not in_row[end]:
            end += 1
            continue
        start = end - LENGTH + 1
        while end < len(series) and in_row[end]:
            end += 1
        since = series[max(start, BASELINE) : end]  # a row may begin in the baseline, its evidence may not lie there
        if len(since) and since.min() < limits.lower and end - start > longest[1] - longest[0]:
            longest = (start, end)
    return longest
