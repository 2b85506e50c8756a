"""A file of one row, its source map, and what becomes of the row; no book is made."""

import json
from pathlib import Path
from typing import Any

from gaugebook.pipeline.landed.tables import open_tables
from gaugebook.pipeline.received.content import FileAtRest
from gaugebook.pipeline.received.source_map import SourceMap, read_maps
from gaugebook.pipeline.typed.dst_fold import LogClock
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.map_validation import validate_maps
from gaugebook.pipeline.typed.section import TypedSection, type_section


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(key)} = {_toml(item)}" for key, item in value.items()) + " }"
    return json.dumps(value)


def written(folder: Path, kind: str, section: dict[str, Any], row: dict[str, str]) -> tuple[Path, SourceMap]:
    """The map and the file of one row, and the map as it is read."""
    tables = "".join(
        f"[records.{group}]\n"
        + "".join(f"{json.dumps(name)} = {_toml(item)}\n" for name, item in section[group].items())
        for group in ("constants", "columns", "wide")
        if section.get(group)
    )
    header = json.dumps(list(row)[:1])
    (folder / "one.toml").write_text(
        'describes = "One row (invented)"\nfiles = ["one.csv"]\n[read]\nformat = "csv"\n'
        f'[[records]]\nkind = "{kind}"\nheader = {header}\n{tables}',
        encoding="utf-8",
    )
    (folder / "one.csv").write_text(",".join(row) + "\n" + ",".join(row.values()) + "\n", encoding="utf-8")
    maps = read_maps(folder, tuple(RECORDS))
    validate_maps(maps)
    return folder / "one.csv", maps[0]


def typed(path: Path, source_map: SourceMap) -> TypedSection:
    """Records and refusals of the file, as it is received."""
    (table,) = open_tables(FileAtRest(path), path.name, source_map)
    rows = next(table.rows)
    return type_section(rows, table.header, source_map.records[0], source_map.read, "UTC", LogClock())
