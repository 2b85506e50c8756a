"""Claims of age and wood: shown by the casks behind a batch, broken by the one that breaks them, or not shown."""

import pytest
from cask_house import OPENING, cask_book, event, filled

from gaugebook.checks.evaluation.cask_fillings import wood_of
from gaugebook.checks.evaluation.claims import claims
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force

NEW_OAK = {"wood": "american oak", "treatment": "charred", "former_contents": "new", "nominal_l": 200, "tare_kg": 50}
READ = {"volume_temperature_c": 20, "reading_kind": "pct_vol_20c"}
BOURBON = OPENING[0] | {"material": "bourbon", "aged_from": "2024-01-01"}
RYE = OPENING[0] | {"material": "rye", "aged_from": "2024-01-01", "lot": "RY-1", "vessel": "T2"}
BOUGHT = [OPENING[0] | {"kind": "neutral spirit"}]  # never aged; the tank of the tests


def product(category="whisky", jurisdiction="EU", strength=40.0, **more):
    """A further product of the profile; numbers and lists as TOML."""
    lines = [f"{name} = {value}" for name, value in more.items()]
    return "\n".join(
        [
            "\n[[products]]", 'code = "AGED"', 'name = "Aged"', f'category = "{category}"',
            f'jurisdiction = "{jurisdiction}"', f"label_strength_pct_vol = {strength}", "nominal_ml = 700.0",
            *lines, "",
        ]
    )  # fmt: skip


def shown(
    folder,
    profile,
    fills,
    casks=None,
    opening=BOUGHT,
    bottled="2026-03-01",
    extra=(),
    label=60,
    strength=None,
    age=None,
):
    """{what is asked: (shown, note)} of a batch of these casks, all emptied on 1 February 2026 into one vat.

    `fills`: cask -> the day on which it was filled.
    """
    casks = casks or [NEW_OAK | {"cask": cask} for cask in fills]
    book = cask_book(
        folder,
        profile,
        opening_stock=opening,
        casks=casks,
        cask_events=[
            *(filled(cask, 200, on) for cask, on in fills.items() if on),
            *(
                event(cask, "emptied", "2026-02-01", lot="VAT-1", run="DUMP-1", volume_at_t_l=150, strength_reading=60)
                for cask in fills
            ),
            *extra,
        ],
        runs=[
            {"run": "DUMP-1", "stage": "dump", "equipment": "T2", "started_at": "2026-02-01", "ended_at": "2026-02-01"},
            {"run": "BOT-1", "stage": "bottle", "equipment": "T2", "started_at": bottled, "ended_at": bottled},
        ],
        movements=[
            {"run": "DUMP-1", "direction": "out", "lot": "VAT-1", "part": "spirit", "vessel": "T2",
             "gauged_at": "2026-02-01",
             "volume_at_t_l": 150 * len(fills), "strength_reading": 60} | READ,
            {"run": "BOT-1", "direction": "in", "lot": "VAT-1", "part": "spirit", "vessel": "T2", "gauged_at": bottled,
             "volume_at_t_l": 100, "strength_reading": 60} | READ,
            {"run": "BOT-1", "direction": "out", "lot": "B-1", "part": "bottles", "gauged_at": bottled},
        ],
        bottling=[
            {"lot": "B-1", "run": "BOT-1", "product": "AGED", "bottled_at": bottled, "nominal_ml": 700,
             "label_strength_pct_vol": label, "bottles_filled": 140, "bottles_rejected": 0}
            | ({"label_age_years": age} if age else {}),
        ],
        **({"laboratory": [{"sample": "S-1", "lot": "VAT-1", "analyte": "strength", "value": strength,
                            "unit": "pct_vol"}]} if strength else {}),
    )  # fmt: skip
    with open_book(book, writing=True) as opened:
        frame = claims(opened, profile_in_force(opened), read_limits())
        run_checks(opened)
        flags = opened.frame("SELECT record, answer FROM flagged.flags WHERE rule = 'claim-shown' ORDER BY record")
    answers = {"no": "out", None: "not evaluated"}
    assert sorted(flags.rows()) == sorted(
        (f"batch B-1, {row['claim']}: {row['asks']}", answers[row["shown"]])
        for row in frame.to_dicts()
        if row["shown"] != "yes"
    )
    return {row["asks"]: (row["shown"], row["note"]) for row in frame.to_dicts()}


