"""Tables of the sample read as rows of cells, put in another order, cut into other files and written anew."""

import csv
import gzip
import io
import random
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from itertools import zip_longest
from pathlib import Path
from zoneinfo import ZoneInfo

import openpyxl

Row = dict[str, object]
Cell = Callable[[object], object]

HOUSE_ZONE = ZoneInfo("Europe/Copenhagen")  # of the sample; its naive times are of this zone


@dataclass(frozen=True)
class Column:
    """A column of the other house: its header, where it comes from, and how its cells are told."""

    header: str
    source: str
    tell: Cell = str


def as_text(cell: object) -> str:
    """The cell as it is; an empty one is an empty text."""
    return "" if cell is None else str(cell)


def words(dictionary: dict[str, str]) -> Cell:
    """What tells words in German and leaves the capitals and stray blanks that the sample has on purpose."""

    german = {english.lower(): word for english, word in dictionary.items()}

    def tell(cell: object) -> str:
        text = as_text(cell)
        word = german.get(text.strip().lower(), text.strip())
        word = word.upper() if text.strip().isupper() else word
        return word + " " * (len(text) - len(text.rstrip()))

    return tell


def clock(source: str, zone: str | None, other_zone: str | None) -> Cell:
    """What tells a time of the sample (pattern `source`, or a workbook's own) on a clock of another zone.

    `zone` None: seconds since 1970; `other_zone` None: a workbook's own time. A time that the other clock shows twice,
    in the night in which it is set back, would not be the same house: none of the sample's falls there.
    """

    @cache
    def tell(cell: object) -> object:
        if cell is None or cell == "":
            return ""
        read = cell if isinstance(cell, datetime) else datetime.strptime(str(cell), source)
        moment = read if read.tzinfo else read.replace(tzinfo=HOUSE_ZONE)
        if zone is None:
            return f"{moment.timestamp():.0f}"
        local = moment.astimezone(ZoneInfo(zone))
        assert local.utcoffset() == local.replace(fold=1 - local.fold).utcoffset(), f"{local} stands there twice"
        return local.replace(tzinfo=None) if other_zone is None else local.strftime(other_zone)

    return tell


def read_csv(paths: Iterable[Path], encoding: str = "utf-8-sig", separator: str = ",", above: int = 0, below: int = 0):
    """Rows of several files as one list; `above` and `below` lines about the header are left out."""
    rows: list[Row] = []
    for path in paths:
        lines = list(csv.reader(path.read_text(encoding=encoding).splitlines(), delimiter=separator))
        header = lines[above]
        rows += [dict(zip(header, line, strict=True)) for line in lines[above + 1 + below :]]
    return rows


def read_sheets(paths: Iterable[Path], sheet: str, header_line: int = 3) -> list[Row]:
    """Rows of one sheet of several workbooks as one list."""
    rows: list[Row] = []
    for path in paths:
        with closing(openpyxl.load_workbook(path, read_only=True)) as workbook:
            lines = list(workbook[sheet].iter_rows(values_only=True))
        header = [str(name) for name in lines[header_line - 1]]
        rows += [dict(zip_longest(header, line)) for line in lines[header_line:] if any(line)]
    return rows


def rewritten(rows: Sequence[Row], columns: Sequence[Column]) -> list[list[object]]:
    """The rows in the other house's columns."""
    return [[column.tell(row[column.source]) for column in columns] for row in rows]


def dealt(rows: Sequence[list[object]], files: int, order: int) -> list[list[list[object]]]:
    """The rows shuffled and dealt out to some files, so that each holds rows of all months."""
    shuffled = list(rows)
    random.Random(order).shuffle(shuffled)
    return [shuffled[start::files] for start in range(files)]


def write_csv(
    path: Path,
    columns: Sequence[Column],
    rows: Sequence[list[object]],
    separator: str = ";",
    encoding: str = "utf-8",
    above: Sequence[str] = (),
) -> None:
    """A text file, compressed where its name ends in .gz."""
    text = io.StringIO()
    text.writelines(f"{line}\r\n" for line in above)
    writer = csv.writer(text, delimiter=separator, lineterminator="\r\n")
    writer.writerow([column.header for column in columns])
    writer.writerows(rows)
    content = text.getvalue().encode(encoding)
    path.write_bytes(gzip.compress(content, mtime=0) if path.suffix == ".gz" else content)


def write_workbook(path: Path, sheets: dict[str, tuple[Sequence[Column], Sequence[list[object]]]], title: str) -> None:
    """A workbook with one line of title above each header; an empty text is an empty cell."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.worksheets[0])
    for name, (columns, rows) in sheets.items():
        sheet = workbook.create_sheet(name)
        sheet.append([title])
        sheet.append([column.header for column in columns])
        for row in rows:
            sheet.append([None if cell == "" else cell for cell in row])
    workbook.save(path)


def midnight(pattern: str) -> Cell:
    """What tells a bare day of the sample as the moment at which it begins in the house, on a clock of UTC."""
    return clock(pattern, "UTC", "%Y-%m-%d %H:%M")
