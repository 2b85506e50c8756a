"""The count sheet and the inventory document: what there is to count, and what was counted against the book."""

import json
from datetime import date, datetime
from shutil import copytree

import polars as pl
import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from click.testing import CliRunner
from goods_house import BOTTLING, FILLED, LIQUID, RUN, counted
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.reports.accounts.inventory import gather_inventory, to_count
from gaugebook.reports.accounts.inventory_document import inventory_document
from gaugebook.reports.cli import main

COUNTED = {"counted_at": "2026-02-28T18:00", "counted_by": "AB"}
GAUGED = {"strength_reading": 62.5, "reading_kind": "pct_vol_20c", "volume_temperature_c": 20}

GONE = {  # a lot of bottles of which none is left
    "lot": "GONE", "material": "old whisky", "kind": "bottled spirit", "counted_at": "2026-01-01", "pieces": 5,
    "nominal_ml": 500, "label_strength_pct_vol": 40,
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Two casks filled from a tank, one emptied; a cask from before; 200 bottles; counted on 28 February 2026.

    The tank is gauged 10 L short; cask C1 is weighed; cask C9 is not found; of the bottles 198 are there.
    """
    return cask_book(
        tmp_path_factory.mktemp("inventory"),
        opening_stock=[*OPENING, LIQUID, GONE],
        dispatches=[{"lot": "GONE", "pieces": 5, "dispatched_at": "2026-01-03", "customer": "K-1", "document": "D-1"}],
        casks=CASKS,
        cask_events=[
            filled("C1", 200, "2025-12-01"),
            filled("C2", 190, "2025-12-01"),
            event("C2", "emptied", "2026-02-01", lot="VAT", volume_at_t_l=189, strength_reading=62.4),
        ],
        runs=[RUN],
        movements=FILLED,
        bottling=[BOTTLING],
        inventory=[
            COUNTED | GAUGED | {"container": "tank", "vessel": "T1", "lot": "NM-1", "volume_at_t_l": 600},
            COUNTED | {"container": "cask", "vessel": "C1", "volume_at_t_l": 198} | GAUGED,
            counted(198, "2026-02-28T18:00"),
        ],
    )


@pytest.fixture(scope="module")
def inventory(folder):
    """Of that day."""
    with open_book(folder) as book:
        return gather_inventory(book, profile_in_force(book), date(2026, 2, 28))


def test_the_sheet_lists_all_that_the_book_holds(folder):
    """Tanks, casks that are not empty, and lots of bottles; before the bottling the bottles are not there yet."""
    with open_book(folder) as book:
        house = profile_in_force(book)
        now, before = (to_count(book, house, datetime(2026, month, 15)) for month in (2, 1))
        early = to_count(book, house, datetime(2026, 1, 5))

    listed = {(row["container"], row["vessel"], row["lot"]) for row in now}
    assert listed == {
        ("tank", "T1", "NM-1"), ("tank", "T2", "LIQ-1"), ("cask", "C1", "C1/1"), ("cask", "C9", "C9/1"),
        ("cased goods", None, "B-1"),
    }  # fmt: skip
    assert ("cask", "C2", "C2/1") in {(row["container"], row["vessel"], row["lot"]) for row in before}
    assert "cased goods" not in {row["container"] for row in early}


def test_the_sheet_says_where_each_cask_lay_at_the_time(tmp_path):
    """C1 lay in W1, row 4, tier 2, before it was moved; after that, to count it, one goes to W2."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=[{"cask": "C1", "tare_kg": 50, "location": "W1", "position": "4/2"}],
        cask_events=[filled("C1", 200, "2024-02-01"), event("C1", "moved", "2024-03-01", location="W2", position="1")],
    )
    with open_book(folder) as book:
        house = profile_in_force(book)
        sheets = [to_count(book, house, datetime(2024, month, 15)) for month in (2, 3)]

    places = [[(row["location"], row["position"]) for row in rows if row["vessel"] == "C1"] for rows in sheets]
    assert places == [[("W1", "4/2")], [("W2", "1")]]


