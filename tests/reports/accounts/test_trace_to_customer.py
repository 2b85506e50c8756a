"""A lot followed to the customer: by which document, how many bottles, what is still here, what is missing."""

import json

import polars as pl
import pytest
from click.testing import CliRunner
from goods_house import EACH_L, counted, gone, goods_book, moved
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.tracing import recall, trace
from gaugebook.reports.cli import main

BULK = {
    "lot": "LIQ-1", "vessel": "T2", "dispatched_at": "2026-02-20", "volume_at_t_l": 5, "volume_temperature_c": 20,
    "strength_reading": 41.3, "reading_kind": "pct_vol_20c", "customer": "K-9", "document": "D-9",
    "duty_status": "in bond",
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """200 bottles: 60 to K-7, 40 to K-8, 6 back from K-7, 2 sampled, 3 destroyed, of 101 left 99 counted."""
    return goods_book(
        tmp_path_factory.mktemp("trace"),
        dispatches=[
            gone(60, "2026-02-02", customer="K-7", document="D-1"),
            gone(40, "2026-02-03", customer="K-8", document="D-2"),
            BULK,
        ],
        returns=[moved("returned_at", 6, "2026-02-10", customer="K-7", document="R-1")],
        samples=[moved("taken_at", 2, "2026-02-11", purpose="panel")],
        destructions=[moved("destroyed_at", 3, "2026-02-12", reason="broken", witness="QA")],
        inventory=[counted(99, "2026-02-28T18:00")],
    )


@pytest.fixture(scope="module")
def found(folder):
    """The liquid of the batch, followed."""
    with open_book(folder) as book:
        return recall(book, trace(book, "LIQ-1"))


def test_each_dispatch_with_its_document_and_customer(found):
    """Bottles made of the lot, and bulk of the lot itself."""
    sent = found.removals.filter(kind="dispatched").select("lot", "to_whom", "document", "pieces", "duty_status").rows()

    assert sent == [
        ("B-1", "K-7", "D-1", 60, "in bond"), ("B-1", "K-8", "D-2", 40, "in bond"),
        ("LIQ-1", "K-9", "D-9", None, "in bond"),
    ]  # fmt: skip


def test_every_bottle_is_somewhere(found):
    """200 came; 94 are with customers, 2 sampled, 3 destroyed, 101 in the house, of which 2 were not found."""
    [row] = found.goods.to_dicts()

    told = [row[name] for name in ("came", "dispatched", "returned", "sampled", "destroyed", "used", "in_the_house")]
    assert told == [200, 60 + 40, 6, 2, 3, 0, 101]
    assert (row["counted"], row["unaccounted"]) == (99, 2)


def test_bulk_that_left_is_accounted_for(found):
    """120 L of liquid: 100.5 went to the bottling, 5 to a customer, the rest is left; all of it is accounted for."""
    assert found.left == pytest.approx((120 - 100.5 - 5) * 0.413, abs=1e-6)
    assert found.accounted == pytest.approx(1.0, abs=1e-6)


def test_the_command_names_the_customers(folder, tmp_path):
    """In the terminal, in the table for letters, on paper and for machines."""
    words = ["--book", str(folder), "trace", "LIQ-1"]
    printed = (
        CliRunner()
        .invoke(main, [*words, "--customers", str(tmp_path / "c.csv"), "--pdf", "--out", str(tmp_path)])
        .output
    )
    table = pl.read_csv(tmp_path / "c.csv")
    for_machines = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)

    assert "60 bottles to K-7 (D-1)" in printed
    assert "94 bottles are with 3 customers, 101 in the house by the book" in printed
    assert "of which 2 were not found at the last count" in printed
    assert table.filter(pl.col("kind") == "dispatched")["to_whom"].to_list() == ["K-7", "K-8", "K-9"]
    assert for_machines["recall"]["goods"][0]["in_the_house"] == 101
    assert (tmp_path / "trace-LIQ-1.pdf").exists()


def test_bottles_from_before_the_book_are_traced_too(tmp_path):
    """12 bottles of the opening stock, 5 of them sent out: 7 in the house, and all of the lot accounted for."""
    old = {
        "lot": "OLD", "material": "old whisky", "kind": "bottled spirit", "counted_at": "2026-01-01", "pieces": 12,
        "nominal_ml": 700, "label_strength_pct_vol": 43,
    }  # fmt: skip
    folder = goods_book(tmp_path, opening_stock=[old], dispatches=[gone(5, "2026-02-02", lot="OLD")])
    with open_book(folder) as book:
        told = recall(book, trace(book, "OLD"))

    assert told.goods.select("came", "dispatched", "in_the_house").rows() == [(12, 5, 7)]
    assert told.bottles["bottles"].to_list() == [12]
    assert told.accounted == pytest.approx(1.0)


@settings(max_examples=8, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("DRSX"), st.integers(1, 20)), max_size=8))
def test_came_less_all_that_left_is_in_the_house(tmp_path_factory, moves):
    """However the bottles went."""
    kinds: dict[str, list[dict[str, object]]] = {"dispatches": [], "returns": [], "samples": [], "destructions": []}
    for number, (kind, pieces) in enumerate(moves, start=1):
        on = f"2026-02-{number:02d}"
        if kind == "D":
            kinds["dispatches"].append(gone(pieces, on))
        else:
            name, time = {"R": ("returns", "returned_at"), "S": ("samples", "taken_at"),
                          "X": ("destructions", "destroyed_at")}[kind]  # fmt: skip
            kinds[name].append(moved(time, pieces, on))
    folder = goods_book(tmp_path_factory.mktemp("law"), **{name: rows for name, rows in kinds.items() if rows})
    with open_book(folder) as book:
        [row] = recall(book, trace(book, "LIQ-1")).goods.to_dicts()
        litres = float(book.value("SELECT sum(alcohol_l) FROM derived.goods_entries"))

    left = row["dispatched"] + row["sampled"] + row["destroyed"] + row["used"] - row["returned"]
    assert row["came"] - left == row["in_the_house"] == 200 - sum(n if k != "R" else -n for k, n in moves)
    assert litres == pytest.approx(row["in_the_house"] * EACH_L, abs=0.0051)
