"""Laws of the ledger of alcohol, on a generated year with recycled feints and on the small house."""

import itertools
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import polars as pl
import pytest
from large_book import make_large_book
from small_house import write_house

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.derived.tracing import recall, trace
from gaugebook.pipeline.intake.flow import profile_in_force, receive
from gaugebook.reports.accounts.account import COLUMNS, gather_account, known_months, states


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """A year of a made-up house: 1,998 runs, 5,698 lots, feints recycled from each cycle into the next."""
    folder = tmp_path_factory.mktemp("year")
    make_large_book(folder, years=1)
    with open_book(folder) as book:
        yield book


def test_alcohol_is_conserved_after_reconciliation(year):
    """At every run what comes in leaves again, to 1e-9 of what passes through it."""
    runs = year.frame("""
        SELECT run, sum(CASE WHEN direction = 'in' THEN reconciled_l ELSE -reconciled_l END) AS rest,
               sum(abs(reconciled_l)) AS through
        FROM derived.reconciled WHERE run IN (SELECT run FROM derived.run_verdicts) GROUP BY run
    """)

    assert runs.height > 1000
    assert runs["rest"].null_count() == 0
    assert runs.filter(pl.col("rest").abs() > 1e-9 * pl.col("through")).is_empty()


def test_reconciled_stands_beside_measured(year):
    """Reconciling changes no measured value, and moves each by what its uncertainty allows."""
    moved = year.frame("""
        SELECT g.alcohol_l, r.measured_l, r.reconciled_l, r.u_measured_l, r.u_reconciled_l
        FROM derived.gauges AS g JOIN derived.reconciled AS r USING (run, lot, direction) WHERE r.kind = 'gauge'
    """)

    assert moved.filter(pl.col("alcohol_l") != pl.col("measured_l")).is_empty()
    assert moved.filter(pl.col("u_reconciled_l") > pl.col("u_measured_l") * (1 + 1e-9)).is_empty()
    assert ((moved["measured_l"] - moved["reconciled_l"]) / moved["u_measured_l"]).abs().max() < 5


def test_a_clean_book_has_no_suspects(year):
    """Scatter within the stated uncertainties accuses at most the few that the level of 5 % allows."""
    suspects = year.value("SELECT count(*) FROM derived.reconciled WHERE verdict = 'suspect'")

    assert suspects <= 2
    assert year.value("SELECT count(*) FROM derived.strength_checks WHERE verdict = 'suspect'") == 0


def test_the_shares_of_every_lot_sum_to_one(year):
    """What a lot was made of is the whole lot."""
    sums = year.frame(
        "SELECT into_lot, sum(share) AS share FROM derived.steps WHERE share IS NOT NULL GROUP BY into_lot"
    )

    assert sums.height > 2000
    assert ((sums["share"] - 1).abs() < 1e-9).all()


def test_origins_of_a_batch_sum_to_one_through_all_feints(year):
    """Back to the grain through every cycle of feints, the shares of a late batch sum to one."""
    found = trace(year, "B-V-0073")
    grain = found.back.filter(pl.col("stage") == "mash")

    assert grain["lot"].n_unique() == 74 * 12  # both malts of all mashes of all cycles
    assert grain["share"].sum() == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("lot", ["RYE-0070-3", "HRT-0071-0", "REC-0070-T", "JUN-0069-1", "WAT-V-0072"])
def test_forward_and_backward_agree(year, lot):
    """What a batch took of a lot is the same number whether it is followed from the lot or from the batch."""
    forward = recall(year, trace(year, lot)).bottles

    assert forward.height > 0
    for row in forward.iter_rows(named=True):
        behind = trace(year, row["batch"]).back.filter(pl.col("lot") == lot)
        assert behind["consumed"].sum() == pytest.approx(row["consumed"], rel=1e-9)
        if row["share"] is not None:
            assert behind["share"].sum() == pytest.approx(row["share"], rel=1e-9)


def test_the_lineage_of_batches_is_the_trace_cut_at_a_billionth(year):
    """derived.lineage holds the steps of a trace whose share is not negligible, with the same figures."""
    kept = year.frame("SELECT lot, run, into_lot, share, consumed FROM derived.lineage WHERE batch = 'B-G0-0060'")
    whole = trace(year, "B-G0-0060").back
    both = kept.join(whole, on=["lot", "run", "into_lot"], how="left", suffix="_traced")

    assert 100 < kept.height < whole.height
    assert both["consumed_traced"].null_count() == 0
    assert ((both["share"] - both["share_traced"]).abs().drop_nulls() < 1e-7).all()
    lost = whole.filter(pl.col("share") > 1e-6).join(kept, on=["lot", "run", "into_lot"], how="anti")
    assert lost.is_empty()


