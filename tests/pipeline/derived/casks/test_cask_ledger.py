"""Casks in the ledger: fillings as lots, losses from gauge to gauge, what leaves the house; worked by hand."""

from datetime import date
from math import hypot
from pathlib import Path

import polars as pl
import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.accounts.account import gather_account
from gaugebook.reports.accounts.account_views import gather_view


@pytest.fixture
def book(tmp_path: Path):
    """Two casks filled; one gauged again, sampled and emptied; one of the opening stock emptied; bulk sent out."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=CASKS,
        cask_events=[
            filled("C1", 200, "2024-02-01"),
            filled("C2", 190, "2024-02-01"),
            event("C1", "regauged", "2025-02-01", volume_at_t_l=190, strength_reading=62.0),
            event("C1", "sampled", "2025-02-02", volume_at_t_l=0.5, strength_reading=62.0),
            event("C1", "lost", "2025-03-01", alcohol_l=2.0, reason="leaking head"),
            event("C1", "emptied", "2026-02-01", lot="VAT-1", volume_at_t_l=180, strength_reading=61.0),
            event("C9", "emptied", "2026-02-01", lot="VAT-1", volume_at_t_l=130, strength_reading=60.0),
            filled("C1", 201, "2026-03-01"),
        ],
        movements=[
            {
                "run": "dump VAT-1 2026-02-01", "direction": "out", "lot": "VAT-1", "part": "spirit", "vessel": "T2",
                "gauged_at": "2026-02-01", "volume_at_t_l": 310, "volume_temperature_c": 20, "strength_reading": 60.5,
                "reading_kind": "pct_vol_20c",
            },
        ],
        dispatches=[
            {
                "lot": "VAT-1", "vessel": "T2", "dispatched_at": "2026-02-10", "volume_at_t_l": 100,
                "volume_temperature_c": 20,
                "strength_reading": 60.5, "reading_kind": "pct_vol_20c", "customer": "K-7", "duty_status": "in bond",
                "document": "D-1",
            },
        ],
    )  # fmt: skip
    with open_book(folder) as opened:
        yield opened


def test_a_filling_is_a_lot_of_its_own(book):
    """The tank gave 200 + 190 + 201 L at 62.5 %; each cask holds its own, a second filling another than the first."""
    lots = dict(book.frame("SELECT lot, quantity_in FROM derived.lots").iter_rows())

    assert lots["C1/1"] == pytest.approx(125.0)  # 200 x 0.625
    assert lots["C2/1"] == pytest.approx(118.75)  # 190 x 0.625
    assert lots["C1/2"] == pytest.approx(125.625)  # 201 x 0.625
    assert lots["C9/1"] == 90.0  # of the opening stock, under its cask
    assert "OLD-1" not in lots
    drawn = book.value("SELECT quantity_out FROM derived.lots WHERE lot = 'NM-1'")
    assert drawn == pytest.approx((200 + 190 + 201) * 0.625)


def test_a_fill_gauged_once_loses_nothing(book):
    """Draw and filling are one gauge and share all of its errors: the run's loss is nothing, with no uncertainty."""
    runs = book.frame("SELECT run, loss_l, u_loss_l FROM derived.run_balances WHERE stage = 'fill' ORDER BY run")

    assert runs["run"].to_list() == ["fill NM-1 2024-02-01", "fill NM-1 2026-03-01"]
    assert runs["loss_l"].to_list() == pytest.approx([0, 0], abs=1e-9)
    assert runs["u_loss_l"].to_list() == pytest.approx([0, 0], abs=1e-9)


def test_what_a_cask_lost_is_found_at_each_gauge(book):
    """C1: 125 less 190 x 0.62 = 117.8; then 117.8 - 0.31 sampled - 2 leaked - 180 x 0.61 = 109.8. C9: 90 - 78."""
    losses = book.frame("SELECT contents, found_when, loss_l FROM derived.cask_losses ORDER BY contents, number")

    assert losses.rows() == [
        ("C1/1", "regauged", pytest.approx(7.2)),
        ("C1/1", "emptied", pytest.approx(5.69)),  # 117.8 - 0.31 - 2 - 109.8
        ("C9/1", "emptied", pytest.approx(12.0)),  # 90 - 130 x 0.60
    ]


def test_errors_that_gauges_share_cancel_in_a_loss(book):
    """C1 until it was gauged again: the volume of a named cask and the strength meter are 0.8 of the single reading.

    Volume: 0.4 % of 125 and of 117.8 LPA; strength: 0.1 % vol of 200 and of 190 L. Shared parts (0.6) differ only by
    7.2 LPA x 0.4 % and 10 L x 0.1 %; scattered parts (0.8) add in squares.
    """
    scattered = 0.8 * hypot(0.004 * 125, 0.004 * 117.8, 0.001 * 200, 0.001 * 190)
    shared = 0.6 * hypot(0.004 * 7.2, 0.001 * 10)
    u = book.value("SELECT u_loss_l FROM derived.cask_losses WHERE contents = 'C1/1' AND number = 1")

    assert u == pytest.approx(hypot(scattered, shared), rel=0.02)  # the volume depends a little on the strength


