"""The time that the spirit of a lot spent in wood, in all of it or in the fillings that count."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from gaugebook.pipeline.derived.casks.ages import History, histories
from gaugebook.pipeline.engineering.age import age_after


def history_of(
    lot: str, steps: Sequence[dict[str, Any]], came: Sequence[dict[str, Any]], counted: Iterable[str] | None = None
) -> History | None:
    """A lot's time in wood, or only in these fillings; steps and what came as `ways_into_wood` gives them."""
    if counted is None:
        return histories(steps, came).get(lot)
    chosen = set(counted)
    in_chosen = [step | {"cask": step["cask"] if step["into_lot"] in chosen else None} for step in steps]
    came_counted = [
        row if row["cask"] is None or row["lot"] in chosen
        else row | {"cask": None, "aged_from": row["came_on"]}
        for row in came
    ]  # fmt: skip
    return histories(in_chosen, came_counted).get(lot)


def reached(days: int, months: float, on: date) -> bool:
    """Whether an age in days, told on a day, is so many months of the calendar."""
    age = age_after(days, on)
    return 12 * age.years + age.months >= months
