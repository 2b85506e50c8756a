"""Counts against the book: casks that are there, that are missing, and that the book does not hold."""

from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book


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
