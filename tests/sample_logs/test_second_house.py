"""The second house: its sums are right, its files are what its plan gives, and its checks of itself can fail."""

import csv
import io
import shutil
import tomllib
from pathlib import Path

import openpyxl
import pytest

from sample_logs.second_house.generator import alcohol, verify
from sample_logs.second_house.generator.__main__ import HERE, outputs
from sample_logs.second_house.generator.readback import Files

HOUSE = HERE.parent
PLAN = HERE / "plan.toml"
LEAST = {  # so many comparisons at least, so that no check passes by comparing nothing
    "alcohol conserved": 500, "accounts tie": 300, "places match": 150, "readings near the truth": 700,
    "ages from the files": 60,
    "bottles balance": 40, "compositions whole": 40, "faults stand in their lines": 80, "faults are seen": 30,
    "made again the same": 100,
}  # fmt: skip


def wrong(results) -> list[str]:
    return [message for message in results if message]


@pytest.fixture(scope="module")
def faults() -> dict:
    return tomllib.loads((HOUSE / "planted_faults.toml").read_text(encoding="utf-8"))


@pytest.fixture
def copy(tmp_path) -> Path:
    """A copy of the house whose files a test may spoil."""
    for name in ("expected.csv", "true_movements.csv", "planted_faults.toml"):
        shutil.copy(HOUSE / name, tmp_path / name)
    shutil.copytree(HOUSE / "files", tmp_path / "files")
    return tmp_path


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_bytes().decode()
    assert text.count(old) >= 1
    path.write_bytes(text.replace(old, new, 1).encode())


def test_strengths_are_those_of_the_published_tables():
    """40 % vol is 33.300 % mass and 948.05 kg/m3 (OIML R 22); 80 proof is 40.069 % vol at 20 °C; a hydrometer at 193 in
    75 °F means 189.5 proof (27 CFR 30.61)."""
    assert alcohol.density(0.333, 20.0) == pytest.approx(948.05, abs=0.01)
    assert alcohol.pct_vol_20c(alcohol.fraction_of_proof(80.0)) == pytest.approx(40.069, abs=0.001)
    p = alcohol.fraction_of_hydrometer(193.0, alcohol.celsius(75.0))
    assert alcohol.proof(p) == pytest.approx(189.5, abs=0.05)
    assert alcohol.hydrometer_proof(p, alcohol.celsius(75.0)) == pytest.approx(193.0, abs=1e-6)


def test_proof_gallons_by_weight_are_those_of_the_regulation():
    """81,000 lb of 190 proof are 11,921.6 wine gallons and 22,650.8 proof gallons (27 CFR 30.64; its factors are
    rounded to five figures)."""
    p = alcohol.fraction_of_proof(190.0)
    mass = alcohol.mass_kg(81000.0, p, alcohol.T60)
    assert alcohol.gallons(mass, p, alcohol.T60) == pytest.approx(11921.6, rel=1e-4)
    assert alcohol.proof_gallons(mass * p) == pytest.approx(22650.8, rel=1e-4)


def test_the_house_adds_up():
    """Alcohol is conserved to 1e-9, accounts tie, readings are near the truth, faults are seen where they stand and
    nowhere else, and the plan gives the files that are there."""
    for name, results in verify.checks(PLAN, HOUSE).items():
        found = list(results)
        assert wrong(found) == [], name
        assert len(found) >= LEAST[name], name


def test_workbooks_have_the_cells_of_the_plan():
    """The packing of a workbook is the library's; its cells are the plan's."""
    made = {path: content for path, content in outputs(PLAN).items() if path.endswith(".xlsx")}
    assert len(made) > 30
    for path, content in made.items():
        assert _cells(HOUSE / path) == _cells(io.BytesIO(content)), path


def _cells(book) -> dict:
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in openpyxl.load_workbook(book)}


def test_a_litre_that_vanishes_is_seen(copy):
    """Conservation fails when one movement of the truth is a thousandth of a litre short on its way in."""
    path = copy / "true_movements.csv"
    rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
    last = max(n for n, row in enumerate(rows) if row[2].startswith("run:"))
    rows[last][4] = repr(float(rows[last][4]) - 0.001)
    with path.open("w", encoding="utf-8", newline="") as lines:
        csv.writer(lines).writerows(rows)
    messages = wrong(verify.conserved(copy))
    assert messages and all(rows[last][2] in message for message in messages)


def test_an_account_that_does_not_tie_is_seen(copy):
    """A closing that is off by a litre breaks its own sum, its places, the next opening and the site's."""
    rows = list(csv.DictReader((copy / "expected.csv").read_text(encoding="utf-8").splitlines()))
    row = next(r for r in rows if (r["record"], r["part"], r["item"], r["unit"])
               == ("2025-06", "storage", "closing", "LPA"))  # fmt: skip
    spoil(copy / "expected.csv", f"2025-06,storage,2025-06,closing,LPA,{row['true']}",
          f"2025-06,storage,2025-06,closing,LPA,{float(row['true']) + 1.0}")  # fmt: skip
    assert len(wrong(verify.accounts_tie(copy))) == 4


def test_a_fault_that_is_not_there_is_seen(copy):
    """With the missing document number written in, the fault is planted but not found."""
    path = next(p for p in sorted((copy / "files").rglob("shipping*")) if b"PM\t\tC-" in p.read_bytes()
                or b"AM\t\tC-" in p.read_bytes())  # fmt: skip
    spoil(path, "M\t\tC-", "M\tSH-25-900\tC-")
    messages = wrong(verify.faults_are_seen(copy, Files(copy / "files")))
    assert [message.split(":")[0] for message in messages] == ["dispatch-no-document"]


def test_a_fault_that_nobody_planted_is_seen(copy):
    """A second cask with a gross weight below its tare is found on a record that the list does not name."""
    log = next(p for p in sorted((copy / "files").rglob("casklog_2025-06.csv")))
    row = next(line for line in log.read_text(encoding="utf-8").splitlines() if "|REGAUGE|" in line)
    cells = row.split("|")
    spoil(log, row, "|".join([*cells[:6], "60.0", *cells[7:]]))
    messages = wrong(verify.faults_are_seen(copy, Files(copy / "files")))
    assert any(message.startswith("gross-below-tare") and cells[2] in message for message in messages)


def test_the_scenario_is_as_large_as_it_says(faults):
    """At least 22 faults, at least 10 of which stop a release, things that must not be flagged, and under 3 MB."""
    assert len(faults["faults"]) >= 22
    assert sum(fault["severity"] == "stops release" for fault in faults["faults"]) >= 10
    assert len(faults["must_not_flag"]) >= 10
    assert sum(path.stat().st_size for path in HOUSE.rglob("*") if path.is_file() and path.suffix != ".pyc") < 3e6


def test_the_readme_lists_every_fault_and_every_file(faults):
    """A reader finds each fault by name and each kind of file with its columns."""
    text = (HOUSE / "README.md").read_text(encoding="utf-8")
    assert [fault["fault"] for fault in faults["faults"] if f"**{fault['fault']}**" not in text] == []
    kinds = {path.stem.split("_")[0] for path in (HOUSE / "files").rglob("*.*")}
    assert [kind for kind in kinds if f"{kind}_" not in text] == []
