"""Do the source maps fit the records? Asked once, before any file is read."""

from pipeline.engineering.units import UNITS, house_unit
from pipeline.errors import SettingsError
from pipeline.received.source_map import Column, Section, SourceMap
from pipeline.typed.kinds import RECORDS
from pipeline.typed.readings import TAGS


def check_maps(maps: list[SourceMap]) -> None:
    """Refuse a map that names a field the record does not have, or leaves out one that it needs.

    Raises
    ------
    SettingsError
        Naming map, kind and field.
    """
    for source_map in maps:
        for section in source_map.records:
            record = RECORDS[section.kind]
            where = f"source map {source_map.name}, records of {section.kind}"
            known = {item.name for item in record.fields}
            given = {*section.columns, *section.constants}
            unknown = sorted(given - known)
            if unknown:
                raise SettingsError(f'{where}: "{unknown[0]}" is no field; known: {", ".join(sorted(known))}.')
            if section.wide:
                given |= {str(record.spread_over), "value"}
                given |= {"unit"} if all(column.unit for column in section.wide.values()) else set()
            missing = [item.name for item in record.fields if item.required and item.name not in given]
            if missing:
                raise SettingsError(
                    f'{where}: the field "{missing[0]}" is needed; map a column to it or set a constant.'
                )
            _check_units(section, where)
            if section.kind == "readings":
                _check_tags(section.wide, where)


def _check_units(section: Section, where: str) -> None:
    """Each column's unit must be a known one of the same quantity as the field's own."""
    record = RECORDS[section.kind]
    for name, column in section.columns.items():
        own = {name: record.field(name).unit}
        if name == "value" and section.kind == "laboratory":
            own = {name: section.constants.get("unit")}
        if name == "value" and section.kind == "readings":
            own = {tag: TAGS.get(tag, (None, None))[0] for tag in column.units}
        for field_name, field_unit in own.items():
            _check_unit(column.units.get(field_name, column.unit), field_unit, f"{where}, {field_name}")
    if section.kind == "readings":
        for tag, column in section.wide.items():
            _check_unit(column.unit, TAGS.get(tag, (None, None))[0], f"{where}, {tag}")


def _check_unit(given: str | None, own: str | None, where: str) -> None:
    if given is None or given == own:
        return
    if given not in UNITS:
        raise SettingsError(f'{where}: "{given}" is no unit; known: {", ".join(UNITS)}.')
    if own is None or own not in UNITS or house_unit(given) != house_unit(own):
        raise SettingsError(
            f'{where}: the unit "{given}" cannot be turned into {own or "this field, which has no unit"}.'
        )


def _check_tags(wide: dict[str, Column], where: str) -> None:
    strange = [name for name in wide if name not in TAGS]
    if strange:
        raise SettingsError(f'{where}: "{strange[0]}" is no tag; known: {", ".join(TAGS)}.')
