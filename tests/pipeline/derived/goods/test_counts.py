"""Counts against the book: casks that are there, that are missing, and that the book does not hold."""

from datetime import date, datetime
from pathlib import Path

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived import rebuild

GOODS = Path(rebuild.__file__).parent / "goods"


def counts_of(tmp_path, *counted, casks=CASKS):
    """Rows of derived.counts of a house that filled C1 and C2, emptied C2, and held C9 from the beginning."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=casks,
        cask_events=[
            filled("C1", 200, "2024-02-01"),
            filled("C2", 190, "2024-02-01"),
            event("C2", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=180, strength_reading=61.0),
        ],
        inventory=[{"counted_at": "2025-06-30", "container": "cask", "vessel": cask} | more for cask, more in counted],
    )
    with open_book(folder) as book:
        rows = book.frame("SELECT item, lot, pieces, book_pieces, difference, counted_by FROM derived.counts").rows()
    return {row[0]: row[1:] for row in rows}


def test_a_cask_that_nobody_counted_is_missing(tmp_path):
    """C1 was counted and is there; C2, which was emptied, is found full; C9 is in the book and was not counted."""
    counts = counts_of(tmp_path, ("C1", {"counted_by": "AB"}), ("C2", {"counted_by": "AB"}))

    assert counts == {
        "C1": ("C1/1", 1, 1, 0, "AB"),
        "C2": (None, 1, 0, 1, "AB"),
        "C9": ("C9/1", 0, 1, -1, None),
    }


def test_a_count_of_one_place_says_nothing_of_another(tmp_path):
    """C9 lies in warehouse B; a count of warehouse A does not miss it, a count of B does."""
    casks = [cask | {"location": "B" if cask["cask"] == "C9" else "A"} for cask in CASKS]
    of_a = counts_of(tmp_path / "a", ("C1", {"location": "A"}), casks=casks)
    of_b = counts_of(tmp_path / "b", ("C1", {"location": "B"}), casks=casks)

    assert set(of_a) == {"C1"}
    assert of_b["C9"][:4] == ("C9/1", 0, 1, -1)


@pytest.fixture
def counted(empty_book, put):
    """Rows of derived.counts by item and day, of these lines of a count: counted({"container": "cask", ...}, ...)."""

    def rows(*lines):
        for number, line in enumerate(lines, start=1):
            put("typed.inventory", **{"counted_at": "2025-06-30 10:00", "line": number} | line)
        empty_book.run_file(GOODS / "counts.sql")
        counts = empty_book.frame("SELECT * FROM derived.counts").to_dicts()
        return {(row["item"], row["counted_at"].day): row for row in counts}

    return rows


def bottles(pieces, **more):
    return {"container": "cased goods", "lot": "B", "pieces": pieces} | more


def test_bottles_in_all_places_of_a_day_are_one_count(put, counted):
    """60 and 40 against 200 less 95 that the book held by the second of them: 5 short, each 0.3 LPA as filled and begun
    with. What was sent out later, and what another lot did, has no part in it."""
    put(
        "derived.goods_entries",
        batch="B",
        product="GIN",
        entry="bottled",
        pieces=150,
        alcohol_l=40.0,
        booked_at="2025-01-01",
    )
    put(
        "derived.goods_entries",
        batch="B",
        product="GIN",
        entry="opening",
        pieces=50,
        alcohol_l=20.0,
        booked_at="2025-01-01",
    )
    put(
        "derived.goods_entries", batch="B", entry="dispatched", pieces=-95, alcohol_l=-1.0, booked_at="2025-06-30 18:10"
    )
    put("derived.goods_entries", batch="B", entry="dispatched", pieces=-10, booked_at="2025-06-30 18:11")
    put("derived.goods_entries", batch="C", entry="bottled", pieces=7, booked_at="2025-01-01")

    rows = counted(
        bottles(60, counted_at="2025-06-30 18:00", location="A2", counted_by="ZZ", line=8),
        bottles(40, counted_at="2025-06-30 18:10", location="A1", counted_by="AA", line=7),
    )

    assert rows[("B", 30)] == {
        "container": "cased goods", "item": "B", "lot": "B", "product": "GIN", "month": date(2025, 6, 1),
        "counted_at": datetime(2025, 6, 30, 18, 10), "pieces": 100.0, "book_pieces": 105.0, "difference": -5.0,
        "alcohol_l": pytest.approx(-1.5), "places": "A1, A2", "counted_by": "AA, ZZ", "source_id": 1, "line": 7,
    }  # fmt: skip
    assert len(rows) == 1


def test_bottles_that_the_book_does_not_hold(counted):
    """Nobody knows what is in them; who counted is told where every place says it."""
    row = counted(bottles(3, counted_by="AA"), bottles(4))[("B", 30)]

    assert (row["pieces"], row["book_pieces"], row["difference"], row["alcohol_l"]) == (7.0, 0.0, 7.0, None)
    assert (row["counted_by"], row["places"], row["line"]) == (None, None, 1)


def test_a_day_is_one_of_the_house(empty_book, counted):
    """In Tokyo 20 hours UTC are the next day, here the first of another month."""
    empty_book.execute("SET VARIABLE house_zone = 'Asia/Tokyo'")
    counted(bottles(3), bottles(4, counted_at="2025-06-30 20:00"))

    assert empty_book.frame("SELECT pieces, month FROM derived.counts ORDER BY month").rows() == [
        (3.0, date(2025, 6, 1)), (4.0, date(2025, 7, 1)),
    ]  # fmt: skip


def cask(name, **more):
    return {"container": "cask", "vessel": name} | more


def put_filling(put, name, filled_at, emptied_at=None):
    for what, on in (("filled", filled_at), ("filled", "2025-08-01"), ("emptied", emptied_at)):
        if on is not None:
            put("derived.cask_events", cask=name, contents=f"{name}/1", event=what, happened_at=on)


@pytest.mark.parametrize(
    ("filled_at", "emptied_at", "is_held"),
    [
        ("2025-06-30 10:00", None, True), ("2025-06-30 10:01", None, False),
        ("2025-01-01", "2025-06-30 10:00", False), ("2025-01-01", "2025-06-30 10:01", True),
    ],
)  # fmt: skip
def test_a_cask_is_held_from_its_filling_until_it_is_emptied(put, counted, filled_at, emptied_at, is_held):
    """At the moment of the count it has just been filled, or is no longer full."""
    put_filling(put, "C1", filled_at, emptied_at)
    rows = counted(cask("C2"))

    assert ("C1", 30) in rows if is_held else list(rows) == [("C2", 30)]
    if is_held:
        assert (rows["C1", 30]["lot"], rows["C1", 30]["pieces"], rows["C1", 30]["difference"]) == ("C1/1", 0, -1)
        assert (rows["C1", 30]["line"], rows["C1", 30]["alcohol_l"]) == (None, None)
    assert (rows["C2", 30]["lot"], rows["C2", 30]["pieces"], rows["C2", 30]["book_pieces"]) == (None, 1, 0)


def test_a_cask_counted_twice_on_a_day_is_one(put, counted):
    """At its last moment and its first place; of the opening stock it is held from the beginning, filled or not."""
    put("derived.openings", lot="C9/1", vessel="C9", came_at="2025-01-01")
    put("derived.openings", lot="NM", vessel="T1", came_at="2025-01-01")
    put_filling(put, "C9", "2025-07-30")
    rows = counted(
        cask("C9", location="B", counted_by="ZZ"),
        cask("C9", location="A", counted_by="AA", counted_at="2025-06-30 11:00"),
    )  # fmt: skip

    assert list(rows) == [("C9", 30)]
    row = rows["C9", 30]
    assert (row["pieces"], row["book_pieces"], row["difference"], row["lot"]) == (1, 1, 0, "C9/1")
    assert (row["places"], row["counted_by"], row["line"]) == ("A", "AA", 1)
    assert row["counted_at"] == datetime(2025, 6, 30, 11)


def test_casks_of_a_place_are_missed_where_it_was_counted(put, counted):
    """C1 and C2 lie in A, C3 in B, C4 nowhere by the register: a count of A misses C1. One found elsewhere than
    the register says is held, and not missed."""
    for name, location in (("C1", "A"), ("C2", "A"), ("C3", "B"), ("C4", None), ("C5", "B")):
        put("typed.casks", cask=name, location=location)
        put_filling(put, name, "2025-01-01")
    rows = counted(
        cask("C2", location="A"), cask("C5", location="A"), cask("C1", location="A", counted_at="2025-07-01")
    )

    assert {key: (row["pieces"], row["book_pieces"]) for key, row in rows.items()} == {
        ("C1", 30): (0, 1), ("C2", 30): (1, 1), ("C5", 30): (1, 1),
        ("C1", 1): (1, 1), ("C2", 1): (0, 1),
    }  # fmt: skip
    assert rows["C1", 30]["places"] == "A"
