"""Tables of OIML R 22 at the command line."""

import csv
import json
import subprocess
import sys

import pytest
from click.testing import CliRunner, Result
from reference import rows

from gaugebook.pipeline.commands.tables_command import tables_command
from gaugebook.pipeline.engineering.r22_tables import R22_TABLES, r22_cells

PRINTED_I = [row for row in rows("ethanol_water_tables.csv") if row["kind"] == "I"]


def run(line: str) -> Result:
    """Run the command with the words of a line."""
    return CliRunner().invoke(tables_command, line.split())


def test_the_tables_are_listed_with_their_margins():
    """Without a table the command says which there are, and in which units one asks."""
    told = run("").output.splitlines()

    assert [line.split()[0] for line in told] == list(R22_TABLES)
    assert "VIIIb strength, % vol, by alcoholmeter reading, % vol and temperature, °C" in told


@pytest.mark.parametrize("row", PRINTED_I, ids=lambda row: row["id"])
def test_cells_are_those_that_the_standard_prints(row):
    """Table I of OIML R 22 (1975), cells typed in from its pages (tests/reference/ethanol_water_tables.csv)."""
    inputs = json.loads(row["inputs"])
    result = run(f"I --rows {inputs['mass_percent']} --columns {inputs['t_C']}")

    assert result.exit_code == 0, result.output
    title, margins, head, body, _ = result.output.splitlines()
    assert title == "OIML R 22 (1975), Table I: density, kg/m3"
    assert margins == "rows: strength, % mass; columns: temperature, °C"
    assert head.split() == [f"{inputs['t_C']}"]
    assert body.split()[0] == f"{inputs['mass_percent']}"
    assert float(body.split()[1]) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_a_range_is_a_table():
    """First to last by the step, both ends in it, each cell at its margins, columns one below the other."""
    lines = run("VIIIb --rows 38:39:0.1 --columns 10:30:10").output.splitlines()
    head, body = lines[2], lines[3:-1]

    assert head.split() == ["10", "20", "30"]
    assert [line.split()[0] for line in body] == ["38", *(f"38.{n}" for n in range(1, 10)), "39"]
    assert [line.split()[2] for line in body] == [f"{38 + n / 10:.1f}" for n in range(11)], "at 20 °C it reads true"
    assert len({len(line) for line in [head, *body]}) == 1
    assert "flammable" in lines[-1]


def test_json_and_csv_hold_the_same_cells(tmp_path):
    """What ice would be has no value: null for machines, an empty cell in the file, a dash on the page."""
    line = f"I --rows 0:10:5 --columns -10:20:30 --csv {tmp_path / 'i.csv'}"
    told = json.loads(run(f"{line} --json").output)
    with (tmp_path / "i.csv").open(encoding="utf-8") as file:
        kept = list(csv.reader(file))

    expected = r22_cells("I", [0.0, 5.0, 10.0], [-10.0, 20.0])
    assert told["cells"] == [[None, expected[0, 1]], [None, expected[1, 1]], [None, expected[2, 1]]]
    assert (told["rows"], told["columns"], told["margins"]) == ([0, 5, 10], [-10, 20], list(R22_TABLES["I"].margins))
    assert kept[0] == ["strength, % mass", "-10", "20"]
    assert [[cell and float(cell) for cell in row] for row in kept[1:]] == [
        [float(5 * n), "", expected[n, 1]] for n in range(3)
    ]  # fmt: skip
    assert "–" in run(line).output


def test_a_table_of_one_margin_has_no_head():
    """Table IVb: per cent by mass of per cent by volume."""
    lines = run("IVb --rows 40").output.splitlines()

    assert lines[1:3] == ["rows: strength, % vol", f"40  {r22_cells('IVb', 40.0)[0]:.2f}"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("XIII --rows 1", "'XIII' is not one of"),
        ("VIIIb", "Give --rows, values of alcoholmeter reading, % vol"),
        ("VIIIb --rows 40", "table VIIIb has the margins alcoholmeter reading, % vol and temperature, °C; give values"),
        ("IVb --rows 40 --columns 20", "table IVb has the margins strength, % vol; give values"),
        ("IVb --rows 40:41", '--rows: expected FIRST:LAST:STEP or one value, found "40:41"'),
        ("IVb --rows forty", '--rows: expected FIRST:LAST:STEP or one value, found "forty"'),
        ("IVb --rows 41:40:1", "FIRST not above LAST"),
        ("IVb --rows 40:41:0", "a step above zero"),
        ("IVb --rows nan", "FIRST not above LAST"),
        ("I --rows 40 --columns 0:30:0.1", '--columns: "0:30:0.1" has 301 values; expected at most 200'),
    ],
)
def test_what_cannot_be_is_told(line, said):
    """One sentence that names the option, what was found and what to give; exit status 2."""
    result = run(line)

    assert result.exit_code == 2
    assert said in result.output
    assert len(result.output.strip().splitlines()) <= 4


def test_it_starts_as_light_as_the_calculators():
    """No table library is imported for a table on the screen."""
    code = (
        "import sys; from gaugebook.pipeline.commands.tables_command import tables_command as c\n"
        "c(['IVb', '--rows', '40'], standalone_mode=False)\n"
        "print(sorted({'polars', 'duckdb', 'babel', 'pydantic', 'rich'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.splitlines()[-1] == "[]"
