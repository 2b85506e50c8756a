"""Every number of every record in every unit that measures it: in a column, as a constant, spread wide, unit by row,
unit by word, and in the preview; what is true stands in `tests/support/number_cases.py`.
"""

import pytest
from number_cases import (
    BY_ROW,
    CASES,
    CURVES,
    FACTORS,
    GOES_BY,
    QUANTITIES,
    ROWS,
    Case,
    in_unit,
    strength_of_proof,
    units_of,
)
from one_row import typed, written
from r22_formula import mass_fraction_of_density, strength

from gaugebook.pipeline.engineering.units import UNITS
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.intake.preview import preview
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.laboratory import ANALYTES
from gaugebook.pipeline.typed.readings import TAGS
from gaugebook.pipeline.typed.record import READING_KINDS


def _row(case: Case, text: str, unit: str | None) -> dict[str, str]:
    """The good row of the kind with this field's text in it; `unit` goes into the row's own field of it."""
    row = dict(ROWS[case.kind])
    if case.field in (quantities := QUANTITIES.get(case.kind, ())):
        row = {name: cell for name, cell in row.items() if name not in quantities}
    if case.field == "strength_reading":
        row |= {"reading_kind": case.word, "reading_temperature_c": "20"}
    elif case.word:
        row[GOES_BY[case.kind]] = case.word
    if "unit" in row:
        row["unit"] = unit or row["unit"]
        if case.kind == "calibrations":  # reference and reading are in one unit
            row |= {"reference_value": text, "reading": text}
    return row | {case.field: text}


def _columns(row: dict[str, str], without: set[str] = frozenset()) -> dict[str, object]:
    return {name: {"column": name} for name in row if name not in without}


def _long(case: Case, text: str, unit: str | None) -> tuple[dict, dict[str, str]]:
    """The unit stands with the column."""
    row = _row(case, text, None)
    columns = _columns(row, {"unit"} if case.field in ("value", "reference_value", "reading") else set())
    fields = ("reference_value", "reading") if case.kind == "calibrations" else (case.field,)
    for name in fields if unit else ():
        columns[name]["unit"] = unit
    return {"columns": columns}, row


def _by_word(case: Case, text: str, unit: str | None) -> tuple[dict, dict[str, str]]:
    """The unit stands with the column, by the row's tag, analyte or kind of reading."""
    section, row = _long(case, text, unit)
    section["columns"][case.field] = {"column": case.field, "units": {case.word: unit}}
    return section, row


def _by_row(case: Case, text: str, unit: str | None) -> tuple[dict, dict[str, str]]:
    """The unit is a cell of the row."""
    row = _row(case, text, unit)
    return {"columns": _columns(row)}, row


def _constant(case: Case, text: str, unit: str | None) -> tuple[dict, dict[str, str]]:
    """The number is the map's, with its unit."""
    row = _row(case, text, None)
    fields = ("reference_value", "reading") if case.kind == "calibrations" else (case.field,)
    value = int(text) if text.isdigit() else float(text)
    given = {"value": value, "unit": unit} if unit else value
    without = {*fields, *({"unit"} if case.field in ("value", "reference_value", "reading") else set())}
    constants = dict.fromkeys(fields, given)
    if case.field == "strength_reading":  # with its kind, or the map cannot know what unit fits
        without.add("reading_kind")
        constants["reading_kind"] = case.word
    elif case.word:
        without.add(GOES_BY[case.kind])
        constants[GOES_BY[case.kind]] = case.word
    return {"columns": _columns(row, without), "constants": constants}, row


def _wide(case: Case, text: str, unit: str | None) -> tuple[dict, dict[str, str]]:
    """The number's column is named by its tag or analyte."""
    row = _row(case, text, None)
    columns = _columns(row, {"value", "unit", GOES_BY[case.kind]})
    return {"columns": columns, "wide": {case.word: {"column": "value"} | ({"unit": unit} if unit else {})}}, row


def _wide_by_row(case: Case, text: str, unit: str | None) -> tuple[dict, dict[str, str]]:
    """As wide, and the unit is a cell of the row."""
    section, row = _wide(case, text, None)
    section["columns"]["unit"] = {"column": "unit"}
    return section, row | {"unit": str(unit)}


def forms_of(case: Case, unit: str | None) -> list:
    """The ways in which a file can give this number in this unit."""
    forms = [_long, _constant]
    if case.field == "value":
        forms.append(_wide)
    if unit and case.word:
        forms.append(_by_word)
    if unit and case.kind in BY_ROW and case.field in ("value", "reference_value", "reading"):
        forms += [_by_row, _wide_by_row] if case.field == "value" else [_by_row]
    return forms


