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

from tests.oracle.book_by_hand import BookByHand
from tests.oracle.conftest import gaugebook
from tests.oracle.expectation import Row, in_book
from tests.oracle.test_flags import rulebook
from tests.oracle.test_runs import HEARTS, alcohol, sides


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
    """A value of the data is that of the book: times as text in UTC, numbers to eight digits."""
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
    if isinstance(value, list):
        return "; ".join(map(str, value))
    return "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)


# Head and a line of each printed table, cells apart by two blanks or more; what stands in the cells was worked out
# in this folder.
TABLES = {
    "the chain": (
        "stage | runs | in [LPA] | product [LPA] | recovery | loss [LPA] | flags | page",
        "Strip | 1 | 275.5 ± 6.3 | 251.4 ± 2.0 | 91.2 ± 2.2 % | −1.9 ± 5.5 | 3 | 5"),
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
    r"Strength, label +label 41\.5 % vol; laboratory 41\.570 ± 0\.072 % vol; difference 0\.070 ± 0\.072 % vol",
    r"Fill, 5 sampled +mean 697\.92 mL, standard deviation 8\.44 mL, least 683\.1 mL; nominal 700 mL",
    r"Tolerable negative error +15\.0 mL; 1 bottle below it, none below twice it",
    r"Decision +Held by OP \(QA lead\), ",
    r"Reason +methanol is awaited",
)  # fmt: skip


def as_line(cells: str) -> re.Pattern[str]:
    """A pattern of a line with these cells."""
    return re.compile(r"\s+".join(re.escape(one).replace(r"\ ", r"\s+") for one in cells.split(" | ")))


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


# ---- the account

ACCOUNT = {
    "places": (
        "place | opening | inventory | received | produced | transferred | used | bottled | explained unexplained | "
        "closing",
        "P1 | – | – | – | 422.23 | – | −417.87 | – | – | −2.63 | 1.73"),
    "bought-in spirit": ("place | opening", "N2 | – | – | 294.54 | – | – | −175.19 | – | – | – | 119.35"),
    "total": ("place | opening",
    "All together | 0.00 | 54.19 | 294.54 | 277.23 | 0.00 | 0.00 | −200.77 | −9.31 | −40.36 | 375.52"),
    "stocktake": (
        "vessel | lot | dipped | dip | book | difference | finding",
        "N2 | NS-B1 | 2026-03-31 16:00 | 117.23 ± 0.95 | 119.35 | −2.1 ± 1.7 | short"),
    "balances of runs": (
        "stage | runs | [LPA] | loss [LPA] mass in [kg] | lost [kg] | closes | loses | gains | cannot tell",
        "bottle | 1 | 207.3 | 6.5 ± 3.0 | 471 | 14 | 0 | 1 | 0 | 0"),
    "what needs a word": (
        "what | record | where | value | in words", "unexplained | BOT-1 | G1 | 6.6 ± 1.7 LPA | lost in the run"),
    "reconciled": (
        "lot | run | part | measured | reconciled | test | critical | verdict",
        "NS-1 | REC-1, out | hearts | 218.1 ± 1.5 | 216.92 ± 0.91 | 2.1 | 2.4 | agrees"),
    "what is checked": (
        "part | gauges | not checked | not told apart | U=2u | error that is found | cannot be checked",
        "wash | 2 | 2 | 0 | ± 6.3 | – | FER-1 WASH-1, STR-1 WASH-1"),
}  # fmt: skip


