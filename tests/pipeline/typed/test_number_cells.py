"""Cells of numbers: read by the marks of the device, turned into the field's unit, and refused line by line."""

import polars as pl
import pytest

from gaugebook.pipeline.received.source_map import Column, Read
from gaugebook.pipeline.typed.number_cells import NumberCells, _groups
from gaugebook.pipeline.typed.parse_errors import ParseErrors
from gaugebook.pipeline.typed.quantities import Quantity
from gaugebook.pipeline.typed.record import Field

VOLUME = Field("volume_at_t_l", "number", unit="L", possible=(0.0, 100.0))
WHOLE = Field("bottles", "integer", possible=(0, 1000))


def cells_for(texts, **read):
    """Cells of these texts, on lines from 11 on."""
    lines = pl.Series(range(11, 11 + len(texts)), dtype=pl.Int64)
    return NumberCells(lines, Read("csv", **read), ParseErrors(), "correct the cell"), pl.Series(texts, dtype=pl.String)


def kept(texts, item=VOLUME, column=None, words=None, units=None, may_be_below=False, **read):
    """Values, units and faults (line, code, value) of these texts."""
    numbers, series = cells_for(texts, **read)
    column = column or Column("Vol", unit="L")
    cells_read = numbers.cells_of(item, column, series, may_be_below=may_be_below)
    values, unit = numbers.kept(item, column, cells_read, words, units)
    faults = numbers.faults.frame()
    return values.to_list(), unit.to_list(), faults.select("line", "code", "value").rows(), faults


def test_what_is_filled_and_no_number_is_a_fault():
    """With what was expected, the column and what to do; a blank is none, blanks around a number do no harm."""
    values, units, faults, frame = kept([" 1.5 ", "abc", None, "2"])

    assert (values, units) == ([1.5, None, None, 2.0], ["L"] * 4)
    assert faults == [(12, "not-a-number", "abc")]
    assert frame.row(0, named=True) | {"value": None} == {
        "line": 12, "code": "not-a-number", "column_name": "Vol", "value": None,
        "expected": 'a number with decimal mark "."',
        "to_do": "correct the cell; a word of the device for no value belongs in blank = of the source map's [read]",
    }  # fmt: skip


def test_the_marks_of_the_device():
    """Decimal comma and thousands point; what is blank but for blanks is NULL and no fault."""
    assert kept(["1.234,5", " ", "12.5"], VOLUME, None, decimal=",", thousands=".")[2] == [
        (11, "volume-at-t-l-impossible", "1.234,5"), (13, "not-a-number", "12.5"),
    ]  # fmt: skip
    assert kept(["12,5", "  "], decimal=",")[0] == [12.5, None]


def test_a_limit_of_quantification_is_below():
    """Written with a sign before it, where the field has such; else it is no number."""
    numbers, series = cells_for(["<0.5", " < 0.25", "0.5", None])
    cells_read = numbers.cells_of(VOLUME, Column("Vol"), series, may_be_below=True)

    assert cells_read.values.to_list() == [0.5, 0.25, 0.5, None]
    assert cells_read.below.to_list() == [True, True, False, False]
    assert kept(["<0.5"])[2] == [(11, "not-a-number", "<0.5")]
    numbers, series = cells_for(["0.5", None])
    assert numbers.cells_of(VOLUME, Column("Vol"), series, may_be_below=False).below.to_list() == [False, False]


def test_a_number_beyond_its_span_is_refused():
    """Both ends are possible; the span is told in the unit of the column too."""
    values, _, faults, frame = kept(["-0.1", "0", "100", "100.1"])

    assert values == [-0.1, 0.0, 100.0, 100.1]
    assert faults == [(11, "volume-at-t-l-impossible", "-0.1"), (14, "volume-at-t-l-impossible", "100.1")]
    assert frame["expected"][0] == "0 to 100 L"
    assert frame["to_do"][0] == "correct the cell; or set right the unit of this column in the source map"
    in_ml = kept(["100001"], column=Column("Vol", unit="mL"))
    assert in_ml[2] == [(11, "volume-at-t-l-impossible", "100001")]
    assert in_ml[3]["expected"][0] == "0 to 100 L (0 to 100000 mL)"


