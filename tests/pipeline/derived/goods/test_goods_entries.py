"""The ledger of finished goods: every bottle from filling to customer, worked by hand and as laws."""

from datetime import date

import pytest
from goods_house import EACH_L, counted, gone, goods_book, moved
from hypothesis import given, settings
from hypothesis import strategies as st
from one_book import opened_with

from gaugebook.pipeline.book.database import open_book

HERE = "pipeline/derived/goods"


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """200 bottled; 60 and 30 sent out, 6 back, 2 sampled, 3 destroyed, 4 counted short, then 10 sent
    out; some bottles from before."""
    folder = goods_book(
        tmp_path_factory.mktemp("goods"),
        opening_stock=[
            {
                "lot": "OLD", "material": "old whisky", "kind": "bottled spirit", "counted_at": "2026-01-01",
                "pieces": 12, "nominal_ml": 700, "label_strength_pct_vol": 43,
            }
        ],
        dispatches=[
            gone(60, "2026-01-20", document="D-1", customer="K-7", duty_status="duty paid"),
            gone(30, "2026-02-03", document="D-2", customer="K-8", duty_status="export"),
            gone(10, "2026-03-05", document="D-3", customer="K-7"),
        ],
        returns=[moved("returned_at", 6, "2026-02-10", document="R-1", customer="K-7", reason="not collected")],
        samples=[moved("taken_at", 2, "2026-02-11", purpose="panel")],
        destructions=[moved("destroyed_at", 3, "2026-02-12", reason="broken", witness="QA")],
        inventory=[
            counted(60, "2026-02-28T18:00", location="A1"),
            counted(47, "2026-02-28T18:10", location="A2"),
            counted(12, "2026-02-28T18:10", lot="OLD", location="A1"),
        ],
    )  # fmt: skip
    with open_book(folder) as opened:
        yield opened


def test_each_event_is_an_entry(book):
    """Bottles of 0.5 L at 41.3 % vol hold 0.2065 LPA: 200 are 41.30, 60 are 12.39, 30 are 6.195."""
    rows = book.frame(
        "SELECT month, entry, pieces, alcohol_l::DOUBLE AS l, duty_status, document, customer, note "
        "FROM derived.goods_entries WHERE batch = 'B-1' ORDER BY booked_at"
    ).rows()

    january, february = date(2026, 1, 1), date(2026, 2, 1)
    assert rows[:2] == [
        (january, "bottled", 200, 41.30, None, None, None, "run BOT-1"),
        (january, "dispatched", -60, -12.39, "duty paid", "D-1", "K-7", None),
    ]
    # 22.715 LPA are left, booked as 22.71 or 22.72
    assert rows[2] == (february, "dispatched", -30, pytest.approx(-6.195, abs=0.0051), "export", "D-2", "K-8", None)
    assert [(row[1], row[2], row[7]) for row in rows[3:]] == [
        ("returned", 6, "not collected"), ("sampled", -2, "panel"), ("destroyed", -3, "broken"),
        ("dispatched", -10, None),
    ]  # fmt: skip
    assert sum(row[3] for row in rows) == pytest.approx((200 - 60 - 30 + 6 - 2 - 3 - 10) * EACH_L, abs=0.0051)


def test_bottles_of_the_opening_stock_are_in_the_ledger(book):
    """12 bottles of 0.7 L at 43 % vol: 3.612 LPA."""
    row = book.frame("SELECT entry, product, pieces, alcohol_l::DOUBLE FROM derived.goods_entries WHERE batch = 'OLD'")

    assert row.rows() == [("opening", "old whisky", 12, 3.61)]


def test_a_count_is_compared_and_never_booked(book):
    """The book holds 111 on the evening of 28 February; 60 and 47 were counted: 4 short, and the
    book goes on from 111: 101 after the next ten."""
    counts = book.frame("SELECT item, pieces, book_pieces, difference, places, counted_by FROM derived.counts")

    assert counts.rows() == [("B-1", 107, 111, -4, "A1, A2", "AB"), ("OLD", 12, 12, 0, "A1", "AB")]
    short = book.value("SELECT alcohol_l FROM derived.counts WHERE item = 'B-1'")
    assert short == pytest.approx(-4 * EACH_L)
    assert book.value("SELECT sum(pieces) FROM derived.goods_entries WHERE batch = 'B-1'") == 101


def test_bulk_and_goods_book_the_same_litres(book):
    """What the account of bulk says was bottled, the goods say came."""
    bulk = book.value("SELECT -sum(alcohol_l) FROM derived.account_entries WHERE entry = 'bottled'")

    assert book.value("SELECT sum(alcohol_l) FROM derived.goods_entries WHERE entry = 'bottled'") == bulk


def test_what_a_run_takes_back_leaves_the_goods(tmp_path):
    """50 bottles emptied again: the goods give what the account of bulk takes, to the cent."""
    again = {"run": "RE-1", "stage": "reduce", "equipment": "T2", "started_at": "2026-03-01T08:00"}
    emptied = {
        "run": "RE-1", "direction": "in", "lot": "B-1", "part": "bottles", "gauged_at": "2026-03-01T08:00",
        "pieces": 50,
    }  # fmt: skip
    folder = goods_book(tmp_path, runs=[again], movements=[emptied])
    with open_book(folder) as book:
        used = book.frame("SELECT pieces, alcohol_l FROM derived.goods_entries WHERE entry = 'used'").row(0)
        bulk = book.value("SELECT sum(alcohol_l) FROM derived.account_entries WHERE entry = 'returned'")

    assert used[0] == -50
    assert used[1] == -bulk
    assert float(bulk) == pytest.approx(50 * EACH_L, abs=0.0051)


events = st.lists(
    st.tuples(st.sampled_from(["dispatched", "returned", "sampled", "destroyed"]), st.integers(1, 30)), max_size=25
)


@settings(max_examples=60, deadline=None)
@given(events, st.integers(101, 999), st.integers(50, 400))
def test_the_balance_is_right_to_the_cent_after_every_entry(happened, thousandths, bottles):
    """However many bottles go one way and back, the booked litres stay those of the bottles left, rounded once; of a
    batch of which every bottle left nothing remains."""
    each = thousandths / 2000
    moves = [(kind, pieces) for kind, pieces in happened]
    left = bottles + sum(pieces if kind == "returned" else -pieces for kind, pieces in moves)
    moves.append(("dispatched", left) if left >= 0 else ("returned", -left))
    with opened_with(HERE, bottles, each, moves) as entries:
        balance, held = 0.0, 0
        for entry, pieces, litres in entries:
            balance, held = balance + litres, held + pieces
            if entry != "bottled":
                assert balance == pytest.approx(held * each, abs=0.00501)
    assert (held, balance) == (0, pytest.approx(0.0, abs=1e-9))
