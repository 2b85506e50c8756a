"""The rule book's sentences as a document prints them: sensors by their names, columns in words, true minus signs.

A flag's record and message are kept in the book as they were made, and machines read them there; here only their
spelling changes.
"""

import re
from typing import Protocol

from gaugebook.pipeline.typed.readings import TAGS

_UNIT = re.compile(r"_(?:l_h|kg_h|kg_m3|pct_vol|kpa|kwh|kw|mg_l|g_l|kg|ml|min|l|h|s|c)$")
_TAG = re.compile(rf"\b(?:{'|'.join(TAGS)})\b")
_COLUMN = re.compile(r"\b[a-z][a-z0-9]*(?:_[a-z0-9]+)+\b")
_MINUS = re.compile(r"(?<!\w)-(?=\d)|(?<= )-(?= )")
_NEGATED = re.compile(r"(?<= )-(?=[a-z])")
_BARE_UNIT = re.compile(r" pct vol\b")


class Flagged(Protocol):
    """What is flagged, and what of it."""

    @property
    def record(self) -> str: ...
    @property
    def message(self) -> str: ...


def spell_flag(text: str | None) -> str | None:
    """What a flag says: its record, its sentence, its value or its limits.

    Examples
    --------
    >>> spell_flag("run REC-2607-01, column_temperature_c"), spell_flag("is -57 min; in range is -20 to 20")
    ('run REC-2607-01, column temperature', 'is −57 min; in range is −20 to 20')
    """
    return None if text is None else minus(_TAG.sub(lambda tag: _words(tag[0]), text))


def spell_rule(compared: str) -> str:
    """What a rule compares with; u(…) is the standard uncertainty of what stands in the brackets.

    Examples
    --------
    >>> spell_rule("possible -3 u_bottling_loss to 1.0"), spell_rule("the law's -tolerance_pct_vol or more")
    ('possible −3 u(bottling loss) to 1.0', "the law's −tolerance or more")
    """
    spelled = _COLUMN.sub(lambda column: _words(column[0]), _BARE_UNIT.sub("", compared))
    return minus(_NEGATED.sub("−", spelled))


def minus(text: str) -> str:
    """The sign of a negative number, and the sign between two terms, as they are printed.

    Examples
    --------
    >>> minus("-0.3 to 0.3; 2026-10-29; VOD-2610B; a - 2"), minus("-x")
    ('−0.3 to 0.3; 2026-10-29; VOD-2610B; a − 2', '-x')
    """
    return _MINUS.sub("−", text)


def _words(column: str) -> str:
    name = _UNIT.sub("", column)
    return f"u({name[2:].replace('_', ' ')})" if name.startswith("u_") else name.replace("_", " ")


def describe_flag(flag: Flagged) -> str:
    """A flag in one line: its message, which names its record."""
    return spell_flag(flag.message) or ""
