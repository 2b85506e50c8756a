"""Delimited text: bytes to numbered rows of cells."""

import codecs
import csv
import io
from pathlib import Path

from pipeline.errors import FileRefused
from pipeline.received.source_map import Read

WIDEST_CELL = 100_000  # characters; a longer one is a broken quote, not a value


def numbered_rows(path: Path, content: bytes, read: Read) -> list[tuple[int, list[str]]]:
    """Each row with the line on which it begins.

    Raises
    ------
    FileRefused
        If the bytes are not text in the map's encoding or the quoting is broken.
    """
    text = _decode(path, content, read.encoding)
    csv.field_size_limit(WIDEST_CELL)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=read.separator, strict=True)
    rows = []
    begins_at = 1
    try:
        for cells in reader:
            rows.append((begins_at, cells))
            begins_at = reader.line_num + 1
    except csv.Error as error:
        raise FileRefused(
            "file.broken-text",
            f'"{path}", line {reader.line_num}: cannot be split into cells ({error}); mend the line.',
        ) from error
    return rows


def _decode(path: Path, content: bytes, encoding: str) -> str:
    if encoding == "utf-8":
        content = content.removeprefix(codecs.BOM_UTF8)
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise FileRefused(
            "file.encoding",
            f'"{path}", line {line}: the byte 0x{content[error.start]:02X} is not {encoding} text; '
            "name the right encoding in the source map.",
        ) from error
    if "\0" in text:
        line = text[: text.index("\0")].count("\n") + 1
        raise FileRefused("file.not-text", f'"{path}", line {line}: holds a NUL character, so it is not a text export.')
    return text
