"""Events of casks with their fillings, runs and masses, on rows put in by hand."""

from pathlib import Path

import pytest

from gaugebook.pipeline.derived import rebuild

CASKS = Path(rebuild.__file__).parent / "casks"


@pytest.fixture
def events(empty_book, put):
    """Events of typed.cask_events as derived.cask_events has them, in the order in which they are given here:
    events(("C1", "filled", "2024-01-01", {"lot": "NM"}), ...)."""

    def rows(*given):
        for line, (cask, event, on, *more) in enumerate(given, start=1):
            row = {"cask": cask, "event": event, "happened_at": on, "line": line} | (more[0] if more else {})
            put("typed.cask_events", **row)
        empty_book.run_file(CASKS / "cask_events.sql")
        return empty_book.frame("SELECT * FROM derived.cask_events ORDER BY source_id, line").to_dicts()

    return rows


def test_a_filling_lasts_from_empty_to_empty(events):
    """Topping is no new one; of what happens at one moment it is gauged first, emptied, filled, and then all else."""
    later = "2025-01-01"
    rows = events(
        ("C1", "sampled", later), ("C1", "filled", later, {"lot": "NM"}), ("C1", "emptied", later, {"lot": "VAT"}),
        ("C1", "regauged", later), ("C1", "filled", "2024-01-01", {"lot": "NM"}),
        ("C1", "filled", "2024-06-01", {"lot": "NM"}), ("C2", "filled", later, {"lot": "NM"}),
        ("C1", "emptied", "2026-01-01", {"lot": "VAT"}), ("C1", "filled", "2026-02-01", {"lot": "NM"}),
    )  # fmt: skip

    assert [row["contents"] for row in rows] == [
        "C1/2", "C1/2", "C1/1", "C1/1", "C1/1", "C1/1", "C2/1", "C1/2", "C1/3",
    ]  # fmt: skip
    assert [row["filling"] for row in rows] == [2, 2, 1, 1, 1, 1, 1, 2, 3]


def test_a_cask_is_filled_from_what_the_other_held_before(events):
    """C2 was emptied once before and once at that moment: the second filling went into C1. A lot that is named goes
    before; what was drawn names what it was put into."""
    rows = events(
        ("C2", "emptied", "2024-01-01", {"lot": "VAT"}), ("C2", "emptied", "2025-01-01", {"other_cask": "C1"}),
        ("C1", "filled", "2025-01-01", {"other_cask": "C2"}), ("C1", "filled", "2025-01-02", {"other_cask": "C3"}),
        ("C1", "filled", "2025-01-03", {"other_cask": "C2", "lot": "NM"}),
        ("C1", "drawn", "2025-01-04", {"lot": "VAT"}), ("C1", "regauged", "2025-01-05"),
    )  # fmt: skip

    assert [row["lot"] for row in rows] == ["VAT", None, "C2/2", "C3/1", "NM", "VAT", None]


@pytest.mark.parametrize(
    ("event", "more", "run"),
    [
        ("filled", {"lot": "NM"}, "fill NM 2025-01-01"),
        ("filled", {"lot": "NM", "run": "R-7"}, "R-7"),
        ("filled", {"other_cask": "C2"}, "transfer C2 to C1 2025-01-01"),
        ("drawn", {"other_cask": "C2"}, "transfer C1 to C2 2025-01-01"),
        ("emptied", {"other_cask": "C2", "lot": "X"}, "transfer C1 to C2 2025-01-01"),
        ("drawn", {"lot": "VAT"}, "dump VAT 2025-01-01"),
        ("emptied", {"lot": "VAT", "alcohol_l": 5.0}, "dump VAT 2025-01-01"),
        ("emptied", {}, "dump 2025-01-01"),
        ("emptied", {"alcohol_l": 0.0}, None),
        ("emptied", {"alcohol_l": 0.0, "run": "R-7"}, "R-7"),
        ("drawn", {"alcohol_l": 0.0, "lot": "VAT"}, "dump VAT 2025-01-01"),
        ("regauged", {"run": "R-7"}, None),
        ("sampled", {"run": "R-7"}, None),
        ("lost", {}, None),
        ("moved", {}, None),
    ],
)
def test_the_run_of_an_event(events, event, more, run):
    """As it is named, else made up of what and when; a cask at rest has none, nor one that left with all it held."""
    assert events(("C1", event, "2025-01-01 10:30", more))[0]["run"] == run


@pytest.mark.parametrize(
    ("weighed", "net_kg"),
    [
        ({"mass_kg": 180.0, "gross_kg": 300.0, "tare_kg": 50.0}, 180.0),
        ({"gross_kg": 300.0, "tare_kg": 50.0}, 250.0),
        ({"gross_kg": 300.0}, 240.0),
        ({}, None),
    ],
)
def test_the_net_mass_of_a_cask(events, put, weighed, net_kg):
    """As weighed, else gross less the tare of the day, else less that of the register: the last of them is heavier."""
    put("typed.casks", cask="C1", tare_kg=60.0)
    put("typed.casks", cask="C1", tare_kg=55.0)
    put("typed.casks", cask="C2", tare_kg=70.0)
    rows = events(("C1", "regauged", "2025-01-01", weighed), ("C3", "regauged", "2025-01-01", {"gross_kg": 300.0}))

    assert [row["net_kg"] for row in rows] == [net_kg, None]
