"""What is wrong with a cask is found on that cask by its rule, and what casks do by nature is not."""

from math import exp

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.checks.flags.explanation import explanation
from gaugebook.checks.run import effective_rules, run_checks
from gaugebook.pipeline.book.database import open_book


def flags_of(folder, *events, casks=CASKS, opening=OPENING):
    """(rule, record) of the flags on casks, of a book with these events."""
    book = cask_book(folder, opening_stock=opening, casks=casks, cask_events=events)
    with open_book(book, writing=True) as opened:
        run_checks(opened)
        return opened.frame(
            "SELECT rule, record, answer FROM flagged.flags WHERE rule LIKE 'cask-%' ORDER BY ALL"
        ).rows()


def test_a_sound_cask_has_no_flag(tmp_path):
    """Filled, gauged again at a higher strength, sampled, emptied at a lower one, filled once more."""
    found = flags_of(
        tmp_path,
        filled("C1", 200, "2024-02-01"),
        event("C1", "regauged", "2025-02-01", volume_at_t_l=188, strength_reading=63.5),
        event("C1", "sampled", "2025-02-02", volume_at_t_l=0.2, strength_reading=63.5),
        event("C1", "emptied", "2026-02-01", lot="VAT", volume_at_t_l=182, strength_reading=61.0),
        filled("C1", 199, "2026-03-01"),
    )

    assert found == []


@pytest.mark.parametrize(
    ("rule", "record", "events"),
    [
        ("cask-holds", "cask C1, emptied 2025-03-01 00:00", [
            filled("C1", 200, "2024-02-01"),
            event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
            event("C1", "emptied", "2025-03-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
        ]),
        ("cask-holds", "cask C1, sampled 2025-03-01 00:00", [
            filled("C1", 200, "2024-02-01"),
            event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
            event("C1", "sampled", "2025-03-01", volume_at_t_l=0.2, strength_reading=62),
        ]),
        ("cask-overfilled", "cask C1, filling 1", [
            filled("C1", 200, "2024-02-01"), filled("C1", 198, "2024-02-02"),
        ]),
        ("cask-moved-empty", "cask C1, moved 2025-03-01 00:00", [
            filled("C1", 200, "2024-02-01"), event("C1", "moved", "2024-02-02"),
            event("C1", "emptied", "2025-02-01", lot="VAT", volume_at_t_l=190, strength_reading=62),
            event("C1", "moved", "2025-03-01"),
        ]),
        ("cask-gains", "cask C1, filling 1", [
            filled("C1", 190, "2024-02-01"),
            event("C1", "regauged", "2025-02-01", volume_at_t_l=199, strength_reading=62.5),
        ]),
        ("cask-tare", "cask C1, filled 2024-02-01 00:00", [
            event("C1", "filled", "2024-02-01", lot="NM-1", gross_kg=290, tare_kg=110, strength_reading=62.5),
        ]),
        ("cask-registered", "cask C77, filled 2024-02-01 00:00", [filled("C77", 200, "2024-02-01")]),
        ("cask-loss-reason", "cask C1, lost 2024-03-01 00:00", [
            filled("C1", 200, "2024-02-01"), event("C1", "lost", "2024-03-01", alcohol_l=2),
        ]),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_each_fault_is_found_on_its_cask(tmp_path, rule, record, events):
    """One fault, one rule, one record."""
    assert [found[:2] for found in flags_of(tmp_path, *events)] == [(rule, record)]


def test_the_same_filling_weeks_later_is_impossible(tmp_path):
    """200 L twice into a cask of 200 L, seven weeks apart: out, so that it stops a release, though it is in no batch.
    So is a filling into a cask that stood full in the opening stock."""
    opening = [*OPENING, OPENING[0] | {"lot": "OLD-2", "vessel": "C2", "volume_at_t_l": 190, "aged_from": "2023-01-01"}]
    found = flags_of(
        tmp_path, filled("C1", 200, "2024-02-01"), filled("C1", 200, "2024-03-21"), filled("C2", 150, "2024-05-01"),
        opening=opening,
    )  # fmt: skip

    assert found == [("cask-overfilled", f"cask {cask}, filling 1", "out") for cask in ("C1", "C2")]
    with open_book(tmp_path / "book") as book:
        assert set(book.frame("SELECT severity FROM flagged.flags WHERE rule = 'cask-overfilled'")["severity"]) == {
            "stops release"
        }


def test_a_cask_topped_for_what_it_lost_is_not_overfilled(tmp_path):
    """200 L lose 4 % a year and are topped with 23 L after three years; after a draw of 100 L, with as much again."""
    found = flags_of(
        tmp_path,
        filled("C1", 200, "2024-02-01"), filled("C1", 23, "2027-02-01"),
        filled("C2", 200, "2024-02-01"),
        event("C2", "drawn", "2024-03-01", lot="VAT", volume_at_t_l=100, strength_reading=62.5),
        filled("C2", 100, "2024-03-02"),
    )  # fmt: skip

    assert [flag for flag in found if flag[0] == "cask-overfilled"] == []


def test_a_leak_is_found_among_casks_that_lose_alike(tmp_path):
    """Ten casks at about 4 % a year and one at 12 %: that one, and no other."""
    rates = [0.040, 0.042, 0.039, 0.041, 0.043, 0.038, 0.040, 0.041, 0.039, 0.042, 0.12]
    names = [f"C{number:02}" for number in range(1, 12)]
    found = flags_of(
        tmp_path,
        *(filled(name, 200, "2024-01-01") for name in names),
        *(
            event(name, "regauged", "2026-01-01", volume_at_t_l=200 * exp(-2 * rate), strength_reading=62.5)
            for name, rate in zip(names, rates, strict=True)
        ),
        casks=[{"cask": name, "tare_kg": 50, "nominal_l": 200, "wood": "american oak"} for name in names],
        opening=[OPENING[0] | {"volume_at_t_l": 4000}],
    )

    assert found == [("cask-evaporation", "cask C11, filling 1", "doubtful")]


def test_a_cask_whose_name_holds_the_sign_before_its_filling(tmp_path):
    """Cask "B/7" overfilled is judged by its own size, named whole, and explained by its own records, not by those of
    a cask "B"."""
    casks = [{"cask": name, "tare_kg": 50, "nominal_l": litres} for name, litres in (("B/7", 200), ("B", 900))]
    events = [filled("B/7", 200, "2024-02-01"), filled("B/7", 198, "2024-02-02"), filled("B", 500, "2024-02-03")]
    flags = flags_of(tmp_path, *events, casks=casks)

    assert [flag[:2] for flag in flags] == [("cask-overfilled", "cask B/7, filling 1")]
    with open_book(tmp_path / "book") as book:
        rules, frames = effective_rules(book)
        name = book.value("SELECT flag FROM flagged.flags WHERE rule = 'cask-overfilled'")
        inputs = [given["what"] for given in explanation(book, name, rules, frames)["inputs"]]
    assert "cask B/7" in inputs and "cask B" not in inputs
    assert {what for what in inputs if what.startswith("filled")} == {
        "filled cask B/7 on 2024-02-01", "filled cask B/7 on 2024-02-02",
    }  # fmt: skip
