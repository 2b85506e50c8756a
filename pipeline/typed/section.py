"""One section of a source map applied to one landed table: records kept, rows refused, rows passed over."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.engineering.units import from_si, to_si
from pipeline.landed.tables import TextTable
from pipeline.received.source_map import Column, Read, Section
from pipeline.typed import cells
from pipeline.typed.faults import Faults
from pipeline.typed.kinds import RECORDS
from pipeline.typed.readings import TAGS
from pipeline.typed.record import Field, Record

POLARS_TYPES: dict[str, type[pl.DataType] | pl.DataType] = {
    "text": pl.String,
    "choice": pl.String,
    "number": pl.Float64,
    "integer": pl.Int64,
    "time": pl.Datetime("us"),
}
EARLIEST_YEAR, LATEST_YEAR = 1990, 2100  # a time outside was not read from a working clock


@dataclass(frozen=True)
class TypedSection:
    """What became of a table's rows. `rows_in` = lines of `kept` + lines of `refused` + `passed_over`."""

    record: Record
    kept: pl.DataFrame  # the record's fields and `line`
    refused: pl.DataFrame  # one row a fault: line, code, column_name, value, expected, to_do, raw
    rows_in: int
    passed_over: int


def type_section(table: TextTable, section: Section, read: Read, zone: str) -> TypedSection:
    """Records from the rows of one table; a row with any fault is refused whole, with each of its faults."""
    record = RECORDS[section.kind]
    texts, passed_over = _where(_texts(table), section)
    faults = Faults()
    _refuse_overlong(table, faults)
    typing = _Typing(texts, record, section, read, zone, faults)
    records = typing.records()
    readable = _without_faults(records, faults)
    _check_required(readable, record, section, faults)
    _check_rules(_without_faults(readable, faults), record, faults)
    refused = faults.frame().join(texts.select("line"), on="line", how="semi")
    raw = {line: read.separator.join(cells) for line, cells in zip(table.lines, table.rows, strict=True)}
    refused = refused.with_columns(
        pl.col("line").replace_strict(raw, return_dtype=pl.String).str.slice(0, 2000).alias("raw")
    )
    kept = _without_faults(records, faults)
    return TypedSection(record, kept, refused, len(table.lines), passed_over)


def _without_faults(records: pl.DataFrame, faults: Faults) -> pl.DataFrame:
    """Records of lines in which nothing is wrong so far; a cell that could not be read is not called blank as well."""
    return records.join(faults.frame().select("line").unique(), on="line", how="anti", maintain_order="left")


def _texts(table: TextTable) -> pl.DataFrame:
    """The table's cells by column, trimmed, blank as NULL. Columns without a name are left out."""
    columns = {
        name: [row[number].strip() or None for row in table.rows] for number, name in enumerate(table.header) if name
    }
    schema = {"line": pl.Int32, **dict.fromkeys(columns, pl.String)}
    return pl.DataFrame({"line": table.lines, **columns}, schema=schema)


def _where(texts: pl.DataFrame, section: Section) -> tuple[pl.DataFrame, int]:
    where = section.where
    if where is None:
        return texts, 0
    pattern = where.matches if where.matches is not None else where.not_matches
    found = pl.col(where.column).fill_null("").str.contains(str(pattern))
    taken = texts.filter(found if where.matches is not None else ~found)
    return taken, texts.height - taken.height


def _refuse_overlong(table: TextTable, faults: Faults) -> None:
    width = len(table.header)
    extra = [" | ".join(cell for cell in row[width:] if cell.strip()) for row in table.rows]
    faults.add(
        pl.Series(table.lines, dtype=pl.Int32),
        pl.Series(extra, dtype=pl.String),
        pl.Series([bool(text) for text in extra], dtype=pl.Boolean),
        code="cells-beyond-header",
        column="",
        expected=f"at most {width} cells, as in the header",
        to_do="look for a stray separator or an unquoted text in this line",
    )


