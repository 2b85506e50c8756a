"""Maps that do not fit the records are refused before any file is read, each in a sentence with map, kind and field."""

import pytest

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.received.source_map import read_maps
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.map_validation import validate_maps

FILLS = {"lot": '"lot"', "sample_no": '"no"', "net_content_ml": '{ column = "net", unit = "mL" }'}


def validated(folder, kind, columns, more=""):
    """Read and validate the map of one section."""
    lines = "".join(f"{name} = {column}\n" for name, column in columns.items())
    (folder / "one.toml").write_text(
        f'describes = "One (invented)"\nfiles = ["one.csv"]\n[read]\nformat = "csv"\n[[records]]\nkind = "{kind}"\n'
        f'header = ["lot"]\n{more}[records.columns]\n{lines}',
        encoding="utf-8",
    )
    validate_maps(read_maps(folder, tuple(RECORDS)))


def test_a_map_that_fits_is_taken(tmp_path):
    """Every field that is needed has a column or a constant."""
    validated(tmp_path, "fills", FILLS)


@pytest.mark.parametrize("missing", ["lot", "net_content_ml"])
def test_a_field_that_is_needed_must_be_mapped(tmp_path, missing):
    """It is named with the map and the kind."""
    with pytest.raises(
        SettingsError, match=rf'^source map one, records of fills: the field "{missing}" is needed; map'
    ):
        validated(tmp_path, "fills", {name: column for name, column in FILLS.items() if name != missing})


def test_a_field_that_is_none_is_named_with_those_that_are(tmp_path):
    """The first by name."""
    with pytest.raises(SettingsError, match=r'records of fills: "colour" is no field; known: .*lot, .*net_content_ml'):
        validated(tmp_path, "fills", FILLS | {"weather": '"w"', "colour": '"c"'})


def test_wide_is_for_records_that_are_spread(tmp_path):
    """Logs and the laboratory; others have nothing to spread over."""
    with pytest.raises(
        SettingsError, match=r"records of fills: wide is for (laboratory|panel|readings).* and .* only\."
    ):
        validated(tmp_path, "fills", FILLS, '[records.wide]\nx = { column = "x", unit = "mL" }\n')


def test_wide_columns_are_words_of_the_record(tmp_path):
    """A tag that no still has is refused, with those that there are."""
    log = {"equipment": '"still"', "read_at": '{ column = "at", time = "iso" }'}
    pot = '[records.wide]\npot_temperature_c = { column = "pot", unit = "degC" }\n'
    validated(tmp_path, "readings", log, pot)

    with pytest.raises(SettingsError, match=r'records of readings: "kettle" is no tag; known: .*pot_temperature_c'):
        validated(tmp_path, "readings", log, pot + 'kettle = { column = "k", unit = "degC" }\n')


def test_an_age_is_taken_off_a_time_of_the_record(tmp_path):
    """And of no other field."""
    columns = {"lot": '"lot"', "material": '"m"', "kind": '"k"', "counted_at": '{ column = "at", time = "iso" }'}
    validated(tmp_path, "opening_stock", columns | {"aged_from": '{ column = "age", age_at = "counted_at" }'})

    with pytest.raises(SettingsError, match=r'aged_from: age_at "lot" is no time of these records\.'):
        validated(tmp_path, "opening_stock", columns | {"aged_from": '{ column = "age", age_at = "lot" }'})
    with pytest.raises(SettingsError, match=r'aged_from: age_at "nothing" is no time of these records\.'):
        validated(tmp_path, "opening_stock", columns | {"aged_from": '{ column = "age", age_at = "nothing" }'})


def test_a_unit_needs_no_column_where_every_number_of_it_says_its_own(tmp_path):
    """Of a check of an instrument reference and reading share one unit: where either is left without, it is asked."""
    numbers = {
        "reference_value": '{ column = "ref", unit = "pct_vol" }',
        "reading": '{ column = "r", unit = "pct_vol" }',
    }
    check = {"instrument": '"i"', "checked_at": '{ column = "at", time = "iso" }'} | numbers
    validated(tmp_path, "calibrations", check)

    with pytest.raises(SettingsError, match=r'records of calibrations: the field "unit" is needed; map'):
        validated(tmp_path, "calibrations", check | {"reading": '"r"'})


def test_a_unit_must_measure_its_number(tmp_path):
    """Degrees are no content of a bottle."""
    with pytest.raises(
        SettingsError,
        match=r"records of fills, net_content_ml: the unit \"degC\" does not measure it; expected one of mL",
    ):
        validated(tmp_path, "fills", FILLS | {"net_content_ml": '{ column = "net", unit = "degC" }'})