def test_whisky_of_the_union_takes_three_years(tmp_path):
    """Regulation (EU) 2019/787, Annex I, 2(a)(iii): a day short of three years breaks it."""
    old = shown(tmp_path / "a", product(), {"C1": "2021-06-01", "C2": "2023-02-01"})
    young = shown(tmp_path / "b", product(), {"C1": "2021-06-01", "C2": "2023-02-02"})

    assert old == {"at least 3 years": ("yes", "3 years 0 months 0 days")}
    assert young == {"at least 3 years": ("no", "2 years 11 months 30 days by C2/1")}


def test_a_cask_that_is_too_large_does_not_count(tmp_path):
    """The same article: wooden casks not exceeding 700 litres; of an unknown size it is not shown."""
    large = shown(tmp_path / "a", product(), {"C1": "2020-01-01"}, [NEW_OAK | {"cask": "C1", "nominal_l": 1000}])
    unknown = shown(tmp_path / "b", product(), {"C1": "2020-01-01"}, [{"cask": "C1", "wood": "oak", "tare_kg": 50}])

    assert large["at least 3 years"][0] == "no"
    assert unknown["at least 3 years"][0] is None


def test_an_age_statement_is_that_of_the_youngest(tmp_path):
    """Five years stated: one cask of four years breaks it and is named; without it the statement stands."""
    five = product(age_years=5)
    whole = shown(tmp_path / "a", five, {"C1": "2019-01-01", "C2": "2021-02-01"})
    broken = shown(tmp_path / "b", five, {"C1": "2019-01-01", "C2": "2022-02-01"})

    assert whole["at least 5 years"] == ("yes", "5 years 0 months 0 days")
    assert broken["at least 5 years"] == ("no", "4 years 0 months 0 days by C2/1")


def test_the_age_that_is_proven_is_that_of_the_batchs_own_label(tmp_path):
    """A label of six years on casks of four, of a product of four: 27 CFR 5.74, it is the label that is proven, and
    that it is not the product's is told; so is an age on a label whose product states none."""
    four = product("rum", "US", 45.0, age_years=4)
    six = shown(tmp_path / "a", four, {"C1": "2021-06-01"}, age=6)
    none = shown(tmp_path / "b", product("rum", "US", 45.0), {"C1": "2021-06-01"}, age=2.5)

    assert six == {"at least 6 years": ("no", "4 years 8 months 0 days by C1/1")}
    assert none == {"at least 30 months": ("yes", "4 years 8 months 0 days")}
    for folder in ("a", "b"):
        with open_book(tmp_path / folder / "book") as book:
            flags = book.frame("SELECT record, answer, severity FROM flagged.flags WHERE rule = 'label-age-as-product'")
        assert flags.rows() == [("batch B-1", "out", "needs explanation")]


def test_what_the_record_cannot_show_is_not_shown(tmp_path):
    """A cask of the opening stock without a day of filling: neither shown nor broken."""
    opening = [
        *BOUGHT,
        {
            "lot": "OLD",
            "material": "whisky",
            "kind": "spirit",
            "vessel": "C1",
            "counted_at": "2024-01-01",
            "alcohol_l": 100,
        },
    ]
    found = shown(tmp_path, product(age_years=5), {"C1": None}, opening=opening)

    assert {answer for answer, _ in found.values()} == {None}
    assert "not on record" in found["at least 5 years"][1]


@pytest.mark.parametrize(
    ("change", "asks", "answer"),
    [
        ({}, None, "yes"),
        ({"former_contents": "bourbon"}, "stored in charred new oak", "no"),
        ({"treatment": "toasted"}, "stored in charred new oak", "no"),
        ({"former_contents": ""}, "stored in charred new oak", None),
    ],
)
def test_bourbon_takes_charred_new_oak(tmp_path, change, asks, answer):
    """27 CFR 5.143: stored in charred new oak containers at not more than 125 proof; 62.5 % vol at 20 °C is below."""
    bourbon = product("straight bourbon whiskey", "US", 45.0)
    found = shown(tmp_path, bourbon, {"C1": "2021-01-01"}, [{**NEW_OAK, **change, "cask": "C1"}], [BOURBON])

    assert {"stored in charred new oak", "into the cask at most at 125 proof", "at least 2 years"} <= found.keys()
    if asks is None:
        assert {item for item, _ in found.values()} == {"yes"}
    else:
        assert found[asks][0] == answer


