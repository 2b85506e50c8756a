"""A first source map for a file that none takes yet: guesses, and as comments what only a person can answer."""

import codecs
import csv
import gzip
import io
import re
import zlib
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from gaugebook.pipeline.engineering.units import UNITS
from gaugebook.pipeline.errors import FileRefused
from gaugebook.pipeline.intake.map_layout import HeaderPlace, Marks, header_place, marks_of, names_of, time_pattern
from gaugebook.pipeline.landed.workbook import Workbook
from gaugebook.pipeline.typed.cells import numbers
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.movements import MOVEMENTS

LOOKED_AT_BYTES = 200_000
LOOKED_AT_LINES = 200
# Parts of a file's name that change from export to export, beside a running number at its end.
CHANGING_PARTS = (
    r"(?<!\d)(?:19|20)\d\d[-_.]?(?:0[1-9]|1[0-2])(?:[-_.]?(?:[0-2]\d|3[01]))?(?!\d)",
    r"(?<!\d)(?:[0-2]\d|3[01])[-_.]?(?:0[1-9]|1[0-2])[-_.]?(?:19|20)\d\d(?!\d)",
    r"(?<!\d)(?:19|20)\d\d[-_]?w\d\d(?!\d)",
    r"(?<=[*])[-_t. ]?(?:[01]\d|2[0-3])[-_.h]?[0-5]\d(?:[-_.m]?[0-5]\d)?(?!\d)",  # a time of day behind a date
    r"(?<![a-z\d])\d+(?=\)?$)",
)
EXCEL_DATE = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d(\.\d+)?")
UNSEEN = {0xA0: "\\u00a0", 0x202F: "\\u202f"}  # blanks that look like any other are written by number
# Words of devices for our fields, beside the fields' own names.
WORDS = {
    "batch": "lot", "charge": "lot", "lot no": "lot", "sample id": "sample", "sample no": "sample",
    "vol": "volume_at_t_l", "volume": "volume_at_t_l", "result": "value", "parameter": "analyte",
    "operator": "operator", "vessel": "vessel", "tank": "vessel", "start": "started_at", "end": "ended_at",
    "stop": "ended_at", "weight": "mass_kg", "mass": "mass_kg", "tag": "tag", "time": "read_at",
    "timestamp": "read_at", "date": "read_at", "supplier": "supplier",
}  # fmt: skip


@dataclass(frozen=True)
class Guess:
    """What a look at the file suggests."""

    format: str
    encoding: str
    separator: str
    marks: Marks
    place: HeaderPlace
    header: list[str]
    columns: list[list[str]]  # the first values of each column
    sheet: str | None
    other_sheets: list[str]


def draft(path: Path) -> str:
    """The text of a first source map.

    Raises
    ------
    FileRefused
        If the file cannot be read as text or as a workbook, or no header row can be found.
    """
    guess = _look(path)
    times = {name: _time_of(values, guess.format) for name, values in zip(guess.header, guess.columns, strict=True)}
    kind, fields = _kind(guess, times)
    return "\n".join([*_head(path, guess), *_section(guess, kind, fields, times)]) + "\n"


def _look(path: Path) -> Guess:
    content, is_cut = _first_bytes(path)
    if content.startswith(b"PK"):
        book = Workbook(path, f'"{path}"')
        rows_of = {name: book.rows(name) for name in book.sheets}
        sheet = max(book.sheets, key=lambda name: len(rows_of[name]))
        others = [name for name in book.sheets if name != sheet]
        return _shape(path, rows_of[sheet][:LOOKED_AT_LINES], "xlsx", "utf-8", ",", sheet, others)
    text, encoding = _decode(path, content, is_cut)
    lines = text.splitlines()
    lines = (lines[:-1] if is_cut and len(lines) > 1 else lines)[:LOOKED_AT_LINES]
    separator = max(",;\t|", key=lambda mark: _regularity(lines, mark))
    try:
        rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=separator))
    except csv.Error as error:
        raise FileRefused("file.broken-text", f'"{path}": cannot be split into cells ({error}).') from error
    return _shape(path, rows, "csv", encoding, separator, None, [])


def _first_bytes(path: Path) -> tuple[bytes, bool]:
    """What the file begins with, unpacked where it is packed by gzip, and whether more follows."""
    with path.open("rb") as stream:
        is_packed = stream.read(2) == b"\x1f\x8b"
        stream.seek(0)
        try:
            content = (gzip.GzipFile(fileobj=stream) if is_packed else stream).read(LOOKED_AT_BYTES + 1)
        except (OSError, EOFError, zlib.error) as error:
            raise FileRefused("file.not-gzip", f'"{path}": is no sound gzip file ({error}).') from error
    if is_packed and content.startswith(b"PK"):
        raise FileRefused("file.not-text", f'"{path}" is a packed workbook; unpack it first.')
    return content[:LOOKED_AT_BYTES], len(content) > LOOKED_AT_BYTES


