"""The age of a lot is that of its youngest part, through filling, topping, transfer and mixing."""

from datetime import date, timedelta

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.casks.ages import History, _row, histories

DUMP = {"run": "dump VAT-1 2026-02-01", "part": "spirit", "gauged_at": "2026-02-01", "reading_kind": "pct_vol_20c"}


def ages_of(tmp_path, *events, opening=OPENING, movements=()):
    """Rows of derived.ages by lot, of a book with these cask events."""
    folder = cask_book(
        tmp_path,
        opening_stock=opening,
        casks=CASKS,
        cask_events=events,
        **({"movements": movements} if movements else {}),
    )
    with open_book(folder) as book:
        return {row["lot"]: row for row in book.frame("SELECT * FROM derived.ages").to_dicts()}


def vat(litres: float = 300) -> dict[str, object]:
    """What the dump of 1 February 2026 made."""
    return DUMP | {
        "direction": "out", "lot": "VAT-1", "vessel": "T2", "volume_at_t_l": litres, "volume_temperature_c": 20,
        "strength_reading": 60,
    }  # fmt: skip


def test_a_vat_is_as_old_as_its_youngest_cask(tmp_path):
    """Filled on 1 February 2022 and on 15 June 2023, dumped together on 1 February 2026: 2 years 7 months 17 days."""
    opening = [OPENING[0] | {"kind": "neutral spirit"}]
    ages = ages_of(
        tmp_path,
        filled("C1", 200, "2022-02-01"),
        filled("C2", 190, "2023-06-15"),
        event("C1", "emptied", "2026-02-01", lot="VAT-1", volume_at_t_l=150, strength_reading=60),
        event("C2", "emptied", "2026-02-01", lot="VAT-1", volume_at_t_l=150, strength_reading=60),
        opening=opening,
        movements=[vat()],
    )

    assert [ages["C1/1"][name] for name in ("years", "months", "days")] == [4, 0, 0]
    assert [ages["VAT-1"][name] for name in ("years", "months", "days", "youngest", "casks")] == [2, 7, 17, "C2/1", 2]
    assert ages["VAT-1"]["age_days"] == (date(2026, 2, 1) - date(2023, 6, 15)).days


def test_topping_with_younger_spirit_makes_the_cask_younger(tmp_path):
    """A cask of 2022 topped on 1 March 2025 from one filled on 1 January 2025 counts from that day."""
    ages = ages_of(
        tmp_path,
        filled("C1", 190, "2022-02-01"),
        filled("C2", 190, "2025-01-01"),
        event("C2", "drawn", "2025-03-01", other_cask="C1", volume_at_t_l=5, strength_reading=62),
        event("C1", "filled", "2025-03-01", other_cask="C2", volume_at_t_l=5, strength_reading=62),
        opening=[OPENING[0] | {"kind": "neutral spirit"}],
    )

    assert ages["C1/1"]["aged_from"] == date(2025, 1, 1)
    assert ages["C1/1"]["youngest"] == "C2/1"
    assert ages["C2/1"]["aged_from"] == date(2025, 1, 1)


def test_what_the_record_cannot_show_is_not_shown(tmp_path):
    """Spirit of the opening stock without a day has no age, nor has what it went into; with a day it has."""
    emptied = event("C9", "emptied", "2026-02-01", lot="VAT-1", volume_at_t_l=130, strength_reading=60)
    unknown = ages_of(tmp_path / "a", emptied, movements=[vat(130)])
    known = ages_of(
        tmp_path / "b", emptied, opening=[OPENING[0], OPENING[1] | {"aged_from": "2018-05-31"}], movements=[vat(130)]
    )

    assert unknown["VAT-1"]["age_days"] is None
    assert "C9/1" in unknown["VAT-1"]["not_known"]
    assert [known["VAT-1"][name] for name in ("years", "months", "days")] == [7, 8, 1]  # to 31 January, and a day


def test_time_in_steel_does_not_count():
    """100 days in one cask, a year in a tank, 50 days in another: 150 days."""
    start = date(2020, 1, 1)
    days = [start + timedelta(days=number) for number in (0, 100, 465, 515)]
    known = histories(
        [
            {"lot": "NM", "into_lot": "A/1", "stage": "fill", "cask": "A", "drawn_on": days[0], "put_on": days[0]},
            {"lot": "A/1", "into_lot": "TANK", "stage": "dump", "cask": None, "drawn_on": days[1], "put_on": days[1]},
            {"lot": "TANK", "into_lot": "B/1", "stage": "fill", "cask": "B", "drawn_on": days[2], "put_on": days[2]},
        ],
        [],
    )

    assert known["TANK"].days == 100
    assert known["B/1"].on(days[3]) == 150


