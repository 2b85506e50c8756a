"""A first source map for a file that none takes yet: guesses, and as comments what only a person can answer."""

import codecs
import csv
import io
import re
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from pipeline.engineering.units import UNITS
from pipeline.errors import FileRefused
from pipeline.landed.workbook import Workbook
from pipeline.typed.cells import numbers
from pipeline.typed.kinds import RECORDS
from pipeline.typed.readings import TAGS

LOOKED_AT_BYTES = 200_000
TIME_PATTERNS = (
    (r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:?\d\d)?$", "iso"),
    (r"\d\d\.\d\d\.\d{4} \d\d:\d\d:\d\d$", "%d.%m.%Y %H:%M:%S"),
    (r"\d\d\.\d\d\.\d{4} \d\d:\d\d$", "%d.%m.%Y %H:%M"),
    (r"\d\d\.\d\d\.\d{4}$", "%d.%m.%Y"),
    (r"\d\d/\d\d/\d{4} \d\d:\d\d:\d\d$", "%d/%m/%Y %H:%M:%S"),
    (r"\d\d/\d\d/\d{4} \d\d:\d\d$", "%d/%m/%Y %H:%M"),
    (r"\d\d/\d\d/\d{4}$", "%d/%m/%Y"),
    (r"\d{4}-\d\d-\d\d$", "%Y-%m-%d"),
    (r"\d{10}(\.\d+)?$", "epoch_s"),
)
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
    decimal: str
    header_line: int
    has_units_row: bool
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
    times = {name: _time_pattern(values) for name, values in zip(guess.header, guess.columns, strict=True)}
    kind, fields = _kind(guess, times)
    return "\n".join([*_head(path, guess), *_section(guess, kind, fields, times)]) + "\n"


def _look(path: Path) -> Guess:
    content = path.read_bytes()[:LOOKED_AT_BYTES]
    if content.startswith(b"PK"):
        book = Workbook(path, f'"{path}"')
        sheet = max(book.sheets, key=lambda name: len(book.rows(name)))
        rows, encoding, separator = book.rows(sheet)[:60], "utf-8", ","
        return _shape(path, rows, "xlsx", encoding, separator, sheet, [name for name in book.sheets if name != sheet])
    text, encoding = _decode(path, content)
    lines = text.splitlines()[:60]
    separator = max(",;\t|", key=lambda mark: _regularity(lines, mark))
    rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=separator))
    return _shape(path, rows, "csv", encoding, separator, None, [])


def _shape(
    path: Path, rows: list[list[str]], form: str, encoding: str, separator: str, sheet: str | None, others: list[str]
) -> Guess:
    line = next((n for n, row in enumerate(rows, start=1) if _is_header(row, rows[n : n + 3])), None)
    if line is None:
        raise FileRefused("file.no-header", f'"{path}": no header row was found in its first {len(rows)} lines.')
    header = [cell.strip() for cell in rows[line - 1]]
    below = rows[line:]
    has_units = bool(below) and not any(_is_number(cell) or _is_time(cell) for cell in below[0])
    data = below[1:] if has_units else below
    columns = [[row[n].strip() for row in data if n < len(row) and row[n].strip()] for n in range(len(header))]
    cells = [cell for column in columns for cell in column]
    commas = sum(bool(re.fullmatch(r"-?\d+,\d+", cell)) for cell in cells)
    points = sum(bool(re.fullmatch(r"-?\d+\.\d+", cell)) for cell in cells)
    return Guess(
        form, encoding, separator, "," if commas > points else ".", line, has_units, header, columns, sheet, others
    )


