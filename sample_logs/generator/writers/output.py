"""A file as it is to be written, with the count of its rows that a reader must arrive at."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

Record = TypeVar("Record")


@dataclass(frozen=True)
class Section:
    """Rows of one kind of record in a file."""

    kind: str
    rows: int
    refused: int = 0
    passed_over: int = 0


@dataclass(frozen=True)
class Output:
    path: str  # below sample_logs
    content: bytes
    sections: tuple[Section, ...]


def month_of(moment: datetime) -> str:
    return f"{moment:%Y-%m}"


def by_month(records: Iterable[Record], when: Callable[[Record], datetime]) -> dict[str, list[Record]]:
    """Records in order of time, by month."""
    months: dict[str, list[Record]] = defaultdict(list)
    for record in sorted(records, key=when):
        months[month_of(when(record))].append(record)
    return dict(sorted(months.items()))


def lines(rows: Iterable[Iterable[object]], separator: str = ",", encoding: str = "utf-8") -> bytes:
    """Rows as delimited text with the line ends of a Windows device; None is a blank cell."""
    text = "".join(separator.join("" if cell is None else str(cell) for cell in row) + "\r\n" for row in rows)
    return text.encode(encoding)


def shown(value: float | None, decimals: int, decimal_mark: str = ".") -> str | None:
    """A number with so many decimals."""
    return None if value is None else f"{value:.{decimals}f}".replace(".", decimal_mark)
