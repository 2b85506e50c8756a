"""What changed from one house profile to the next, key by key, so that nobody changes it unseen."""

import dataclasses
from collections.abc import Iterator
from typing import Any

from gaugebook.pipeline.house.settings import Decisions, House

LISTS = {
    "stills": "still", "vessels": "vessel", "instruments": "instrument", "people": "person", "recipes": "recipe",
    "products": "product", "baselines": "baseline",
}  # fmt: skip

AS_IN_RULE_BOOK, NOT_THERE = "as in the rule book", "not there"


def profile_changes(held: House, new: House) -> tuple[str, ...]:
    """Each change as "rule label-strength, severity: stops release -> for information", in the order of the profile.

    Parameters
    ----------
    held : House
        The profile as it was.
    new : House
        The profile as it is now.
    """
    keys = [*_keys(new), *_keys(held)]
    names = {key.name: AS_IN_RULE_BOOK if key.is_of_rule else NOT_THERE for key in keys}
    was, now = ({key.name: key.value for key in _keys(house)} for house in (held, new))
    return tuple(
        f"{name}: {_shown(was.get(name), absent)} -> {_shown(now.get(name), absent)}"
        for name, absent in names.items()
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


@dataclasses.dataclass(frozen=True)
class _Key:
    """One key of a profile, by its name for a reader; where it is missing, a key of a rule is the rule book's."""

    name: str
    value: Any
    is_of_rule: bool = False


def _keys(house: House) -> Iterator[_Key]:
    """Every key of a profile with its value; of lists each record by its code or name."""
    for item in dataclasses.fields(House):
        value = getattr(house, item.name)
        if item.name == "rules":
            for rule, table in value.items():
                yield from (_Key(f"rule {rule}, {key}", setting, is_of_rule=True) for key, setting in table.items())
        elif item.name in LISTS:
            for record in value:
                yield from _of_record(f"{LISTS[item.name]} {_named(record)}", record)
        elif dataclasses.is_dataclass(value):
            yield from _of_record(item.name, value)
        else:
            yield _Key(item.name, value)


def _of_record(name: str, record: Any) -> Iterator[_Key]:
    for item in dataclasses.fields(record):
        yield _Key(f"{name}, {item.name}", getattr(record, item.name))


def _named(record: Any) -> str:
    """What tells a record from its like: its code or name, of a baseline its measure, group and first day."""
    for key in ("code", "name"):
        if hasattr(record, key):
            return str(getattr(record, key))
    return " ".join(str(getattr(record, key)) for key in ("measure", "group", "first_day"))


def _shown(value: Any, absent: str = NOT_THERE) -> str:
    """A value as the profile writes it; `absent` says what holds where it stands in none.

    Examples
    --------
    >>> _shown(None, AS_IN_RULE_BOOK), _shown("a4"), _shown(("qa lead", "owner"))
    ('as in the rule book', 'a4', 'qa lead, owner')
    """
    if value is None:
        return absent
    if isinstance(value, tuple | list):
        return ", ".join(_shown(item) for item in value) or "nothing"
    if dataclasses.is_dataclass(value):
        held = ((item.name, getattr(value, item.name)) for item in dataclasses.fields(value))
        return " ".join(_shown(content) for _, content in held if content is not None)
    if isinstance(value, dict):
        return ", ".join(f"{key} {_shown(content)}" for key, content in value.items()) or "nothing"
    return str(value)
