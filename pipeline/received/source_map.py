"""Source maps: how one device's export reads, as frozen records from TOML. One reader serves all of them."""

import fnmatch
import hashlib
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from gaugebook.pipeline.errors import FileRefused, SettingsError
from gaugebook.pipeline.house.settings import build

FORMATS = ("csv", "xlsx")
ENCODINGS = ("utf-8", "utf-16", "cp1252")


@dataclass(frozen=True)
class Read:
    """How the file's bytes become rows of text."""

    format: str
    encoding: str = "utf-8"
    separator: str = ","
    decimal: str = "."
    thousands: str = ""
    blank: tuple[str, ...] = ()  # what the device writes where it has no value: "---", "NaN", "-127.00"
    header_line: int = 1
    header_rows: int = 1  # rows that make up the header, the last of them at header_line
    skip_after_header: int = 0


@dataclass(frozen=True)
class Column:
    """Where a field comes from: the file's column and how its text is to be understood."""

    column: str
    also: str | None = None  # a second column, put behind the first with a blank between: date and time apart
    unit: str | None = None
    units: dict[str, str] = field(default_factory=dict)  # unit by (looked up) tag or analyte
    lookup: dict[str, str] = field(default_factory=dict)  # device's word to ours; keys compare without case
    time: str | None = None  # strptime pattern, "iso", "excel" or "epoch_s"
    zone: str | None = None  # zone of naive times; the house's where omitted
    take: str | None = None  # regular expression with one group: what of the cell is meant; blank where it does not fit
    less: str | None = None  # a column whose number is taken off: broken bottles of those filled; a blank is none
    age_at: str | None = None  # the cell is an age, years-months-days; the time is that before this field


@dataclass(frozen=True)
class Constant:
    """A number that the map gives for every row: as it is in the field's own unit, or with the unit that it is in."""

    value: float
    unit: str | None = None


@dataclass(frozen=True)
class Where:
    """Which rows a section takes; the others are counted as passed over."""

    column: str
    matches: str | None = None
    not_matches: str | None = None


@dataclass(frozen=True)
class Section:
    """One kind of record that the file holds."""

    kind: str
    header: tuple[str, ...]
    sheet: str | None = None
    header_line: int | None = None
    where: tuple[Where, ...] = ()  # one condition, or a list of which all must hold
    may_be_missing: bool = False  # a workbook may come without this sheet
    constants: dict[str, Any] = field(default_factory=dict)
    columns: dict[str, Column] = field(default_factory=dict)
    wide: dict[str, Column] = field(default_factory=dict)

    def column_names(self) -> list[str]:
        """Every column of the file that this section names, in order, each once."""
        taken = [*self.columns.values(), *self.wide.values()]
        named = [*(item.column for item in taken), *(item.also for item in taken if item.also)]
        named += [item.less for item in taken if item.less]
        return list(dict.fromkeys([*self.header, *named, *(item.column for item in self.where)]))


@dataclass(frozen=True)
class SourceMap:
    """A device's export: which files, how to read them, which records they hold."""

    name: str
    text: str
    describes: str
    files: tuple[str, ...]
    read: Read
    records: tuple[Section, ...]

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.text.encode()).hexdigest()

    def takes(self, file_name: str) -> bool:
        """Whether the file's own name, with or without .gz, fits one of the map's patterns."""
        name = file_name.lower()
        names = (name, name.removesuffix(".gz"))
        return any(fnmatch.fnmatch(spelling, pattern.lower()) for spelling in names for pattern in self.files)


def read_maps(folder: Path, kinds: tuple[str, ...]) -> list[SourceMap]:
    """All source maps of a folder, in order of name.

    Raises
    ------
    SettingsError
        If the folder is missing or a map says something that cannot be.
    """
    if not folder.is_dir():
        raise SettingsError(
            f'The folder of source maps "{folder}" is missing; make it or mend maps in the house profile.'
        )
    maps = [_read_map(path, kinds) for path in sorted(folder.glob("*.toml"))]
    if not maps:
        raise SettingsError(f'The folder "{folder}" holds no source map (*.toml); write one for each device.')
    return maps


def _read_map(path: Path, kinds: tuple[str, ...]) -> SourceMap:
    try:
        text = path.read_text(encoding="utf-8")
        table = tomllib.loads(text)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{path}: not a readable TOML file: {error}.") from error
    if taken := {"name", "text"} & table.keys():
        raise SettingsError(f'{path}: unknown key "{min(taken)}"; a map is named for its file.')
    records = table.get("records", [])
    if not isinstance(records, list):
        raise SettingsError(f"{path}: records: expected a list of tables, found {records!r}.")
    table["records"] = [_with_columns(section, path, f"records[{n}]") for n, section in enumerate(records, start=1)]
    source_map: SourceMap = build(SourceMap, {"name": path.stem, "text": text, **table}, str(path))
    _check(source_map, path, kinds)
    return source_map