def _decode(path: Path, content: bytes) -> tuple[str, str]:
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content[: len(content) // 2 * 2].decode("utf-16", errors="replace"), "utf-16"
    if b"\0" in content:
        raise FileRefused("file.not-text", f'"{path}" is neither text nor a workbook; export it as CSV.')
    try:
        return content.decode("utf-8-sig"), "utf-8"
    except UnicodeDecodeError as error:
        if error.start > len(content) - 4:  # a character cut in two at the end of what was looked at
            return content[: error.start].decode("utf-8-sig"), "utf-8"
        return content.decode("cp1252", errors="replace"), "cp1252"


def _regularity(lines: list[str], mark: str) -> tuple[int, int]:
    """How many lines share the commonest count of a mark, and that count."""
    counts = [line.count(mark) for line in lines if line.count(mark)]
    if not counts:
        return (0, 0)
    commonest = max(set(counts), key=counts.count)
    return (counts.count(commonest), commonest)


def _is_header(row: list[str], following: list[list[str]]) -> bool:
    filled = [cell for cell in row if cell.strip()]
    if len(filled) < 2 or any(_is_number(cell) for cell in filled):
        return False
    return any(any(_is_number(cell) or _is_time(cell) for cell in later) for later in following)


def _is_number(cell: str) -> bool:
    return bool(re.fullmatch(r"<?\s*[+-]?\d+([.,]\d+)?", cell.strip()))


def _is_time(cell: str) -> bool:
    return _time_pattern([cell.strip()]) is not None


def _time_pattern(values: list[str]) -> str | None:
    if not values:
        return None
    return next((how for pattern, how in TIME_PATTERNS if all(re.match(pattern, value) for value in values[:20])), None)


def _kind(guess: Guess, times: dict[str, str | None]) -> tuple[str, dict[str, str]]:
    """The record kind whose fields the header resembles most, and which column each field would take."""
    numeric = [name for name, values in zip(guess.header, guess.columns, strict=True) if _is_numeric(values, guess)]
    others = len(guess.header) - len(numeric)  # of a log the time, and perhaps a remark
    if any(times.values()) and (others <= 1 or (len(numeric) >= 3 and others <= 2)):
        return "readings", {"read_at": next(name for name, how in times.items() if how)}
    best: tuple[str, dict[str, str]] = ("movements", {})
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
    import polars as pl

    if not values:
        return False
    return numbers(pl.Series(values[:20]), guess.decimal).null_count() <= len(values[:20]) // 5


def _field_like(name: str, fields: list[str]) -> str | None:
    plain = re.sub(r"[\(\[].*|[^a-z ]", "", name.lower().replace("_", " ")).strip()
    if WORDS.get(plain) in fields:
        return WORDS[plain]
    spoken = {field.rsplit("_", 1)[0].replace("_", " ") if "_" in field else field: field for field in fields}
    close = get_close_matches(plain, [*spoken, *fields], n=1, cutoff=0.75)
    return spoken.get(close[0], close[0]) if close else None


def _head(path: Path, guess: Guess) -> list[str]:
    pattern = re.sub(r"\d+", "*", path.name.removesuffix(".gz"))
    lines = [
        f"# A first draft, from a look at {path.name}. Lines that ask something stand behind #?",
        'describes = ""  #? which device writes this, and how',
        f"files = [{_quoted(re.sub(r'[*]([-_.]?[*])+', '*', pattern))}]  #? does this take its files and no others",
        "",
        "[read]",
        f'format = "{guess.format}"',
    ]
    if guess.format == "csv":
        lines += [f'encoding = "{guess.encoding}"', f"separator = {_quoted(guess.separator)}"]
    lines += [f'decimal = "{guess.decimal}"', f"header_line = {guess.header_line}"]
    if guess.has_units_row:
        lines.append("skip_after_header = 1  # a row of units")
    words = sorted(
        {cell for values in guess.columns if _is_numeric(values, guess) for cell in values if not _is_number(cell)}
    )
    if words:
        lines.append(f"#? blank = [{', '.join(map(_quoted, words))}]  is that what the device writes for no value")
    if guess.other_sheets:
        lines.append(f"#? other sheets, each a section of its own if wanted: {', '.join(guess.other_sheets)}")
    return lines


def _section(guess: Guess, kind: str, fields: dict[str, str], times: dict[str, str | None]) -> list[str]:
    named = [name for name in guess.header if name]
    lines = ["", "[[records]]", f'kind = "{kind}"  #? one of {", ".join(RECORDS)}']
    if guess.sheet is not None:
        lines.append(f"sheet = {_quoted(guess.sheet)}")
    lines += [f"header = [{', '.join(_quoted(name) for name in named[:3])}]", ""]
    if kind == "readings":
        lines += ["[records.constants]", 'equipment = ""  #? code of the still in the house profile', ""]
    lines.append("[records.columns]")
    lines += [_column(field, name, times.get(name)) for field, name in fields.items()]
    required = [item.name for item in RECORDS[kind].fields if item.required and item.name not in fields]
    if kind != "readings":
        lines += [f'#? {name} = ""  is needed: which column, or a constant' for name in required]
    rest = [name for name in named if name not in fields.values()]
    if kind == "readings":
        lines += ["", "[records.wide]", f"#? tags: {', '.join(TAGS)}", f"#? units: {', '.join(UNITS)}"]
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
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t") + '"'
