"""Where the header of an unknown table stands, which of its cells are numbers and times, and how these are written."""

import re
from collections import Counter
from dataclasses import dataclass

from gaugebook.pipeline.engineering.units import UNITS

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
# A number may be grouped by threes: the mark between the groups is another than the decimal mark.
NUMBER = re.compile(
    r"[+-]?(?:(?P<grouped>[1-9]\d{0,2}(?P<thousands>[.,'’ \u00a0\u202f])\d{3}(?:(?P=thousands)\d{3})*)"
    r"(?:(?!(?P=thousands))[.,]\d+)?|\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
)
NO_VALUE = ("nan", "na", "n/a", "n.a.", "null", "none")  # letters, and yet no words of a header
UNIT_WORDS = {unit.lower() for unit in UNITS} | {
    "c", "f", "%", "% vol", "%vol", "vol%", "vol.-%", "°p", "brix", "hpa", "pa", "w", "kw", "v", "a", "hz", "s", "sec",
    "min", "rpm", "g/l", "kg/m³", "g/cm³", "m³", "m³/h", "l/hl", "hl/h", "lpa", "ph",
}  # fmt: skip
WRITTEN_OUT_TIME = re.compile(r"[dmyhst]{1,4}([-:./ t]+[dmyhsf]{1,4})+")  # dd.mm.yyyy hh:mm:ss in a row of units


@dataclass(frozen=True)
class Marks:
    """How numbers are written."""

    decimal: str
    thousands: str
    decimal_is_sure: bool  # whether some number can be read in no other way
    thousands_is_sure: bool


@dataclass(frozen=True)
class HeaderPlace:
    """Where the header stands and what stands between it and the data."""

    line: int
    rows: int  # that make up the header
    skip: int  # lines below it that are no data
    odd_lines: list[int]  # lines that hold texts where those below hold numbers, and may be data


def header_place(rows: list[list[str]]) -> HeaderPlace | None:
    """The last row of words above the data, unless it is a row of units below the header."""
    places = _value_places(rows)
    first = next((n for n, row in enumerate(rows) if _values(row, places) > _words(row, places)), None)
    above = [n for n in range(first or 0) if _is_header(rows[n], places)]
    if not above:
        return None
    at = above[-1]
    before = next((n for n in range(at - 1, -1, -1) if _filled(rows[n])), -1)
    if before in above and _belongs_below(rows[at], rows[before], places):
        at = before
    texts = [n for n in range(at + 1, first or 0) if _words(rows[n], places) and not _values(rows[n], places)]
    units = [n for n in texts if _is_units_row(rows[n], rows[at], places)]
    skip = units[-1] - at if units else 0
    header_rows = 2 if at and _stands_over(rows[at - 1], rows[at]) else 1
    return HeaderPlace(at + 1, header_rows, skip, [n + 1 for n in texts if n > at + skip])


