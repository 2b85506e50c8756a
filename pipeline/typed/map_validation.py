"""Do the source maps fit the records? Asked once, before any file is read."""

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.received.source_map import Section, SourceMap
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.record import Record
from gaugebook.pipeline.typed.unit_fits import check_units, states_units


def validate_maps(maps: list[SourceMap]) -> None:
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
                _check_wide(section, record, where)
                given |= {str(record.spread_over), "value"}
            given |= states_units(section)
            missing = [item.name for item in record.fields if item.required and item.name not in given]
            if missing:
                raise SettingsError(
                    f'{where}: the field "{missing[0]}" is needed; map a column to it or set a constant.'
                )
            check_units(section, where)
            for name, column in section.columns.items():
                if column.age_at is not None and _type_of(record, column.age_at) != "time":
                    raise SettingsError(f'{where}: {name}: age_at "{column.age_at}" is no time of these records.')


def _type_of(record: Record, name: str) -> str | None:
    return next((item.type for item in record.fields if item.name == name), None)


def _check_wide(section: Section, record: Record, where: str) -> None:
    """Wide columns are named by words that the record's field can have."""
    if record.spread_over is None:
        spread = " and ".join(kind for kind, item in RECORDS.items() if item.spread_over)
        raise SettingsError(f"{where}: wide is for {spread} only.")
    known = record.field(record.spread_over).choices
    strange = [name for name in section.wide if known and name not in known]
    if strange:
        raise SettingsError(f'{where}: "{strange[0]}" is no {record.spread_over}; known: {", ".join(known)}.')
