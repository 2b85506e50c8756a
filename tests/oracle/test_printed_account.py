"""Each column of the printed tables of account and trends comes from the field that it names; see test_printed.py."""

import csv
import json
from pathlib import Path

import duckdb
import pytest
from pdf_text import pdf_text

from tests.oracle.book_by_hand import BookByHand
from tests.oracle.conftest import gaugebook
from tests.oracle.expectation import in_book
from tests.oracle.page_lines import as_line
from tests.oracle.test_runs import HEARTS, alcohol, sides

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
        assert len(told) == 18


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
        "label_deviation": (0.07, 0.07 * 692, 692, 0.0326, "PAK-1", "LINE"),
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
