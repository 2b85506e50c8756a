"""What a rule cannot say: unknown subjects and columns, missing grounds, spans that hold nothing or everything."""

from gaugebook.checks.rulebook.bounds import Bound, bound
from gaugebook.checks.rulebook.rule import GUARDS, REQUIRED_BY, SEVERITIES, Columns, Rule
from gaugebook.checks.rulebook.toml_location import TomlLocation
from gaugebook.pipeline.errors import SettingsError


def check_rule(rule: Rule, columns: Columns, place: TomlLocation) -> None:
    """Raise a sentence with file, line and rule for what types cannot see.

    Raises
    ------
    SettingsError
        If the rule says something that cannot be, or does not say what a rule must.
    """
    for key in ("quantity", "reason", "citation", "to_do"):
        if not getattr(rule, key).strip():
            raise SettingsError(f"{place.at(key)}: {key} is empty; a rule must say it.")
    for key in ("severity", "doubtful", "not_evaluated"):
        if getattr(rule, key) not in SEVERITIES:
            raise SettingsError(f'{place.at(key)}: severity "{getattr(rule, key)}" is none of {", ".join(SEVERITIES)}.')
    if rule.required_by not in REQUIRED_BY:
        raise SettingsError(
            f'{place.at("required_by")}: required_by "{rule.required_by}" is neither "law" nor "profile"; leave it out '
            "where nobody requires the reading."
        )
    if rule.subject not in columns:
        raise SettingsError(
            f'{place.at("subject")}: unknown subject "{rule.subject}"; known: {", ".join(sorted(columns))}.'
        )
    spans = bool(rule.possible or rule.in_range)
    if sum([spans, bool(rule.law), bool(rule.one_of), rule.equals is not None, rule.present]) != 1:
        raise SettingsError(f"{place.at()}: give one of law, possible/in_range, one_of, equals and present.")
    _check_law(rule, place)
    _check_spans(rule, place)
    _check_columns(rule, columns, place)


def _check_columns(rule: Rule, columns: Columns, place: TomlLocation) -> None:
    known = columns[rule.subject]
    named = _columns_named(rule)
    unknown = sorted({name for names in named.values() for name in names} - known.keys())
    if unknown:
        key = next((key for key in place.keys if unknown[0] in named.get(key, ())), None)
        raise SettingsError(
            f'{place.at(key)}: subject "{rule.subject}" has no column "{unknown[0]}"; it has {", ".join(known)}.'
        )
    words = [column for column in (*rule.compared, *([rule.u] if rule.u else [])) if rule.spans and not known[column]]
    if words:
        raise SettingsError(f'{place.at("column")}: column "{words[0]}" holds no numbers, so no span can bound it.')


def _columns_named(rule: Rule) -> dict[str, tuple[str, ...]]:
    """Key of a rule -> the columns that it names."""
    single = {key: getattr(rule, key) for key in ("column", "shows", "u", "dated", "equals")}
    named: dict[str, tuple[str, ...]] = {key: (name,) for key, name in single.items() if name}
    named |= {"where": tuple(rule.where), "where_known": rule.where_known}
    for key in ("law", "possible", "in_range"):
        named[key] = tuple(name for end in getattr(rule, key) for name in bound(end).columns)
    return named


def _check_law(rule: Rule, place: TomlLocation) -> None:
    if rule.law and not rule.u:
        raise SettingsError(
            f"{place.at('law')}: a legal limit needs u, the column of the value's standard uncertainty."
        )
    if rule.u and not rule.law:
        raise SettingsError(f"{place.at('u')}: u belongs to a legal limit (law); this rule has none.")
    if rule.guard not in GUARDS:
        raise SettingsError(f'{place.at("guard")}: guard "{rule.guard}" is none of {", ".join(GUARDS)}.')
    if rule.coverage < 0:
        raise SettingsError(f"{place.at('coverage')}: coverage {rule.coverage:g} is below 0.")
    if bool(rule.in_force_from or rule.in_force_until) != bool(rule.dated):
        raise SettingsError(f"{place.at('dated')}: dates of force and the column of the date (dated) go together.")
    if rule.in_force_from and rule.in_force_until and rule.in_force_from >= rule.in_force_until:
        raise SettingsError(f"{place.at('in_force_until')}: the rule was never in force.")


def _check_spans(rule: Rule, place: TomlLocation) -> None:
    for key in ("law", "possible", "in_range"):
        span = getattr(rule, key)
        if span and len(span) != 2:
            raise SettingsError(f"{place.at(key)}: {key} needs a lower and an upper bound, found {list(span)}.")
    keys = {"out": "law" if rule.law else "possible", "doubtful": "law" if rule.law else "in_range"}
    try:
        spans = rule.spans
    except ValueError as error:
        raise SettingsError(
            f"{place.at(next((k for k in keys.values() if k in place.keys), None))}: {error}."
        ) from error
    for answer, (low, high) in spans.items():
        if low.is_open and high.is_open:
            raise SettingsError(f"{place.at(keys[answer])}: a span open on both sides can never fail.")
        if low.number is not None and high.number is not None and low.number > high.number:
            raise SettingsError(f"{place.at(keys[answer])}: the span {low.number:g} to {high.number:g} holds no value.")
    if len(spans) == 2:
        _check_nested(spans["out"], spans["doubtful"], place)


def _check_nested(possible: tuple[Bound, Bound], in_range: tuple[Bound, Bound], place: TomlLocation) -> None:
    """in_range lies inside possible, as far as both are numbers."""
    for side, sign in ((0, 1.0), (1, -1.0)):
        outer, inner = possible[side].number, in_range[side].number
        if outer is not None and inner is not None and sign * inner < sign * outer:
            raise SettingsError(
                f"{place.at('in_range')}: in_range {inner:g} lies outside possible {outer:g}; it must lie inside."
            )