def test_units_of_the_column_and_of_the_row():
    """The column's own goes first; where it has none, that of each row; a row without one is taken as it is."""
    assert kept(["700", "250"], column=Column("Vol", unit="mL"))[:2] == ([0.7, 0.25], ["L", "L"])
    by_row = kept(["700", "2", "3"], column=Column("Vol"), units=pl.Series(["mL", "L", None]))
    assert by_row[:3] == ([0.7, 2.0, 3.0], ["L", "L", "L"], [])


def test_a_unit_that_does_not_measure_it_is_a_fault_of_row_or_map():
    """A mass for a volume: the row's word is to be translated, the column's unit to be set right for such rows."""
    of_row = kept(["5", "2", None], column=Column("Vol"), units=pl.Series(["kg", "L", "kg"]))
    by_word = kept(["5"], column=Column("Vol", units={"x": "kg"}), words="x")

    assert of_row[0][1:] == [2.0, None]
    assert of_row[2] == [(11, "unit-misfit", "5")]
    assert "translate the device's word for the unit by a lookup" in of_row[3]["to_do"][0]
    assert of_row[3]["expected"][0].startswith("a unit that measures it, one of L, ")
    assert by_word[2] == [(11, "unit-misfit", "5")]
    assert "name the unit of such rows under units of this column" in by_word[3]["to_do"][0]


def of_word(word, given):
    """Of x litres up to 10, of y kilograms; nothing else is known."""
    known = {"x": Quantity("L", (0.0, 10.0), ("L", "mL")), "y": Quantity("kg", None, ("kg", "g"))}
    return known.get(word, Quantity(None, None, ()))


BY_WORD = Field("value", "number", goes_by="tag", of_word=of_word)


def test_a_number_goes_by_the_word_of_its_row():
    """Each with its own unit and span; a row without the word is left to the row's own fault."""
    column = Column("Val", units={"y": "g"})
    values, units, faults, _ = kept(
        ["20", "500", "7", "2000"], BY_WORD, column, pl.Series(["x", "y", None, "x"]), pl.Series(["L", "L", "L", "mL"])
    )

    assert values == [20.0, 0.5, 7.0, 2.0]
    assert units == ["L", "kg", None, "L"]
    assert faults == [(11, "value-impossible", "20")]


def test_an_analyte_without_a_unit_waits_for_the_fault_of_its_row():
    """Where the unit is a field of its own and the row states none."""
    item = Field("value", "number", unit_field="unit")

    assert kept(["20", "5"], item, Column("Val"), None, pl.Series([None, "mg/L"]))[:3] == (
        [20.0, 5.0], [None, "mg/L"], [],
    )  # fmt: skip


def test_whole_numbers():
    """A half bottle is no number of them; 1e-10 of one is rounding; the span holds for them too."""
    values, _, faults, _ = kept(["3", "2.5", "3.00000000001", None, "1001", "x"], WHOLE, Column("n"))

    assert values == [3, None, 3, None, 1001, None]
    assert faults == [(12, "not-a-number", "2.5"), (15, "bottles-impossible", "1001"), (16, "not-a-number", "x")]


def test_a_value_that_its_unit_cannot_say_is_impossible():
    """No gravity is so low that a degree Plato could be made of it: what is lost on the way is refused."""
    item = Field("value", "number", unit="plato")
    values, _, faults, _ = kept(["1.048", "-5"], item, Column("g", unit="sg"))

    assert values[0] == pytest.approx(11.9, abs=0.1)
    assert (values[1], faults) == (None, [(12, "value-impossible", "-5")])


def test_each_word_with_each_unit_is_one_group():
    """The same for all rows is one, whether of one text or of none."""
    words, units = pl.Series(["x", "y", "x", None]), pl.Series(["L", "L", "mL", None])

    assert list(_groups("x", None)) == [("x", None, None)]
    assert [(word, unit, rows.to_list()) for word, unit, rows in _groups(words, units)] == [
        ("x", "L", [True, False, False, False]), ("y", "L", [False, True, False, False]),
        ("x", "mL", [False, False, True, False]), (None, None, [False, False, False, True]),
    ]  # fmt: skip
    assert [(word, unit, rows.to_list()) for word, unit, rows in _groups("x", units[:2])] == [("x", "L", [True, True])]
    assert [(word, unit) for word, unit, _ in _groups(words[:2], "L")] == [("x", "L"), ("y", "L")]
