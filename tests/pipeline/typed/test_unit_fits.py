"""Units of a source map: each measures its number and is said once; what does not fit is refused."""

import pytest

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.received.source_map import read_maps
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.map_validation import validate_maps

RESULT = {"sample": '"S"', "lot": '"L"', "analyte": '"what"', "value": '"v"', "unit": '"u"'}
MOVE = {"run": '"r"', "direction": '"d"', "lot": '"l"', "part": '"p"'}


@pytest.fixture
def validated(tmp_path):
    """Read and validate the map of one section: validated("fills", columns, constants)."""

    def validate(kind, columns, constants=None, wide=None):
        groups = {"constants": constants, "columns": columns, "wide": wide}
        text = "".join(
            f"[records.{group}]\n" + "".join(f"{name} = {value}\n" for name, value in values.items())
            for group, values in groups.items()
            if values
        )
        (tmp_path / "one.toml").write_text(
            f'describes = "One (invented)"\nfiles = ["one.csv"]\n[read]\nformat = "csv"\n[[records]]\nkind = "{kind}"\n'
            f'header = ["L"]\n{text}',
            encoding="utf-8",
        )
        validate_maps(read_maps(tmp_path, tuple(RECORDS)))

    return validate


def without(columns, *names):
    return {name: column for name, column in columns.items() if name not in names}


def in_words(units):
    return "{ " + ", ".join(f"{word} = {unit!r}" for word, unit in units.items()) + " }"


@pytest.mark.parametrize(
    ("columns", "constants"),
    [
        (RESULT, {}),
        (without(RESULT, "unit") | {"value": '{ column = "v", unit = "pct_vol" }'}, {"analyte": '"strength"'}),
        (without(RESULT, "unit"), {"unit": '"pct_vol"'}),
        (without(RESULT, "unit") | {"value": '{ column = "v", units = { strength = "pct_vol", ph = "ph" } }'}, {}),
        (without(RESULT, "unit") | {"value": '{ column = "v", unit = "pct_vol" }'}, {"unit": '"pct_vol"'}),
        (without(RESULT, "unit", "value"), {"value": '{ value = 5, unit = "ph" }'}),
        (without(RESULT, "unit", "value"), {"value": "5", "unit": '"ph"'}),
    ],
)
def test_a_unit_that_is_said_once_will_do(validated, columns, constants):
    """By a column of its own, by that of the number, by word, or as a constant."""
    validated("laboratory", columns, {**constants})


@pytest.mark.parametrize(
    ("columns", "constants"),
    [
        (without(RESULT, "unit"), {}),
        (without(RESULT, "unit", "value"), {"value": "5"}),
    ],
)
def test_a_unit_that_nobody_says_is_missing(validated, columns, constants):
    """Neither column nor constant nor row."""
    with pytest.raises(SettingsError, match='the field "unit" is needed'):
        validated("laboratory", columns, constants)


