"""Where in a TOML file a table and its keys stand, so that what is wrong with them can be shown to a line."""

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import build

_KEY = re.compile(r"([A-Za-z_][\w-]*)\s*=")


@dataclass(frozen=True)
class TomlLocation:
    """A table of a file: its name, its first line and the lines of its keys."""

    file: str
    name: str
    line: int | None
    keys: dict[str, int]

    def at(self, key: str | None = None) -> str:
        """File, line and name, for the beginning of a sentence; the line is that of the key where it stands there.

        Examples
        --------
        >>> TomlLocation("rules/lots.toml", "lot-unknown", 3, {"column": 6}).at("column")
        'rules/lots.toml:6: lot-unknown'
        """
        return f"{self.before_name(key)}{self.name}"

    def before_name(self, key: str | None = None) -> str:
        """File and line, as `at` has them before the name."""
        line = self.keys.get(key or "", self.line)
        return f"{self.file}:{line}: " if line else f"{self.file}: "


def read_toml(path: Path, label: str) -> dict[str, Any]:
    """The file's content.

    Raises
    ------
    SettingsError
        If it cannot be read or is no TOML; the sentence names file and line.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{label}: cannot be read: {error}.") from error
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{label}:{_first_unreadable_line(text)}: cannot be read: {error}.") from error


def _first_unreadable_line(text: str) -> int:
    """The line in which the statement begins that is no TOML: all before it can be read.

    Examples
    --------
    >>> _first_unreadable_line("a = 1\\nb = [\\n 2,\\n x]\\n")
    2
    """
    lines = text.splitlines(keepends=True)
    return 1 + next(count for count in reversed(range(len(lines))) if _is_toml("".join(lines[:count])))


def _is_toml(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def tables(path: Path, label: str, key: str, named_by: str) -> list[tuple[dict[str, Any], TomlLocation]]:
    """The tables [[key]] of a file, each with its place; what else stands in the file is for others to read.

    Raises
    ------
    SettingsError
        If there is none.
    """
    entries = read_toml(path, label).get(key)
    if not isinstance(entries, list) or not entries:
        raise SettingsError(f"{label}: expected [[{key}]], found none.")
    lines = path.read_text(encoding="utf-8").splitlines()
    starts = [number for number, line in enumerate(lines, start=1) if line.strip().startswith(f"[[{key}]]")]
    ends = [*starts[1:], len(lines) + 1]
    return [
        (table, TomlLocation(label, str(table.get(named_by, f"number {number}")), start, _keys(lines, start, end)))
        for number, (table, start, end) in enumerate(zip(entries, starts, ends, strict=True), start=1)
    ]


def build_at(record: type, table: dict[str, Any], place: TomlLocation) -> Any:
    """`pipeline.house.settings.build`, with the line of the key at fault in the sentence."""
    try:
        return build(record, table, place.name)
    except SettingsError as error:
        raise SettingsError(f"{place.before_name(error.key)}{error}", error.key) from error


def _keys(lines: list[str], start: int, end: int) -> dict[str, int]:
    """Key -> line, of the first time that it stands between two lines."""
    keys: dict[str, int] = {}
    for number in range(start, end):
        match = _KEY.match(lines[number - 1].strip())
        if match:
            keys.setdefault(match[1], number)
    return keys
