"""When losses beyond the usual became more than the gauges could feign, still by still."""

from datetime import datetime

import numpy as np
import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.statistics.rises import Rise, rises

# Below this many runs on one piece of equipment there is no course of losses to speak of.
FEWEST_RUNS = 8


def loss_signals(book: Book) -> None:
    """Make derived.loss_signals from derived.run_verdicts.

    A run's excess is its loss less the usual loss of its stage, in its own standard uncertainty (that of the gauges, or
    the usual scatter between runs where that is greater).
    """
    runs = book.frame("""
        SELECT run, stage, equipment, ended_at, loss_l - usual_loss_l AS excess_l,
               greatest(u_loss_l, u_usual_loss_l) AS u_excess_l
        FROM derived.run_verdicts
        WHERE loss_l IS NOT NULL AND usual_loss_l IS NOT NULL AND ended_at IS NOT NULL
        ORDER BY stage, equipment, ended_at, run
    """)
    signals = [
        signal
        for (stage, equipment), own in runs.group_by("stage", "equipment", maintain_order=True)
        if own.height >= FEWEST_RUNS
        for signal in _signals(str(stage), str(equipment), own)
    ]
    if signals:
        book.append("derived.loss_signals", pl.DataFrame(signals))


LOSS_SIGNALS = Derivation(
    lambda book, _: loss_signals(book),
    made_from=("derived.run_verdicts",),
    makes=("derived.loss_signals",),
)


def _signals(stage: str, equipment: str, runs: pl.DataFrame) -> list[dict]:
    excess, u = runs["excess_l"].to_numpy(), runs["u_excess_l"].to_numpy()
    return [_signal(stage, equipment, runs, excess, u, rise) for rise in rises(excess / u)]


def _signal(stage: str, equipment: str, runs: pl.DataFrame, excess: np.ndarray, u: np.ndarray, rise: Rise) -> dict:
    names, times = runs["run"], runs["ended_at"]
    signal_at: datetime = times[rise.signal]
    year, week, _ = signal_at.isocalendar()
    of_rise = slice(rise.first, rise.last + 1)
    return {
        "stage": stage,
        "equipment": equipment,
        "first_run": names[rise.first],
        "first_at": times[rise.first],
        "signal_run": names[rise.signal],
        "signal_at": signal_at,
        "week": f"{year}-W{week:02d}",
        "last_run": names[rise.last],
        "last_at": times[rise.last],
        "runs": rise.last - rise.first + 1,
        "excess_l": float(excess[of_rise].sum()),
        "u_excess_l": float(np.sqrt((u[of_rise] ** 2).sum())),
    }
