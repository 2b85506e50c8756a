"""Answers in words: each row that is not within becomes a flag that reads without its rule at hand."""

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from hashlib import sha256
from typing import Any

import polars as pl

from gaugebook.checks.rulebook.bounds import Bound
from gaugebook.checks.rulebook.rule import REQUIRED_BY, Rule

COLUMNS = {
    "flag": pl.String, "rule": pl.String, "subject": pl.String, "record": pl.String, "run": pl.String,
    "lot": pl.String, "batch": pl.String, "equipment": pl.String, "answer": pl.String, "severity": pl.String,
    "quantity": pl.String, "value": pl.String, "limits": pl.String, "unit": pl.String, "message": pl.String,
    "reason": pl.String, "citation": pl.String, "source_id": pl.Int32, "line": pl.Int32,
}  # fmt: skip
PLACE = ("record", "run", "lot", "batch", "equipment", "source_id", "line")
UNIT_SUFFIX = re.compile(r"_(l|kg|ml|h|min|s|c|pct_vol)$")
MORE_DECIMALS = 3  # so many more where a value and its limit would else look the same


def flags(rules: Sequence[Rule], frames: Mapping[str, pl.DataFrame], answers: pl.DataFrame) -> pl.DataFrame:
    """The table of flags from the answers, in the order of the rule book and of the records."""
    by_id = {rule.id: rule for rule in rules}
    order = {rule.id: number for number, rule in enumerate(rules)}
    ordered = sorted(answers.iter_rows(named=True), key=lambda answer: (order[answer["rule"]], answer["row"]))
    seen: dict[tuple[str, str], int] = {}
    rows = []
    for answer in ordered:
        rule = by_id[answer["rule"]]
        row = frames[rule.subject].row(answer["row"], named=True)
        key = (rule.id, named_by(row))
        seen[key] = seen.get(key, 0) + 1
        rows.append(flag(rule, row, answer["answer"]) | {"flag": flag_name(*key, seen[key])})
    return pl.DataFrame(rows, schema=COLUMNS)


def flag(rule: Rule, row: Mapping[str, Any], answer: str) -> dict[str, Any]:
    """One flag, all but its name."""
    value = None if answer == "not evaluated" else shown(row[rule.shows or rule.column], rule.decimals)
    limits = limits_in_words(rule, row, answer)
    if value and value in _ends_shown(rule, row, answer, rule.decimals):  # rounded alike; digits tell them apart
        for decimals in range(rule.decimals + 1, rule.decimals + MORE_DECIMALS + 1):
            value = shown(row[rule.shows or rule.column], decimals)
            limits = limits_in_words(rule, row, answer, decimals)
            if value not in _ends_shown(rule, row, answer, decimals):
                break
    return {name: row[name] for name in PLACE} | {
        "rule": rule.id,
        "subject": rule.subject,
        "answer": answer,
        "severity": rule.severity_of(answer),
        "quantity": rule.quantity,
        "value": value,
        "limits": limits,
        "unit": rule.unit,
        "message": message(rule, row, answer, value, limits),
        "reason": rule.reason,
        "citation": rule.citation,
    }


def flag_name(rule: str, record: str, number: int = 1) -> str:
    """Short name that stays the same from check to check; `number` tells apart records of one description.

    Examples
    --------
    >>> flag_name("methanol-limit", "lot A-1, methanol")
    'F-8ece426e'
    """
    return "F-" + sha256(f"{rule}|{record}|{number}".encode()).hexdigest()[:8]


def named_by(row: Mapping[str, Any]) -> str:
    """What the name of a record's flag is made from: where its words hold a day, the same with that day in UTC.

    Examples
    --------
    >>> named_by({"record": "tank T1, count of 2026-01-31", "flag_as": "tank T1, count of 2026-02-01"})
    'tank T1, count of 2026-02-01'
    """
    return str(row.get("flag_as") or row["record"])


def message(rule: Rule, row: Mapping[str, Any], answer: str, value: str | None, limits: str | None) -> str:
    """One sentence that names record, value and limit."""
    record = row["record"][0].upper() + row["record"][1:]
    unit = f" {rule.unit}" if rule.unit else ""
    if answer == "not evaluated":
        missing = [in_words(column) for column in rule.compared if row[column] is None]
        verb = "is" if len(missing) == 1 else "are"
        sentence = f"{rule.quantity} could not be judged, since {' and '.join(missing)} {verb} not known"
        sentence += f"; {REQUIRED_BY[rule.required_by]}" if rule.required_by else ""
    elif rule.present:
        sentence = f"{rule.quantity} is missing"
        if value is not None and rule.shows:
            sentence += f" (found {value}{unit if isinstance(row[rule.shows], float) else ''})"
    elif rule.law:
        sentence = f"{rule.quantity} is {value}{unit}; {_beside_the_law(rule, row, answer, limits)}"
    elif rule.spans:
        allowed = "in range is" if answer == "doubtful" else "allowed is"
        sentence = f"{rule.quantity} is {value}{unit}; {allowed} {limits}{_allowance(rule, row, answer)}"
    else:
        sentence = f"{rule.quantity} is {value}{unit}; expected {limits}"
    note = f" ({row['note']})" if row["note"] else ""
    return f"{record}: {sentence}{note}."


