"""The age of a lot is that of its youngest part, through filling, topping, transfer and mixing."""

from datetime import date, timedelta

from cask_house import CASKS, OPENING, cask_book, event, filled
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.casks.ages import histories

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
