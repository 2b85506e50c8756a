"""Rows as people and devices write them, and the faults that they carry."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime


class Row(dict):
    """A row of a file by the house's own headers; `when` says into which month's file it goes."""

    def __init__(self, when: datetime, **cells: object) -> None:
        super().__init__(cells)
        self.when = when
        self.faults: list[str] = []
        self.truth: dict[str, float] = {}  # true values behind the readings
        self.written: tuple[str, str, int] | None = None  # file, sheet, line


@dataclass
class Records:
    kinds: dict[str, list[Row]] = field(default_factory=lambda: defaultdict(list))

    def add(self, kind: str, when: datetime, cells: dict[str, object], fault: str | None = None) -> Row:
        row = Row(when, **cells)
        if fault:
            row.faults.append(fault)
        self.kinds[kind].append(row)
        return row


@dataclass
class Truth:
    """What a reader of the files should arrive at, as rows of expected.csv."""

    rows: list[dict[str, object]] = field(default_factory=list)

    def tell(
        self, subject: str, record: str, item: str, unit: str, true: object, when: object = "", part: str = "",
        measured: object = "", u: object = "",
    ) -> None:  # fmt: skip
        self.rows.append({"subject": subject, "record": record, "part": part, "when": str(when), "item": item,
                          "unit": unit, "true": true, "measured": measured, "u": u})  # fmt: skip