def _beside_the_law(rule: Rule, row: Mapping[str, Any], answer: str, limits: str | None) -> str:
    """What the law allows, and whether the value's uncertainty reaches across that (JCGM 106)."""
    if answer == "out" or not rule.coverage:
        return f"the law allows {limits}"
    if row[rule.u] is None:
        return f"the law allows {limits}, and with its uncertainty not known it is not settled"
    reach = shown(rule.coverage * float(row[rule.u]), rule.decimals + 1)
    return f"the law allows {limits}, and its uncertainty of ±{reach} reaches across that limit, so it is not settled"


def _allowance(rule: Rule, row: Mapping[str, Any], answer: str) -> str:
    """What was allowed for uncertainty beside the limit on the side where the value lies."""
    low, high = rule.spans.get(answer) or next(iter(rule.spans.values()))
    if (low, high) == _stated(low, high):
        return ""
    least = bound_of(low, row)
    side = low if least is not None and float(row[rule.column]) < least else high
    if side.is_open or not side.allowance.terms:
        return ""
    allowed = bound_of(side.allowance, row)
    return "" if allowed is None else f", with {shown(abs(allowed), rule.decimals)} allowed for uncertainty"


def _stated(low: Bound, high: Bound) -> tuple[Bound, Bound]:
    """A span as it is told: the rule's own limits, so that a flag names one limit and its citation no other. Where they
    are made of uncertainty alone, that is the limit."""
    bare = [side if side.is_open else side.bare for side in (low, high)]
    return (bare[0], bare[1]) if any(side.terms and not side.is_open for side in bare) else (low, high)


def in_words(column: str) -> str:
    """A column's name for a reader, without its unit.

    Examples
    --------
    >>> in_words("volume_in_l"), in_words("u_laboratory_strength_pct_vol")
    ('volume in', 'uncertainty of laboratory strength')
    """
    name = UNIT_SUFFIX.sub("", column)
    return ("uncertainty of " + name[2:] if name.startswith("u_") else name).replace("_", " ")


def limits_in_words(rule: Rule, row: Mapping[str, Any], answer: str, decimals: int | None = None) -> str | None:
    """What the value may be: "37.5 or more", "0.93 to 1.01", "received or produced"."""
    if rule.present:
        return "on record"
    if rule.one_of:
        return " or ".join(rule.one_of)
    if rule.equals:
        return shown(row[rule.equals], rule.decimals)
    low, high = _limits_stated(rule, answer)
    least, most = _ends_shown(rule, row, answer, rule.decimals if decimals is None else decimals)
    if (least is None and not low.is_open) or (most is None and not high.is_open):
        return None
    if low.is_open:
        return f"less than {most}" if rule.below else f"{most} or less"
    if high.is_open:
        return f"more than {least}" if rule.below else f"{least} or more"
    return f"{least} to {most}"


def _limits_stated(rule: Rule, answer: str) -> tuple[Bound, Bound]:
    """The span that a flag of this answer names."""
    return rule.limits if rule.law else _stated(*(rule.spans.get(answer) or next(iter(rule.spans.values()))))


def _ends_shown(rule: Rule, row: Mapping[str, Any], answer: str, decimals: int) -> tuple[str | None, ...]:
    """The numbers that the limits name, lower and upper end of a span, as they are shown."""
    if rule.equals:
        return (shown(row[rule.equals], rule.decimals),)
    if not rule.spans:
        return ()
    return tuple(shown(bound_of(side, row), decimals) for side in _limits_stated(rule, answer))


def bound_of(side: Bound, row: Mapping[str, Any]) -> float | None:
    """The bound of this row; None where it is open or something in it is missing."""
    if side.is_open or any(row[column] is None for column in side.columns):
        return None
    return float(sum(factor * (1.0 if column is None else float(row[column])) for factor, column in side.terms))


def shown(value: Any, decimals: int) -> str | None:
    """A value as a reader sees it.

    Examples
    --------
    >>> shown(-0.0004, 2), shown(7, 2), shown("dried", 2), shown(None, 2)
    ('0.00', '7', 'dried', None)
    """
    if value is None:
        return None
    if isinstance(value, float):
        text = f"{value:.{decimals}f}"
        return text.removeprefix("-") if float(text) == 0 else text
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return str(value)
