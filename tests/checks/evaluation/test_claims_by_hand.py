"""What casks behind a batch show of age and wood, on a batch put together by hand.

Its spirit NM was filled into C1 on 1 January 2020 and into C2 on 1 March 2020, and both were drawn on 1 March 2023:
three years and two months, and three years to the day.
"""

from dataclasses import replace
from datetime import date

import pytest

from gaugebook.checks.evaluation.cask_fillings import Filling, entered, fits, wood_of
from gaugebook.checks.evaluation.claims import (
    _all_of,
    _asks,
    _Behind,
    _Bottling,
    _in_one,
    _of_alternatives,
    _of_batch,
    _of_claim,
    _of_maturation,
    _Record,
)
from gaugebook.checks.evaluation.distilling_seasons import season
from gaugebook.checks.evaluation.spirit_sources import SpiritRecord
from gaugebook.checks.rulebook.maturation import Claim, Maturation, read_claims
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.pipeline.house.products import Product

ON = date(2023, 6, 1)
CHARRED = "charred new oak"
OAK = Maturation("whisky", "EU", "oak", "made up, 1", least_age_months=36.0)
PRODUCT = Product("P", "Product", "whisky", "EU", 40.0, 700.0)
BOTTLED = _Bottling("B", "P", ON, 50.0, label_age_years=None, strength_pct_vol=50.0, u_strength_pct_vol=0.05)
NO_SPIRIT = SpiritRecord({}, {}, frozenset(), {}, {})


def fill(cask, on, into=None):
    return {"lot": "NM", "into_lot": f"{cask}/1", "stage": "fill", "cask": cask, "drawn_on": on, "put_on": on}


def dump(cask, on=date(2023, 3, 1), batch="B"):
    return {"lot": f"{cask}/1", "into_lot": batch, "stage": "dump", "cask": None, "drawn_on": on, "put_on": on}


def filling(cask, wood=CHARRED, nominal_l=200.0, entry=60.0, u=0.1):
    return Filling(f"{cask}/1", wood, nominal_l, entry, u)


BEHIND = _Behind(
    "B",
    fillings=(filling("C1"), filling("C2")),
    steps=[fill("C1", date(2020, 1, 1)), fill("C2", date(2020, 3, 1)), dump("C1"), dump("C2")],
    came=[], bought=[], opened=[], distilled=[], is_watered=False,
)  # fmt: skip


def answers(rows):
    return {row["asks"]: (row["shown"], row["note"]) for row in rows}


def test_the_age_is_that_of_the_youngest_in_wood_that_fits():
    """Three years to the day are three years; a month more is not reached, and the younger cask is named."""
    (row,) = _of_maturation(BEHIND, ON, OAK)
    (short,) = _of_maturation(BEHIND, ON, replace(OAK, least_age_months=37.0))

    assert row == {
        "claim": "whisky", "asks": "at least 3 years", "shown": "yes", "note": "3 years 0 months 0 days",
        "citation": "made up, 1", "is_confirmed": "yes",
    }  # fmt: skip
    assert (short["asks"], short["shown"]) == ("at least 37 months", "no")
    assert short["note"] == "3 years 0 months 0 days by C2/1"


def test_time_in_other_wood_does_not_count():
    """What lay in C1, of acacia, is new spirit still, NM, and breaks the age; of unknown wood it may or may not."""
    other = replace(BEHIND, fillings=(filling("C1", "other wood"), filling("C2")))
    unknown = replace(BEHIND, fillings=(filling("C1", None), filling("C2")))

    assert answers(_of_maturation(other, ON, OAK)) == {"at least 3 years": ("no", "0 years 0 months 0 days by NM")}
    assert answers(_of_maturation(unknown, ON, OAK)) == {
        "at least 3 years": (None, "wood or size is not on record of C1/1")
    }


def test_an_age_that_is_not_on_record_is_not_shown():
    """C2 was drawn on no day; and where no cask stands behind it nothing is."""
    lost = replace(BEHIND, steps=[*BEHIND.steps[:3], dump("C2", None)])
    none = replace(BEHIND, fillings=())

    assert answers(_of_maturation(lost, ON, OAK)) == {
        "at least 3 years": (None, "the day on which C2/1 was drawn is not on record")
    }
    assert answers(_of_maturation(none, ON, OAK)) == {"stored in oak": (None, "no cask stands behind it on record")}
    assert answers(_of_maturation(replace(BEHIND, batch="OTHER"), ON, OAK)) == {
        "at least 3 years": (None, "no cask stands behind it on record")
    }