def _shape(
    path: Path, rows: list[list[str]], form: str, encoding: str, separator: str, sheet: str | None, others: list[str]
) -> Guess:
    place = header_place(rows)
    if place is None:
        raise FileRefused("file.no-header", f'"{path}": no header row was found in its first {len(rows)} lines.')
    header = names_of(rows[place.line - place.rows : place.line])
    data = [row for n, row in enumerate(rows, start=1) if n > place.line + place.skip and n not in place.odd_lines]
    columns = [[row[n].strip() for row in data if n < len(row) and row[n].strip()] for n in range(len(header))]
    marks = marks_of([cell for column in columns for cell in column])
    return Guess(form, encoding, separator, marks, place, header, columns, sheet, others)


def _decode(path: Path, content: bytes, is_cut: bool) -> tuple[str, str]:
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content[: len(content) // 2 * 2].decode("utf-16", errors="replace"), "utf-16"
    if b"\0" in content:
        raise FileRefused("file.not-text", f'"{path}" is neither text nor a workbook; export it as CSV.')
    try:
        return content.decode("utf-8-sig"), "utf-8"
    except UnicodeDecodeError as error:
        if is_cut and error.start > len(content) - 4:  # a character cut in two at the end of what was looked at
            return content[: error.start].decode("utf-8-sig"), "utf-8"
        return content.decode("cp1252", errors="replace"), "cp1252"


def _regularity(lines: list[str], mark: str) -> tuple[int, int]:
    """How many lines share the commonest count of a mark, and that count."""
    counts = [line.count(mark) for line in lines if line.count(mark)]
    if not counts:
        return (0, 0)
    commonest = max(set(counts), key=counts.count)
    return (counts.count(commonest), commonest)


def _time_of(values: list[str], form: str) -> str | None:
    """How a column's times are written; dates in cells of a workbook come with seconds, however it shows them."""
    if form == "xlsx" and values and all(EXCEL_DATE.fullmatch(value) for value in values[:20]):
        return "excel"
    return time_pattern(values)


def _kind(guess: Guess, times: dict[str, str | None]) -> tuple[str, dict[str, str]]:
    """The record kind whose fields the header resembles most, and which column each field would take."""
    numeric = [name for name, values in zip(guess.header, guess.columns, strict=True) if _is_numeric(values, guess)]
    others = len(guess.header) - len(numeric)  # of a log the time, and perhaps a remark
    if any(times.values()) and (others <= 1 or (len(numeric) >= 3 and others <= 2)):
        log = next(record for record in RECORDS.values() if record.is_log)
        time = next(item.name for item in log.fields if item.type == "time")
        return log.kind, {time: next(name for name, how in times.items() if how)}
    best: tuple[str, dict[str, str]] = (MOVEMENTS.kind, {})  # the kind that most tables without a known word hold
    for kind, record in RECORDS.items():
        fields = {item.name: item for item in record.fields}
        taken: dict[str, str] = {}
        for name in guess.header:
            field = _field_like(name, list(fields))
            if field and field not in taken and (fields[field].type == "time") == bool(times.get(name)):
                taken[field] = name
        if len(taken) > len(best[1]):
            best = (kind, taken)
    return best


def _is_numeric(values: list[str], guess: Guess) -> bool:
    return bool(values) and len(_unread(values[:20], guess)) <= len(values[:20]) // 5


def _unread(values: list[str], guess: Guess) -> list[str]:
    """The cells that are no numbers with the marks that are drafted."""
    import polars as pl

    texts = pl.Series([value.lstrip("< ") for value in values], dtype=pl.String)
    read = numbers(texts, guess.marks.decimal, guess.marks.thousands)
    return [value for value, number in zip(values, read, strict=True) if number is None]


def _field_like(name: str, fields: list[str]) -> str | None:
    plain = re.sub(r"[\(\[].*|[^a-z ]", "", name.lower().replace("_", " ")).strip()
    if WORDS.get(plain) in fields:
        return WORDS[plain]
    spoken = {field.rsplit("_", 1)[0].replace("_", " ") if "_" in field else field: field for field in fields}
    close = get_close_matches(plain, [*spoken, *fields], n=1, cutoff=0.75)
    return spoken.get(close[0], close[0]) if close else None


def _files(name: str) -> str:
    """A pattern of file names: what looks like a date, a month or a running number at the end changes.

    >>> _files("K1_2025-10.csv.gz"), _files("export 20251014_0830.csv"), _files("K1-15.csv"), _files("K1.csv")
    ('K1_*.csv', 'export *.csv', 'K1-*.csv', 'K1.csv')
    """
    stem, dot, suffix = name.removesuffix(".gz").rpartition(".")
    stem = re.sub(r"[\[?*]", r"[\g<0>]", stem or suffix)  # marks that patterns give another meaning
    for part in CHANGING_PARTS:
        stem = re.sub(part, "*", stem, flags=re.IGNORECASE)
    return re.sub(r"[*]([-_. ]?[*])+", "*", stem) + (dot + suffix if dot else "")


def _head(path: Path, guess: Guess) -> list[str]:
    lines = [
        f"# A first draft, from a look at {path.name}. Lines that ask something stand behind #?",
        'describes = ""  #? which device writes this, and how',
        f"files = [{_quoted(_files(path.name))}]  #? does this take its files and no others",
        "",
        "[read]",
        f'format = "{guess.format}"',
    ]
    if guess.format == "csv":
        lines += [f'encoding = "{guess.encoding}"', f"separator = {_quoted(guess.separator)}"]
    lines += [*_mark_lines(guess.marks), *_header_lines(guess.place)]
    words = sorted({cell for values in guess.columns if _is_numeric(values, guess) for cell in _unread(values, guess)})
    if words:
        lines.append(f"#? blank = [{', '.join(map(_quoted, words))}]  is that what the device writes for no value")
    if guess.other_sheets:
        others = ", ".join(map(_quoted, guess.other_sheets))
        lines.append(f"#? only the largest sheet is drafted; a section of its own, if wanted, for each of {others}")
    return lines


def _mark_lines(marks: Marks) -> list[str]:
    doubt = "" if marks.decimal_is_sure else "  #? or does it stand before thousands; no number of the sample tells"
    lines = [f'decimal = "{marks.decimal}"{doubt}']
    if marks.thousands:
        doubt = "" if marks.thousands_is_sure else "  #? or is it a decimal mark in some columns"
        lines.append(f"thousands = {_quoted(marks.thousands)}{doubt}")
    return lines


def _header_lines(place: HeaderPlace) -> list[str]:
    lines = [f"header_line = {place.line}"]
    if place.rows > 1:
        lines.append(f"header_rows = {place.rows}  #? are cells of the row above merged over several columns")
    if place.skip:
        lines.append(f"skip_after_header = {place.skip}  #? is that a row of units, and no data")
    for line in place.odd_lines:
        lines.append(
            f"#? skip_after_header = {line - place.line}  if line {line}, which holds text over numbers, is no data"
        )
    return lines


def _section(guess: Guess, kind: str, fields: dict[str, str], times: dict[str, str | None]) -> list[str]:
    record = RECORDS[kind]
    named = [name for name in guess.header if name]
    lines = ["", "[[records]]", f'kind = "{kind}"  #? one of {", ".join(RECORDS)}']
    if guess.sheet is not None:
        lines.append(f"sheet = {_quoted(guess.sheet)}")
    lines += [f"header = [{', '.join(_quoted(name) for name in named[:3])}]", ""]
    if record.is_log:
        lines += ["[records.constants]", 'equipment = ""  #? code of the still in the house profile', ""]
    lines.append("[records.columns]")
    lines += [_column(field, name, times.get(name)) for field, name in fields.items()]
    required = [item.name for item in record.fields if item.required and item.name not in fields]
    if not record.is_log:
        lines += [f'#? {name} = ""  is needed: which column, or a constant' for name in required]
    rest = [name for name in named if name not in fields.values()]
    if record.is_log:
        tags = record.field(str(record.spread_over)).choices
        lines += ["", "[records.wide]", f"#? tags: {', '.join(tags)}", f"#? units: {', '.join(UNITS)}"]
        lines += [f'#? tag = {{ column = {_quoted(name)}, unit = "" }}' for name in rest]
    else:
        lines += [f"#? not taken: {_quoted(name)}" for name in rest]
    return lines


def _column(field: str, name: str, how: str | None) -> str:
    if how is None:
        return f"{field} = {_quoted(name)}"
    note = "  #? day before month, and in the house's zone" if "/" in how or "." in how else "  #? in the house's zone"
    return f'{field} = {{ column = {_quoted(name)}, time = "{how}" }}{"" if how == "epoch_s" else note}'


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t").translate(UNSEEN) + '"'