@dataclass
class _Typing:
    """The cells of one section on their way to typed columns."""

    texts: pl.DataFrame
    record: Record
    section: Section
    read: Read
    zone: str
    faults: Faults

    def records(self) -> pl.DataFrame:
        """A row for each record: one a line, or one a line and filled wide column."""
        spread = self.record.spread_over
        if not self.section.wide or spread is None:
            return self._common(self.section.columns)
        common = self._common({k: v for k, v in self.section.columns.items() if k not in (spread, "value")})
        parts = [self._wide_column(common, name, column) for name, column in self.section.wide.items()]
        return pl.concat(parts).sort("line", maintain_order=True)

    def _wide_column(self, common: pl.DataFrame, name: str, column: Column) -> pl.DataFrame:
        texts = self.texts[column.column]
        values, below = self._number_or_below(self.record.field("value"), column, texts, name)
        part = common.with_columns(pl.lit(name).alias(str(self.record.spread_over)), values.alias("value"))
        if "below_limit" in common.columns:
            part = part.with_columns(below.alias("below_limit"))
        if self.record.kind == "laboratory" and column.unit is not None:
            part = part.with_columns(pl.lit(column.unit).alias("unit"))
        return part.filter(texts.is_not_null())

    def _common(self, columns: dict[str, Column]) -> pl.DataFrame:
        typed: dict[str, pl.Series] = {"line": self.texts["line"]}
        ordered = sorted(self.record.fields, key=lambda item: item.type == "time")  # times may need the tag
        for item in ordered:
            typed[item.name] = self._field(item, columns.get(item.name), typed)
        if self.record.kind == "laboratory":
            typed["below_limit"] = self._below(columns.get("value"))
        return pl.DataFrame(typed)

    def _field(self, item: Field, column: Column | None, typed: dict[str, pl.Series]) -> pl.Series:
        height, dtype = self.texts.height, POLARS_TYPES[item.type]
        if column is None:
            constant = self.section.constants.get(item.name)
            return pl.Series(item.name, [constant] * height, dtype=dtype)
        texts = self.texts[column.column]
        if item.type == "time":
            return self._time(item, column, texts, typed)
        if item.type in ("number", "integer"):
            tags = typed.get(self.record.spread_over or "")
            return self._number(item, column, texts, tags)
        return self._word(item, column, texts)

    def _word(self, item: Field, column: Column, texts: pl.Series) -> pl.Series:
        words = texts
        if column.lookup:
            known = {key.lower(): value for key, value in column.lookup.items()}
            words = texts.str.to_lowercase().replace_strict(known, default=None, return_dtype=pl.String)
            self._fault(item, column, texts, words, "not-in-lookup", f"one of {_list(column.lookup)}",
                        "correct the cell, or add the device's word to the lookup in the source map")  # fmt: skip
        elif item.type == "choice":
            words = texts.str.to_lowercase()
        if item.choices:
            allowed = words.is_in(item.choices)
            words = words.set(~allowed.fill_null(True), None)
            self._fault(item, column, texts, words, "not-a-choice", f"one of {_list(item.choices)}",
                        "correct the cell, or translate it by a lookup in the source map")  # fmt: skip
        return words

    def _time(self, item: Field, column: Column, texts: pl.Series, typed: dict[str, pl.Series]) -> pl.Series:
        order = None
        if self.record.kind == "readings":
            order = typed.get("tag", pl.Series([""] * len(texts))).fill_null("")
        values = cells.times(texts, column.time, column.zone or self.zone, order)
        values = values.set(~values.dt.year().is_between(EARLIEST_YEAR, LATEST_YEAR).fill_null(True), None)
        how = column.time or "iso"
        self._fault(item, column, texts, values, "time-unreadable",
                    f'a time written as {how}, between {EARLIEST_YEAR} and {LATEST_YEAR}, that the clock of '
                    f"{column.zone or self.zone} shows once",
                    "correct the cell or time = in the source map; a time in the hour that clocks skip or repeat "
                    "needs an offset")  # fmt: skip
        return values

    def _number(self, item: Field, column: Column, texts: pl.Series, tags: pl.Series | None) -> pl.Series:
        if item.name == "value" and tags is not None:
            return self._tagged_numbers(item, column, texts, tags)
        return self._number_or_below(item, column, texts, None)[0]

    def _tagged_numbers(self, item: Field, column: Column, texts: pl.Series, tags: pl.Series) -> pl.Series:
        """Values of a long layout: unit and possible span go by the tag or analyte of each row."""
        values = pl.Series(item.name, [None] * len(texts), dtype=pl.Float64)
        for tag in tags.unique(maintain_order=True):
            if tag is None:
                continue
            of_tag = tags == tag
            own = Column(column.column, unit=column.units.get(tag, column.unit))
            wanted = texts.set(~of_tag, None)
            converted, _ = self._number_or_below(item, own, wanted, tag)
            values = pl.select(pl.when(of_tag).then(converted).otherwise(values)).to_series()
        return values

    def _number_or_below(
        self, item: Field, column: Column, texts: pl.Series, tag: str | None
    ) -> tuple[pl.Series, pl.Series]:
        """The numbers in the field's own unit, and which of them were written as "<limit"."""
        is_laboratory = self.record.kind == "laboratory" and item.name == "value"
        below = texts.str.starts_with("<") if is_laboratory else pl.Series([False] * len(texts))
        plain = texts.str.strip_prefix("<").str.strip_chars() if is_laboratory else texts
        values = cells.numbers(plain, self.read.decimal, self.read.thousands)
        if item.type == "integer":
            values = values.set((values != values.round()).fill_null(False), None)
        self._fault(item, column, texts, values, "not-a-number", f"a number with decimal mark \"{self.read.decimal}\"",
                    "correct the cell; a blank means that nothing was read")  # fmt: skip
        unit, possible = TAGS.get(tag or "", (item.unit, item.possible))
        if is_laboratory and tag is None:
            unit = self.section.constants.get("unit")
        if column.unit and unit and column.unit != unit:
            plain_values = values.cast(pl.Float64).fill_null(float("nan")).to_numpy()
            in_unit = np.asarray(from_si(to_si(plain_values, column.unit), unit))
            values = pl.Series(in_unit, nan_to_null=True)
        self._check_possible(item, column, texts, values, possible, unit)
        typed = values.cast(pl.Int64) if item.type == "integer" else values
        return typed.alias(item.name), below.fill_null(False)

    def _below(self, column: Column | None) -> pl.Series:
        if column is None:
            return pl.Series([False] * self.texts.height, dtype=pl.Boolean)
        return self.texts[column.column].str.starts_with("<").fill_null(False)

    def _check_possible(
        self, item: Field, column: Column, texts: pl.Series, values: pl.Series,
        possible: tuple[float, float] | None, unit: str | None,
    ) -> None:  # fmt: skip
        if possible is None:
            return
        least, greatest = possible
        self.faults.add(
            self.texts["line"],
            texts,
            ~values.is_between(least, greatest).fill_null(True),
            code=f"{item.name.replace('_', '-')}-impossible",
            column=column.column,
            expected=f"{least:g} to {greatest:g}{' ' + unit if unit else ''}",
            to_do="correct the cell, or the unit of this column in the source map",
        )

    def _fault(
        self,
        item: Field,
        column: Column,
        texts: pl.Series,
        values: pl.Series,
        code: str,
        expected: str,
        to_do: str,
    ) -> None:
        """Note every cell that is filled but could not be read."""
        unread = texts.is_not_null() & values.is_null()
        self.faults.add(
            self.texts["line"], texts, unread, code=code, column=column.column, expected=expected, to_do=to_do
        )


def _check_required(records: pl.DataFrame, record: Record, section: Section, faults: Faults) -> None:
    for item in record.fields:
        if not item.required:
            continue
        column = section.columns.get(item.name)
        faults.add(
            records["line"],
            pl.Series([None] * records.height, dtype=pl.String),
            records[item.name].is_null(),
            code="blank",
            column=column.column if column else item.name,
            expected=f"a value: every row of {record.kind} needs {item.name}",
            to_do="fill in the cell",
        )


def _check_rules(records: pl.DataFrame, record: Record, faults: Faults) -> None:
    for rule in record.rules:
        holds = records.select(rule.holds.fill_null(False)).to_series()
        shown = records[rule.column] if rule.column in records.columns else pl.Series([None] * records.height)
        faults.add(
            records["line"], shown.cast(pl.String), ~holds,
            code=rule.code, column=rule.column, expected=rule.expected, to_do=rule.to_do,
        )  # fmt: skip


def _list(words: tuple[str, ...] | dict[str, str]) -> str:
    return ", ".join(words)
