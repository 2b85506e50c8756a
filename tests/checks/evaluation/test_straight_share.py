"""How much of a blend is straight whisky, on a blend put together by hand: shares, casks and days are made up."""

from datetime import date

import pytest

from gaugebook.checks.evaluation.cask_fillings import Filling
from gaugebook.checks.evaluation.spirit_sources import SpiritRecord
from gaugebook.checks.evaluation.straight_share import Ways, straight_share
from gaugebook.checks.rulebook.published_limits import read_limits

ON = date(2026, 3, 1)
CHARRED = "charred new oak"


def blend(material="bourbon", other=("neutral", True), share=0.2, since=date(2021, 1, 1), wood=CHARRED, entry=60.0):
    """A fifth of the batch out of C1/1, which holds a spirit of this name; the rest came as it is."""
    names, is_neutral = other
    came = {
        "T": {"materials": [material], "is_neutral": False, "share": 1.0},
        "REST": {"materials": [names], "is_neutral": is_neutral, "share": 1.0},
    }
    spirit = SpiritRecord(
        {"B": [("C1/1", share), ("REST", 1 - share)], "C1/1": [("T", 1.0)]}, {"B": 0, "C1/1": 1}, frozenset(), came, {}
    )
    steps = [
        {"lot": "T", "into_lot": "C1/1", "stage": "fill", "cask": "C1", "drawn_on": since, "put_on": since},
        {"lot": "C1/1", "into_lot": "B", "stage": "dump", "cask": None, "drawn_on": ON, "put_on": ON},
        {"lot": "REST", "into_lot": "B", "stage": "dump", "cask": None, "drawn_on": ON, "put_on": ON},
    ]
    lots = [{"lot": "T", "kind": "spirit", "cask": None, "came_on": since, "aged_from": since}]
    return Ways(spirit, (Filling("C1/1", wood, 200.0, entry, 0.05, True),), steps, lots)


@pytest.mark.parametrize(
    ("change", "shown"),
    [
        ({}, "yes"),
        ({"share": 0.12}, "no"),
        ({"material": "spirit"}, None),
        ({"material": "rum"}, "no"),
        ({"since": date(2024, 3, 2)}, "no"),  # a day short of two years
        ({"since": date(2024, 3, 1)}, "yes"),
        ({"wood": "used oak"}, "no"),  # but of corn whisky
        ({"wood": "used oak", "material": "corn whiskey"}, "yes"),
        ({"wood": None}, None),
        ({"entry": 63.0}, "no"),  # 62.55 % vol are 125 proof
        ({"entry": None}, None),
        ({"share": 0.12, "other": ("straight rye whiskey", False)}, "yes"),  # as its delivery names it
        ({"share": 0.12, "other": ("whiskey", False)}, None),
        ({"share": float("nan")}, None),
    ],
)
def test_a_part_is_straight_where_the_record_shows_all_of_it(change, shown):
    """27 CFR 5.143(c): one type, charred new oak (corn: used or uncharred), 125 proof at entry, two years."""
    assert straight_share("B", blend(**change), 0.2, read_limits(), ON).shown == shown


def test_each_part_is_named_with_its_share():
    """What there is too little of, and what else it is."""
    answer = straight_share("B", blend(share=0.12), 0.2, read_limits(), ON)

    assert answer.why == "straight 12.0 % (C1/1 12.0 %); not straight 88.0 % (REST 88.0 %)"
