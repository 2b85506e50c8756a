"""Casks filled too strong for their class, told on the day of filling; houses and figures are made up."""

import pytest
from cask_house import HOUSE, cask_book, event

from gaugebook.checks.evaluation.cask_entries import entry_limits
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.settings import parse_house

PROFILE = """
[[recipes]]
name = "CORN"
stage = "mash"
ingredients = [{ material = "yellow corn", share = 0.7 }, { material = "rye", share = 0.3 }]

[[recipes]]
name = "RYE"
stage = "mash"
ingredients = [{ material = "yellow corn", share = 0.2 }, { material = "rye", share = 0.8 }]

[[products]]
code = "BOURBON"
name = "Bourbon"
category = "straight bourbon whiskey"
jurisdiction = "US"
label_strength_pct_vol = 45.0
nominal_ml = 750.0

[[products]]
code = "BLEND"
name = "Blended whiskey"
category = "blended whisky"
jurisdiction = "US"
label_strength_pct_vol = 40.0
nominal_ml = 750.0
"""
READ = {"volume_temperature_c": 20, "reading_kind": "pct_vol_20c"}
IN_WOOD = {"wood": "american oak", "treatment": "charred", "former_contents": "new", "nominal_l": 200, "tare_kg": 50}


def run(name, stage, on, **more):
    return {"run": name, "stage": stage, "equipment": "T1", "started_at": on, "ended_at": on} | more


def move(name, direction, lot, part, litres, strength, on):
    gauge = {"volume_at_t_l": litres, "strength_reading": strength} | READ
    return {"run": name, "direction": direction, "lot": lot, "part": part, "vessel": "T1", "gauged_at": on} | gauge


@pytest.fixture
def flagged(tmp_path):
    """{record: (answer, message)} of the rule: flagged(strength=64.0, recipe="CORN")."""

    def of(strength, recipe="CORN", product=None, extra=(), runs=(), moves=(), bottling=()):
        grain = {"run": "M-1", "direction": "in", "lot": "G-1", "part": "grain", "mass_kg": 500}
        book = cask_book(
            tmp_path / f"{strength} {recipe} {product} {len(extra)} {len(runs)}",
            PROFILE,
            intake=[{"lot": "G-1", "material": "yellow corn", "kind": "adjunct", "received_at": "2025-01-01",
                     "quantity_kg": 1000}],
            casks=[IN_WOOD | {"cask": cask} for cask in ("C1", "C2")],
            runs=[
                run("M-1", "mash", "2025-01-02", recipe=recipe), run("F-1", "ferment", "2025-01-06"),
                run("S-1", "strip", "2025-01-07"), run("D-1", "rectify", "2025-01-08"),
                run("CF-1", "fill", "2025-01-09", product=product), *runs,
            ],
            movements=[
                grain, move("M-1", "out", "W-1", "wort", 2000, 0, "2025-01-02"),
                move("F-1", "in", "W-1", "wort", 2000, 0, "2025-01-03"),
                move("F-1", "out", "B-1", "wash", 2000, 8, "2025-01-06"),
                move("S-1", "in", "B-1", "wash", 2000, 8, "2025-01-07"),
                move("S-1", "out", "LW-1", "hearts", 500, 31, "2025-01-07"),
                move("D-1", "in", "LW-1", "hearts", 500, 31, "2025-01-08"),
                move("D-1", "out", "NM-1", "hearts", 230, strength, "2025-01-08"), *moves,
            ],
            cask_events=[
                event("C1", "filled", "2025-01-09", lot="NM-1", run="CF-1", volume_at_t_l=200,
                      strength_reading=strength),
                *extra,
            ],
            bottling=bottling or [
                {"lot": "OTHER", "run": "M-1", "product": "BLEND", "bottled_at": "2025-01-09", "nominal_ml": 750,
                 "label_strength_pct_vol": 40, "bottles_filled": 1, "bottles_rejected": 0}
            ],
        )  # fmt: skip
        with open_book(book, writing=True) as opened:
            run_checks(opened)
            rows = opened.frame(
                "SELECT record, answer, severity, message FROM flagged.flags WHERE rule = 'cask-entry-strength'"
            )
        return {row["record"]: (row["answer"], row["severity"], row["message"]) for row in rows.to_dicts()}

    return of


def test_bourbon_at_126_proof_is_told_when_it_is_filled(flagged):
    """27 CFR 5.143(c): 63.05 % vol at 20 °C are 126 proof (27 CFR 30.11 and OIML R 22); by the recipe of its mash."""
    ((record, (answer, severity, message)),) = flagged(63.05).items()

    assert (record, answer, severity) == ("cask C1, filling 1", "out", "stops release")
    assert "recipe CORN: straight bourbon whisky, at most 125 proof" in message