def test_what_is_distilled_again_begins_anew():
    """Old spirit through the still is new make."""
    step = {"lot": "OLD", "into_lot": "NEW", "stage": "rectify", "cask": None, "drawn_on": None, "put_on": None}
    came = {"lot": "OLD", "kind": "spirit", "cask": None, "came_on": date(2025, 1, 1), "aged_from": date(2020, 1, 1)}

    assert histories([step], [came])["NEW"].days == 0


@given(st.lists(st.integers(0, 4000), min_size=1, max_size=6), st.integers(0, 4000))
def test_mixing_never_makes_older(filled_days, more):
    """A vat of casks filled on any days is no older than any of them, nor than without a further one."""
    start, dumped = date(2010, 1, 1), date(2021, 6, 1)

    def age(days: list[int]) -> int:
        steps = [
            {"lot": "NM", "into_lot": f"{n}/1", "stage": "fill", "cask": str(n), "drawn_on": on, "put_on": on}
            for n, on in ((n, start + timedelta(days=day)) for n, day in enumerate(days))
        ]
        steps += [
            {"lot": f"{n}/1", "into_lot": "VAT", "stage": "dump", "cask": None, "drawn_on": dumped, "put_on": dumped}
            for n in range(len(days))
        ]
        return histories(steps, [])["VAT"].days or 0

    assert age(filled_days) == (dumped - start).days - max(filled_days)
    assert age([*filled_days, more]) <= age(filled_days)


def test_a_part_without_a_day_of_filling_has_no_age():
    """It is said of which lot."""
    step = {"lot": "NM", "into_lot": "A/1", "stage": "fill", "cask": "A", "drawn_on": None, "put_on": None}

    assert histories([step], [])["A/1"].not_known == "the day on which A/1 was filled is not on record"
    assert histories([step], [])["A/1"].casks == frozenset({"A"})


CAME = {"lot": "OLD", "kind": "spirit", "cask": None, "came_on": date(2026, 1, 1), "aged_from": None}


def step(lot, into, stage="fill", cask=None, drawn=None, put=None):
    """A way from lot to lot: a filling where a cask is named, else what a vat took."""
    return {"lot": lot, "into_lot": into, "stage": stage, "cask": cask, "drawn_on": drawn, "put_on": put}


@pytest.mark.parametrize(
    ("came", "history"),
    [
        # 31 May 2018 to 31 May 2025: 7 x 365 days and those of February 2020 and 2024; 215 to New Year
        ({"aged_from": date(2018, 5, 31)}, History(2772, "OLD", left=date(2026, 1, 1))),
        (
            {"aged_from": date(2018, 5, 31), "cask": "C9"},
            History(2772, "OLD", frozenset({"C9"}), since=date(2018, 5, 31)),
        ),
        ({"kind": "neutral spirit"}, History(0, "OLD")),
        ({"kind": "wash", "cask": "C9"}, History(0, "OLD", frozenset({"C9"}), since=date(2026, 1, 1))),
        (
            {"cask": "C9"},
            History(None, "OLD", frozenset({"C9"}), "the age of OLD when it came into the book is not on record"),
        ),
    ],
)
def test_what_came_is_as_old_as_the_record_shows(came, history):
    """Days in wood up to the day on which it came; in a cask it goes on, in steel it stops. What never lay in wood has
    none, and of any other spirit without a day nothing is known."""
    assert histories([], [CAME | came]) == {"OLD": history}


@pytest.mark.parametrize("stage", ["mash", "ferment", "strip", "rectify", "botanical"])
def test_new_make_begins_with_nothing(stage):
    """Of what the stage made, and not of what it was made of, nothing lay in wood, and it names no cask."""
    came = CAME | {"cask": "C9", "aged_from": date(2020, 1, 1)}

    assert histories([step("OLD", "NEW", stage, drawn=date(2026, 2, 1))], [came])["NEW"] == History(0, "NEW")


