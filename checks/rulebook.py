"""The rule book: rules as data, one TOML file a subject, with the house's own changes by rule id.

A rule compares one column of its subject's frame, in one of four ways:

    possible, in_range    spans: outside the first a value is out, outside the second it is doubtful
    one_of                the texts it may be
    equals                the column it must be equal to
    present               it must be there

What is not there cannot be judged: it is "not evaluated", never "within", except under `present`, where it is out.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from checks.bounds import Bound, bound
from pipeline.errors import SettingsError
from pipeline.settings import build

FOLDER = Path(__file__).parent / "rules"
FILES = ("strength", "laboratory", "yields", "recovery", "lots", "botanicals", "bottling", "logs", "records")
SEVERITIES = ("stops release", "needs explanation", "for information")
# Guard bands of a legal limit: how many times the coverage they reach inward and outward. "inside": beyond the limit is
# out, near it in doubt. "outside": the law itself puts the method's uncertainty on top. "both": neither is settled.
GUARDS = {"inside": (1.0, 0.0), "outside": (0.0, 1.0), "both": (1.0, 1.0)}
GUARD_WORDS = {"inside": "inside the limit", "outside": "beyond the limit", "both": "on both sides of the limit"}
FIXED = ("id", "subject", "column")  # what makes a rule this rule; a house cannot change it
Columns = Mapping[str, Mapping[str, bool]]  # subject -> column -> is it a number


@dataclass(frozen=True)
class Rule:
    """One rule as it is in force.

    Attributes
    ----------
    where : dict
        Rows that the rule looks at: each column one of the texts given
    where_known : tuple of str
        Rows without a value in these columns are none of this rule's business
    below : bool
        The bounds themselves are outside ("less than 86 % vol")
    shows : str
        Column shown as the value, where the column compared says nothing to a reader
    severity, doubtful, not_evaluated : str
        Severity of each answer
    confirmed : bool
        False where the limit is from memory and the text has yet to be read
    """

    id: str
    subject: str
    column: str
    quantity: str
    severity: str
    reason: str
    citation: str
    to_do: str
    unit: str = ""
    decimals: int = 2
    where: dict[str, Any] = field(default_factory=dict)
    where_known: tuple[str, ...] = ()
    possible: tuple[Any, ...] = ()
    in_range: tuple[Any, ...] = ()
    law: tuple[Any, ...] = ()
    u: str = ""
    guard: str = "both"
    coverage: float = 2.0
    below: bool = False
    one_of: tuple[str, ...] = ()
    equals: str | None = None
    present: bool = False
    shows: str | None = None
    doubtful: str = "needs explanation"
    not_evaluated: str = "for information"
    confirmed: bool = True
    in_force_from: date | None = None
    in_force_until: date | None = None
    dated: str = ""

    @property
    def spans(self) -> dict[str, tuple[Bound, Bound]]:
        """Answer of a value outside -> lower and upper bound."""
        if self.law:
            return self._guarded(bound(self.law[0]), bound(self.law[1]))
        named = {"out": self.possible, "doubtful": self.in_range}
        return {answer: (bound(span[0]), bound(span[1])) for answer, span in named.items() if span}

    def _guarded(self, low: Bound, high: Bound) -> dict[str, tuple[Bound, Bound]]:
        """Spans of a legal limit with its guard bands (JCGM 106): within only where the uncertainty cannot matter."""
        if not self.coverage:
            return {"out": (low, high)}
        inward, outward = GUARDS[self.guard]
        named = {"out": outward * self.coverage, "doubtful": -inward * self.coverage}
        return {answer: (low.widened(-k, self.u), high.widened(k, self.u)) for answer, k in named.items()}

    @property
    def conditions(self) -> dict[str, list[str]]:
        """`where` with each column's texts as a list."""
        return {column: texts if isinstance(texts, list) else [texts] for column, texts in self.where.items()}

    @property
    def compared(self) -> tuple[str, ...]:
        """Columns without which the rule cannot be evaluated; none for a rule of presence."""
        if self.present:
            return ()
        bounds = [column for span in self.spans.values() for side in span for column in side.columns]
        named = dict.fromkeys([self.column, *([self.equals] if self.equals else []), *bounds])
        return tuple(column for column in named if column != self.u)

    @property
    def with_what(self) -> str:
        """What it is compared with, as the rule book writes it."""
        if self.present:
            return "on record"
        if self.one_of:
            return " or ".join(self.one_of)
        if self.equals:
            return f"equal to {self.equals.replace('_', ' ')}"
        if self.law:
            band = (
                f"{self.coverage:g} {self.u} as guard band, {GUARD_WORDS[self.guard]}"
                if self.coverage
                else "no guard band"
            )
            return f"the law's {_in_words(*self.law)}; {band}"
        named = {"possible": self.possible, "in range": self.in_range}
        return "; ".join(f"{name} {_in_words(*span)}" for name, span in named.items() if span)

    def severity_of(self, answer: str) -> str:
        return {"doubtful": self.doubtful, "not evaluated": self.not_evaluated}.get(answer, self.severity)


