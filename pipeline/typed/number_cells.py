"""Cells of numbers: read, turned into the unit that the field is kept in, and refused where they cannot be."""

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from gaugebook.pipeline.received.source_map import Column, Read
from gaugebook.pipeline.typed import cells
from gaugebook.pipeline.typed.parse_errors import ParseErrors
from gaugebook.pipeline.typed.quantities import Quantity, quantity
from gaugebook.pipeline.typed.record import Field

Words = pl.Series | str | None  # of each row, or the same of all


@dataclass(frozen=True)
class ReadCells:
    """Cells of one column: texts (NULL where blank), their numbers, and which were written as "<limit"."""

    texts: pl.Series
    values: pl.Series
    below: pl.Series


@dataclass(frozen=True)
class NumberCells:
    """Numbers of one section's rows."""

    lines: pl.Series
    read: Read
    faults: ParseErrors
    mend: str  # what to do about one cell

    def cells_of(self, item: Field, column: Column, texts: pl.Series, *, may_be_below: bool) -> ReadCells:
        """The numbers as they are written; what is filled and no number is a fault."""
        texts = cells.trimmed(texts) if may_be_below else texts
        below = texts.str.starts_with("<") if may_be_below else pl.Series([False]).new_from_index(0, len(texts))
        plain = texts.str.strip_prefix("<").str.strip_chars() if may_be_below else texts
        plain, values = _read_numbers(plain, self.read)
        texts = texts.set(plain.is_null(), None) if plain.null_count() > texts.null_count() else texts
        if values.null_count() > texts.null_count():
            self._unread(column, texts, values)
        return ReadCells(texts, values, below.fill_null(False))

    def kept(
        self, item: Field, column: Column, read: ReadCells, words: Words, units: Words
    ) -> tuple[pl.Series, pl.Series]:
        """The numbers in the unit that each is kept in, and that unit.

        Parameters
        ----------
        words : Series or str or None
            Tag, analyte or kind of reading, where the field goes by it.
        units : Series or str or None
            Unit that the row states, where neither the column nor its `units` do.
        """
        values = read.values
        kept_units = pl.Series([None], dtype=pl.String).new_from_index(0, len(values))
        for word, stated, rows in _groups(words, units):
            given = column.units.get(word or "", column.unit) or stated
            if (item.goes_by and word is None) or (item.unit_field and given is None):
                continue  # nothing says what it is; the blank that should have is the row's fault
            own = quantity(item, word, given)
            of_rows = read if rows is None else ReadCells(read.texts.set(~rows, None), read.values, read.below)
            if own.misfit(given):
                self._misfit(column, of_rows.texts, own, str(given), is_of_row=given == stated)
                continue
            part = self._in_own_unit(item, column, of_rows, own, given)
            kept = pl.Series([own.unit], dtype=pl.String)
            if rows is None:
                return part.alias(item.name), kept.new_from_index(0, len(values))
            values = pl.select(pl.when(rows).then(part).otherwise(values)).to_series()
            kept_units = pl.select(pl.when(rows).then(pl.lit(own.unit)).otherwise(kept_units)).to_series()
        return values.alias(item.name), kept_units

    def _in_own_unit(self, item: Field, column: Column, read: ReadCells, own: Quantity, given: str | None) -> pl.Series:
        values = own.in_own_unit(read.values, given)
        if item.type == "integer":
            near = values.cast(pl.Float64).round(9)
            values = near.set((near != near.round()).fill_null(False), None)
            self._unread(column, read.texts.set(read.values.is_null(), None), values)
            values = values.cast(pl.Int64, strict=False)
        self._check_possible(item, column, read, values, own, given)
        return values

    def _check_possible(
        self, item: Field, column: Column, read: ReadCells, values: pl.Series, own: Quantity, given: str | None
    ) -> None:
        lost = values.null_count() > read.values.null_count() if item.type != "integer" else False
        least, greatest = own.possible or (float("-inf"), float("inf"))
        lowest, highest = values.min(), values.max()
        within = lowest is None or (lowest >= least and highest <= greatest)  # type: ignore[operator]
        if within and not lost:
            return
        bad = ~values.is_between(least, greatest).fill_null(True)
        if lost:
            bad |= values.is_null() & read.values.is_not_null()
        self.faults.add(
            self.lines,
            read.texts,
            bad & read.texts.is_not_null(),
            code=f"{item.name.replace('_', '-')}-impossible",
            column=column.column,
            expected=own.span(given),
            to_do=f"{self.mend}; or set right the unit of this column in the source map",
        )

    def _unread(self, column: Column, texts: pl.Series, values: pl.Series) -> None:
        self.faults.add(
            self.lines,
            texts,
            texts.is_not_null() & values.is_null(),
            code="not-a-number",
            column=column.column,
            expected=f'a number with decimal mark "{self.read.decimal}"',
            to_do=f"{self.mend}; a word of the device for no value belongs in blank = of the source map's [read]",
        )

    def _misfit(self, column: Column, texts: pl.Series, own: Quantity, given: str, *, is_of_row: bool) -> None:
        mend = (
            "translate the device's word for the unit by a lookup in the source map, or correct the cell"
            if is_of_row
            else "name the unit of such rows under units of this column in the source map"
        )
        self.faults.add(
            self.lines, texts, texts.is_not_null(), code="unit-misfit", column=column.column,
            expected=f"a unit that measures it, {own.fitting}; {own.misfit(given)}", to_do=mend,
        )  # fmt: skip


def _groups(words: Words, units: Words) -> Iterator[tuple[str | None, str | None, pl.Series | None]]:
    """Each word with each unit that stands beside it, and the rows in which they do; None: all of them."""
    if not isinstance(words, pl.Series) and not isinstance(units, pl.Series):
        yield words, units, None
        return
    height = len(words) if isinstance(words, pl.Series) else len(units)  # type: ignore[arg-type]
    beside = pl.DataFrame({"word": _of_each(words, height), "unit": _of_each(units, height)})
    for word, unit in beside.unique(maintain_order=True).rows():
        rows = beside.select(pl.col("word").eq_missing(pl.lit(word)) & pl.col("unit").eq_missing(pl.lit(unit)))
        yield word, unit, rows.to_series()


def _of_each(words: Words, height: int) -> pl.Series:
    return words if isinstance(words, pl.Series) else pl.Series([words], dtype=pl.String).new_from_index(0, height)


def _read_numbers(texts: pl.Series, read: Read) -> tuple[pl.Series, pl.Series]:
    """Texts and their numbers; only where some could not be read are they trimmed and read once more."""
    values = cells.numbers(texts, read.decimal, read.thousands)
    if values.null_count() > texts.null_count() and texts.dtype == pl.String:
        texts = cells.trimmed(texts)
        values = cells.numbers(texts, read.decimal, read.thousands)
    return texts, values