def test_spirit_of_the_opening_stock_counts_in_a_cask_that_fits():
    """C9 lay from 1 January 2018 when the book began in 2024; if its wood is another, its time there does not count."""
    came = {"lot": "C9/1", "kind": "spirit", "cask": "C9", "came_on": date(2022, 1, 1), "aged_from": date(2018, 1, 1)}
    steel = {"lot": "T", "kind": "spirit", "cask": None, "came_on": date(2022, 1, 1), "aged_from": date(2012, 1, 1)}
    behind = replace(
        BEHIND, fillings=(filling("C9"),), steps=[dump("C9"), dump("T") | {"lot": "T"}], came=[came, steel]
    )

    assert answers(_of_maturation(behind, ON, OAK))["at least 3 years"] == ("yes", "5 years 2 months 0 days")
    other = replace(behind, fillings=(filling("C9", "other wood"),))
    (row,) = _of_maturation(other, ON, OAK)
    assert row["shown"] == "no"


def test_in_the_united_states_all_of_it_lies_in_that_wood():
    """27 CFR 5.143 asks it of each cask; the strength at entry, 125 proof or 62.55 % vol, likewise, with 2 u."""
    item = Maturation("bourbon whisky", "US", "charred new oak", "made up, 2", entry_most_proof=125.0)
    mixed = (filling("C1", "used oak", entry=62.55 + 0.2), filling("C2", None, entry=62.55 + 0.25))

    assert answers(_of_maturation(BEHIND, ON, item)) == {
        "stored in charred new oak": ("yes", None), "into the cask at most at 125 proof": ("yes", None),
    }  # fmt: skip
    assert answers(_of_maturation(replace(BEHIND, fillings=mixed), ON, item)) == {
        "stored in charred new oak": ("no", "broken by C1/1"),
        "into the cask at most at 125 proof": ("no", "broken by C2/1"),
    }
    assert answers(_of_maturation(replace(BEHIND, fillings=(filling("C2", None, entry=None),)), ON, item)) == {
        "stored in charred new oak": (None, "not on record of C2/1"),
        "into the cask at most at 125 proof": (None, "not on record of C2/1"),
    }


@pytest.mark.parametrize(
    ("entry", "u", "is_so"),
    [(62.0, 0.0, True), (62.1, 0.05, True), (62.11, 0.05, False), (62.01, None, False), (None, 1.0, None)],
)
def test_the_strength_at_entry_with_twice_its_uncertainty(entry, u, is_so):
    """At most 62 % vol here; without an uncertainty none is allowed."""
    assert entered(Filling("C1/1", None, None, entry, u), 62.0) is is_so


@pytest.mark.parametrize(
    ("wood", "nominal_l", "bounds", "fitting"),
    [
        (CHARRED, 200.0, {}, True), ("used oak", 200.0, {}, True), ("other wood", 200.0, {}, False),
        (None, 200.0, {}, None), (CHARRED, None, {}, True),
        (CHARRED, 100.0, {"cask_least_l": 100.0}, True), (CHARRED, 99.0, {"cask_least_l": 100.0}, False),
        (CHARRED, 99.0, {"cask_below_l": 100.0}, True), (CHARRED, 100.0, {"cask_below_l": 100.0}, False),
        (CHARRED, 700.0, {"cask_most_l": 700.0}, True), (CHARRED, 701.0, {"cask_most_l": 700.0}, False),
        (None, 701.0, {"cask_most_l": 700.0}, False), (CHARRED, None, {"cask_most_l": 700.0}, None),
        (CHARRED, None, {"cask_least_l": 100.0}, None), (None, None, {"cask_most_l": 700.0}, None),
        (None, 600.0, {"cask_most_l": 700.0, "wood": "wood"}, True), (None, None, {"wood": "wood"}, True),
        (None, 600.0, {"cask_most_l": 700.0}, None),
        (CHARRED, 150.0, {"cask_least_l": 100.0, "cask_below_l": 200.0}, True),
    ],
)  # fmt: skip
def test_whether_a_cask_is_one_that_is_asked(wood, nominal_l, bounds, fitting):
    """By its wood and its size; where either is not known and would matter, nobody knows. Any wood is wood."""
    assert fits(Filling("C1/1", wood, nominal_l, None, None), replace(OAK, **bounds)) is fitting