@pytest.mark.parametrize(
    ("material", "answer"),
    [
        ("Straight Bourbon", ("yes", None)),
        ("rye", ("no", "broken by RY-1 (rye)")),
        ("spirit", (None, "of which type is not on record of RY-1")),
        ("whiskey", (None, "of which type is not on record of RY-1")),
    ],
)
def test_a_straight_bourbon_is_bourbon_alone(tmp_path, material, answer):
    """27 CFR 5.143(c)(5): a cask of bourbon topped with another spirit, five litres of it."""
    bourbon = product("straight bourbon whiskey", "US", 45.0)
    topped = filled("C1", 5, "2021-07-01", lot="RY-1")
    opening = [BOURBON, RYE | {"material": material}]
    found = shown(tmp_path, bourbon, {"C1": "2021-01-01"}, opening=opening, extra=(topped,))

    assert found["all of it bourbon whisky"] == answer


def test_bottled_in_bond_is_of_one_kind(tmp_path):
    """27 CFR 5.88(a)(1): a rye topped with bourbon is not; a rum of rum is, and with whisky in it is not."""
    rye = product("rye whisky", "US", 50.0, claims='["bottled in bond"]')
    rum = product("rum", "US", 50.0, claims='["bottled in bond"]')
    topped = (filled("C1", 5, "2021-07-01", lot="RY-1"),)
    both = [OPENING[0] | {"material": "rum"}, RYE]

    mixed = shown(tmp_path / "a", rye, {"C1": "2021-01-01"}, opening=[BOURBON, RYE], extra=topped)
    assert mixed["spirit of one kind"] == ("no", "broken by NM-1 (bourbon)")
    assert shown(tmp_path / "b", rum, {"C1": "2021-01-01"}, opening=both[:1])["spirit of one kind"] == ("yes", None)
    other = shown(tmp_path / "c", rum, {"C1": "2021-01-01"}, opening=both, extra=topped)
    assert other["spirit of one kind"] == ("no", "rum: NM-1; rye whisky: RY-1")


def test_a_blended_whisky_is_a_fifth_straight_whisky(tmp_path):
    """27 CFR 5.143(c), by the alcohol: one cask of five years among five alike is 20 %, among six 16.7 %; of six of
    which one is of a wood that is not on record, 16.7 % to 33.3 %."""
    blended = product("blended whiskey", "US", 45.0)
    young = {f"C{number}": "2025-06-01" for number in range(2, 7)}
    casks = [NEW_OAK | {"cask": f"C{number}"} for number in range(1, 7)]
    old = {"C1": "2021-01-01"}
    asks = "at least 20 % straight whisky"
    others = ", ".join(f"C{number}/1 16.7 %" for number in range(2, 7))

    fifth = shown(tmp_path / "a", blended, old | dict(list(young.items())[:4]), casks, [BOURBON])[asks]
    assert fifth[0] == "yes" and fifth[1].startswith("straight 20.0 % (C1/1 20.0 %); not straight 80.0 % (C2/1 20.0 %")
    sixth = shown(tmp_path / "b", blended, old | young, casks, [BOURBON])[asks]
    assert sixth == ("no", f"straight 16.7 % (C1/1 16.7 %); not straight 83.3 % ({others})")
    blank = [*casks[:5], {"cask": "C6", "tare_kg": 50}]
    unknown = shown(tmp_path / "c", blended, old | young | {"C6": "2021-01-01"}, blank, [BOURBON])[asks]
    assert unknown[0] is None and unknown[1].endswith("not shown to be straight 16.7 % (C6/1 16.7 %)")