def test_a_cask_drawn_on_no_day_or_before_it_was_filled():
    """Without the day nothing is known and the lot is named; a day before the filling leaves no age below nought."""
    came = CAME | {"cask": "C9", "aged_from": date(2020, 1, 1)}
    without, before = (
        histories([step("OLD", "VAT", "dump", drawn=day)], [came])["VAT"] for day in (None, date(2019, 1, 1))
    )

    c9 = frozenset({"C9"})
    assert without == History(None, "OLD", c9, "the day on which OLD was drawn is not on record")
    assert before == History(0, "OLD", c9, left=date(2019, 1, 1))


def test_a_second_cask_goes_on_where_the_first_left_off():
    """100 days in A, then put into B on 11 April 2022: as if it had lain there since 1 January, and A decides it."""
    first = step("NM", "A/1", cask="A", drawn=date(2020, 1, 1), put=date(2020, 1, 1))
    into = step("A/1", "B/1", cask="B", drawn=date(2020, 4, 10), put=date(2022, 4, 11))
    both = frozenset({"A", "B"})

    assert histories([first, into], [])["A/1"] == History(0, "A/1", frozenset({"A"}), since=date(2020, 1, 1))
    assert histories([first, into], [])["B/1"] == History(100, "A/1", both, since=date(2022, 1, 1))
    blank = histories([first, into | {"put_on": None}], [])["B/1"]
    assert blank == History(None, "A/1", both, "the day on which B/1 was filled is not on record")
    lost = histories([first, into | {"drawn_on": None}], [])["B/1"]
    assert lost == History(None, "A/1", both, "the day on which A/1 was drawn is not on record")


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_parts_the_younger_decides(turned):
    """A lay 20 days, B 12: the vat is of 12 days and says when B left; of two alike the name that comes first in a vat
    and last in a cask. Where of one part nothing is known, nothing is known of the whole."""
    filled_on = {"A": date(2024, 1, 1), "B": date(2024, 1, 9), "C": date(2024, 1, 9)}
    fill = [step("NM", f"{cask}/1", cask=cask, drawn=day, put=day) for cask, day in filled_on.items()]
    out = date(2024, 1, 21)

    def mixed(*parts, cask=None, days=(out, out)):
        ways = [step(f"{part}/1", "M", "dump", cask, day, out) for part, day in zip(parts, days, strict=True)]
        return histories(fill + (ways[::-1] if turned else ways), [])["M"]

    assert mixed("A", "B") == History(12, "B/1", frozenset("AB"), left=out)
    assert mixed("A", "B", days=(date(2024, 1, 5), out)) == History(4, "A/1", frozenset("AB"), left=date(2024, 1, 5))
    assert mixed("C", "B") == History(12, "B/1", frozenset("BC"), left=out)
    assert mixed("A", "B", cask="V") == History(12, "B/1", frozenset("ABV"), since=date(2024, 1, 9))
    assert mixed("B", "C", cask="V") == History(12, "C/1", frozenset("BCV"), since=date(2024, 1, 9))
    unknown = "the day on which B/1 was drawn is not on record"
    assert mixed("A", "B", days=(out, None)) == History(None, "B/1", frozenset("AB"), unknown)


def test_the_row_of_a_lot_is_of_the_day_that_it_left_its_cask():
    """In a vat: 400 days up to the day that it left, 1 year 1 month 4 days back from 5 February 2026 (by hand:
    1 January 2025 to 5 February 2026). In a cask: up to the day asked. Filled after that day, it is of no age yet."""
    left = _row("VAT", History(400, "A/1", frozenset("AB"), left=date(2026, 2, 5)), date(2026, 3, 1))
    lies = _row("C/1", History(0, "C/1", frozenset("C"), since=date(2026, 1, 1)), date(2026, 3, 1))
    later = _row("C/1", History(0, "C/1", frozenset("C"), since=date(2026, 3, 2)), date(2026, 3, 1))
    unknown = _row("D", History(None, "D", not_known="why"), date(2026, 3, 1))

    assert left == {
        "lot": "VAT", "in_cask": False, "aged_from": None, "as_of": date(2026, 2, 5), "age_days": 400,
        "years": 1, "months": 1, "days": 4, "youngest": "A/1", "casks": 2, "not_known": None,
    }  # fmt: skip
    assert (lies["in_cask"], lies["age_days"], lies["years"], lies["months"], lies["days"]) == (True, 59, 0, 2, 0)
    assert (later["years"], later["months"], later["days"]) == (0, 0, 0)
    assert (unknown["age_days"], unknown["years"], unknown["not_known"]) == (None, None, "why")