def test_casks_that_break_a_claim_go_before_those_of_which_nothing_is_known():
    """Four are named, of more how many there are."""
    fits = {f"C{number}/1": False for number in range(6)} | {"C7/1": None, "C8/1": True}

    assert _all_of("c", "a", fits, "x")["note"] == "broken by C0/1, C1/1, C2/1, C3/1 and 2 more"
    assert _all_of("c", "a", {"C7/1": None, "C8/1": True}, "x")["note"] == "not on record of C7/1"
    assert _all_of("c", "a", {"C8/1": True}, "x") == {
        "claim": "c", "asks": "a", "shown": "yes", "note": None, "citation": "x", "is_confirmed": "yes",
    }  # fmt: skip


def test_of_several_ways_the_one_that_is_shown_is_told():
    """Else the first: five years of oak, or three; then five or four."""
    five, three = replace(OAK, least_age_months=60.0), replace(OAK, citation="made up, 3")
    four = replace(OAK, least_age_months=48.0)

    assert [row["citation"] for row in _of_alternatives(BEHIND, ON, [five, three])] == ["made up, 3"]
    assert [row["asks"] for row in _of_alternatives(BEHIND, ON, [five, four])] == ["at least 5 years"]


def distilled(*runs, **more):
    return replace(BEHIND, distilled=list(runs), **more)


def in_year(behind, wanted=None):
    row = _in_one(behind, "vintage", lambda day: day.year, "x", wanted)
    return row["asks"], row["shown"], row["note"]


def test_what_was_distilled_in_one_year():
    """Two runs of 2020 are of one year, one of 2021 beside them breaks it; a run without a day says nothing."""
    one = distilled(("R1", date(2020, 2, 1)), ("R2", date(2020, 12, 31)), ("R3", None))
    two = distilled(("R1", date(2020, 2, 1)), ("R2", date(2021, 1, 1)))

    assert in_year(one) == ("distilled in one season", "yes", None)
    assert in_year(one, 2020) == ("distilled in 2020", "yes", None)
    assert in_year(one, 2019) == ("distilled in 2019", "no", "2020 (R1)")
    assert in_year(two) == ("distilled in one season", "no", "2020 (R1), 2021 (R2)")
    assert in_year(two, 2020) == ("distilled in 2020", "no", "2020 (R1), 2021 (R2)")
    assert in_year(distilled(("R3", None))) == (
        "distilled in one season", None, "when it was distilled is not on record",
    )  # fmt: skip


def test_what_stood_there_was_distilled_by_the_day_on_which_it_was_filled():
    """OLD in 2018, NEW on no day: neither shown nor broken while all that is known is of one year."""
    came = [{"lot": "OLD", "aged_from": date(2018, 5, 1)}, {"lot": "NEW", "aged_from": None}]
    old = distilled(opened=["OLD"], came=came)

    assert in_year(old, 2018) == ("distilled in 2018", "yes", "by the day of filling, not of distillation: OLD")
    assert in_year(old, 2019) == ("distilled in 2019", "no", "2018 (OLD)")
    assert in_year(replace(old, distilled=[("R1", date(2018, 1, 1))]), 2018)[1] == "yes"
    assert in_year(replace(old, distilled=[("R1", date(2019, 1, 1))]))[1:] == ("no", "2018 (OLD), 2019 (R1)")
    assert in_year(replace(old, opened=["OLD", "NEW"]), 2018)[1:] == (
        None, "when it was distilled is not on record: NEW",
    )  # fmt: skip


def test_a_season_is_half_a_year():
    """27 CFR 5.88: January to June, and July to December."""
    assert season(date(2020, 6, 30)) == "2020, January to June"
    assert season(date(2020, 7, 1)) == "2020, July to December"


BOND = Claim("bond", "US", "wood", "x", 24.0, 100.0, one_distiller=True, one_season=True)


