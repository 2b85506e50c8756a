"""Every number of every record in every unit that measures it: in a column, as a constant, spread wide, unit by row,
unit by word, and in the preview.

What is true is written by hand below, from the sources named there, and shares nothing with the units of the pipeline.
"""

from dataclasses import dataclass

import pytest
from one_row import typed, written
from r22_formula import density, mass_fraction_of_density, mass_fraction_of_strength, solve, strength

from pipeline.engineering.units import UNITS
from pipeline.errors import SettingsError
from pipeline.preview import preview
from pipeline.typed.kinds import RECORDS
from pipeline.typed.laboratory import ANALYTES
from pipeline.typed.readings import TAGS
from pipeline.typed.record import READING_KINDS

# How many of a quantity's first unit one of each unit is. NIST Special Publication 811 (2008), Appendix B.8 and B.9, to
# its printed digits, where no other source is named; prefixes of the SI by definition.
FACTORS = {
    "volume": {
        "L": 1, "hL": 100, "cL": 0.01, "mL": 0.001, "m3": 1000, "US gal": 3.785412, "wine gal": 3.785412,
        "US fl oz": 0.02957353, "imp gal": 4.54609,
    },
    "mass": {
        "kg": 1, "g": 0.001, "mg": 1e-6, "t": 1000, "lb": 0.4535924, "oz": 0.02834952, "US ton": 907.1847,
    },
    "density": {"kg/m3": 1, "g/cm3": 1000, "g/mL": 1000, "kg/L": 1000, "lb/US gal": 119.8264},
    "pressure": {
        "kPa": 1, "Pa": 0.001, "hPa": 0.1, "mbar": 0.1, "bar": 100, "atm": 101.325, "psi": 6.894757, "psia": 6.894757,
        "inHg": 3.386389, "mmHg": 0.1333224,
    },
    "flow": {
        "L/h": 1, "L/min": 60, "mL/min": 0.06, "hL/h": 100, "m3/h": 1000,
        "US gal/h": 3.785412, "US gal/min": 0.06309020 * 3600,  # gallon per minute: 6.309020 E-05 m3/s
    },
    "mass flow": {"kg/h": 1, "kg/min": 60, "t/h": 1000, "lb/h": 1.259979e-4 * 3600},  # pound per hour in kg/s
    "power": {"kW": 1, "W": 0.001, "MJ/h": 1 / 3.6, "BTU/h": 2.930711e-4},  # Btu (International Table) per hour
    "part": {"pct": 1, "fraction": 100, "g/kg": 0.1},
    "pieces": {"each": 1, "dozen": 12, "thousand": 1000},
    "concentration": {
        "mg/L": 1, "ug/L": 0.001, "g/L": 1000, "g/hL": 10, "mg/100 mL": 10, "g/100 mL": 10_000,
    },
    "per pure alcohol": {"g/hL pa": 1, "mg/L pa": 0.1, "mg/100 mL pa": 1},
    "acidity": {"ph": 1},
    "turbidity": {"ntu": 1},
    # 27 CFR 5.1: proof is twice the percentage of alcohol by volume at 60 °F; a label states and measures nothing.
    "label": {"pct_vol": 1, "pct_vol_60f": 1, "us_proof": 0.5},
}  # fmt: skip

F60_C = (60 - 32) / 1.8


def proof_of(q: float) -> float:
    """US proof of a strength at 20 °C [% vol]: twice the volume of alcohol in 100 of liquid, both at 60 °F.

    27 CFR 30.11, with the densities of the general formula of OIML R 22.
    """
    p = mass_fraction_of_strength(q)
    return 200 * p * density(p, F60_C) / density(1.0, F60_C)


def strength_of_proof(proof: float) -> float:
    """The inverse of `proof_of`."""
    p = solve(lambda w: 200 * w * density(w, F60_C) / density(1.0, F60_C) - proof)
    return strength(p)


# What a value in the first unit is in the others, where no factor leads there.
CURVES = {
    # NIST SP 811, 4.2.1.1 and B.6.
    "temperature": {"degC": lambda c: c, "degF": lambda c: c * 9 / 5 + 32, "K": lambda c: c + 273.15},
    "strength": {
        "pct_vol": lambda q: q,
        "us_proof": proof_of,
        "pct_vol_60f": lambda q: proof_of(q) / 2,
        "pct_mass": lambda q: 100 * mass_fraction_of_strength(q),
    },
    "strength at 20 °C": {"pct_vol": lambda q: q, "pct_mass": lambda q: 100 * mass_fraction_of_strength(q)},
    "alcoholmeter": {"pct_vol": lambda q: q},
    "proof": {"us_proof": lambda proof: proof, "pct_vol_60f": lambda proof: proof / 2},
    # American Society of Brewing Chemists, sugar table: 12 °P is 1.04837 (20/20 °C); Brix and Plato are both % mass of
    # sucrose, ICUMSA SPS-4 (from memory).
    "gravity": {"sg": lambda sg: sg, "plato": {1.04837: 12.0}.get, "brix": {1.04837: 12.0}.get},
    "number": {},
}


def in_unit(what: str, value: float, unit: str) -> float:
    """What a value in the quantity's first unit is in another, by the tables above."""
    if what in CURVES:
        return CURVES[what][unit](value)
    return value / FACTORS[what][unit]


def units_of(what: str) -> tuple[str, ...]:
    """The units of a quantity."""
    return tuple(CURVES.get(what) or FACTORS.get(what, {}))


@dataclass(frozen=True)
class Case:
    """A field, the word that it goes by, the quantity, a value in the quantity's first unit, and how it is kept."""

    kind: str
    field: str
    what: str
    value: float
    word: str = ""
    kept: str = ""  # unit in which a result is kept; else the field's name says it
    kept_as: float | None = None  # the value as it is kept, where that is not in the first unit

    def __str__(self) -> str:
        return " ".join(part for part in (self.kind, self.field, self.word, self.kept) if part)


