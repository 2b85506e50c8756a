"""Gauge records: a page a gauge, numbered, with reading, correction, proof and proof gallons; worked by hand."""

import json
from datetime import date

import pikepdf
import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.engineering.us_gauging import wine_gallons_from_pounds
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.intake.flow import profile_in_force, receive
from gaugebook.pipeline.typed.record import READING_KINDS
from gaugebook.reports.accounts.gauge_records import READINGS, corrected, gather_gauge_records
from gaugebook.reports.cli import main

NEVER_IN_WOOD = [row | ({"kind": "neutral spirit"} if row["lot"] == "NM-1" else {}) for row in OPENING]


def book_of_gauges(root):
    """A tank and a cask from before; a cask filled, gauged again and sampled."""
    return cask_book(
        root,
        opening_stock=NEVER_IN_WOOD,
        casks=[cask | {"former_contents": "new"} for cask in CASKS],
        cask_events=[
            filled("C1", 200, "2024-02-01", person="AB"),
            event("C1", "regauged", "2024-06-01", gross_kg=226.5, strength_reading=62.0),
            event("C1", "sampled", "2024-06-02", volume_at_t_l=0.5, strength_reading=62.0, person="QA"),
        ],
    )


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """The folder of its files and its book; tests only read it."""
    root = tmp_path_factory.mktemp("gauges")
    return root, book_of_gauges(root)


def records_of(folder, **asked):
    """The gauges asked for."""
    with open_book(folder) as book:
        return gather_gauge_records(book, profile_in_force(book), **asked).records


def test_every_kind_of_reading_has_words():
    """A reading of a kind without words would stop the month's records."""
    assert set(READINGS) == set(READING_KINDS)


def test_a_fill_is_one_gauge(house):
    """What was drawn from the tank and what came into the cask was gauged once: five gauges in all, numbered."""
    records = records_of(house[1])

    assert [row["serial"] for row in records] == [1, 2, 3, 4, 5]
    assert sorted(row["circumstance"] for row in records) == [
        "dip, or cask gauged again", "opening inventory", "opening inventory", "produced by fill", "sampled",
    ]  # fmt: skip


def test_each_figure_of_a_record(house):
    """200 L at 62.5 % vol and 20 °C: 125 LPA.

    27 CFR 30.11: a proof gallon is a gallon (3.785 412 L) at 60 °F with 50 % by volume of ethanol at 60 °F; 125 LPA at
    20 °C are 125 x 0.9952 LPA at 60 °F (expansion of ethanol, OIML R 22: 789.24 against 793.02 kg/m3), over 3.785 412
    times two: 65.7.
    """
    [row] = records_of(house[1], month=date(2024, 2, 1))

    assert (row["lot"], row["vessel"], row["is_cask"], row["person"]) == ("C1/1", "C1", True, "AB")
    assert (row["volume_at_t_l"], row["strength_reading"]) == (200, 62.5)
    assert row["alcohol_l"] == pytest.approx(125.0)
    assert row["volume_factor"] == pytest.approx(1.0)
    assert row["proof_gallons"] == pytest.approx(125 * 789.24 / 793.02 / 3.785412 * 2, rel=2e-4)
    assert row["proof"] == pytest.approx(125, abs=0.6)  # 2 x 62.5, but for 60 °F instead of 20 °C


def test_gauges_are_asked_for_by_lot_cask_or_run(house):
    """A lot has those of its cask; a run its own; what is not there is told."""
    folder = house[1]

    assert [row["circumstance"] for row in records_of(folder, lot="C1")] == [
        row["circumstance"] for row in records_of(folder, lot="C1/1")
    ]
    assert len(records_of(folder, run="fill NM-1 2024-02-01")) == 1
    with pytest.raises(UnknownRecord, match="NOWHERE"):
        records_of(folder, lot="NOWHERE")


def test_the_document_has_a_page_a_gauge(house, tmp_path):
    """With serial, reading, instrument, result, who, and the caution; it enters the register."""
    words = ["--book", str(house[1]), "gauge-record", "--month", "2024-06"]
    made = CliRunner().invoke(main, [*words, "--out", str(tmp_path)])
    data = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)
    content = (tmp_path / "gauge-records-2024-06.pdf").read_bytes()
    text = " ".join(pdf_text(content).split())

    assert made.exit_code == 0 and len(data) == 2
    (tmp_path / "x.pdf").write_bytes(content)
    with pikepdf.open(tmp_path / "x.pdf") as document:
        assert len(document.pages) == 2
    for said in ("No. ", "176.50 kg net", "Proof gallons", "Gauged by QA", "highly flammable", "Local codes"):
        assert said in text
    check = CliRunner().invoke(main, ["--book", str(house[1]), "verify", str(tmp_path / "x.pdf")])
    assert "byte for byte" in check.output