def test_a_claim_asks_for_age_proof_season_and_distiller():
    """Three years in any wood, 50 % vol by the label and the laboratory, one half of one year, nothing bought."""
    behind = distilled(("R1", date(2020, 1, 1)), ("R2", date(2020, 6, 30)))
    bought = replace(
        behind, bought=["L1", "L2", "L3", "L4"], distilled=[("R1", date(2020, 1, 1)), ("R2", date(2020, 7, 1))]
    )

    assert answers(_of_claim(behind, BOTTLED, BOND)) == {
        "at least 2 years": ("yes", "3 years 0 months 0 days"),
        "bottled at 100 proof": ("yes", "the laboratory found 100.0"),
        "distilled in one season": ("yes", None), "spirit of one distiller": ("yes", None),
    }  # fmt: skip
    assert answers(_of_claim(bought, replace(BOTTLED, label_pct_vol=49.5), BOND)) == {
        "at least 2 years": ("yes", "3 years 0 months 0 days"), "bottled at 100 proof": ("no", "the label says 99"),
        "distilled in one season": ("no", "2020, January to June (R1), 2020, July to December (R2)"),
        "spirit of one distiller": ("no", "bought: L1, L2, L3"),
    }  # fmt: skip
    assert list(_of_claim(behind, BOTTLED, Claim("c", "US", "wood", "x"))) == []
    unknown = replace(behind, fillings=(filling("C1", None), filling("C2", None)))
    assert answers(_of_claim(unknown, BOTTLED, BOND))["at least 2 years"][0] is None


@pytest.mark.parametrize(
    ("strength", "shown"), [(None, None), (50.39, "yes"), (50.41, "no"), (49.61, "yes"), (49.59, "no")]
)
def test_the_proof_at_bottling_is_that_of_the_laboratory_too(strength, shown):
    """0.3 % vol off (27 CFR 19.356(c)) and twice its uncertainty of 0.05; without a result it is not shown."""
    rows = answers(_of_claim(BEHIND, replace(BOTTLED, strength_pct_vol=strength), BOND))
    assert rows["bottled at 100 proof"][0] == shown


def test_spirit_out_of_another_cask_has_no_strength_at_entry():
    """C2 took only what had lain in C1: however strong, nothing new went into it."""
    item = Maturation("bourbon whisky", "US", "charred new oak", "made up, 2", entry_most_proof=125.0)
    topped = replace(filling("C2", entry=66.0), took_new_spirit=False)

    rows = answers(_of_maturation(replace(BEHIND, fillings=(filling("C1"), topped)), ON, item))
    assert rows["into the cask at most at 125 proof"] == ("yes", None)


def test_a_text_that_was_not_read_is_told_apart():
    """What it asks is answered all the same, and marked, so that no rule of law takes it for law."""
    read, unread = OAK, replace(OAK, confirmed=False)
    assert [row["is_confirmed"] for item in (read, unread) for row in _of_alternatives(BEHIND, ON, [item])] == [
        "yes",
        "no",
    ]


def claimed(**more):
    return answers(_of_batch(BEHIND, replace(PRODUCT, category="liqueur", **more), BOTTLED, read_limits()))


def test_what_a_label_claims_is_asked_of_the_casks():
    """An age, by the law of its market, a vintage, one cask, no water."""
    assert claimed() == {}
    assert claimed(age_years=3.0) == {"at least 3 years": ("yes", "3 years 0 months 0 days")}
    assert claimed(vintage=2020) == {"distilled in 2020": (None, "when it was distilled is not on record")}
    assert claimed(claims=("single cask", "cask strength")) == {
        "one cask": ("no", "C1, C2"), "no water after the cask": ("yes", None),
    }  # fmt: skip
    rows = {
        law: list(
            _of_batch(BEHIND, replace(PRODUCT, category="x", jurisdiction=law, age_years=3.0), BOTTLED, read_limits())
        )
        for law in ("EU", "US")
    }
    assert rows["EU"][0]["citation"].startswith("Regulation (EU) 2019/787, Article 13(6)")
    assert rows["US"][0]["citation"].startswith("27 CFR 5.74")
    assert (rows["EU"][0]["claim"], rows["EU"][0]["asks"]) == ("age of 3 years", "at least 3 years")


def test_what_a_category_asks_is_asked_without_a_word_on_the_label():
    """Whisky of the Union lies three years in wood of at most 700 L: Regulation (EU) 2019/787, Annex I, 2(a)(iii)."""
    large = replace(BEHIND, fillings=(filling("C1", nominal_l=701.0), filling("C2", nominal_l=701.0)))

    assert answers(_of_batch(BEHIND, PRODUCT, BOTTLED, read_limits())) == {
        "at least 3 years": ("yes", "3 years 0 months 0 days")
    }
    assert answers(_of_batch(large, PRODUCT, BOTTLED, read_limits()))["at least 3 years"][0] == "no"


