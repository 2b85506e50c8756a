"""What is drawn from a cask as a sample, what leaks, and a cask that leaves whole."""

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book


def rows_of(tmp_path, sql, *events, **kinds):
    """Rows of a query of a book with these cask events."""
    folder = cask_book(tmp_path, opening_stock=OPENING, casks=CASKS, cask_events=events, **kinds)
    with open_book(folder) as book:
        return book.frame(sql).to_dicts()


def test_a_sample_is_as_strong_as_the_cask_was_last_found(tmp_path):
    """0.2 L after a regauge at 60 % vol are 0.12 LPA, and the cask's loss to its next gauge stays known."""
    found = rows_of(
        tmp_path,
        "SELECT (SELECT alcohol_l FROM derived.removals) AS sampled, loss_l FROM derived.cask_losses WHERE number = 2",
        filled("C1", 200, "2024-02-01"),
        event("C1", "regauged", "2025-02-01", volume_at_t_l=195, strength_reading=60),
        event("C1", "sampled", "2025-03-01", volume_at_t_l=0.2),
        event("C1", "regauged", "2026-02-01", volume_at_t_l=190, strength_reading=60),
    )

    assert found[0]["sampled"] == pytest.approx(0.2 * 0.60)
    assert found[0]["loss_l"] == pytest.approx((195 - 190 - 0.2) * 0.60)


def test_a_leak_without_a_quantity_stays_unknown(tmp_path):
    """Nobody knows what was lost: no alcohol is told of it."""
    found = rows_of(
        tmp_path,
        "SELECT alcohol_l FROM derived.removals",
        filled("C1", 200, "2024-02-01"),
        event("C1", "lost", "2024-03-01", reason="stave"),
    )

    assert found == [{"alcohol_l": None}]


def test_a_cask_gauged_as_it_is_emptied_was_gauged_before(tmp_path):
    """Both rows at one moment belong to the same filling."""
    found = rows_of(
        tmp_path,
        "SELECT event, contents FROM derived.cask_events WHERE cask = 'C1' ORDER BY event",
        filled("C1", 200, "2024-02-01"),
        event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
        event("C1", "regauged", "2025-02-01", volume_at_t_l=193, strength_reading=62),
    )

    assert {row["contents"] for row in found} == {"C1/1"}


def test_a_cask_that_leaves_whole_is_emptied_by_no_run(tmp_path):
    """It was sent out with all that it held: no dump is made up, and it is filled anew as its second filling."""
    found = rows_of(
        tmp_path,
        """
        SELECT (SELECT count(*) FROM derived.runs WHERE stage = 'dump') AS dumps, contents
        FROM derived.cask_stock WHERE cask = 'C1'
        """,
        filled("C1", 200, "2024-02-01"),
        event("C1", "emptied", "2025-02-01", alcohol_l=0),
        filled("C1", 180, "2025-03-01"),
        dispatches=[{"lot": "C1", "vessel": "C1", "dispatched_at": "2025-02-01", "alcohol_l": 120, "document": "D-1"}],
    )

    assert found == [{"dumps": 0, "contents": "C1/2"}]


def test_a_topped_cask_of_the_opening_stock_has_one_origin(tmp_path):
    """Topping is no second way in which its lot came to be."""
    from gaugebook.checks.run import run_checks

    folder = cask_book(
        tmp_path, opening_stock=OPENING, casks=CASKS,
        cask_events=[filled("C9", 5, "2024-02-01")],
    )  # fmt: skip
    with open_book(folder, writing=True) as book:
        run_checks(book)
        rules = book.frame("SELECT DISTINCT rule FROM flagged.flags WHERE lot = 'C9/1'")["rule"].to_list()

    assert "lot-one-origin" not in rules
