"""What a source map may not say about units, and values that no unit makes possible."""

from datetime import datetime
from pathlib import Path

import pytest
from one_row import typed
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.received.source_map import read_maps
from gaugebook.pipeline.typed.amendments import AmendmentRefused, Target, amend
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.map_validation import validate_maps

LAB = """
describes = "Analyses (invented)"
files = ["proof*.csv"]
[read]
format = "csv"
[[records]]
kind = "laboratory"
header = ["sample", "lot"]
[records.constants]
{constants}
[records.columns]
sample = "sample"
lot = "lot"
{columns}
"""
LONG = 'analyte = "analyte"\nvalue = {value}\n'
IN_PROOF = '{ column = "value", unit = "us_proof" }'
PROOF_OF_STRENGTH = '{ column = "value", units = { strength = "us_proof" } }'
OF_ROW = LONG.format(value='"value"') + 'unit = "unit"'
HEAD = "sample,lot,analyte,value,unit"
WIDE = '[records.wide]\nstrength = {{ column = "value", unit = "{unit}" }}\n'


def _map(folder: Path, columns: str, constants: str = "") -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "proof.toml").write_text(LAB.format(columns=columns, constants=constants), encoding="utf-8")


def _received(folder: Path, columns: str, row: str, constants: str = ""):
    """What a file of one row gives, and what is refused of it."""
    _map(folder, columns, constants)
    (folder / "proof.csv").write_text(f"{HEAD}\n{row}\n", encoding="utf-8")
    (source_map,) = read_maps(folder, tuple(RECORDS))
    validate_maps([source_map])
    made = typed(folder / "proof.csv", source_map)
    refused = made.refused.select("code", "value", "expected", "to_do").rows(named=True)
    return made.kept.select("analyte", "value", "unit").rows(), refused


def test_a_proof_of_the_laboratory_is_its_strength(tmp_path):
    """109.4 proof is 54.8 % vol at 20 °C, from a column of the unit, a column of the number and a wide one alike.

    27 CFR 30.11: half the proof is % vol at 60 °F, 54.70; alcohol expands more than the mixture, so 54.76 at 20 °C (the
    curve itself is checked in test_units_of_fields.py).
    """
    forms = (
        OF_ROW,
        LONG.format(value=IN_PROOF),
        LONG.format(value=PROOF_OF_STRENGTH),
        WIDE.format(unit="us_proof"),
    )
    for number, columns in enumerate(forms):
        kept, refused = _received(tmp_path / str(number), columns, "X,A,strength,109.4,us_proof")
        ((analyte, value, unit),) = kept
        assert (analyte, unit, refused) == ("strength", "pct_vol", []), columns
        assert value == pytest.approx(54.76, abs=0.03), columns


@pytest.mark.parametrize(
    ("columns", "constants", "words"),
    [
        (LONG.format(value=IN_PROOF), 'unit = "pct_vol"', '"us_proof" by this column'),
        (LONG.format(value=PROOF_OF_STRENGTH), 'unit = "pct_vol"', "say it once"),
        (LONG.format(value=IN_PROOF) + 'unit = "unit"', "", "leave one of them out"),
        (WIDE.format(unit="us_proof"), 'unit = "pct_vol"', "say it once"),
        ('analyte = "analyte"', 'value = { value = 80, unit = "us_proof" }\nunit = "pct_vol"', "say it once"),
        ('analyte = "analyte"\nunit = "unit"', 'value = { value = 80, unit = "us_proof" }', "a column gives one too"),
        ('value = "value"', 'analyte = "strength"\nunit = "kg/m3"', 'expected one of pct_vol'),
        ('value = "value"', 'analyte = "methanol"\nunit = "ppm"', "may be by mass or by volume"),
        (LONG.format(value='"value"') + 'unit = { column = "unit", lookup = { "%" = "percent" } }', "", "of what"),
        (WIDE.format(unit="%"), "", "does not say of what"),
        (LONG.format(value='"value"'), "", 'the field "unit" is needed'),
        ('analyte = { column = "analyte", unit = "mg/L" }\nvalue = "value"', 'unit = "mg/L"', "no number to go with"),
        (OF_ROW, 'temperature_c = { value = 500, unit = "degF" }', "500 cannot be; expected -30 to 110 degC"),
        (OF_ROW, "replicate = 1.5", "no whole number"),
    ],
)  # fmt: skip
def test_a_map_that_contradicts_itself_is_refused(tmp_path, columns, constants, words):
    """A unit is said once, measures its number, and leaves nothing open; otherwise nothing is received."""
    with pytest.raises(SettingsError, match=words):
        _received(tmp_path, columns, "X,A,strength,80,us_proof", constants)


