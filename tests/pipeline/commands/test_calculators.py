"""The bench calculators at the command line."""

import json
import subprocess
import sys
from typing import Any

import pytest
from click.testing import CliRunner, Result

from gaugebook.pipeline.commands.calculators import blend_command, reduce_command, strength_command
from gaugebook.pipeline.engineering.blending import reduce
from gaugebook.pipeline.engineering.strength import (
    strength_from_alcoholmeter,
    strength_from_density,
    strength_from_us_proof,
)

STRENGTH = "--reading 43.0 --reading-temperature 12 --instrument alcoholmeter"
COMMANDS = {"strength": strength_command, "reduce": reduce_command, "blend": blend_command}


def run(name: str, line: str) -> Result:
    """Run a command with the words of a line, as a shell would split them."""
    return CliRunner().invoke(COMMANDS[name], line.split())


def read(name: str, line: str) -> dict[str, Any]:
    """The JSON object that a command prints."""
    result = run(name, f"{line} --json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_strength_of_an_alcoholmeter_reading() -> None:
    """The strength at 20 °C of the reading, with its standard uncertainty."""
    found = read("strength", STRENGTH)

    assert found["strength_pct_vol_20c"] == pytest.approx(strength_from_alcoholmeter(43.0, 12.0))
    # a made-up judgement of size: 0.1 % vol of reading and 0.1 °C make a little over 0.1 % vol
    assert 0.1 < found["u_strength_pct_vol_20c"] < 0.12


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("--density 930 --reading-temperature 25", strength_from_density(930.0, 25.0)),
        ("--us-proof 80", strength_from_us_proof(80.0)),
    ],
)
def test_strength_by_other_roads(line: str, expected: float) -> None:
    """A density and a proof lead to the same key."""
    assert read("strength", line)["strength_pct_vol_20c"] == pytest.approx(expected, abs=0.01)


def test_strength_of_a_hydrometer_reading() -> None:
    """900 kg/m3 read at 0 °C is 62.96 % mass (OIML R 22, 1975, Table IXa)."""
    found = read("strength", "--reading 900 --reading-temperature 0 --instrument hydrometer")

    assert found["mass_pct"] == pytest.approx(62.96, abs=0.005)


def test_reduction() -> None:
    """Water in litres and kilograms, final volume, contraction, each with its uncertainty."""
    found = read("reduce", "--volume 100 --strength 96 --to 40")
    made = reduce(100.0, 96.0, 40.0)

    for key in ("water_l", "water_kg", "final_volume_l", "contraction_l"):
        assert found[key] == pytest.approx(getattr(made, key))
        assert found[f"u_{key}"] > 0.0


def test_blend_of_spirits() -> None:
    """Volumes and strengths in order give strength, volume and contraction."""
    found = read("blend", "--volume 100 --strength 100 --volume 100 --strength 0")

    assert found["strength_pct_vol_20c"] == pytest.approx(51.8, abs=0.1)  # handbooks
    assert found["final_volume_l"] + found["contraction_l"] == pytest.approx(200.0)
    assert found["u_strength_pct_vol_20c"] > 0.0


def test_two_spirits_to_a_target() -> None:
    """The volumes of both that make the wanted volume and strength, undoing the reduction above."""
    found = read("blend", "--strength 96 --strength 0 --to 40 --target-volume 240")

    assert found["volume_a_l"] == pytest.approx(100.0, abs=1e-6)
    assert found["u_volume_a_l"] > 0.0


@pytest.mark.parametrize(
    ("name", "line", "shown"),
    [
        ("strength", STRENGTH, "strength at 20 °C"),
        ("reduce", "--volume 100 --strength 96 --to 40", "147.05"),
        ("reduce", "--volume 100 --strength 96 --to 40 --with-strength 5", "reducing liquid"),
        ("blend", "--volume 100 --strength 60 --volume 50 --strength 40", "contraction"),
        ("blend", "--strength 60 --strength 40 --to 45 --target-volume 200", "spirit of 60 % vol"),
    ],
)
def test_a_table_for_people(name: str, line: str, shown: str) -> None:
    """Without --json a table in plain words is printed."""
    result = run(name, line)

    assert result.exit_code == 0
    assert shown in result.stdout


@pytest.mark.parametrize(
    ("name", "line", "said"),
    [
        ("strength", "--reading 143 --reading-temperature 12", "alcoholmeter reading is 143 % vol; expected 0 to 100"),
        ("strength", "--reading 43", "Give --reading-temperature"),
        ("strength", "--reading-temperature 12", "Give exactly one of --reading, --density and --us-proof"),
        ("strength", "--density 1050 --reading-temperature 20", "no mixture of ethanol and water"),
        ("strength", "--reading nan --reading-temperature 20", "not a number"),
        ("reduce", "--volume 100 --strength 40 --to 60", "cannot raise it"),
        ("blend", "", "0 volumes and 0 strengths"),
        ("blend", "--strength 60 --strength 40 --to 70 --target-volume 1", "cannot make 70 % vol"),
        ("blend", "--strength 60 --to 50", "--target-volume"),
    ],
)
def test_what_cannot_be_done_is_told_on_standard_error(name: str, line: str, said: str) -> None:
    """One sentence on standard error, nothing on standard output, exit status 2."""
    result = run(name, line)

    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""
    assert len(result.stderr.strip().splitlines()) == 1


def test_a_cold_start_loads_nothing_heavy() -> None:
    """A calculator answers without scipy, rich, a table library or a database, which take longer than its sum."""
    code = (
        "import sys; from gaugebook.pipeline.commands.calculators import strength_command as c\n"
        f"c({STRENGTH.split()} + ['--json'], standalone_mode=False)\n"
        "print(sorted({'scipy', 'rich', 'polars', 'duckdb', 'pydantic', 'jinja2'} & set(sys.modules)))"
    )

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip().endswith("\n[]")
