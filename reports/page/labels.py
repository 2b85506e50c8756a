"""Where labels go so that none lies on another: each near its own place, in as few rows as that takes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Wanted:
    """A label of this width for the stretch from `first` to `last` (the same for a point) [pt].

    Its words begin at the stretch's beginning, or, with `before`, end at its end.
    """

    first: float
    last: float
    width: float
    before: bool = False


@dataclass(frozen=True)
class Box:
    """Where a label lies [pt]: left edge of its words, both edges of words and stretch together; its row, from 0."""

    words: float
    left: float
    right: float
    row: int


def placed(wanted: Sequence[Wanted], start: float, end: float, apart: float = 4.0) -> list[Box]:
    """Boxes in the order of the labels; no two in one row come nearer than `apart`.

    Words are moved inside the edges `start` and `end` where they would pass them; words wider than the room between
    them begin at `start`.
    """
    boxes: list[Box] = []
    for label in wanted:
        at = label.last - label.width if label.before else label.first
        at = max(start, min(at, end - label.width))
        left, right = min(at, label.first), max(at + label.width, label.last)
        taken = {box.row for box in boxes if box.left < right + apart and left < box.right + apart}
        row = next(number for number in range(len(boxes) + 1) if number not in taken)
        boxes.append(Box(at, left, right, row))
    return boxes


def rows_of(boxes: Sequence[Box]) -> int:
    """How many rows the boxes take."""
    return max((box.row + 1 for box in boxes), default=0)


def spread(places: Sequence[float], apart: float, most: float) -> list[float]:
    """Places down a page moved no more than they must to lie so far apart, none below `most`."""
    order = sorted(range(len(places)), key=lambda number: places[number])
    moved = list(places)
    for before, number in pairwise(order):
        moved[number] = max(moved[number], moved[before] + apart)
    ceiling = most
    for number in reversed(order):
        moved[number] = ceiling = min(moved[number], ceiling)
        ceiling -= apart
    return moved