def test_a_tank_is_held_against_the_book_with_its_uncertainty(inventory):
    """1000 L less 390 L at 62.5 % vol leave 381.25 LPA; 600 L were found: 6.25 LPA less."""
    [tank] = [row for row in inventory.tanks if row["vessel"] == "T1"]

    assert float(tank["book_l"]) == pytest.approx(625 - 390 * 0.625, abs=0.011)
    assert tank["difference_l"] == pytest.approx(-6.25, abs=0.011)
    assert 0 < tank["u_difference_l"] < 6.25
    assert tank["finding"] == ("short" if 2 * tank["u_difference_l"] < 6.25 else "agrees")


def test_a_tank_that_the_book_holds_and_nobody_gauged_is_told(inventory):
    """The rest of the liquid in T2."""
    assert [row["finding"] for row in inventory.tanks if row["vessel"] == "T2"] == ["no dip"]


def test_casks_are_found_or_not(inventory):
    """C1 is there and was gauged, C9 is not found; C2 is empty and nobody looked for it."""
    assert {row["cask"]: row["finding"] for row in inventory.casks} == {"C1": "found", "C9": "not found"}
    first = inventory.casks[0]
    assert first["dip"]["dip_l"] == pytest.approx(198 * 0.625)
    assert first["u_book_l"] > 0


def test_what_was_gauged_at_the_count_is_a_regauge(folder):
    """200 L filled, 198 L found at the same strength: 1.25 LPA lost in the cask."""
    with open_book(folder) as book:
        loss = book.value("SELECT loss_l FROM derived.cask_losses WHERE contents = 'C1/1'")

    assert loss == pytest.approx(2 * 0.625)


def test_bottles_are_held_against_the_book_one_by_one(inventory):
    """198 of 200."""
    [row] = inventory.goods

    assert (row["pieces"], row["book_pieces"], row["difference"], row["finding"]) == (198, 200, -2, "short")


def test_the_document_is_signed_and_cautions(inventory):
    """It says who counted, leaves lines for signatures, cautions, and is the same each time."""
    document = inventory_document(inventory)
    text = " ".join(pdf_text(document.content).split())

    assert "Counted by AB" in text and "signature" in text and "head distiller" in text
    assert "highly flammable" in text and "local codes" in text
    assert "not found" in text and "not counted" in text
    assert document.content == inventory_document(inventory).content


def test_the_sheet_is_named_by_the_day_that_was_asked(folder, tmp_path):
    """The end of 15 February in Denver is 16 February in UTC; the file bears the day of the house's calendar."""
    copytree(folder, tmp_path / "book")
    with open_book(tmp_path / "book", writing=True) as book:
        book.execute("""UPDATE received.houses SET text = replace(text, '"UTC"', '"America/Denver"')""")
    words = ["--book", str(tmp_path / "book"), "inventory", "--sheet", "--as-of", "2026-02-15", "--out", str(tmp_path)]

    assert CliRunner().invoke(main, words).exit_code == 0
    assert sorted(path.name for path in tmp_path.glob("count-sheet-*")) == [
        "count-sheet-2026-02-15.csv", "count-sheet-2026-02-15.pdf",
    ]  # fmt: skip


def test_the_commands_write_the_files(folder, tmp_path):
    """Sheet as PDF and as a table whose columns an inventory record has; the inventory enters the register."""
    words = ["--book", str(folder), "inventory"]
    sheet = CliRunner().invoke(main, [*words, "--sheet", "--as-of", "2026-02-15", "--out", str(tmp_path)])
    table = pl.read_csv(tmp_path / "count-sheet-2026-02-15.csv")
    made = CliRunner().invoke(main, [*words, "2026-02-28", "--out", str(tmp_path)])
    for_machines = CliRunner().invoke(main, [*words, "2026-02-28", "--json"])

    assert sheet.exit_code == 0 and (tmp_path / "count-sheet-2026-02-15.pdf").exists()
    fields = {field.name for field in RECORDS["inventory"].fields}
    assert set(table.columns) - {"what"} <= fields
    assert table.height == 5
    assert made.exit_code == 1  # it differs
    assert "cask C9: not found" in made.output
    paper = str(tmp_path / "inventory-2026-02-28.pdf")
    check = CliRunner().invoke(main, ["--book", str(folder), "verify", paper])
    assert "byte for byte" in check.output
    assert json.loads(for_machines.stdout)["goods"][0]["difference"] == -2


def test_a_day_without_a_count_is_told(folder):
    """With the days on which there was one."""
    with open_book(folder) as book, pytest.raises(UnknownRecord, match="2026-02-28"):
        gather_inventory(book, profile_in_force(book), date(2026, 3, 1))