def _number(frame, case: Case) -> float:
    name = case.word if case.word in frame.columns else case.field
    return frame[name].item()


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_number_is_the_same_in_every_unit_and_form(tmp_path, case):
    """Each unit in each form is kept as the same value in the same unit, and the preview shows it."""
    expected = case.value if case.kept_as is None else case.kept_as
    for unit in units_of(case.what):
        given = f"{in_unit(case.what, case.value, unit):.9f}"
        if RECORDS[case.kind].field(case.field).type == "integer" and float(given).is_integer():
            given = str(round(float(given)))
        for form in forms_of(case, unit):
            if case.kind == "readings" and form is _constant:
                continue  # a log of one value throughout is none
            path, source_map = written(tmp_path, case.kind, *form(case, given, unit))
            made = typed(path, source_map)
            place = f"{given} {unit}, {form.__name__}"
            assert made.refused.rows() == [], place
            # NIST prints seven digits; the sugar table five decimals.
            close = 2e-4 if case.what == "gravity" else 1e-6
            assert _number(made.kept, case) == pytest.approx(expected, rel=close), place
            if case.kept:
                assert made.kept["unit"].to_list() == [case.kept], place
            (shown,) = preview(path, source_map, "UTC")
            values = {name: cells for name, _, cells in shown.fields}
            name = case.word if case.word in values else case.field
            assert float(values[name][0]) == pytest.approx(expected, rel=max(close, 6e-6)), place


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_unit_of_another_quantity_is_refused_with_those_that_fit(tmp_path, case):
    """By the map at load where it says the unit, by the row where a cell does; the refusal lists what may be given."""
    fitting = _all_fitting(case)
    for unit in _strange(fitting):
        for form in forms_of(case, unit):
            if case.kind == "calibrations" or (form is _long and case.word):
                continue  # calibrations are of anything; a column's word may stand in any row (below)
            if form in (_by_row, _wide_by_row):
                refused = typed(*written(tmp_path, case.kind, *form(case, "1", unit))).refused
                assert refused["code"].to_list() == ["unit-misfit"], (unit, form.__name__)
                said = refused["expected"].item()
            else:
                with pytest.raises(SettingsError) as refusal:
                    written(tmp_path, case.kind, *form(case, "1", unit))
                said = str(refusal.value)
            assert f'"{unit}"' in said, form.__name__
            assert all(name in said for name in fitting), form.__name__
            assert fitting or "no unit, because it is a plain number" in said


@pytest.mark.parametrize("case", [case for case in CASES if case.word], ids=str)
def test_the_row_is_refused_where_its_word_makes_the_column_s_unit_wrong(tmp_path, case):
    """A log's column in °F cannot be a pressure: told of the row, since the map does not know the words that come."""
    fitting = _all_fitting(case)
    for unit in _strange(fitting):
        refused = typed(*written(tmp_path, case.kind, *_long(case, "1", unit))).refused
        assert "unit-misfit" in refused["code"].to_list(), unit
        assert all(name in refused["expected"][0] for name in fitting)


def _all_fitting(case: Case) -> set[str]:
    """Units of all quantities that the same field and word may be given in."""
    same = [item for item in CASES if (item.kind, item.field, item.word) == (case.kind, case.field, case.word)]
    return {unit for item in same for unit in units_of(item.what)}


def _strange(fitting: set[str]) -> list[str]:
    """The last unit of each quantity that this is not."""
    return sorted({units_of(what)[-1] for what in (*FACTORS, *CURVES) if units_of(what)} - fitting)


def test_no_field_and_no_unit_is_left_out():
    """The tables above have every number of every record, by every word that it goes by, and every unit; of analytes
    that are kept alike, one."""
    one_of_each = {kept: name for name, kept in reversed(ANALYTES.items())}.values()
    alike = {case.word: ANALYTES[case.word] for case in CASES if case.word in ANALYTES}
    assert set(alike.values()) == set(ANALYTES.values())
    words = {"tag": tuple(TAGS), "analyte": tuple(one_of_each), "reading_kind": READING_KINDS, None: ("",)}
    fields = {
        (kind, item.name, word)
        for kind, record in RECORDS.items()
        for item in record.fields
        if item.type in ("number", "integer")
        for word in words[item.goes_by]
    }
    assert {(case.kind, case.field, case.word) for case in CASES} == fields
    known = {unit for what in (*FACTORS, *CURVES) for unit in units_of(what)}
    assert known == set(UNITS) - {"kWh", "MJ"}, "no field is an energy"


def test_the_curves_of_this_file_are_the_published_ones():
    """40.069 % vol at 20 °C is 80 proof (OIML R 22); R 22, Table IIIa: 948.05 kg/m3 at 20 °C is 40 % vol."""
    assert strength_of_proof(80.0) == pytest.approx(40.069, abs=2e-3)
    assert strength(mass_fraction_of_density(948.05, 20.0)) == pytest.approx(40.0, abs=0.01)
