"""The rule book: rules as data, one TOML file a subject, with the house's own changes by rule id.

A rule compares one column of its subject's frame, in one of five ways:

    law                   a legal limit: out, doubtful or within by its guard band (JCGM 106), `coverage` times `u` wide
    possible, in_range    spans: outside the first a value is out, outside the second it is doubtful
    one_of                the texts it may be
    equals                the column it must be equal to
    present               it must be there

What is not there cannot be judged: it is "not evaluated", never "within", except under `present`, where it is out.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from gaugebook.checks.rulebook.rule import Columns, Rule
from gaugebook.checks.rulebook.rule_checks import check_rule
from gaugebook.checks.rulebook.toml_location import TomlLocation, build_at, tables
from gaugebook.pipeline.errors import SettingsError

FOLDER = Path(__file__).parents[1] / "rules"
FILES = (
    "strength", "laboratory", "yields", "recovery", "lots", "casks", "dispatches", "botanicals", "bottling",
    "categories", "logs", "curves",
    "records",
)  # fmt: skip
FIXED = ("id", "subject", "column", "of_law")  # what makes a rule this rule; a house cannot change it


def read_rulebook(
    columns: Columns, changes: Mapping[str, Mapping[str, Any]] | None = None, folder: Path = FOLDER
) -> tuple[Rule, ...]:
    """The rule book in force.

    Parameters
    ----------
    columns : mapping
        The subjects' frames: subject, column, and whether that is a number.
    changes : mapping
        The house's own, by rule id: keys that differ from the book's, or a whole rule that the book does not have.
    folder : Path
        Where the rules are.

    Raises
    ------
    SettingsError
        If a rule says something that cannot be; the sentence names file, line and rule.
    """
    changes = dict(changes or {})
    rules: dict[str, Rule] = {}
    for file in FILES:
        path = folder / f"{file}.toml"
        if not path.exists():
            continue
        for table, place in tables(path, f"rules/{file}.toml", "rules", "id"):
            change = changes.pop(place.name, {})
            if change:
                place = TomlLocation("house profile", f"[rules.{place.name}]", None, {})
            rule = _rule(table, change, place)
            check_rule(rule, columns, place)
            if rule.id in rules:
                raise SettingsError(f"{place.at('id')}: the rule stands in the book twice; give each its own id.")
            rules[rule.id] = rule
    for name, own in changes.items():
        rules[name] = _house_rule(name, own, columns)
    return tuple(rules.values())


def _rule(table: dict[str, Any], change: Mapping[str, Any], place: TomlLocation) -> Rule:
    fixed = next((key for key in FIXED if key in change), None)
    if fixed:
        raise SettingsError(f'{place.at(fixed)}: the house profile cannot change "{fixed}" of a rule.')
    if change and "citation" not in change:
        change = {**change, "citation": f"{table.get('citation', '')}; changed by the house profile"}
    return build_at(Rule, {**table, **change}, place)


def _house_rule(name: str, table: Mapping[str, Any], columns: Columns) -> Rule:
    """A rule that only the house has."""
    if "subject" not in table:
        raise SettingsError(
            f'house profile: [rules.{name}] is no rule of the book; "check --rules" lists them. A rule of your own '
            "needs subject, column and all that a rule needs."
        )
    place = TomlLocation("house profile", f"[rules.{name}]", None, {})
    rule: Rule = build_at(Rule, {"id": name, **table}, place)
    check_rule(rule, columns, place)
    return rule