@pytest.mark.parametrize(
    ("kind", "columns", "constants", "words"),
    [
        ("laboratory", RESULT | {"method": '{ column = "m", unit = "L" }'}, {},
         r'records of laboratory, method: the unit "L" has no number to go with\.'),
        ("laboratory", RESULT | {"method": '{ column = "m", units = { x = "L" } }'}, {},
         r'method: the unit "" has no number to go with\.'),
        ("laboratory", RESULT, {"method": '{ value = 1, unit = "L" }'},
         r"expected a plain text; a unit goes with numbers"),
        ("movements", MOVE | {"volume_at_t_l": '{ column = "v", unit = "gal" }'}, {},
         r'volume_at_t_l: the unit "gal" does not say which gallon'),
        ("movements", MOVE | {"volume_at_t_l": '{ column = "v", unit = "kg" }'}, {},
         r'volume_at_t_l: the unit "kg" does not measure it; expected one of L, '),
        ("movements", MOVE | {"volume_at_t_l": '{ column = "v", units = { x = "L" } }'}, {},
         r"volume_at_t_l: units goes by tag, analyte or kind of reading, and this number by none; write unit\."),
        ("movements", MOVE | {"strength_reading": '{ column = "s", units = { glass = "pct_vol" } }',
                              "reading_kind": '"k"'}, {},
         r'strength_reading: units names "glass", which is no reading_kind; known: .*alcoholmeter'),
        ("movements", MOVE | {"strength_reading": '{ column = "s", units = { density = "pct_vol" } }',
                              "reading_kind": '"k"'}, {},
         r'strength_reading of density: the unit "pct_vol" does not measure it'),
        ("movements", MOVE | {"strength_reading": '{ column = "s", unit = "pct_vol" }'},
         {"reading_kind": '"density"'}, r'strength_reading of density: the unit "pct_vol" does not measure it'),
        ("movements", MOVE | {"strength_reading": '{ column = "s", unit = "g/cm3" }',
                              "reading_kind": '{ column = "k", lookup = { d = "density", g = "alcoholmeter" } }'}, {},
         r'strength_reading of alcoholmeter: the unit "g/cm3" does not measure it'),
        ("laboratory", RESULT | {"value": '{ column = "v", unit = "L" }'}, {"analyte": '"strength"'},
         r'value of strength: the unit "L" does not measure it; expected one of pct_vol'),
        ("laboratory", RESULT | {"value": '{ column = "v", unit = "pct_vol" }'}, {},
         r'value: the unit "pct_vol" stands with this column, and "u" gives one for each row; leave one of them out'),
        ("laboratory", without(RESULT, "unit") | {"value": '{ column = "v", unit = "ph" }'}, {"unit": '"pct_vol"'},
         r'value: the unit is "ph" by this column and "pct_vol" by the constant; say it once\.'),
        ("laboratory", without(RESULT, "unit") | {"value": '{ column = "v", units = { ph = "ph" } }'},
         {"unit": '"pct_vol"'}, r'value: the unit is "ph" by this column and "pct_vol" by the constant'),
        ("laboratory", without(RESULT, "unit"), {"unit": '"gal"'}, r'unit: the unit "gal" does not say which gallon'),
        ("laboratory", RESULT | {"unit": '{ column = "u", lookup = { a = "pct_vol", b = "gal" } }'}, {},
         r'unit: the unit "gal" does not say which gallon.*; known: '),
        ("laboratory", without(RESULT, "unit", "value"), {"value": '{ value = 5, unit = "ph" }', "unit": '"pct_vol"'},
         r'value: the unit is "ph" here and "pct_vol" by the constant; say it once\.'),
        ("laboratory", without(RESULT, "value"), {"value": '{ value = 5, unit = "ph" }'},
         r'value: the unit "ph" stands with this constant, and a column gives one too\.'),
        ("laboratory", without(RESULT, "value", "unit", "analyte"),
         {"value": '{ value = 101, unit = "pct_vol" }', "analyte": '"strength"'},
         r"value: 101 cannot be; expected 0 to 100 pct_vol\."),
        ("laboratory", without(RESULT, "value", "unit", "analyte"),
         {"value": '{ value = -1, unit = "pct_vol" }', "analyte": '"strength"'}, r"-1 cannot be; expected 0 to 100"),
        ("laboratory", RESULT, {"replicate": "1.5"}, r"replicate: 1\.5 is no whole number\."),
        ("laboratory", RESULT, {"replicate": "100"}, r"replicate: 100 cannot be; expected 1 to 99\."),
    ],
)  # fmt: skip
def test_a_unit_that_does_not_fit_is_refused(validated, kind, columns, constants, words):
    """Map, kind, field and unit are named, and the units that would do."""
    columns = {name: column for name, column in columns.items() if name not in constants}
    with pytest.raises(SettingsError, match=words):
        validated(kind, columns, constants)


@pytest.mark.parametrize(("value", "kind"), [("100", "strength"), ("0", "strength")])
def test_the_ends_of_a_span_are_possible(validated, value, kind):
    """0 and 100 % vol."""
    constants = {"value": f'{{ value = {value}, unit = "pct_vol" }}', "analyte": f'"{kind}"'}
    validated("laboratory", without(RESULT, "value", "unit", "analyte"), constants)


def test_columns_of_a_wide_log_go_each_by_its_own_tag(validated):
    """A temperature in a unit of heat does not fit its tag, whatever fits another."""
    log = {"equipment": '"e"', "read_at": '{ column = "t", time = "iso" }'}
    pot = {"pot_temperature_c": '{ column = "p", unit = "degF" }'}
    validated("readings", log, None, pot)

    with pytest.raises(SettingsError, match=r'value of heating_kw: the unit "degF" does not measure it'):
        validated("readings", log, None, pot | {"heating_kw": '{ column = "h", unit = "degF" }'})
