"""How much of a blend is straight whisky, by its alcohol: 27 CFR 5.143(c), on a proof gallon basis.

A part of the blend is what came out of one cask, or a spirit that came from none. It is straight where the record shows
all that a straight class asks: one type, the wood, the strength at entry and two years. What it does not show counts
neither for it nor against it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from gaugebook.checks.evaluation.cask_fillings import Filling, entered, fits
from gaugebook.checks.evaluation.spirit_kinds import US, Answer, of_one_type
from gaugebook.checks.evaluation.spirit_sources import Source, SpiritRecord, is_known
from gaugebook.checks.evaluation.wood_history import history_of, reached
from gaugebook.checks.rulebook.maturation import Maturation, read_maturations, requirements_of
from gaugebook.checks.rulebook.published_limits import Limits

SHOWN = {"yes": True, "no": False, None: None}
SAME = 1e-9  # shares are sums of products


@dataclass(frozen=True)
class Ways:
    """How the spirit of a batch came to it: its fillings, the steps and what came, as claims have them."""

    spirit: SpiritRecord
    fillings: Sequence[Filling]
    steps: Sequence[dict[str, Any]]
    came: Sequence[dict[str, Any]]


def straight_share(batch: str, ways: Ways, least: float, limits: Limits, on: date) -> Answer:
    """Whether at least so much of a batch's alcohol is straight whisky, with the share of each part."""
    casks = {filling.contents for filling in ways.fillings}
    parts = ways.spirit.sources(batch, stop_at=casks)
    missing = [part.lot for part in parts if not is_known(part.share)]
    if missing:
        return Answer(None, f"how much of it came from {', '.join(missing)} is not on record")
    judged = [(part, _is_straight(part, ways, limits, on)) for part in parts]
    share = {answer: sum(part.share for part, is_so in judged if is_so is answer) for answer in (True, False, None)}
    why = "; ".join(
        f"{words} {100 * share[answer]:.1f} % ({_parts([part for part, is_so in judged if is_so is answer])})"
        for answer, words in ((True, "straight"), (False, "not straight"), (None, "not shown to be straight"))
        if share[answer] > 0
    )
    if share[True] >= least - SAME:
        return Answer("yes", why)
    return Answer("no" if share[True] + share[None] < least - SAME else None, why)


def _is_straight(part: Source, ways: Ways, limits: Limits, on: date) -> bool | None:
    if part.lot in {filling.contents for filling in ways.fillings}:
        answers = {_meets(part.lot, item, ways, limits, on) for item in _straight_classes(on)}
        return True if True in answers else None if None in answers else False
    if part.is_neutral or part.lot in ways.spirit.new_make:
        return False
    named = [requirements_of(limits, material, US, on) for material in part.materials]
    return True if named and all(any(item.one_type for item in items) for items in named) else None


def _straight_classes(on: date) -> Iterator[Maturation]:
    """What each straight class asks that names a type."""
    for item in read_maturations():
        if item.one_type and item.confirmed and item.dates[0] <= on < item.dates[1]:
            yield item


def _meets(contents: str, item: Maturation, ways: Ways, limits: Limits, on: date) -> bool | None:
    """Whether what a filling held is all that a straight class asks; None where the record does not say."""
    behind = ways.spirit.ancestors(contents)
    fillings = [filling for filling in ways.fillings if filling.contents in behind]
    fitting = {filling.contents: fits(filling, item) for filling in fillings}
    answers = [SHOWN[of_one_type(ways.spirit.sources(contents), item.one_type, limits, on).shown], *fitting.values()]
    if item.entry_most_pct_vol is not None:
        answers += [entered(filling, item.entry_most_pct_vol) for filling in fillings if filling.took_new_spirit]
    answers.append(
        _is_aged(
            contents, item.least_age_months or 0.0, {name for name, fit in fitting.items() if fit is not False}, ways
        )
    )
    return False if False in answers else None if None in answers else True


def _is_aged(contents: str, months: float, counted: set[str], ways: Ways) -> bool | None:
    """Whether it was so old, in the fillings that count, when the first of it was drawn for the batch."""
    days = [step["drawn_on"] for step in ways.steps if step["lot"] == contents]
    if not days or None in days:
        return None
    drawn_on = min(days)
    drawn = {"lot": contents, "into_lot": _drawn_of(contents), "stage": "dump", "cask": None, "drawn_on": drawn_on,
             "put_on": drawn_on}  # fmt: skip
    history = history_of(_drawn_of(contents), [*ways.steps, drawn], ways.came, counted)
    if history is None or history.days is None:
        return None
    return reached(history.days, months, history.left or drawn_on)


def _drawn_of(contents: str) -> str:
    """Name for what is drawn of a filling, so that its age is told as of that day."""
    return f"drawn of {contents}"


def _parts(parts: list[Source], most: int = 6) -> str:
    largest = sorted(parts, key=lambda part: (-part.share, part.lot))
    shown = ", ".join(f"{part.lot} {100 * part.share:.1f} %" for part in largest[:most])
    return shown + (f" and {len(parts) - most} more" if len(parts) > most else "")