def test_what_is_not_meant_for_such_a_class_is_not_asked(flagged):
    """A rye recipe where no product is a rye; a fill for a blend; 62.5 % vol, which is 124.9 proof."""
    assert flagged(63.05, recipe="RYE") == {}
    assert flagged(63.05, product="BLEND") == {}
    assert flagged(62.5) == {}


def test_the_product_of_the_run_goes_before_the_recipe(flagged):
    """A run that names the bourbon fills it, whatever the mash was called."""
    ((_, (answer, _, message)),) = flagged(63.05, recipe="RYE", product="BOURBON").items()

    assert answer == "out"
    assert "product BOURBON" in message


def test_spirit_out_of_another_cask_may_have_risen(flagged):
    """Filled at 62.5 % vol, topped with what another cask has at 66: no new spirit went in too strong."""
    topping = [
        event("C2", "filled", "2025-01-09", lot="NM-1", run="CF-1", volume_at_t_l=20, strength_reading=62.5),
        event("C2", "drawn", "2026-01-09", other_cask="C1", volume_at_t_l=5, strength_reading=66),
        event("C1", "filled", "2026-01-09", other_cask="C2", volume_at_t_l=5, strength_reading=66),
    ]

    assert flagged(62.5, extra=topping) == {}


def test_a_cask_of_which_something_is_bottled_is_left_to_its_batch(book, put):
    """Then the claims of the batch say what its own product asks; the other cask is still looked at."""
    for cask in ("C1", "C2"):
        fill = {"run": "CF-1", "source_id": 1, "line": 2}
        put("typed.casks", cask=cask, source_id=1, line=1)
        put(
            "derived.cask_events",
            cask=cask,
            event="filled",
            happened_at="2025-01-09",
            filling=1,
            contents=f"{cask}/1",
            **fill,
        )
        put(
            "derived.gauges",
            gauge=1,
            direction="out",
            lot=f"{cask}/1",
            part="spirit",
            vessel=cask,
            alcohol_l=120.0,
            gauged_at="2025-01-09",
            strength_pct_vol=63.0,
            u_strength_pct_vol=0.04,
            **fill,
        )
    put(
        "typed.runs",
        run="CF-1",
        stage="fill",
        equipment="T1",
        started_at="2025-01-09",
        product="BOURBON",
        source_id=1,
        line=3,
    )
    put("derived.lineage", batch="B-1", run="BOT-1", stage="bottle", lot="C1/1", into_lot="B-1", depth=1, share=1.0)
    house = parse_house(HOUSE + PROFILE, "house.toml")
    book.execute("SET VARIABLE house_zone = 'UTC'")

    rows = entry_limits(book, house, read_limits())
    assert rows.select("contents", "entry_pct_vol").rows() == [("C2/1", 63.0)]


@pytest.mark.parametrize(("material", "strong"), [("bourbon", True), ("rye", True), ("rum", False), ("spirit", False)])
def test_casks_of_the_opening_stock_go_by_what_their_spirit_is_called(book, put, material, strong):
    """Gauged when they were filled, at 63 % vol; rum has no such limit, and what spirit is meant for nobody said."""
    put(
        "derived.openings",
        gauge=1,
        lot="C1/1",
        origin="opening",
        kind="spirit",
        material=material,
        vessel="C1",
        alcohol_l=120.0,
        strength_pct_vol=63.0,
        u_strength_pct_vol=0.04,
        source_id=1,
        line=2,
    )
    put(
        "typed.opening_stock",
        lot="OLD",
        material=material,
        kind="spirit",
        vessel="C1",
        counted_at="2020-05-01",
        aged_from="2020-05-01",
        source_id=1,
        line=2,
    )
    book.execute("SET VARIABLE house_zone = 'UTC'")

    rows = entry_limits(book, parse_house(HOUSE + PROFILE, "house.toml"), read_limits())
    assert rows["contents"].to_list() == (["C1/1"] if strong else [])


def test_a_house_that_has_mashed_and_filled_no_cask_is_checked(tmp_path):
    """Its bourbon is still in the tank: there is nothing to say of casks, and the check goes through."""
    book = cask_book(
        tmp_path,
        PROFILE,
        runs=[run("M-1", "mash", "2031-01-01", recipe="CORN"), run("F-1", "ferment", "2031-01-05")],
        movements=[
            {"run": "M-1", "direction": "in", "lot": "G-1", "part": "grain", "mass_kg": 500},
            {"run": "M-1", "direction": "out", "lot": "WORT", "part": "wort", "volume_at_t_l": 2000},
            {"run": "F-1", "direction": "in", "lot": "WORT", "part": "wort", "volume_at_t_l": 2000},
            move("F-1", "out", "WASH", "wash", 1900, 8.0, "2031-01-05"),
        ],
    )
    with open_book(book, writing=True) as opened:
        run_checks(opened)
        assert opened.value("SELECT count(*) FROM flagged.flags WHERE rule = 'cask-entry-strength'") == 0