_GAUGES = [
    Case(kind, *rest)
    for kind in ("movements", "stock")
    for rest in (
        ("volume_at_t_l", "volume", 321.5),
        ("volume_temperature_c", "temperature", 15.5),
        ("reading_temperature_c", "temperature", -4.0),
        ("strength_reading", "alcoholmeter", 62.5, "alcoholmeter"),
        ("strength_reading", "density", 901.25, "density"),
        ("strength_reading", "strength at 20 °C", 61.5, "pct_vol_20c"),
        ("strength_reading", "proof", 125.0, "us_proof_60f"),
    )
]
CASES = [
    *_GAUGES,
    Case("movements", "mass_kg", "mass", 250.5),
    Case("intake", "quantity_kg", "mass", 1250.0),
    Case("intake", "quantity_l", "volume", 640.0),
    Case("intake", "quantity_pieces", "pieces", 36_000.0),
    Case("intake", "extract_pct", "part", 79.5),
    Case("intake", "moisture_pct", "part", 4.25),
    Case("bottling", "nominal_ml", "volume", 0.75, kept_as=750.0),
    Case("bottling", "label_strength_pct_vol", "label", 45.0),
    Case("bottling", "bottles_filled", "pieces", 12_000),
    Case("bottling", "bottles_rejected", "pieces", 24_000),
    Case("fills", "net_content_ml", "volume", 0.5015, kept_as=501.5),
    Case("fills", "sample_no", "number", 7),
    Case("panel", "assessors", "number", 24),
    Case("panel", "correct_answers", "number", 9),
    Case("laboratory", "replicate", "number", 2),
    Case("laboratory", "temperature_c", "temperature", 20.5),
    Case("calibrations", "reference_value", "density", 998.2, kept="kg/m3"),
    Case("calibrations", "reference_value", "temperature", 40.0, kept="degC"),
    Case("calibrations", "reference_value", "strength", 54.75, kept="pct_vol"),
    Case("calibrations", "reading", "pressure", 101.5, kept="kPa"),
    Case("calibrations", "reading", "mass", 10.002, kept="kg"),
    Case("readings", "value", "temperature", 78.25, "pot_temperature_c"),
    Case("readings", "value", "temperature", 77.5, "vapour_temperature_c"),
    Case("readings", "value", "temperature", 76.5, "column_temperature_c"),
    Case("readings", "value", "pressure", 98.75, "pressure_kpa"),
    Case("readings", "value", "mass flow", 85.0, "steam_kg_h"),
    Case("readings", "value", "power", 24.5, "heating_kw"),
    Case("readings", "value", "number", 2.5, "reflux_ratio"),
    Case("readings", "value", "flow", 42.5, "distillate_flow_l_h"),
    Case("readings", "value", "strength", 88.5, "parrot_strength_pct_vol"),
    Case("readings", "value", "temperature", 18.5, "parrot_temperature_c"),
    Case("readings", "value", "volume", 120.5, "collected_volume_l"),
    Case("laboratory", "value", "strength", 54.75, "strength", "pct_vol"),
    Case("laboratory", "value", "density", 948.05, "density", "kg/m3"),
    Case("laboratory", "value", "acidity", 4.2, "ph", "ph"),
    Case("laboratory", "value", "turbidity", 0.8, "turbidity", "ntu"),
    Case("laboratory", "value", "gravity", 1.04837, "specific_gravity", "sg"),
    Case("laboratory", "value", "concentration", 15_000.0, "dry_extract", "g/L", 15.0),
    Case("laboratory", "value", "per pure alcohol", 1.25, "dry_extract", "g/hL pa"),
    Case("laboratory", "value", "concentration", 480.0, "methanol", "mg/L"),
    Case("laboratory", "value", "per pure alcohol", 120.0, "methanol", "g/hL pa"),
]

# A row of each kind that nothing is wrong with.
ROWS = {
    "intake": {"lot": "L", "material": "rye", "kind": "malt", "received_at": "2026-01-02", "quantity_kg": "5"},
    "runs": {},
    "movements": {"run": "R", "direction": "in", "lot": "L", "part": "spirit", "mass_kg": "5"},
    "stock": {"vessel": "V", "lot": "L", "gauged_at": "2026-01-02", "volume_at_t_l": "5"},
    "readings": {"equipment": "S", "read_at": "2026-01-02 10:00", "tag": "reflux_ratio", "value": "1"},
    "laboratory": {"sample": "A", "lot": "L", "analyte": "ph", "value": "4", "unit": "ph"},
    "bottling": {
        "lot": "B", "run": "R", "product": "P", "bottled_at": "2026-01-02", "nominal_ml": "500",
        "label_strength_pct_vol": "40", "bottles_filled": "100000", "bottles_rejected": "0",
    },
    "fills": {"lot": "B", "sample_no": "1", "net_content_ml": "500"},
    "panel": {
        "session": "S", "lot": "L", "reference_lot": "M", "test": "triangle", "assessors": "20", "correct_answers": "3",
    },
    "calibrations": {
        "instrument": "I", "checked_at": "2026-01-02", "reference_value": "5", "reading": "5", "unit": "kg",
    },
}  # fmt: skip
GOES_BY = {"readings": "tag", "laboratory": "analyte"}
BY_ROW = ("laboratory", "calibrations")  # kinds whose rows state a unit


def _row(case: Case, text: str, unit: str | None) -> dict[str, str]:
    """The good row of the kind with this field's text in it; `unit` goes into the row's own field of it."""
    row = dict(ROWS[case.kind])
    if case.field.startswith("quantity"):
        del row["quantity_kg"]
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
