"""Each column of each printed table comes from the field that it names: the dossier's data against the tables of the
book, its tables for spreadsheets against its data, and the text of its pages against values worked out by hand.

The lists compare by name; the lines of text are typed here with the cells in the order of their heads, no two
columns of a line alike.
"""

import csv
import io
import json
import re
from math import comb
from pathlib import Path
from typing import Any

import duckdb
import pikepdf
import pytest
from pdf_text import pdf_text

from tests.oracle.conftest import gaugebook
from tests.oracle.expectation import Row, in_book
from tests.oracle.page_lines import as_line
from tests.oracle.test_flags import rulebook


@pytest.fixture(scope="module")
def dossier(oracle_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The dossier of GIN-A."""
    out = tmp_path_factory.mktemp("dossier")
    gaugebook(oracle_folder, "dossier", "GIN-A", "--out", str(out))
    return out / "GIN-A.pdf"


@pytest.fixture(scope="module")
def attached(dossier: Path) -> dict[str, bytes]:
    """What is attached to it, by name."""
    with pikepdf.open(dossier) as pdf:
        return {name: spec.get_file().read_bytes() for name, spec in pdf.attachments.items()}


@pytest.fixture(scope="module")
def data(attached: dict[str, bytes]) -> dict[str, Any]:
    """Its data."""
    return json.loads(attached["dossier.json"])


# Section of the data: table of the book, condition, and the columns that name a row. A stage's lists are taken
# together.
SECTIONS = {
    "flags": ("flagged.flags JOIN flagged.batch_flags USING (flag)", ("rule", "record")),
    "rules_in_force": ("flagged.rules JOIN (SELECT rule, records FROM flagged.rule_counts) USING (rule)", ("rule",)),
    "flag_states": ("history.flag_states SEMI JOIN flagged.batch_flags USING (flag)", ("flag",)),
    "decisions": ("history.decisions", ("decision",)),
    "edges": ("derived.lineage", ("run", "lot")),
    "lots": ("derived.lots SEMI JOIN derived.ancestor_lots USING (lot)", ("lot",)),
    "results": ("derived.laboratory SEMI JOIN derived.ancestor_lots USING (lot)", ("lot", "analyte")),
    "botanicals": ("derived.botanical_bill", ("run", "botanical")),
    "panels": ("typed.panel", ("session",)),
    "amendments": ("typed.amendments", ("amendment",)),
    "files": ("(SELECT * FROM received.files WHERE name NOT IN ('opening.csv', 'calibrations.csv', 'dips.csv'))",
    ("name",)),
    "bottling": ("derived.bottlings", ("batch",)),
    "batch_yield": ("derived.batch_yields", ()),
    "materials": ("(SELECT *, [lot] AS lots FROM derived.batch_bill)", ("material",)),
    "standing": ("flagged.standings", ()),
    "runs": ("typed.runs", ("run",)),
    "gauges": ("derived.gauges", ("run", "direction", "lot")),
    "balances": ("derived.run_balances", ("run",)),
    "ferments": ("derived.ferment_yields", ("run",)),
}  # fmt: skip
OF_STAGES = ("runs", "gauges", "balances", "ferments")
# What a list says besides the columns of its table, tried by itself below.
BESIDES = {"place", "changed", "kept", "refused", "run", "lot", "analyte"}


def records(data: dict[str, Any], section: str) -> list[Row]:
    """The records of a section."""
    if section in OF_STAGES:
        parts = [stage[section] for stage in data["stages"]]
        return [row for part in parts for row in (part.values() if isinstance(part, dict) else part)]
    found = data[section]
    if isinstance(found, dict):
        return list(found.values()) if section in ("lots", "flag_states") else [found]
    return found


def same(found: object, held: object) -> bool:
    """A value of the data is that of the book: times as text in UTC, numbers to eight digits, objects as JSON."""
    if isinstance(found, dict):
        return found == json.loads(str(held))
    if hasattr(held, "isoformat"):
        return found == f"{held:%Y-%m-%dT%H:%M:%S}Z"
    if isinstance(held, float) and isinstance(found, int | float):
        return found == pytest.approx(held, rel=1e-7, abs=1e-8)
    return found == held


@pytest.mark.parametrize("section", SECTIONS)
def test_each_field_is_the_column_of_its_name(
    data: dict[str, Any], oracle_book: duckdb.DuckDBPyConnection, section: str
) -> None:
    """Every record of the dossier's data has, under each name, what the book's table has under that name."""
    table, key = SECTIONS[section]
    held = {tuple(row[name] for name in key): row for row in in_book(oracle_book, table)}
    rows = records(data, section)
    assert {tuple(row[name] for name in key) for row in rows} == held.keys()
    assert len(rows) == len(held) > 0
    for row in rows:
        of_table = held[tuple(row[name] for name in key)]
        names = row.keys() - (BESIDES - set(key) if section in ("amendments", "files", "decisions") else {"place"})
        wrong = {name: (row[name], of_table[name]) for name in names if not same(row[name], of_table[name])}
        assert not wrong
        if "place" in row and of_table["source_id"]:
            assert row["place"] == f"{of_table['source_id']}:{of_table['line']}"


def test_what_no_table_has(data: dict[str, Any]) -> None:
    """The amendment hangs on its run and lot; of each file the rows that were kept; nothing changed since the
    decision; the rules looked at 105 rules' records; the label may differ by 0.3 % vol either way."""
    (amendment,) = data["amendments"]
    assert (amendment["run"], amendment["lot"], amendment["analyte"]) == ("BOT-1", "BOT-1-T", None)
    assert (amendment["old_value"], amendment["new_value"]) == ("63.3", "36.3")
    kept = {"S1_2026-03-09.csv": 331, "balance.csv": 3, "bottling.csv": 1, "fills.csv": 5, "gauges.csv": 31,
    "intake.csv": 8,
            "laboratory.csv": 9, "panel.csv": 1, "runs.csv": 8}  # fmt: skip
    assert {file["name"]: (file["kept"], file["refused"]) for file in data["files"]} == {
        n: (k, 0) for n, k in kept.items()
    }
    assert data["decisions"][0]["changed"] == []
    assert data["fills"] == [701.4, 699.2, 703.7, 683.1, 702.2]
    limits = {"least": 41.2, "most": 41.8, "unit": "pct_vol", "citation": "Regulation (EU) 1169/2011, Annex XII"}
    assert data["limits"] == {"strength": limits}
    assert (data["product"]["code"], data["product"]["category"], data["product"]["nominal_ml"]) == (
        "GIN",
        "distilled gin",
        700,
    )


def test_sums_of_the_rules(data: dict[str, Any], oracle_book: duckdb.DuckDBPyConnection) -> None:
    """So many rules, records that they looked at, and answers that could not be given: one run's closure, one
    strength, one drift, two tests of fill, three instruments: 8."""
    counts = in_book(oracle_book, "flagged.rule_counts")
    assert data["rules"] == {
        "rules": len(rulebook()),
        "records": sum(row["records"] for row in counts),
        "not_evaluated": 8,
    }


def test_tables_for_spreadsheets(attached: dict[str, bytes], data: dict[str, Any]) -> None:
    """A table that is attached has the fields of its records as heads, and under each the field's values."""
    names = {name.removesuffix(".csv") for name in attached if name.endswith(".csv")}
    assert names == {*SECTIONS, "limits", "curves"} - {"bottling", "batch_yield", "standing"}
    for name in names - {"curves"}:
        rows = list(csv.DictReader(io.StringIO(attached[f"{name}.csv"].decode())))
        told = list(data["limits"].values()) if name == "limits" else records(data, name)
        heads = rows[0].keys()
        assert all(record.keys() == heads for record in told)
        of_table = sorted(tuple(map(as_number, row.values())) for row in rows)
        of_data = sorted(tuple(as_number(cell(record[head])) for head in heads) for record in told)
        assert of_table == of_data, name


def as_number(text: str) -> str:
    """A number in one spelling: 11 and 11.0 are alike; other words as they are."""
    try:
        return repr(float(text))
    except ValueError:
        return text


def cell(value: object) -> str:
    """A value as a table writes it."""
    if isinstance(value, dict):
        return json.dumps(value, sort_keys=True, separators=(",", ":"))
    if isinstance(value, list):
        return "; ".join(map(str, value))
    return "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)


# Head and a line of each printed table, cells apart by two blanks or more; what stands in the cells was worked out
# in this folder.
TABLES = {
    "the chain": (
        "stage | runs | in [LPA] | product [LPA] | recovery | loss [LPA] | flags | page",
        "Strip | 1 | 275.5 ± 6.3 | 251.4 ± 2.0 | 91.2 ± 2.2 % | −1.9 ± 5.5 | 3 | 7"),
    "materials": (
        "material | content by | lots | mass [kg] | share | [LPA] | share",
        "rye malt | extract of the dry matter, | RYE-1 | 166 | 80.1 % | 62.9 | 82.1 %"),
    "spirit bought in": (
        "material | origin | lots | strength [% vol] | of the alcohol",
        "neutral spirit | bought in | NS-B1 | 96.30 | 71.1 %"),
    "runs of a stage": (
        "run | on | from | time | by | in [LPA] | product | recovery | loss [LPA] | place",
        "RED-1 | P1 | 2026-03-24 08:00 | 2.0 h | KM | 210.6 ± 2.0 | 209.0 ± 3.0 | 99.3 ± 1.3 % | 1.5 ± 2.8 | [9]:8"),
    "gauges": (
        "way lot | part | [kg] | volume [L] | strength as read | [% vol] | alcohol [LPA] | place",
        "in | HRT-1 | hearts | 312.0 | 353.1 ± 2.1 | 886.9 kg/m³ at 17.4 °C | 70.33 ± 0.32 | 248.3 ± 1.9 | [5]:13"),
    "laboratory": (
        "analyte | result | n spread | limits | position | answer | method | place",
        "dry extract | 0.31 g/L | 1 | – | – | no limit | evaporation | [7]:10"),
    "botanicals": (
        "run | botanical | lots | [kg] | [g/LPA] | [g/LPA] | of recipe | position | condition | recipe asks",
        "BOT-1 | lemon peel † | LEM-1 | 0.560 | 3.20 | 6.50 | 49.2 % | dried | fresh ≠"),
    "reduction": (
        "way | part | lots | volume [L] | strength [% vol] | alcohol [LPA]",
        "in | spirit | 1 | 259.0 ± 2.3 | 81.30 | 210.6 ± 2.0"),
    "contraction": ("way | part | lots", "contraction and loss of volume | 9.7 ± 4.4 | 1.9 % of in"),
    "panel": (
        "session | held | lot | reference | test | assessors | correct | chance",
        "T-1 | 2026-03-27 | GIN-A | GIN-Z | triangle | 17 | 9 | 0.075"),
    "rules": (
        "rule | what is compared, and with what | severity | records | source",
        "botanical-condition | condition: equal to recipe condition | needs explanation | 3 | House profile: "
        "condition in the recipe"),
    "files": (
        "no. | file | read by map | bytes rows kept | refused | SHA-256",
        "[2] balance.csv | balance | 123 | 3 | 0 | bcc11323c208fecfa34d9424fa330127ede84f891731b4e5584b4dc235ca68a5"),
}  # fmt: skip
PLAIN = (
    r"Strip, STR-1 +275\.5 ± 6\.3 +6\.9 +251\.4 ± 2\.0 +12\.1 +7\.0 +−1\.9 ± 5\.5 +100\.7 ± 2\.0 % +within U",
    r"movements: BOT-1 / out / BOT-1- +strength reading +63\.3 +36\.3 +KM, ",
    r"F1 · run BOT-1, lemon peel +stops release, open",
    r"Found +charged against the recipe: 0\.49 g per g; expected 0\.90 to 1\.10 \(out\)",
    r"Rule +botanical-quantity; House limit: recipe of the house profile, ±10 %",
    r"F3 · run BOT-1, lemon peel +needs explanation, explained",
    r"Rule +botanical-condition; House profile: condition in the recipe",
    r"Life +explained by KM \(head distiller\), .*: fresh peel was not to be had \(attached: photograph\.txt, SHA-256",
    r"Read from +balance\.csv:4",
    r"Bottles +692 filled, 9 rejected",
    r"Alcohol drawn, bottled +207\.3 ± 2\.2 LPA drawn, 200\.8 ± 2\.0 LPA bottled; loss 3\.2 %",
    r"Strength, label +label 41\.5 % vol; laboratory 41\.570 ± 0\.065 % vol; difference 0\.070 ± 0\.065 % vol",
    r"Fill, 5 sampled +mean 697\.92 mL, standard deviation 8\.44 mL, least 683\.1 mL; nominal 700 mL",
    r"Tolerable negative error +15\.0 mL; 1 bottle below it, none below twice it",
    r"Decision +Held by OP \(QA lead\), ",
    r"Reason +methanol is awaited",
)  # fmt: skip


@pytest.fixture(scope="module")
def page_text(dossier: Path) -> str:
    """Text of the dossier's pages as they are laid out."""
    return pdf_text(dossier, "-layout")


@pytest.mark.parametrize("name", TABLES)
def test_columns_of_a_printed_table(page_text: str, name: str) -> None:
    """Under the heads, in their order, stand the values that belong to them."""
    head, line = TABLES[name]
    assert as_line(head).search(page_text), head
    assert as_line(line).search(page_text), line


@pytest.mark.parametrize("pattern", PLAIN)
def test_lines_of_the_dossier(page_text: str, pattern: str) -> None:
    """Balance, amendment, flags, bottling and decision: each word in its place."""
    assert re.search(pattern, page_text)


def test_chance_of_the_panel() -> None:
    """Nine or more of 17 by guessing one in three: the sum of C(17, k) 2^(17-k) / 3^17 from nine on is 0.0755."""
    assert round(sum(comb(17, k) * 2 ** (17 - k) for k in range(9, 18)) / 3**17, 3) == 0.075