def test_later_files_leave_the_numbers_as_they_are(tmp_path):
    """A record of an earlier day that comes later gets a number after all others."""
    root, folder = tmp_path, book_of_gauges(tmp_path)
    before = {(row["file"], row["line"]): row["serial"] for row in records_of(folder)}
    late = root / "late"
    late.mkdir(exist_ok=True)
    head = (root / "site" / "cask_events.csv").read_text(encoding="utf-8").splitlines()
    row = head[1].replace("C1", "C2").replace("2024-02-01", "2024-01-15")
    (late / "cask_events.csv").write_text(f"{head[0]}\n{row}\n", encoding="utf-8")
    receive(folder, [late], root / "site" / "house.toml")

    records = records_of(folder)
    assert len(records) == 6
    assert [row["lot"] for row in records if row["serial"] == 6] == ["C2/1"]
    assert sorted(row["serial"] for row in records if row["lot"] != "C2/1") == sorted(before.values())


def test_a_weighed_cask_with_its_wood_and_age(house):
    """Gross 226.5 kg of a cask that weighs 50 kg empty, four months after it was filled at 62.5 % vol.

    27 CFR 19.618 and 19.619 ask for gross, tare, kind of cooperage, entry proof and age. 27 CFR 30.11: proof gallons
    are wine gallons times the proof over 100.
    """
    row = records_of(house[1], month=date(2024, 6, 1))[0]

    assert (row["gross_kg"], row["mass_kg"], row["vessel"]) == (226.5, 176.5, "C1")
    assert (row["age"], row["entry_strength_pct_vol"]) == ("0 years, 4 months, 0 days", pytest.approx(62.5))
    assert (row["nominal_l"], row["wood"], row["former_contents"]) == (200, "american oak", "new")
    assert row["wine_gallons"] * row["proof"] / 100 == pytest.approx(row["proof_gallons"])
    # by weight, as 27 CFR 30.64 and Table 4 have it (tests of us_gauging hold that way against the printed table)
    assert row["wine_gallons"] == pytest.approx(wine_gallons_from_pounds(176.5 / 0.45359237, row["proof"]), rel=2e-4)


def test_spirit_topped_later_has_no_age_of_its_gauges_before(tmp_path):
    """What was put in later may be younger: the record of an earlier gauge does not say how old the spirit was."""
    folder = cask_book(
        tmp_path,
        opening_stock=NEVER_IN_WOOD,
        casks=CASKS,
        cask_events=[
            filled("C1", 150, "2024-02-01"),
            event("C1", "regauged", "2024-06-01", gross_kg=180.0, strength_reading=62.0),
            filled("C1", 40, "2024-08-01"),
            event("C1", "regauged", "2024-09-01", gross_kg=216.0, strength_reading=62.0),
        ],
    )

    assert [row["age"] for row in records_of(folder, month=date(2024, 6, 1))] == [None]
    assert [row["age"] for row in records_of(folder, month=date(2024, 9, 1))] == ["0 years, 1 month, 0 days"]


def test_an_age_that_a_later_topping_lowered_is_not_told_of_before(tmp_path):
    """C1 lay four months in June; topped in August from C2, filled in April, it counts from April: not in June."""
    topping = {"volume_at_t_l": 30, "strength_reading": 62.4}
    folder = cask_book(
        tmp_path,
        opening_stock=NEVER_IN_WOOD,
        casks=CASKS,
        cask_events=[
            filled("C1", 150, "2024-02-01"),
            filled("C2", 190, "2024-04-01"),
            event("C1", "regauged", "2024-06-01", gross_kg=180.0, strength_reading=62.0),
            event("C2", "drawn", "2024-08-01", other_cask="C1", **topping),
            event("C1", "filled", "2024-08-01", other_cask="C2", **topping),
            event("C1", "regauged", "2024-09-01", gross_kg=205.0, strength_reading=62.0),
        ],
    )

    assert [row["age"] for row in records_of(folder, month=date(2024, 6, 1))] == [None]
    assert [row["age"] for row in records_of(folder, month=date(2024, 9, 1))] == ["0 years, 5 months, 0 days"]


@given(st.floats(0.1, 100.0), st.floats(0.1, 5000.0))
def test_proof_gallons_go_with_the_litres(strength, litres):
    """Twice the litres are twice the gallons, whatever the strength; unknown litres have none."""
    row = {
        "volume_at_t_l": None, "volume_l": None, "reading_kind": None, "strength_reading": None,
        "strength_pct_vol": strength, "alcohol_l": litres, "aged_from": None, "is_cask": True,
    }  # fmt: skip

    assert corrected(row | {"alcohol_l": 2 * litres})["proof_gallons"] == pytest.approx(
        2 * corrected(row)["proof_gallons"]
    )
    assert corrected(row | {"alcohol_l": None})["proof_gallons"] is None
    assert 0 < corrected(row)["proof"] <= 200.5
