"""One section of a source map applied to one landed table: records kept, rows refused, rows passed over."""

from copy import deepcopy
from dataclasses import dataclass

import polars as pl

from gaugebook.pipeline.landed.frames import Rows
from gaugebook.pipeline.received.source_map import Column, Read, Section, constant_of
from gaugebook.pipeline.typed import cells
from gaugebook.pipeline.typed.dst_fold import LogClock, RowOrder
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.number_cells import NumberCells, ReadCells
from gaugebook.pipeline.typed.parse_errors import ParseErrors
from gaugebook.pipeline.typed.record import POLARS_TYPES, Field, Record

LONGEST_RAW = 2000  # characters of a refused row that are shown


@dataclass(frozen=True)
class TypedSection:
    """What became of a table's rows. `rows_in` = lines of `kept` + lines of `refused` + `passed_over`."""

    record: Record
    kept: pl.DataFrame  # the record's fields and `line`
    refused: pl.DataFrame  # one row a fault: line, code, column_name, value, expected, to_do, raw
    rows_in: int
    passed_over: int


def type_section(
    rows: Rows, header: list[str], section: Section, read: Read, zone: str, clock: LogClock
) -> TypedSection:
    """Records from rows of a table; a row with any fault is refused whole, with each of its faults.

    Parameters
    ----------
    rows : Rows
        As `pipeline.landed` gives them: line, the header's columns by position, beyond.
    header : list of str
        Names of those columns.
    zone : str
        IANA zone of times that carry no offset.
    clock : LogClock
        Of this section; carries the order of a log from one frame to the next.
    """
    record = RECORDS[section.kind]
    frame = rows.frame
    texts, passed_over = _where(_named(frame, header, read), section)
    faults = ParseErrors()
    _refuse_overlong(texts, len(header), faults)
    records = SectionParser(texts, record, section, read, zone, clock, faults).records()
    readable = _without_faults(records, faults)
    _check_required(readable, record, section, faults)
    _check_rules(_without_faults(readable, faults), record, faults)
    refused = faults.frame()
    if refused.height:
        written = rows.as_text(refused["line"].unique().sort())
        refused = refused.join(_raw(written, len(header), read), on="line", how="left", maintain_order="left")
        refused = _values_as_written(refused, written, frame, header)
    return TypedSection(record, _without_faults(records, faults), refused, frame.height, passed_over)


def _named(frame: pl.DataFrame, header: list[str], read: Read) -> pl.DataFrame:
    """The frame with its columns under their own names, the device's words for no value made NULL; columns without a
    name are left out."""
    first_of = {name: number for number, name in reversed(list(enumerate(header))) if name}
    named = frame.select("line", "beyond", *(pl.col(f"c{number}").alias(name) for name, number in first_of.items()))
    if not read.blank:
        return named
    cell = pl.col(list(first_of))
    return named.with_columns(pl.when(~cell.str.strip_chars().is_in(read.blank).fill_null(False)).then(cell))


def _raw(frame: pl.DataFrame, width: int, read: Read) -> pl.DataFrame:
    cells = [pl.col(f"c{number}").fill_null("") for number in range(width)]
    text = pl.concat_str(cells, separator=read.separator) + pl.concat_str(
        pl.lit(read.separator), "beyond", ignore_nulls=False
    ).fill_null("")
    return frame.select("line", text.str.slice(0, LONGEST_RAW).alias("raw"))


def _values_as_written(
    refused: pl.DataFrame, written: pl.DataFrame, frame: pl.DataFrame, header: list[str]
) -> pl.DataFrame:
    """Refused values of columns that came as numbers, with the text of the file in the number's place."""
    numbers = {f"c{at}": name for at, name in enumerate(header) if frame[f"c{at}"].dtype == pl.Float64}
    if not numbers:
        return refused
    texts = written.select("line", *numbers).rename(numbers).unpivot(index="line", variable_name="column_name")
    beside = refused.join(texts, on=["line", "column_name"], how="left", maintain_order="left", suffix="_written")
    return beside.with_columns(pl.coalesce("value_written", "value").alias("value")).drop("value_written")


def _without_faults(records: pl.DataFrame, faults: ParseErrors) -> pl.DataFrame:
    """Records of lines in which nothing is wrong so far; a cell that could not be read is not called blank as well."""
    faulty = faults.frame()
    if faulty.is_empty():
        return records
    return records.filter(~pl.col("line").is_in(faulty["line"].unique().implode()))


def _where(texts: pl.DataFrame, section: Section) -> tuple[pl.DataFrame, int]:
    taken = texts
    for where in section.where:
        pattern = where.matches if where.matches is not None else where.not_matches
        is_match = pl.col(where.column).str.strip_chars().fill_null("").str.contains(str(pattern))
        taken = taken.filter(is_match if where.matches is not None else ~is_match)
    return taken, texts.height - taken.height