def _with_columns(section: Any, path: Path, where: str) -> dict[str, Any]:
    """A section whose columns are records, where the map names some by their column alone."""
    _require_table(section, f"{path}: {where}")
    with_columns = dict(section)
    if isinstance(with_columns.get("where"), dict):
        with_columns["where"] = [with_columns["where"]]
    for group in ("columns", "wide"):
        columns = section.get(group, {})
        _require_table(columns, f"{path}: {group}")
        with_columns[group] = {
            name: build(Column, {"column": item} if isinstance(item, str) else item, f"{path}: {group}.{name}")
            for name, item in columns.items()
        }
    return with_columns


def _require_table(value: Any, where: str) -> None:
    if not isinstance(value, dict):
        raise SettingsError(f"{where}: expected a table, found {value!r}.")


def _check(source_map: SourceMap, path: Path, kinds: tuple[str, ...]) -> None:
    """Contradictions that types cannot see."""
    read = source_map.read
    if read.format not in FORMATS:
        raise SettingsError(f'{path}: read.format "{read.format}" is none of {", ".join(FORMATS)}.')
    if read.encoding not in ENCODINGS:
        raise SettingsError(f'{path}: read.encoding "{read.encoding}" is none of {", ".join(ENCODINGS)}.')
    is_mark = len(read.separator) == 1 and read.separator.isascii() and read.separator not in '"\r\n\0'
    if read.format == "csv" and not is_mark:
        raise SettingsError(
            f'{path}: read.separator must be one ASCII character and no quote, found "{read.separator}".'
        )
    if not 1 <= read.header_rows <= read.header_line:
        raise SettingsError(f"{path}: header_rows must be 1 to header_line, found {read.header_rows}.")
    if read.decimal == read.thousands:
        raise SettingsError(f'{path}: decimal and thousands are both "{read.decimal}".')
    if not source_map.records or not source_map.files:
        raise SettingsError(f"{path}: a map needs at least one pattern in files and one [[records]] section.")
    for section in source_map.records:
        where = f"{path}: records of {section.kind}"
        if section.kind not in kinds:
            raise SettingsError(f'{path}: kind "{section.kind}" is none of {", ".join(kinds)}.')
        if not section.header:
            raise SettingsError(f"{where}: header must name at least one column that the header row holds.")
        if (read.format == "xlsx") != (section.sheet is not None):
            raise SettingsError(f"{where}: a workbook's section names its sheet, a text file's does not.")
        if section.may_be_missing and section.sheet is None:
            raise SettingsError(f"{where}: may_be_missing is for the sheet of a workbook.")
        for condition in section.where:
            _check_where(condition, where)
        for name, column in {**section.columns, **section.wide}.items():
            if column.take is not None:
                _check_take(column.take, f"{where}: {name}")


def _check_where(condition: Where, where: str) -> None:
    pattern = condition.matches if condition.matches is not None else condition.not_matches
    if pattern is None or (condition.matches is not None and condition.not_matches is not None):
        raise SettingsError(f"{where}: where needs one of matches and not_matches.")
    try:
        re.compile(pattern)
    except re.error as error:
        raise SettingsError(f'{where}: "{pattern}" is no regular expression: {error}.') from error


def _check_take(pattern: str, where: str) -> None:
    try:
        groups = re.compile(pattern).groups
    except re.error as error:
        raise SettingsError(f'{where}: "{pattern}" is no regular expression: {error}.') from error
    if groups != 1:
        raise SettingsError(f'{where}: take = "{pattern}" needs one group in parentheses: what of the cell is meant.')


def constant_of(given: Any, where: str = "constant") -> Constant:
    """A constant of a number as the map writes it: `12.5`, or `{ value = 3.3, unit = "US gal" }`.

    Raises
    ------
    SettingsError
        If it is neither.
    """
    return build(Constant, given if isinstance(given, dict) else {"value": given}, where)


def maps_for(path: Path, maps: list[SourceMap]) -> list[SourceMap]:
    """The source maps whose name patterns take this file.

    Raises
    ------
    FileRefused
        If none does.
    """
    fitting = [item for item in maps if item.takes(path.name)]
    if not fitting:
        known = ", ".join(sorted({pattern for item in maps for pattern in item.files}))
        raise FileRefused(
            "file.no-map",
            f'"{path}": no source map takes a file of this name (known patterns: {known}); '
            f'write one for it, beginning with "gaugebook map draft {path}".',
        )
    return fitting