@pytest.mark.parametrize(
    ("moves", "words"),
    [
        ('S", unit = "us_proof" }\nreading_kind = "kind"', None),  # the kind is the row's
        ('S", unit = "us_proof" }\nreading_kind = { column = "kind", lookup = { "lab" = "pct_vol_20c" } }', "pct_vol"),
        ('S", unit = "g/cm3" }\nreading_kind = { column = "kind", lookup = { "glass" = "alcoholmeter" } }', "pct_vol"),
        ('S", units = { hydrometer = "g/cm3" } }\nreading_kind = "kind"', "no reading_kind"),
        ('S", unit = "kg" }\nreading_kind = { column = "kind", lookup = { "d" = "density" } }', "one of kg/m3"),
    ],
)  # fmt: skip
def test_a_strength_reading_is_in_a_unit_of_its_kind(tmp_path, moves, words):
    """A proof is no % vol at 20 °C and a density none of a glass: the map is refused, or the row where only it says."""
    write_house(
        tmp_path / "site",
        {"moves_p.csv": "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\nX,in,L,wash,,100,20,80,pct_vol_20c,,\n"},
    )
    path = tmp_path / "site" / "maps" / "moves.toml"
    path.write_text(path.read_text().replace('= "S"\nreading_kind = "kind"', '= { column = "' + moves))

    if words:
        with pytest.raises(SettingsError, match=words):
            receive(tmp_path / "book", [tmp_path / "site" / "moves_p.csv"], None)
        return
    receive(tmp_path / "book", [tmp_path / "site" / "moves_p.csv"], None)
    with open_book(tmp_path / "book") as book:
        ((code, value, expected),) = book.frame("SELECT code, value, expected FROM typed.refused").rows()
    assert (code, value) == ("unit-misfit", "80")
    assert "one of pct_vol, pct_mass" in expected


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        ("100.5", "pct_vol"), ("-0.5", "pct_vol"), ("201", "us_proof"), ("-1", "us_proof"), ("100.2", "pct_mass"),
        ("101", "pct_vol_60f"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("form", ["row", "column", "wide"])
def test_no_strength_above_100_or_below_0_is_typed(tmp_path, value, unit, form):
    """Whatever it is given in, it is refused with the value as it was written."""
    columns = {
        "row": OF_ROW,
        "column": LONG.format(value=f'{{ column = "value", unit = "{unit}" }}'),
        "wide": WIDE.format(unit=unit),
    }[form]

    kept, (refused,) = _received(tmp_path, columns, f"X,A,strength,{value},{unit}")

    assert kept == []
    assert (refused["code"], refused["value"]) == ("value-impossible", value)
    assert "0 to 100 pct_vol" in refused["expected"]


@pytest.mark.parametrize("unit", ["plato", "brix"])
def test_a_dry_wash_lies_below_zero(tmp_path, unit):
    """-2.1 °P is a wash lighter than water, 0.9918 (20/20 °C): near water a degree is 0.0039.

    American Society of Brewing Chemists, sugar table (from memory): 1 °P is 1.00389.
    """
    kept, refused = _received(tmp_path, OF_ROW, f"X,A,specific_gravity,-2.1,{unit}")

    ((analyte, value, kept_unit),) = kept
    assert (analyte, kept_unit, refused) == ("specific_gravity", "sg", [])
    assert value == pytest.approx(1 - 2.1 * 0.00389, abs=3e-4)
    kept, refused = _received(tmp_path / "extract", OF_ROW, f"X,A,extract,-1.5,{unit}")
    assert (kept, refused) == ([("extract", -1.5, "plato")], [])


def test_a_unit_of_a_row_that_says_too_little_is_refused_with_the_reason(tmp_path):
    """The row is not taken in any unit; the words say why and what to do."""
    columns = OF_ROW
    kept, (refused,) = _received(tmp_path, columns, "X,A,methanol,12,ppm")

    assert kept == []
    assert (refused["code"], refused["value"]) == ("unit-misfit", "12")
    assert "one of mg/L, ug/L" in refused["expected"]
    assert "may be by mass or by volume" in refused["expected"]
    assert "lookup" in refused["to_do"]


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [("value", "109.4", "0 to 100 % vol"), ("unit", "us_proof", "unit in which results of this analyte are kept")],
)
def test_an_amendment_cannot_bring_in_what_a_file_cannot(tmp_path, field, text, words):
    """A strength above 100 % vol and a unit that results are not kept in are refused."""
    write_house(tmp_path / "site", {"proof.csv": f"{HEAD}\nX,A,strength,80,us_proof\n"})
    _map(tmp_path / "site" / "maps", OF_ROW)
    receive(tmp_path / "book", [tmp_path / "site" / "proof.csv"], None)

    with (
        pytest.raises(AmendmentRefused, match=words),
        open_book(tmp_path / "book", writing=True) as book,
        book.transaction(),
    ):
        amend(book, Target("proof.csv", None, 2), field, text, "AB", "misread", datetime(2026, 2, 1), "UTC")
