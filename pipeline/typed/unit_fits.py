"""Does each number of a source map come in a unit that measures it, and is that unit said once?"""

from typing import Any

from gaugebook.pipeline.engineering.unit_words import why_not
from gaugebook.pipeline.engineering.units import UNITS
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.received.source_map import Column, Section, constant_of
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.quantities import quantity
from gaugebook.pipeline.typed.record import Field


def states_units(section: Section) -> set[str]:
    """Fields of units that need no column of their own, because the columns of the numbers say their units."""
    record = RECORDS[section.kind]
    stated = set()
    for name in {item.unit_field for item in record.fields if item.unit_field}:
        numbers = [item for item in record.fields if item.unit_field == name]
        columns = [column for item in numbers for column in _columns(section, item).values()]
        constants = [section.constants[item.name] for item in numbers if item.name in section.constants]
        own = [*(column.unit or column.units for column in columns), *(constant_of(item).unit for item in constants)]
        if own and all(own):
            stated.add(str(name))
    return stated


def check_units(section: Section, where: str) -> None:
    """Refuse units that do not measure their number, are said twice, or stand where no number is.

    Raises
    ------
    SettingsError
        Naming map, kind, field and unit, and the units that would do.
    """
    record = RECORDS[section.kind]
    for item in record.fields:
        if item.type in ("number", "integer"):
            _check_number(section, item, where)
            continue
        column = section.columns.get(item.name)
        if column is not None and (column.unit or column.units):
            raise SettingsError(f'{where}, {item.name}: the unit "{column.unit or ""}" has no number to go with.')
        if isinstance(section.constants.get(item.name), dict):
            raise SettingsError(f"{where}, {item.name}: expected a plain {item.type}; a unit goes with numbers only.")
    for name in {item.unit_field for item in record.fields if item.unit_field}:
        _check_stated(section, str(name), where)


def _columns(section: Section, item: Field) -> dict[str | None, Column]:
    """Columns of a field, by the word of the rows where the map's columns are spread over it."""
    if section.wide and item.name == "value":
        return {word: column for word, column in section.wide.items()}  # noqa: C416 - of words or None
    return {None: section.columns[item.name]} if item.name in section.columns else {}


def _check_number(section: Section, item: Field, where: str) -> None:
    place = f"{where}, {item.name}"
    if item.name in section.constants:
        _check_constant(section, item, place)
    for spread, column in _columns(section, item).items():
        words: list[str | None] = [spread] if spread else _words(section, item)
        if column.units:
            _check_units_by_word(section, item, column, place)
        if column.unit and column.unit not in UNITS:
            raise SettingsError(f'{place}: the unit "{column.unit}" {why_not(column.unit)}; known: {_list(UNITS)}.')
        stated = section.constants.get(item.unit_field or "")
        for word in words:
            _check_fit(item, word, column.units.get(word or "", column.unit) or stated, _place(place, word))
        if item.unit_field:
            _check_said_once(section, item, column, _place(place, spread))


def _place(place: str, word: str | None) -> str:
    return f"{place} of {word}" if word else place


def _words(section: Section, item: Field) -> list[str | None]:
    """Words that rows can have by which this number goes, as far as the map says; None where it goes by no word."""
    if item.goes_by is None:
        return [None]
    if item.goes_by in section.constants:
        return [str(section.constants[item.goes_by])]
    column = section.columns.get(item.goes_by)
    return list(dict.fromkeys(column.lookup.values())) if column and column.lookup else []


def _check_fit(item: Field, word: str | None, given: Any, place: str) -> None:
    own = quantity(item, word, given)
    problem = own.misfit(given)
    if problem:
        raise SettingsError(f"{place}: {problem}; expected {own.fitting}.")


def _check_units_by_word(section: Section, item: Field, column: Column, place: str) -> None:
    if item.goes_by is None:
        raise SettingsError(
            f"{place}: units goes by tag, analyte or kind of reading, and this number by none; write unit."
        )
    for word, unit in column.units.items():
        known = RECORDS[section.kind].field(item.goes_by).choices  # none: results are of any analyte
        if known and word not in known:
            raise SettingsError(f'{place}: units names "{word}", which is no {item.goes_by}; known: {_list(known)}.')
        _check_fit(item, word, unit, _place(place, word))


def _check_said_once(section: Section, item: Field, column: Column, place: str) -> None:
    """A unit of the column, one of each row and a constant one may contradict each other, so one of them says it."""
    own = [*([column.unit] if column.unit else []), *column.units.values()]
    if not own:
        return
    if item.unit_field in section.columns:
        raise SettingsError(
            f'{place}: the unit "{own[0]}" stands with this column, and "{section.columns[item.unit_field].column}" '
            "gives one for each row; leave one of them out."
        )
    constant = section.constants.get(str(item.unit_field))
    other = next((unit for unit in own if constant is not None and unit != constant), None)
    if other is not None:
        raise SettingsError(
            f'{place}: the unit is "{other}" by this column and "{constant}" by the constant; say it once.'
        )


def _check_stated(section: Section, name: str, where: str) -> None:
    """Units that the map itself writes for rows: the constant, and what a lookup turns the device's words into."""
    column = section.columns.get(name)
    for unit in [
        *([section.constants[name]] if name in section.constants else []),
        *(column.lookup if column else {}).values(),
    ]:
        if unit not in UNITS:
            raise SettingsError(f'{where}, {name}: the unit "{unit}" {why_not(str(unit))}; known: {_list(UNITS)}.')


def _check_constant(section: Section, item: Field, place: str) -> None:
    constant = constant_of(section.constants[item.name], place)
    stated = section.constants.get(item.unit_field or "")
    if constant.unit and stated and constant.unit != stated:
        raise SettingsError(f'{place}: the unit is "{constant.unit}" here and "{stated}" by the constant; say it once.')
    if constant.unit and item.unit_field in section.columns:
        raise SettingsError(
            f'{place}: the unit "{constant.unit}" stands with this constant, and a column gives one too.'
        )
    given = constant.unit or stated
    for word in _words(section, item):
        _check_fit(item, word, given, _place(place, word))
        own = quantity(item, word, given)
        value = own.value_in_own_unit(constant.value, given)
        least, greatest = own.possible or (float("-inf"), float("inf"))
        if value is None or not least <= value <= greatest:
            raise SettingsError(f"{place}: {constant.value:g} cannot be; expected {own.span(given)}.")
        if item.type == "integer" and value != round(value):
            raise SettingsError(f"{place}: {constant.value:g} is no whole number.")


def _list(words: Any) -> str:
    return ", ".join(words)