def test_bourbon_goes_in_at_most_at_125_proof(tmp_path):
    """64 % vol at 20 °C are 127.9 proof (27 CFR 30.11 and OIML R 22): the filling is named."""
    strong = filled("C2", 100, "2021-01-01", strength_reading=64.0)
    emptied = event("C2", "emptied", "2026-02-01", lot="VAT-1", run="DUMP-1", volume_at_t_l=80, strength_reading=60)
    casks = [NEW_OAK | {"cask": cask} for cask in ("C1", "C2")]
    found = shown(tmp_path, product("bourbon whisky", "US", 45.0), {"C1": "2021-01-01"}, casks, extra=(strong, emptied))

    assert found["into the cask at most at 125 proof"] == ("no", "broken by C2/1")


def test_bottled_in_bond(tmp_path):
    """27 CFR 5.88: four years, 100 proof, one season; spirit bought in unaged has no season on record."""
    bond = product("rye whisky", "US", 50.0, claims='["bottled in bond"]')
    found = shown(tmp_path / "a", bond, {"C1": "2021-06-01"}, label=50, strength=50.06)
    young = shown(tmp_path / "b", bond, {"C1": "2022-03-01"}, label=50)

    assert found["at least 4 years"][0] == "yes"
    assert found["bottled at 100 proof"] == ("yes", "the laboratory found 100.0")
    assert found["distilled in one season"][0] is None
    assert young["at least 4 years"] == ("no", "3 years 11 months 0 days by C1/1")
    assert young["bottled at 100 proof"] == (None, "the strength at bottling is not on record")


@pytest.mark.parametrize(
    ("label", "strength", "note"),
    [
        (49.5, 49.56, "the label says 99"),
        (50, 49.4, "the laboratory found 98.7"),
        (50, 50.7, "the laboratory found 101.3"),
    ],
)
def test_bottled_in_bond_is_bottled_at_100_proof(tmp_path, label, strength, note):
    """27 CFR 5.88(a)(6), whatever the profile says of the product: by the batch's own label, and by the laboratory
    within 0.3 % vol (19.356(c)) and its uncertainty."""
    bond = product("rye whisky", "US", 50.0, claims='["bottled in bond"]')
    found = shown(tmp_path, bond, {"C1": "2021-06-01"}, label=label, strength=strength)

    assert found["bottled at 100 proof"] == ("no", note)


def test_single_cask_and_cask_strength(tmp_path):
    """One cask behind it, and no water since; two casks break the one."""
    claimed = product(claims='["single cask", "cask strength"]')
    one = shown(tmp_path / "a", claimed, {"C1": "2021-01-01"})
    two = shown(tmp_path / "b", claimed, {"C1": "2021-01-01", "C2": "2021-01-01"})

    assert (one["one cask"][0], one["no water after the cask"][0]) == ("yes", "yes")
    assert two["one cask"] == ("no", "C1, C2")


def test_a_vintage_is_the_year_of_distillation(tmp_path):
    """Casks of the opening stock filled in 2018: 2018 is shown, 2019 is broken."""
    opening = [
        *BOUGHT,
        {"lot": "OLD", "material": "whisky", "kind": "spirit", "vessel": "C1", "counted_at": "2024-01-01",
         "alcohol_l": 100,
         "aged_from": "2018-05-01"},
    ]  # fmt: skip
    right = shown(tmp_path / "a", product(vintage=2018), {"C1": None}, opening=opening)
    wrong = shown(tmp_path / "b", product(vintage=2019), {"C1": None}, opening=opening)

    assert right["distilled in 2018"][0] == "yes"
    assert wrong["distilled in 2019"][0] == "no"


def test_wood_by_the_register():
    """What is not said of the wood, the fire or the former contents is not guessed."""
    new = {"wood": "oak", "treatment": "charred", "former_contents": " New ", "filling": 1}
    assert wood_of(new) == "charred new oak"
    assert wood_of(new | {"treatment": "none"}) == "uncharred new oak"
    assert wood_of(new | {"former_contents": "sherry"}) == "used oak"
    assert wood_of(new | {"wood": "acacia"}) == "other wood"
    for name in ("wood", "treatment", "former_contents"):
        assert wood_of(new | {name: None}) is None