@pytest.fixture(scope="module")
def account_files(oracle_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The account of March as PDF, and its two tables."""
    out = tmp_path_factory.mktemp("account")
    gaugebook(
        oracle_folder,
        "account",
        "2026-03",
        "--out",
        str(out),
        "--csv",
        str(out / "rows.csv"),
        "--gauges",
        str(out / "gauges.csv"),
    )
    return out


@pytest.mark.parametrize("name", ACCOUNT)
def test_columns_of_the_account(account_files: Path, name: str) -> None:
    """The same for the account's tables."""
    text = pdf_text(account_files / "account-2026-03.pdf", "-layout")
    head, line = ACCOUNT[name]
    assert as_line(head).search(text), head
    assert as_line(line).search(text), line


def test_table_of_the_account(oracle_folder: Path, account_files: Path) -> None:
    """The table for spreadsheets has what the account has, each kind of entry in its own column."""
    rows = json.loads(gaugebook(oracle_folder, "account", "2026-03", "--json"))["rows"]
    with (account_files / "rows.csv").open(newline="", encoding="utf-8") as lines:
        table = list(csv.DictReader(lines))
    for line, row in zip(table, rows, strict=False):
        assert (line["place"], line["kind"] == "vessel") == (row["place"], row["is_vessel"])
        told = {name.removesuffix("_lpa"): float(value) for name, value in line.items() if name.endswith("_lpa")}
        assert told == {name: row[name] for name in told}
        assert len(told) == 11


def test_gauges_of_the_account(oracle_book: duckdb.DuckDBPyConnection, account_files: Path) -> None:
    """Each gauge of the month as it was measured and as it was reconciled, and of its network the test."""
    held = {
        (row["kind"], row["run"] or "", row["direction"] or "", row["lot"]): row
        for row in in_book(oracle_book, "derived.reconciled LEFT JOIN derived.networks USING (network)")
        if row["measured_l"] is not None
    }
    with (account_files / "gauges.csv").open(newline="", encoding="utf-8") as lines:
        table = list(csv.DictReader(lines))
    assert {(row["kind"], row["run"], row["direction"], row["lot"]) for row in table} == held.keys()
    for line in table:
        row = held[line["kind"], line["run"], line["direction"], line["lot"]]
        for name in line.keys() - {"gauged_at", "is_beyond", "degrees", "alike", "network"}:
            value = row[name]
            if isinstance(value, float):
                assert float(line[name]) == pytest.approx(value, rel=1e-6, abs=1e-7), name
            elif name not in ("z_critical", "chi_square", "critical"):
                assert line[name] == ("" if value is None else value), name
        assert line["gauged_at"].startswith(f"{row['gauged_at']:%Y-%m-%dT%H:%M:%S}")


# ---- the trends


@pytest.fixture(scope="module")
def trends(oracle_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The trends of March as tables."""
    out = tmp_path_factory.mktemp("trends")
    gaugebook(oracle_folder, "trends", "--out", str(out))
    return out


def table(trends: Path, name: str) -> dict[str, dict[str, str]]:
    """A table of the trends by chart."""
    with (trends / f"trends-2026-03-{name}.csv").open(newline="", encoding="utf-8") as lines:
        return {row["measure"]: row for row in csv.DictReader(lines)}


def test_runs_of_the_trends(trends: Path, by_hand: BookByHand) -> None:
    """Numerator, denominator, value and uncertainty of each run: STR-1 251.397 / 275.537 = 91.239 % +- 1.093;
    PAK-1 6.540 / 207.307 = 3.155 % +- 0.714, 9 rejects of 701 = 1.284 %, fills 697.92 - 700 = -2.08 mL; REC-1's
    spirit 96.217 % vol. Each with its still, recipe, product, operator and malts."""
    rows = table(trends, "runs")
    into, out = sides(by_hand, "STR-1")
    drawn, bottled = (alcohol(side) for side in sides(by_hand, "PAK-1"))
    expected = {
        "strip_recovery": (100 * alcohol(out, HEARTS) / alcohol(into), alcohol(out, HEARTS), alcohol(into), 1.0934,
        "STR-1", "S1"),
        "bottling_loss": (100 * (drawn - bottled) / drawn, drawn - bottled, drawn, 0.7142, "PAK-1", "LINE"),
        "reject_rate": (100 * 9 / 701, 9, 701, None, "PAK-1", "LINE"),
        "fill_deviation": (697.92 - 700, -2.08 * 692, 692, 8.44257 / 5**0.5, "PAK-1", "LINE"),
        "label_deviation": (0.07, 0.07 * 692, 692, 0.03606, "PAK-1", "LINE"),
        "yield_l_per_t": (277.230547 / 0.762, 277.230547, 0.762, 4.19, "FER-1", "F1"),
    }  # fmt: skip
    for measure, (value, numerator, denominator, u, run, still) in expected.items():
        row = rows[measure]
        assert float(row["value"]) == pytest.approx(value, rel=1e-5), measure
        assert float(row["numerator"]) == pytest.approx(numerator, rel=1e-5), measure
        assert float(row["denominator"]) == pytest.approx(denominator, rel=1e-5), measure
        assert (row["run"], row["still"], row["operator"]) == (run, still, "KM")
        assert row["u"] == "" if u is None else float(row["u"]) == pytest.approx(u, rel=2e-3), measure
    assert (rows["strip_recovery"]["recipe"], rows["strip_recovery"]["malt_lots"]) == ("lane mash", "OAT-1, RYE-1")
    assert (rows["bottling_loss"]["product"], rows["bottling_loss"]["batch"]) == ("GIN", "GIN-A")
    assert rows["yield_l_per_t"]["predicted"] == "369.42344"
    assert rows["strip_recovery"]["ended_utc"].startswith("2026-03-09T14:30:00")


def test_months_of_the_trends(trends: Path) -> None:
    """A month's ratio is that of its one run; REC-1's loss is not known, and said to be left out."""
    months, runs = table(trends, "months"), table(trends, "runs")
    for measure, row in months.items():
        known = measure in runs
        assert (row["month"], row["runs"], row["runs_left_out"], row["u"]) == (
            "2026-03",
            "1" if known else "0",
            "0" if known else "1",
            "",
        )
        assert row["value"] == (runs[measure]["value"] if known else "")
        if known:
            assert (row["unit"], row["group"]) == (runs[measure]["unit"], runs[measure]["group"])
    assert {measure for measure in months if measure not in runs} == {"rectify_unaccounted", "rectify_hearts_share"}


def test_strength_at_the_cut(trends: Path) -> None:
    """As it was read, as the measure's definition says: the glass said 71.6 at 24.5 °C, which is 70.05 % vol at 20
    °C."""
    row = table(trends, "runs")["strip_cut_strength"]
    assert float(row["value"]) == pytest.approx(71.6, abs=0.1)
    assert "as read" in table(trends, "charts")["strip_cut_strength"]["definition"]
