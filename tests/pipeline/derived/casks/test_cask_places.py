"""Where a cask lay, and since when: the register first, then what its events say."""

from datetime import datetime

from cask_house import OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book


def places_of(folder):
    """The stays of every cask, in order."""
    with open_book(folder) as book:
        return book.frame("SELECT * FROM derived.cask_places ORDER BY cask, from_at NULLS FIRST").rows()


def test_stays_by_register_and_events(tmp_path):
    """C1 comes to W1, is moved to W2 and there to another tier; C2 is in no register and lies where it was filled; of
    C9, which was never moved, the register speaks. A new warehouse without a position leaves the position unknown."""
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=[
            {"cask": "C1", "tare_kg": 50, "location": "W1", "position": "4/2"},
            {"cask": "C9", "tare_kg": 50, "location": "W3"},
        ],
        cask_events=[
            filled("C1", 200, "2024-02-01"),
            filled("C2", 190, "2024-02-01", location="W1"),
            event("C1", "moved", "2024-03-01", location="W2"),
            event("C1", "moved", "2024-04-01", position="1/1"),
        ],
    )

    assert places_of(folder) == [
        ("C1", None, "W1", "4/2"),
        ("C1", datetime(2024, 3, 1), "W2", None),
        ("C1", datetime(2024, 4, 1), "W2", "1/1"),
        ("C2", datetime(2024, 2, 1), "W1", None),
        ("C9", None, "W3", None),
    ]


def test_a_position_holds_until_it_is_told_anew_or_the_cask_goes_elsewhere(tmp_path):
    """Weighed in W1 without a word of its row, C1 still lies in 4/2; in W2 nobody knows, nor when it is back in W1."""
    weighed = {"gross_kg": 220, "strength_reading": 62.0}
    folder = cask_book(
        tmp_path,
        opening_stock=OPENING,
        casks=[{"cask": "C1", "tare_kg": 50, "location": "W1", "position": "4/2"}],
        cask_events=[
            filled("C1", 200, "2024-02-01"),
            event("C1", "regauged", "2024-03-01", location="W1", **weighed),
            event("C1", "moved", "2024-04-01", location="W2"),
            event("C1", "moved", "2024-05-01", location="W1"),
        ],
    )

    assert [(place, position) for _, _, place, position in places_of(folder)] == [
        ("W1", "4/2"), ("W1", "4/2"), ("W2", None), ("W1", None),
    ]  # fmt: skip


def test_of_two_places_at_one_moment_one_counts(tmp_path):
    """Whatever the order of the rows: nothing lies in two places."""
    moves = [
        event("C1", "moved", "2024-03-01", location="W2"),
        event("C1", "regauged", "2024-03-01", gross_kg=220, strength_reading=62, location="W3"),
    ]
    for number, order in enumerate((moves, moves[::-1])):
        folder = cask_book(
            tmp_path / str(number),
            opening_stock=OPENING,
            casks=[{"cask": "C1", "tare_kg": 50}],
            cask_events=[filled("C1", 200, "2024-02-01"), *order],
        )
        assert places_of(folder) == [("C1", None, None, None), ("C1", datetime(2024, 3, 1), "W3", None)]