def test_the_account_ties_to_the_litre(book):
    """What came in less what left is what the vessels hold, place by place and in all, to 0.01 LPA."""
    entries = book.frame("SELECT place, entry, alcohol_l::DOUBLE AS alcohol_l FROM derived.account_entries")
    held = dict(entries.group_by("place").agg(pl.col("alcohol_l").sum()).iter_rows())

    assert held["C1"] == pytest.approx(125.63, abs=0.001)  # the second filling alone
    assert held["C2"] == pytest.approx(118.75, abs=0.001)
    assert held["C9"] == pytest.approx(0.0, abs=0.001)
    assert held["T1"] == pytest.approx(625 - 369.38, abs=0.011)  # 125 + 118.75 + 125.63
    assert held["T2"] == pytest.approx(187.55 - 60.5, abs=0.001)  # 310 x 0.605, less 100 x 0.605
    by_entry = dict(entries.group_by("entry").agg(pl.col("alcohol_l").sum()).iter_rows())
    assert by_entry["cask loss"] == pytest.approx(-24.89, abs=0.001)  # 7.2 + 5.69 + 12
    assert by_entry["lost"] == pytest.approx(-2.0)
    assert by_entry["sampled"] == pytest.approx(-0.31)
    assert by_entry["dispatched"] == pytest.approx(-60.5)
    came = 625 + 90  # opening
    assert sum(held.values()) == pytest.approx(came + sum(
        by_entry.get(name, 0) for name in ("cask loss", "lost", "sampled", "dispatched", "explained", "unexplained")
    ), abs=0.001)  # fmt: skip


def test_a_transfer_from_cask_to_cask(tmp_path):
    """Topping: what left the one came into the other, gauged once, and the topped cask holds both."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=CASKS,
        cask_events=[
            filled("C1", 200, "2024-02-01"),
            filled("C2", 190, "2024-02-01"),
            event("C2", "drawn", "2025-02-01", other_cask="C1", volume_at_t_l=10, strength_reading=62.0),
            event("C1", "filled", "2025-02-01", other_cask="C2", volume_at_t_l=10, strength_reading=62.0),
        ],
    )
    with open_book(folder) as book:
        steps = book.frame("SELECT lot, into_lot FROM derived.steps WHERE run LIKE 'transfer%'")
        lots = dict(book.frame("SELECT lot, remaining FROM derived.lots").iter_rows())

    assert steps.rows() == [("C2/1", "C1/1")]
    assert lots["C1/1"] == pytest.approx(131.2)  # 125 + 6.2
    assert lots["C2/1"] == pytest.approx(112.55)  # 118.75 - 6.2


def test_a_weighed_cask(tmp_path):
    """Gross 231.5 kg less the tare of the register, 50 kg, at 62.5 % vol.

    OIML R 22: density at 20 °C and 62.5 % vol is 892.83 kg/m3 in vacuo (r22_formula); weighed in air the mass is
    0.99985 of that (buoyancy in air of 1.2 kg/m3 against weights of 8000 kg/m3): 181.5 kg are 203.5 L, 127.2 LPA.
    """
    from r22_formula import density, mass_fraction_of_strength

    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=CASKS,
        cask_events=[event("C1", "filled", "2024-02-01", lot="NM-1", gross_kg=231.5, strength_reading=62.5)],
    )
    rho = density(mass_fraction_of_strength(62.5), 20.0)
    litres = 181.5 * (1 - 1.2 / 8000) / (rho - 1.2) * 1000
    with open_book(folder) as book:
        lot = book.frame("SELECT volume_l, alcohol_l FROM derived.gauges WHERE lot = 'C1/1'").row(0)

    assert lot == (pytest.approx(litres, rel=2e-6), pytest.approx(0.625 * litres, rel=2e-6))


def test_what_a_cask_gained_is_no_negative_loss(tmp_path):
    """One lost 7.2 LPA (125 less 190 x 0.62), the other was gauged 3 LPA above its filling (194.8 x 0.625 less 118.75):
    two figures of the month, as the guide of the United Kingdom has them, and the account ties with both."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=CASKS,
        cask_events=[
            filled("C1", 200, "2024-02-01"),
            filled("C2", 190, "2024-02-01"),
            event("C1", "regauged", "2025-02-01", volume_at_t_l=190, strength_reading=62.0),
            event("C2", "regauged", "2025-02-02", volume_at_t_l=194.8, strength_reading=62.5),
        ],
    )
    with open_book(folder) as book:
        account = gather_account(book, profile_in_force(book), date(2025, 2, 1))
        storage = gather_view(book, profile_in_force(book), date(2025, 2, 1), "storage")
        notes = dict(
            book.frame("SELECT entry, note FROM derived.account_entries WHERE entry LIKE 'cask %'").iter_rows()
        )

    asked = {item["name"]: float(item["alcohol_l"]) for item in storage.elements if item["alcohol_l"] is not None}
    total = {name: float(value) for name, value in account.total.items()}
    assert (total["cask_loss"], total["cask_gain"]) == (-7.2, 3.0)
    assert total["closing"] == pytest.approx(total["opening"] - 7.2 + 3.0)
    assert asked["Losses from packages and tanks"] == -7.2
    assert asked["Gains found in packages, set against no loss"] == 3.0
    assert notes == {
        "cask loss": "lost in the cask until it was gauged again",
        "cask gain": "more in the cask than the book held, when it was gauged again",
    }
