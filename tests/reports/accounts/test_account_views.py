"""The accounts that laws ask for: each place belongs to one, what moves between them is told, they sum to the one."""

import json
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from click.testing import CliRunner
from goods_house import BOTTLING, FILLED, LIQUID, RUN, gone
from hypothesis import given, settings
from hypothesis import strategies as st
from pdf_text import pdf_text

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import ACCOUNTS, parse_house
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.accounts import account_views
from gaugebook.reports.accounts.account import COLUMNS, gather_account, known_months
from gaugebook.reports.accounts.account_view_document import view_document
from gaugebook.reports.accounts.account_views import VIEW_COLUMNS, gather_view
from gaugebook.reports.cli import main

DECEMBER = date(2025, 12, 1)
STORAGE = """
[[vessels]]
code = "T3"
name = "Store tank"
capacity_l = 5000.0
account = "storage"
"""
DAYS = st.datetimes(datetime(2025, 10, 1), datetime(2026, 4, 1))
MOVES = ("produced", "used", "transferred")  # inside the house; in a view a part of them is told as moved in and out


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Casks filled from T1 (processing), one dumped into T3 (storage by the profile); bottles; bulk sent out."""
    bulk = {
        "lot": "LIQ-1", "vessel": "T2", "dispatched_at": "2026-02-20", "volume_at_t_l": 5, "volume_temperature_c": 20,
        "strength_reading": 41.3, "reading_kind": "pct_vol_20c", "document": "D-9",
    }  # fmt: skip
    dumped = {
        "run": "dump VAT 2026-02-01", "direction": "out", "lot": "VAT", "part": "spirit", "vessel": "T3",
        "gauged_at": "2026-02-01", "volume_at_t_l": 187, "volume_temperature_c": 20, "strength_reading": 62.4,
        "reading_kind": "pct_vol_20c",
    }  # fmt: skip
    return cask_book(
        tmp_path_factory.mktemp("views"),
        STORAGE,
        opening_stock=[row | {"counted_at": "2025-11-01"} for row in (*OPENING, LIQUID)],
        casks=[cask | {"location": "B" if cask["cask"] == "C9" else "A"} for cask in CASKS],
        cask_events=[
            filled("C1", 200, "2025-12-01"),
            filled("C2", 190, "2025-12-01"),
            event("C1", "moved", "2026-01-15", location="B", position="2/1"),
            event("C2", "emptied", "2026-02-01", lot="VAT", volume_at_t_l=188, strength_reading=62.4),
        ],
        runs=[RUN],
        movements=[*FILLED, dumped],
        bottling=[BOTTLING],
        dispatches=[bulk, gone(60, "2026-02-21")],
    )


def views_of(folder: Path, month: date, *names: str):
    """Views of a month by name, and the account of the site."""
    with open_book(folder) as book:
        house = profile_in_force(book)
        views = {name: gather_view(book, house, month, name) for name in names}
        return views, gather_account(book, house, month).total


def test_filling_casks_moves_spirit_into_storage(folder):
    """390 L at 62.5 % vol are 243.75 LPA: out of processing, where T1 is, into storage; C9 was there before."""
    views, _ = views_of(folder, DECEMBER, *ACCOUNTS)

    assert views["storage"].total["moved_in"] == Decimal("243.75")
    assert views["processing"].total["moved_out"] == Decimal("-243.75")
    assert views["storage"].total["opening"] == Decimal("90.00")
    assert views["storage"].total["closing"] == Decimal("333.75")
    assert views["storage"].transfers == [
        {"part": "storage", "other": "processing", "moved_in": Decimal("243.75"), "moved_out": Decimal("0.00")}
    ]


def test_a_vessel_belongs_where_the_profile_says(folder):
    """The dump of a cask into a tank of storage moves nothing between accounts."""
    views, _ = views_of(folder, date(2026, 2, 1), "storage")

    assert views["storage"].transfers == []
    assert {row["place"] for row in views["storage"].rows} == {"C1", "C2", "C9", "T3", "casks"}


def test_an_account_that_no_law_knows_is_refused():
    """With the accounts that there are."""
    profile = '[house]\nname = "x"\ntime_zone = "UTC"\nsite_altitude_m = 0.0\n' + STORAGE.replace(
        '"storage"', '"attic"'
    )
    with pytest.raises(SettingsError, match="production, storage, processing"):
        parse_house(profile, "house.toml")


def assert_sums_to_the_one(views, total):
    """Line by line; moves inside the house together with what moved between the parts, which comes to nothing."""
    for name in COLUMNS:
        if name not in MOVES:
            assert sum(view.total[name] for view in views.values()) == total[name], name
    moves = sum(view.total[name] for view in views.values() for name in (*MOVES, "moved_in", "moved_out"))
    assert moves == sum(total[name] for name in MOVES)
    assert sum(view.total["moved_in"] + view.total["moved_out"] for view in views.values()) == 0
    for view in views.values():
        for row in view.rows:
            assert sum(row[name] for name in VIEW_COLUMNS[:-1]) == row["closing"]


def test_the_three_sum_to_the_one_to_the_last_cent(folder):
    """In every month of the book."""
    with open_book(folder) as book:
        months = known_months(book)
    assert len(months) >= 4
    for month in months:
        views, total = views_of(folder, month, *ACCOUNTS)
        assert_sums_to_the_one(views, total)


def test_the_three_of_the_sample_distillery_sum_to_the_one(sample_book):
    """Stills, tanks and bottling of a whole year: in its busiest month."""
    views, total = views_of(sample_book, date(2026, 5, 1), *ACCOUNTS)

    assert_sums_to_the_one(views, total)
    assert views["production"].total["moved_out"] < 0 < views["processing"].total["moved_in"]


def test_the_warehouses_sum_to_the_one(folder):
    """Casks lie in A and B, everything else is at the distillery; filling moves spirit into A."""
    views, total = views_of(folder, DECEMBER, "warehouse")

    rows = {row["place"]: row for row in views["warehouse"].rows}
    assert set(rows) == {"A", "B", "distillery"}
    assert (rows["A"]["moved_in"], rows["B"]["closing"]) == (Decimal("243.75"), Decimal("90.00"))
    assert_sums_to_the_one(views, total)


def test_a_cask_carried_to_another_warehouse_moves_what_it_holds(folder):
    """C1 of 200 L at 62.5 % vol goes from A to B in January: 125 LPA; months before and after have it where it lay."""
    rows = {}
    for month in (DECEMBER, date(2026, 1, 1), date(2026, 2, 1)):
        views, total = views_of(folder, month, "warehouse")
        assert_sums_to_the_one(views, total)
        rows[month.month] = {row["place"]: row for row in views["warehouse"].rows}
        transfers = {(t["part"], t["other"]): (t["moved_in"], t["moved_out"]) for t in views["warehouse"].transfers}
        assert (transfers.get(("B", "A")) == (Decimal("125.00"), 0)) == (month.month == 1)

    assert rows[12]["A"]["closing"] == Decimal("243.75")
    assert (rows[1]["A"]["moved_out"], rows[1]["B"]["moved_in"]) == (Decimal("-125.00"), Decimal("125.00"))
    assert (rows[1]["A"]["closing"], rows[1]["B"]["closing"]) == (Decimal("118.75"), Decimal("215.00"))
    assert rows[2]["B"]["opening"] == Decimal("215.00")


@settings(max_examples=20, deadline=None)
@given(st.data())
def test_however_the_places_are_parted_they_sum_to_the_one(folder, data):
    """The law of the views, for any assignment of places to parts, and any carrying of them from part to part."""
    with open_book(folder) as book:
        house = profile_in_force(book)
        total = gather_account_total(book, house)
        places = book.frame("SELECT DISTINCT place, is_vessel FROM derived.account_entries ORDER BY ALL")
        parts = data.draw(st.lists(st.sampled_from("ABC"), min_size=places.height, max_size=places.height))
        sql = (account_views.HERE / "account_view.sql").read_text(encoding="utf-8")
        carried = data.draw(
            st.lists(st.tuples(st.integers(0, places.height - 1), st.sampled_from("ABC"), DAYS), max_size=12)
        )
        stays = pl.concat(
            [
                places.with_columns(part=pl.Series(parts, dtype=pl.String), from_at=pl.lit(None, pl.Datetime("us"))),
                *(
                    places[number].with_columns(part=pl.lit(part), from_at=pl.lit(day, pl.Datetime("us")))
                    for number, part, day in carried
                ),
            ]
        ).unique(["place", "is_vessel", "from_at"])
        with book.with_temp_view("parts", stays):
            lines = book.frame(sql, [date(2026, 2, 1)])

    by_line = dict(lines.group_by("line").agg(pl.col("alcohol_l").sum()).iter_rows())
    assert by_line.get("moved_in", 0) + by_line.get("moved_out", 0) == 0
    assert sum(by_line.values()) == total


def gather_account_total(book, house):
    """Closing of February by the account of the site."""
    return gather_account(book, house, date(2026, 2, 1)).total["closing"]


def test_each_element_of_the_law_is_filled_or_said_to_be_unknown(folder):
    """Names of 27 CFR part 19 subpart V, of Directive (EU) 2020/262 and of the British guide; goods tie."""
    views, _ = views_of(folder, date(2026, 2, 1), *ACCOUNTS, "warehouse")
    elements = {item["name"]: item for view in views.values() for item in view.elements}

    laws = {item["law"] for item in elements.values()}
    sections = ("584", "585", "590", "592", "596", "597", "599", "600", "601", "616, 19.617")
    assert {f"27 CFR 19.{number}" for number in sections} <= laws
    assert elements["Finished products on hand, beginning"]["pieces"] == 200
    assert elements["Finished products on hand, end"]["pieces"] == 140
    assert elements["Balance at the end of the month"]["alcohol_l"] == views["storage"].total["closing"]
    not_kept = {n for n, item in elements.items() if item["alcohol_l"] is None and not item["where"]}
    assert not_kept == {
        "Bottles a case and serials of cases", "Owner of goods that belong to others",
        "Duty account: rates and amounts of duty",
    }  # fmt: skip


def test_a_view_is_a_document(folder, tmp_path):
    """It names the account, the law's elements and who decides; for machines it has the same figures."""
    words = ["--book", str(folder), "account", "2025-12", "--view", "storage"]
    made = CliRunner().invoke(main, [*words, "--out", str(tmp_path)])
    data = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)
    text = " ".join(pdf_text((tmp_path / "account-2025-12-storage.pdf").read_bytes()).split())

    assert made.exit_code == 0 and "from other accounts" in made.output
    assert data["total"]["moved_in"] == 243.75
    for said in ("Storage account", "27 CFR 19.592", "licensed person", "No official form is drawn"):
        assert said in text
    with open_book(folder) as book:
        view = gather_view(book, profile_in_force(book), DECEMBER, "storage")
    assert view_document(view).content == view_document(view).content
