"""What each derived table is made from, written at the table, and the order that follows from it.

A table that is a matter of sets says so in the first lines of its SQL file:

    -- made from: derived.gauges, derived.gauge_errors
    -- makes: derived.run_errors

(the second line only where it makes another table than the one it is named for, or several); a table that is a
computation has a `Derivation` below its function. Names without a schema are variables and temporary tables of the
connection that makes the tables.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.house.settings import House

_HEADER = re.compile(r"-- (made from|makes): (.*)")
_VIEW = re.compile(r"-- made from: (.*)\nCREATE OR REPLACE VIEW ([\w.]+)")


class DerivationError(Exception):
    """Tables that nothing makes or that are made of themselves: a fault of the code, found when it is imported."""


@dataclass(frozen=True)
class Derivation:
    """One step of making the derived tables anew.

    Attributes
    ----------
    made_from : tuple of str
        Tables that it reads; the house profile is at hand for each.
    makes : tuple of str
        Tables that it fills.
    """

    make: Callable[[Book, House], None]
    made_from: tuple[str, ...]
    makes: tuple[str, ...]


def from_sql(path: Path) -> Derivation | None:
    """The derivation that a SQL file declares; None where the file declares none, and is a query of a module."""
    declared: dict[str, tuple[str, ...]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        header = _HEADER.fullmatch(line)
        if header is None:
            break
        declared[header[1]] = tuple(header[2].split(", "))
    if "made from" not in declared:
        return None
    return Derivation(
        lambda book, _: book.run_file(path), declared["made from"], declared.get("makes", (f"derived.{path.stem}",))
    )


def views_in(schema: Path) -> list[Derivation]:
    """The views that a schema defines below the line "-- made from: ..."; they are always as what they show."""
    text = schema.read_text(encoding="utf-8")
    return [Derivation(lambda *_: None, tuple(sources.split(", ")), (name,)) for sources, name in _VIEW.findall(text)]


def in_order(derivations: Iterable[Derivation]) -> list[Derivation]:
    """The derivations, each after all that make what it is made from; those free to go as they are given.

    Raises
    ------
    DerivationError
        If nothing makes a derived table that one is made from, or tables are made of each other.

    Examples
    --------
    >>> last = Derivation(print, ("derived.lots",), ("derived.steps",))
    >>> first = Derivation(print, ("typed.runs",), ("derived.lots",))
    >>> in_order([last, first]) == [first, last]
    True
    """
    steps = list(derivations)
    makers: dict[str, list[int]] = {}
    for number, step in enumerate(steps):
        for name in step.makes:
            makers.setdefault(name, []).append(number)
    before: dict[int, set[int]] = {}
    for number, step in enumerate(steps):
        for name in step.made_from:
            if name not in makers and not name.startswith("typed."):
                raise DerivationError(
                    f"{', '.join(step.makes)} is made from {name}, which nothing makes: mend the name, or declare what "
                    "makes it."
                )
        before[number] = {maker for name in step.made_from for maker in makers.get(name, [])}
    try:
        return [steps[number] for number in TopologicalSorter(before).static_order()]
    except CycleError as error:
        ring = " < ".join(steps[number].makes[0] for number in error.args[1])
        raise DerivationError(f"Tables are made of each other: {ring}.") from error


def lineage_lines(derivations: Iterable[Derivation]) -> list[str]:
    """What is made from what, a line a step, in the order in which they are made.

    >>> lineage_lines([Derivation(print, ("typed.runs", "typed.movements"), ("derived.lots",))])
    ['derived.lots <- typed.runs, typed.movements']
    """
    return [f"{', '.join(step.makes)} <- {', '.join(step.made_from) or 'the house profile'}" for step in derivations]