def _in_words(low: float | str, high: float | str) -> str:
    """A span as it is written.

    Examples
    --------
    >>> _in_words(0.93, 1.0), _in_words(float("-inf"), "most + 2 u_value")
    ('0.93 to 1.0', 'most + 2 u_value or less')
    """
    if low == -math.inf:
        return f"{high} or less"
    return f"{low} or more" if high == math.inf else f"{low} to {high}"


def read_rulebook(
    columns: Columns, changes: Mapping[str, Mapping[str, Any]] | None = None, folder: Path = FOLDER
) -> tuple[Rule, ...]:
    """The rule book in force.

    Parameters
    ----------
    columns : mapping
        The subjects' frames: subject, column, and whether that is a number.
    changes : mapping
        The house's own changes, by rule id.
    folder : Path
        Where the rules are.

    Raises
    ------
    SettingsError
        If a rule says something that cannot be; the sentence names file and rule.
    """
    changes = dict(changes or {})
    rules: dict[str, Rule] = {}
    for file in FILES:
        path = folder / f"{file}.toml"
        if not path.exists():
            continue
        for number, table in enumerate(_tables(path), start=1):
            name = table.get("id", f"rule {number}")
            where = f"rules/{path.name}: {name}"
            rule = _rule(table, changes.pop(name, {}), where)
            _check(rule, columns, where)
            if rule.id in rules:
                raise SettingsError(f"{where}: the rule stands in the book twice; give each its own id.")
            rules[rule.id] = rule
    if changes:
        raise SettingsError(
            f'house profile: [rules.{next(iter(changes))}] is no rule of the book; "check --rules" lists them.'
        )
    return tuple(rules.values())


def _tables(path: Path) -> list[dict[str, Any]]:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"rules/{path.name}: cannot be read: {error}.") from error
    unknown = sorted(table.keys() - {"rules"})
    if unknown or not isinstance(table.get("rules"), list):
        raise SettingsError(f"rules/{path.name}: expected [[rules]] and nothing else, found {unknown or 'none'}.")
    return table["rules"]


def _rule(table: dict[str, Any], change: Mapping[str, Any], where: str) -> Rule:
    fixed = next((key for key in FIXED if key in change), None)
    if fixed:
        raise SettingsError(f'{where}: the house profile cannot change "{fixed}" of a rule.')
    if change and "citation" not in change:
        change = {**change, "citation": f"{table.get('citation', '')}; changed by the house profile"}
    return build(Rule, {**table, **change}, where)


def _check(rule: Rule, columns: Columns, where: str) -> None:
    """What types cannot see: unknown subjects and columns, missing grounds, spans that cannot be."""
    for key in ("quantity", "reason", "citation", "to_do"):
        if not getattr(rule, key).strip():
            raise SettingsError(f"{where}: {key} is empty; a rule must say it.")
    for severity in (rule.severity, rule.doubtful, rule.not_evaluated):
        if severity not in SEVERITIES:
            raise SettingsError(f'{where}: severity "{severity}" is none of {", ".join(SEVERITIES)}.')
    if rule.subject not in columns:
        raise SettingsError(f'{where}: unknown subject "{rule.subject}"; known: {", ".join(sorted(columns))}.')
    ways = [bool(rule.possible or rule.in_range), bool(rule.one_of), rule.equals is not None, rule.present]
    if sum(ways) != 1:
        raise SettingsError(f"{where}: give one of possible/in_range, one_of, equals and present.")
    _check_spans(rule, where)
    known = columns[rule.subject]
    used = {rule.column, *rule.compared, *rule.where, *rule.where_known, *([rule.shows] if rule.shows else [])}
    unknown = sorted(used - known.keys())
    if unknown:
        raise SettingsError(
            f'{where}: subject "{rule.subject}" has no column "{unknown[0]}"; it has {", ".join(known)}.'
        )
    words = [column for column in rule.compared if rule.spans and not known[column]]
    if words:
        raise SettingsError(f'{where}: column "{words[0]}" holds no numbers, so no span can bound it.')


def _check_spans(rule: Rule, where: str) -> None:
    for key, span in (("possible", rule.possible), ("in_range", rule.in_range)):
        if span and len(span) != 2:
            raise SettingsError(f"{where}: {key} needs a lower and an upper bound, found {list(span)}.")
    try:
        spans = rule.spans
    except ValueError as error:
        raise SettingsError(f"{where}: {error}.") from error
    for low, high in spans.values():
        if low.is_open and high.is_open:
            raise SettingsError(f"{where}: a span open on both sides can never fail.")
        if low.number is not None and high.number is not None and low.number > high.number:
            raise SettingsError(f"{where}: the span {low.number:g} to {high.number:g} holds no value.")
    if len(spans) == 2:
        _check_nested(spans["out"], spans["doubtful"], where)


def _check_nested(possible: tuple[Bound, Bound], in_range: tuple[Bound, Bound], where: str) -> None:
    """in_range lies inside possible, as far as both are numbers."""
    for side, sign in ((0, 1.0), (1, -1.0)):
        outer, inner = possible[side].number, in_range[side].number
        if outer is not None and inner is not None and sign * inner < sign * outer:
            raise SettingsError(f"{where}: in_range {inner:g} lies outside possible {outer:g}; it must lie inside.")