def _refuse_overlong(texts: pl.DataFrame, width: int, faults: ParseErrors) -> None:
    faults.add(
        texts["line"],
        texts["beyond"],
        texts["beyond"].is_not_null(),
        code="cells-beyond-header",
        column="",
        expected=f"at most {width} cells, as in the header",
        to_do="look for a stray separator or an unquoted text in this line",
    )


@dataclass
class SectionParser:
    """The cells of one section on their way to typed columns."""

    texts: pl.DataFrame
    record: Record
    section: Section
    read: Read
    zone: str
    clock: LogClock
    faults: ParseErrors

    def records(self) -> pl.DataFrame:
        """A row for each record: one a line, or one a line and filled wide column."""
        spread = self.record.spread_over
        if not self.section.wide or spread is None:
            return self._common(self.section.columns)
        common = self._common({k: v for k, v in self.section.columns.items() if k not in (spread, "value")})
        if self.record.is_log:
            return self._wide_log(common)
        parts = [self._wide_column(common, name, column) for name, column in self.section.wide.items()]
        return pl.concat(parts).sort("line", maintain_order=True)

    def _wide_log(self, common: pl.DataFrame) -> pl.DataFrame:
        """A log stays wide, one column a tag, as it is stored; rows in which no tag was read are no records."""
        value = self.record.field("value")
        tags = {
            tag: self._numbers.kept(value, column, self._read_cells(value, column), tag, None)[0]
            for tag, column in self.section.wide.items()
        }
        frame = common.drop(str(self.record.spread_over), "value").with_columns(**tags)
        is_filled = frame.select(pl.any_horizontal(pl.col(list(tags)).is_not_null())).to_series()
        if is_filled.all():
            return frame
        faulty = self.faults.frame()["line"]
        return frame.filter(is_filled | pl.col("line").is_in(faulty.implode()))

    def _wide_column(self, common: pl.DataFrame, name: str, column: Column) -> pl.DataFrame:
        """The results that one column of a wide table of analyses gives."""
        value = self.record.field("value")
        read = self._read_cells(value, column)
        stated = common[value.unit_field] if value.unit_field else None
        values, units = self._numbers.kept(value, column, read, name, stated)
        part = common.with_columns(pl.lit(name).alias(str(self.record.spread_over)), values.alias("value"))
        if value.below_field:
            part = part.with_columns(read.below.alias(value.below_field))
        if value.unit_field:
            part = part.with_columns(pl.coalesce(units, value.unit_field).alias(value.unit_field))
        return part.filter(cells.trimmed(self._cells(column)).is_not_null())

    def _common(self, columns: dict[str, Column]) -> pl.DataFrame:
        typed: dict[str, pl.Series] = {"line": self.texts["line"]}
        kept_units: dict[str, pl.Series] = {}
        for item in sorted(self.record.fields, key=_what_others_go_by):
            if item.type in ("number", "integer"):
                typed[item.name] = self._number(item, columns.get(item.name), typed, kept_units)
            else:
                typed[item.name] = self._field(item, columns.get(item.name), typed)
        names = ["line", *(item.name for item in sorted(self.record.fields, key=lambda item: item.type == "time"))]
        for item in self.record.fields:
            if item.below_field:
                typed[item.below_field] = self._below(columns.get(item.name))
                names.append(item.below_field)
        return pl.DataFrame({**typed, **kept_units}).select(names)

    def _field(self, item: Field, column: Column | None, typed: dict[str, pl.Series]) -> pl.Series:
        if column is None:
            constant = self.section.constants.get(item.name)
            return pl.Series(item.name, [constant], dtype=POLARS_TYPES[item.type]).new_from_index(0, self.texts.height)
        texts = self._cells(column)
        return self._time(item, column, texts, typed) if item.type == "time" else self._word(item, column, texts)

    def _number(
        self, item: Field, column: Column | None, typed: dict[str, pl.Series], kept_units: dict[str, pl.Series]
    ) -> pl.Series:
        """The field's numbers; where the row states their unit, the unit they are kept in goes into `kept_units`."""
        if column is None and item.name not in self.section.constants:
            return pl.Series(item.name, [None], dtype=POLARS_TYPES[item.type]).new_from_index(0, self.texts.height)
        column, read = (column, self._read_cells(item, column)) if column else self._constant(item)
        units = typed[item.unit_field] if item.unit_field else None
        words = typed.get(item.goes_by or "")
        values, kept = self._numbers.kept(item, column, read, words, units)
        if item.unit_field:
            kept_units[item.unit_field] = pl.select(pl.coalesce(kept, typed[item.unit_field])).to_series()
        return values.cast(POLARS_TYPES[item.type])

    def _read_cells(self, item: Field, column: Column) -> ReadCells:
        read = self._numbers.cells_of(item, column, self._cells(column), may_be_below=item.below_field is not None)
        if column.less is None:
            return read
        less = Column(column.less)
        off = self._numbers.cells_of(item, less, self._cells(less), may_be_below=False).values.fill_null(0.0)
        return ReadCells(read.texts, read.values - off, read.below)

    def _constant(self, item: Field) -> tuple[Column, ReadCells]:
        """A number that the map itself gives, and the column that it stands for."""
        constant = constant_of(self.section.constants[item.name])
        height = self.texts.height
        values = pl.Series([constant.value], dtype=pl.Float64).new_from_index(0, height)
        below = pl.Series([False]).new_from_index(0, height)
        return Column(item.name, unit=constant.unit), ReadCells(values.cast(pl.String), values, below)

    @property
    def _numbers(self) -> NumberCells:
        return NumberCells(self.texts["line"], self.read, self.faults, self._mend)

    def _cells(self, column: Column) -> pl.Series:
        """The column's text, with that of a second column behind it or only the part that is meant, as the map says."""
        texts = self.texts[column.column]
        texts = texts if column.also is None else texts + " " + self.texts[column.also]
        return texts if column.take is None else texts.str.extract(column.take, 1)

    def _word(self, item: Field, column: Column, texts: pl.Series) -> pl.Series:
        words = texts = cells.trimmed(texts)
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
        if column.age_at is not None:
            return self._time_of_age(item, column, cells.trimmed(texts), typed[column.age_at])
        zone, trial = column.zone or self.zone, deepcopy(self.clock)
        values = cells.times(texts, column.time, zone, self._order(typed, trial))
        if values.null_count() == texts.null_count():
            self.clock.become(trial)
            return values
        texts = cells.trimmed(texts)  # only where it is needed, as for numbers
        values = cells.times(texts, column.time, zone, self._order(typed, self.clock))
        is_time = cells.times(texts, column.time, "UTC").is_not_null()
        self._fault(item, column, texts.set(is_time, None), values, "time-unreadable",
                    f"a time written as {column.time or 'iso'}, in the years {cells.EARLIEST_YEAR} to "
                    f"{cells.LATEST_YEAR}",
                    "correct the cell, or time = in the source map")  # fmt: skip
        self._fault(item, column, texts.set(~is_time, None), values, "time-not-once",
                    f"a time that the clock of {zone} shows once; this one it skips, or shows twice and the order of "
                    "the rows does not tell which is meant",
                    "have the device write an offset or UTC, or name the zone that its clock keeps as zone = of this "
                    "column in the source map")  # fmt: skip
        return values

    def _time_of_age(self, item: Field, column: Column, texts: pl.Series, at: pl.Series) -> pl.Series:
        """When what is so old at another time of the row began."""
        values = cells.times_before(texts, at)
        self._fault(item, column, texts, values, "age-unreadable",
                    f"an age in years, months and days, such as 2-09-11, and a time as {column.age_at}",
                    "correct the cell")  # fmt: skip
        return values

    def _order(self, typed: dict[str, pl.Series], clock: LogClock) -> RowOrder | None:
        """The order of a log's rows, by which a time that the clock shows twice is told; of each tag its own."""
        if not self.record.is_log:
            return None
        tags = None if self.section.wide else typed.get(str(self.record.spread_over))
        return RowOrder(None if tags is None else tags.fill_null(""), clock)

    def _below(self, column: Column | None) -> pl.Series:
        if column is None:
            return pl.Series([False]).new_from_index(0, self.texts.height)
        return cells.trimmed(self.texts[column.column]).str.starts_with("<").fill_null(False)

    @property
    def _mend(self) -> str:
        """What to do about one cell; of a wide row it says what becomes of the others."""
        if not self.section.wide:
            return "correct the cell"
        return (
            "correct or blank the cell in a copy of the file and receive the copy, because the row's other values were "
            "not taken either"
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


def _check_required(records: pl.DataFrame, record: Record, section: Section, faults: ParseErrors) -> None:
    for item in record.fields:
        if not item.required or item.name not in records.columns:
            continue  # of a wide log, tag and value are its columns
        column = section.columns.get(item.name)
        faults.add(
            records["line"],
            pl.Series([None], dtype=pl.String).new_from_index(0, records.height),
            records[item.name].is_null(),
            code="blank",
            column=column.column if column else item.name,
            expected=f"a value: every row of {record.kind} needs {item.name}",
            to_do="fill in the cell",
        )


def _check_rules(records: pl.DataFrame, record: Record, faults: ParseErrors) -> None:
    for rule in record.rules:
        holds = records.select(rule.holds.fill_null(False)).to_series()
        blank = pl.Series([None], dtype=pl.String).new_from_index(0, records.height)
        shown = records[rule.column] if rule.column in records.columns else blank
        faults.add(
            records["line"], shown.cast(pl.String), ~holds,
            code=rule.code, column=rule.column, expected=rule.expected, to_do=rule.to_do,
        )  # fmt: skip


def _what_others_go_by(item: Field) -> int:
    """Place of a field in the order of typing: numbers go by words of their row, times of a log by its tag."""
    return {"number": 1, "integer": 1, "time": 2}.get(item.type, 0)


def _list(words: tuple[str, ...] | dict[str, str]) -> str:
    return ", ".join(words)