def test_single_cask_and_cask_strength_by_what_stands_behind():
    """One cask filled twice is one; without a cask neither is shown; with water the strength is not the cask's."""
    product = replace(PRODUCT, category="liqueur", claims=("single cask", "cask strength"))
    twice = replace(BEHIND, fillings=(filling("C1"), replace(filling("C1"), contents="C1/2")), is_watered=True)

    assert answers(_of_batch(twice, product, BOTTLED, read_limits())) == {
        "one cask": ("yes", "C1"), "no water after the cask": ("no", None),
    }  # fmt: skip
    assert answers(_of_batch(replace(BEHIND, fillings=()), product, BOTTLED, read_limits())) == {
        "one cask": (None, "no cask stands behind it on record"),
        "no water after the cask": (None, "no cask stands behind it on record"),
    }


def test_a_claim_is_asked_where_its_law_holds():
    """27 CFR 5.88 of bottled in bond; the same words under another law ask nothing."""
    bond = replace(PRODUCT, category="x", claims=("bottled in bond",), label_strength_pct_vol=50.0)
    known = [item for item in read_claims() if item.claim == "bottled in bond"]

    assert {item.jurisdiction for item in known} == {"US"}
    in_bond = _of_batch(BEHIND, replace(bond, jurisdiction="US"), BOTTLED, read_limits())
    assert "bottled at 100 proof" in answers(in_bond)
    assert answers(_of_batch(BEHIND, bond, BOTTLED, read_limits())) == {}


@pytest.mark.parametrize(
    ("more", "asks"),
    [
        ({}, False), ({"claims": ("single cask",)}, True), ({"age_years": 0.0}, True), ({"vintage": 2020}, True),
        ({"category": "whisky"}, True), ({"category": "vodka"}, False),
    ],
)  # fmt: skip
def test_of_which_products_something_is_asked(more, asks):
    """Those whose label says something, or whose category takes wood."""
    assert _asks(replace(PRODUCT, **{"category": "liqueur"} | more), BOTTLED, read_limits()) is asks


def test_the_ancestry_of_a_batch_is_its_own():
    """Its steps in the order of all, each once, and what came among its lots; another batch has its own."""
    steps = [fill("C1", ON), fill("C2", ON), fill("C9", ON), dump("C1"), dump("C2"), dump("C9", batch="OTHER"),
             dump("C1")]  # fmt: skip
    into: dict[str, list] = {}
    for place, one in enumerate(steps):
        into.setdefault(one["into_lot"], []).append((place, one))
    row = {"contents": "C1/1", "wood": "oak", "treatment": "charred", "former_contents": "new", "filling": 1,
           "nominal_l": 200.0, "entry_pct_vol": 60.0, "u_entry_pct_vol": 0.1, "took_new_spirit": True}  # fmt: skip
    record = _Record(
        into, [{"lot": "NM"}, {"lot": "ELSE"}], {"B": [row]},
        {"B": [{"bought": ["L"], "opened": None}, {"bought": None, "opened": ["O"]}]},
        {"B": [{"run": "R", "on_day": ON}]}, {"B"}, NO_SPIRIT,
    )  # fmt: skip

    behind = record.behind("B")

    assert [(one["lot"], one["into_lot"]) for one in behind.steps] == [
        ("NM", "C1/1"), ("NM", "C2/1"), ("C1/1", "B"), ("C2/1", "B"), ("C1/1", "B"),
    ]  # fmt: skip
    assert behind.fillings == (filling("C1"),)
    assert (behind.came, behind.bought, behind.opened) == ([{"lot": "NM"}], ["L"], ["O"])
    assert (behind.distilled, behind.is_watered) == ([("R", ON)], True)
    other = record.behind("OTHER")
    assert (other.fillings, other.bought, other.opened, other.distilled, other.is_watered) == ((), [], [], [], False)
    assert [one["lot"] for one in other.steps] == ["NM", "C9/1"]


def test_what_a_register_says_of_a_cask():
    """A second filling is in used oak, whatever it was when it was new; of another wood nothing more is asked."""
    new = {"wood": "european oak", "treatment": "toasted", "former_contents": "new", "filling": 1}

    assert wood_of(new) == "uncharred new oak"
    assert wood_of(new | {"treatment": "charred and toasted"}) == CHARRED
    assert wood_of(new | {"filling": 2, "former_contents": None}) == "used oak"
    assert wood_of(new | {"wood": "other"}) is None
    assert wood_of({"wood": "acacia", "treatment": None, "former_contents": None, "filling": 1}) == "other wood"
    assert filling("A/B").cask == "A/B"