def _value_places(rows: list[list[str]]) -> dict[int, str]:
    """The columns that hold numbers or times, by the lower half of the rows: what stands above it may be no data."""
    filled = [row for row in rows if _filled(row)]
    lower = filled[-max(1, len(filled) // 2) :]
    places = {}
    for number in range(max((len(row) for row in lower), default=0)):
        kinds = [kind for row in lower if (kind := _kind_at(row, number))]
        commonest = max(("number", "time"), key=kinds.count)
        if kinds and 2 * kinds.count(commonest) >= len(kinds):
            places[number] = commonest
    return places


def _kind_at(row: list[str], number: int) -> str:
    """Number, time or word; nothing where the cell is blank or says that there is no value."""
    cell = row[number].strip() if number < len(row) else ""
    if is_number(cell):
        return "number"
    if _is_time(cell):
        return "time"
    return "word" if cell.lower() not in NO_VALUE and re.search(r"[^\W\d_]|[%°#]", cell) else ""


def _values(row: list[str], places: dict[int, str]) -> int:
    return sum(_kind_at(row, number) == kind for number, kind in places.items())


def _words(row: list[str], places: dict[int, str]) -> int:
    return sum(_kind_at(row, number) == "word" for number in places)


def _filled(row: list[str]) -> set[int]:
    return {number for number, cell in enumerate(row) if cell.strip()}


def _is_header(row: list[str], places: dict[int, str]) -> bool:
    """Whether words stand over most columns of numbers and times, and nowhere a number or a time."""
    filled = _filled(row)
    has_values = any(_kind_at(row, number) in ("number", "time") for number in filled)
    return len(filled) >= 2 and not has_values and 2 * _words(row, places) >= len(places)


def _is_units_row(row: list[str], header: list[str], places: dict[int, str]) -> bool:
    """Whether most cells are units, or cells are filled over numbers alone, and those over texts and times blank."""
    filled = _filled(row)
    known = [number for number in filled if _is_unit(row[number].strip())]
    others = {number for number in _filled(header) if places.get(number) != "number"}
    return 2 * len(known) > len(filled) or bool(others and filled and not filled & others)


def _belongs_below(row: list[str], header: list[str], places: dict[int, str]) -> bool:
    """Whether of two rows of words the upper is the header, because the lower holds units or may be data."""
    if _stands_over(header, row):
        return False
    return _is_units_row(row, header, places) or _may_be_data(row, header, places)


def _may_be_data(row: list[str], header: list[str], places: dict[int, str]) -> bool:
    """Whether a row of words may be the first of the data: a whole header stands above, and no word for a time."""
    has_word_for_time = any(kind == "time" and _kind_at(row, number) == "word" for number, kind in places.items())
    return len(_filled(header)) > 2 and _filled(header) >= _filled(row) and not has_word_for_time


def _is_unit(cell: str) -> bool:
    plain = cell.lower().strip("[]()").removeprefix("°").strip()
    return plain in UNIT_WORDS or bool(re.fullmatch(r"\[.*\]|\(.*\)", cell)) or bool(WRITTEN_OUT_TIME.fullmatch(plain))


def _stands_over(upper: list[str], lower: list[str]) -> bool:
    """Whether a row looks like merged cells over a header: filled, then blank over named columns.

    A title, which is one cell at the left, does not.
    """
    filled, named = _filled(upper), _filled(lower)
    if not filled or any(_kind_at(upper, number) != "word" for number in filled):
        return False
    covered = [number for number in named - filled if number < len(upper)]
    is_title = filled == set(range(len(filled))) and filled <= named
    return bool(covered) and not is_title


def names_of(rows: list[list[str]]) -> list[str]:
    """Column names; of two rows joined as they are when the file is received (`pipeline/landed/tables.py`)."""
    names = [cell.strip() for cell in rows[-1]]
    for row in rows[:-1]:
        upper = ""
        for number, name in enumerate(names):
            upper = row[number].strip() or upper if number < len(row) else upper
            names[number] = f"{upper} {name}".strip()
    return names


def marks_of(cells: list[str]) -> Marks:
    """Decimal and thousands mark; one point or comma before three digits may be either."""
    decimals: Counter[str] = Counter()
    grouped: Counter[str] = Counter()
    unclear: Counter[str] = Counter()
    for cell in cells:
        match = NUMBER.fullmatch(cell.lstrip("< "))
        if match is None:
            continue
        marks = list(re.sub(r"[\deE+-]", "", match[0]))
        if not match["thousands"]:
            decimals.update(marks)
        elif len(marks) == 1 and marks[0] in ".,":
            unclear.update(marks)
        else:
            grouped[marks[0]] += 1
            decimals.update(marks[-1:] if marks[-1] != marks[0] else [])
    if decimals:
        decimal = decimals.most_common(1)[0][0]
    elif grouped & Counter({".": 1, ",": 1}):
        decimal = "," if grouped["."] else "."
    else:
        decimal = unclear.most_common(1)[0][0] if unclear else "."
    candidates = [mark for mark, _ in (grouped + unclear).most_common() if mark != decimal]
    thousands = candidates[0] if candidates else ""
    decimal_is_sure = bool(decimals or grouped or not unclear)
    return Marks(decimal, thousands, decimal_is_sure, bool(grouped[thousands]))


def is_number(cell: str) -> bool:
    return NUMBER.fullmatch(cell.strip().lstrip("< ")) is not None


def _is_time(cell: str) -> bool:
    return time_pattern([cell.strip()]) is not None


def time_pattern(values: list[str]) -> str | None:
    """How the times of a column are written; a line of text among them, such as one at the foot, changes nothing."""
    looked_at = values[:20]
    enough = max(1.0, 0.8 * len(looked_at))
    return next(
        (how for pattern, how in TIME_PATTERNS if sum(bool(re.match(pattern, v)) for v in looked_at) >= enough), None
    )
