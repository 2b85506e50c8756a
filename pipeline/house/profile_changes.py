"""What changed from one house profile to the next, key by key, so that nobody changes it unseen."""

import dataclasses
from collections.abc import Iterator
from typing import Any

from gaugebook.pipeline.house.settings import Decisions, House

LISTS = {
    "stills": "still", "vessels": "vessel", "instruments": "instrument", "people": "person", "recipes": "recipe",
    "products": "product", "baselines": "baseline",
}  # fmt: skip


def profile_changes(held: House, new: House) -> tuple[str, ...]:
    """Each change as "rule label-strength, severity: stops release -> for information", in the order of the profile.

    Parameters
    ----------
    held : House
        The profile as it was.
    new : House
        The profile as it is now.
    """
    was, now = dict(_keys(held)), dict(_keys(new))
    names = [*now, *(name for name in was if name not in now)]
    return tuple(
        f"{name}: {_shown(name, was.get(name))} -> {_shown(name, now.get(name))}"
        for name in names
        if was.get(name) != now.get(name)
    )


def own_rules(house: House) -> tuple[str, ...]:
    """What a profile sets otherwise than the rule book, and whom it lets decide beyond the default, as changes.

    Parameters
    ----------
    house : House
        The profile, which no other went before.
    """
    return profile_changes(dataclasses.replace(house, rules={}, decisions=Decisions()), house)


def _keys(house: House) -> Iterator[tuple[str, Any]]:
    """Every key of a profile with its value; of lists each record by its code or name."""
    for item in dataclasses.fields(House):
        value = getattr(house, item.name)
        if item.name == "rules":
            for rule, table in value.items():
                yield from ((f"rule {rule}, {key}", said) for key, said in table.items())
        elif item.name in LISTS:
            for record in value:
                yield from _of_record(f"{LISTS[item.name]} {_named(record)}", record)
        elif dataclasses.is_dataclass(value):
            yield from _of_record(item.name, value)
        else:
            yield item.name, value


def _of_record(name: str, record: Any) -> Iterator[tuple[str, Any]]:
    for item in dataclasses.fields(record):
        yield f"{name}, {item.name}", getattr(record, item.name)


def _named(record: Any) -> str:
    """What tells a record from its like: its code or name, of a baseline its measure, group and first day."""
    for key in ("code", "name"):
        if hasattr(record, key):
            return str(getattr(record, key))
    return " ".join(str(getattr(record, key)) for key in ("measure", "group", "first_day"))


def _shown(name: str, value: Any) -> str:
    """A value as the profile writes it.

    Examples
    --------
    >>> _shown("rule label-strength, severity", None), _shown("paper", "a4"), _shown("people", ("qa lead", "owner"))
    ('as in the rule book', 'a4', 'qa lead, owner')
    """
    if value is None:
        return "as in the rule book" if name.startswith("rule ") else "not there"
    if isinstance(value, tuple | list):
        return ", ".join(_shown("", item) for item in value) or "nothing"
    if dataclasses.is_dataclass(value):
        held = ((item.name, getattr(value, item.name)) for item in dataclasses.fields(value))
        return " ".join(_shown("", said) for _, said in held if said is not None)
    if isinstance(value, dict):
        return ", ".join(f"{key} {_shown('', said)}" for key, said in value.items()) or "nothing"
    return str(value)