def test_a_recall_accounts_for_the_lot(year):
    """Bottles, vessels and what is left hold a lot of hearts to a few per cent: losses on the way are included."""
    found = recall(year, trace(year, "HRT-0030-2"))

    assert found.bottles["bottles"].sum() > 0
    assert found.accounted == pytest.approx(1.0, abs=0.02)


def test_every_column_of_every_month_adds_up(year):
    """Rows sum to their closing, columns to the total, and each month opens as the last one closed: exactly."""
    house = profile_in_force(year)
    accounts = [gather_account(year, house, month) for month in known_months(year)]

    assert len(accounts) == 12
    for account in accounts:
        for row in account.rows:
            assert row["closing"] == sum(row[name] for name in COLUMNS[:-1])
        for name in COLUMNS:
            assert account.total[name] == sum(row[name] for row in account.rows)
        assert account.total["used"] == account.total["transferred"] == 0  # moves inside the house cancel
    for before, after in itertools.pairwise(accounts):
        assert after.total["opening"] == before.total["closing"]
        closing = {(row["place"], row["is_vessel"]): row["closing"] for row in before.rows}
        for row in after.rows:
            assert row["opening"] == closing.get((row["place"], row["is_vessel"]), 0)


def test_the_account_is_the_gauges(year):
    """Bottled, produced and all losses are those of the gauges, but for the rounding to 0.01 LPA of each entry."""
    bottled, bottles = year.frame("SELECT sum(alcohol_l), count(*) FROM derived.gauges WHERE part = 'bottles'").row(0)
    washes, ferments = year.frame(
        "SELECT sum(alcohol_l), count(*) FROM derived.gauges WHERE part = 'wash' AND direction = 'out'"
    ).row(0)
    house = profile_in_force(year)
    totals = [gather_account(year, house, month).total for month in known_months(year)]

    assert float(-sum(total["bottled"] for total in totals)) == pytest.approx(bottled, abs=0.005 * bottles)
    assert float(sum(total["produced"] for total in totals)) == pytest.approx(washes, abs=0.005 * ferments)
    assert sum(total["used"] for total in totals) == 0


def test_a_vessel_at_a_moment(book):
    """Between strip run and reduction the tank holds the hearts; after bottling it holds nothing of them."""
    house = profile_in_force(book)

    def held(moment: datetime) -> dict[str, float]:
        return {row["lot"]: float(row["book_l"]) for row in states(book, house, moment) if row["vessel"] == "T1"}

    assert held(datetime(2026, 1, 12, 12)) == {}  # the strip run ends at 15:00 UTC
    assert held(datetime(2026, 1, 12, 20)) == {"SPIRIT-1": 95.0}
    assert set(held(datetime(2026, 1, 13, 12))) <= {"RED-L1", "SPIRIT-1"}
    assert held(datetime(2026, 1, 13, 12))["RED-L1"] == pytest.approx(95.0, abs=0.1)


def test_the_order_of_receiving_changes_nothing(tmp_path):
    """Files received one by one in reverse give the same derived tables as all together, but for the files' numbers."""
    tables = ("gauges", "lots", "lineage", "steps", "run_verdicts", "reconciled", "account_entries", "strength_checks")
    paths = write_house(tmp_path / "site")
    receive(tmp_path / "forward", [tmp_path / "site"], None)
    for path in reversed(paths):
        receive(tmp_path / "backward", [path], tmp_path / "site" / "house.toml")

    with open_book(tmp_path / "forward") as one, open_book(tmp_path / "backward") as two:
        for table in tables:
            columns = one.frame(f"SELECT * FROM derived.{table} LIMIT 0").columns
            kept = ", ".join(c for c in columns if c not in ("source_id", "stream", "network", "alike"))
            query = f"SELECT {kept} FROM derived.{table} ORDER BY ALL"
            assert one.frame(query).equals(two.frame(query)), table
        assert (
            gather_account(one, profile_in_force(one), date(2026, 1, 1)).total
            == gather_account(two, profile_in_force(two), date(2026, 1, 1)).total
        )


def test_large_books_are_written_the_same_each_time(tmp_path):
    """The generated book depends on its seed alone."""
    make_large_book(Path(tmp_path / "a"), years=1, seed=3)
    make_large_book(Path(tmp_path / "b"), years=1, seed=3)

    with open_book(tmp_path / "a") as one, open_book(tmp_path / "b") as two:
        query = "SELECT sum(alcohol_l) FROM derived.account_entries WHERE is_vessel"
        assert one.value(query) == two.value(query)
