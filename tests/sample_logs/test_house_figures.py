"""The sample house's own figures: what its README says comes out of the simulation, and the law holds of it."""

import re
import tomllib
from datetime import timedelta
from statistics import mean

import pytest

from gaugebook.pipeline.engineering.vapour import (
    highest_strength_pct_vol,
    mole_fraction_from_strength,
    strength_from_mole_fraction,
)
from gaugebook.pipeline.engineering.vapour_check import stages_available
from sample_logs.generator.distilling import RECTIFY_STAGES, STRIP_STAGES
from sample_logs.generator.equilibrium import SITE_PRESSURE_KPA, column


@pytest.fixture(scope="module")
def readme(sample_logs):
    """The scenario as its README tells it, on one line."""
    return " ".join((sample_logs / "README.md").read_text(encoding="utf-8").split())


@pytest.fixture(scope="module")
def stills(sample_logs):
    """The stills of the profile by code."""
    return {still["code"]: still for still in tomllib.loads((sample_logs / "house.toml").read_text())["stills"]}


def _numbers(readme, pattern):
    """Numbers that the README gives where it says so."""
    return [float(number.replace(",", "")) for number in re.search(pattern, readme).groups()]


def _parts(house, prefix, lot_prefix, product=None):
    """Run and liquid of the lots made, of one product or of none."""
    products = {run.run: run.product for run in house.book.runs}
    return [
        (working.run, liquid)
        for working in house.book.workings
        if working.run.startswith(prefix) and products[working.run] == product
        for name, liquid in working.out
        if name.startswith(lot_prefix)
    ]


def _hours(house, names):
    return [
        (run.hearts_to - run.hearts_from) / timedelta(hours=1)
        for run in house.book.runs
        if run.run in names
    ]  # fmt: skip


def test_mashes_and_washes_are_those_of_the_readme(house, readme):
    """Grist, wort, days of fermentation and strength of the wash."""
    grist_kg, wort_l = _numbers(readme, r"about (\d+) kg, ([\d,]+) L of wort")
    [strength] = _numbers(readme, r"wash of about ([\d.]+) % vol")
    grain = [m for m in house.book.movements if m.part == "grain"]
    mashes = {m.run for m in grain}
    days = [
        (run.ended - run.started) / timedelta(days=1)
        for run in house.book.runs
        if run.stage == "ferment" and run.product is None
    ]

    assert sum(m.gauge.mass_kg for m in grain) / len(mashes) == pytest.approx(grist_kg, rel=0.01)
    assert mean(liquid.volume_l for _, liquid in _parts(house, "MSH", "WORT")) == pytest.approx(wort_l, rel=0.01)
    assert mean(liquid.strength_pct_vol for _, liquid in _parts(house, "FER", "WASH")) == pytest.approx(
        strength, abs=0.1
    )
    assert "five days of fermentation" in readme
    assert days == pytest.approx([5.0] * len(days), abs=0.25)


def test_strips_are_those_of_the_readme(house, readme):
    """Volume, strength and hours of the hearts of a grain strip."""
    volume_l, strength = _numbers(readme, r"\(about (\d+) L at (\d+) % vol in four hours\)")
    hearts = _parts(house, "STR", "HRT")

    assert mean(liquid.volume_l for _, liquid in hearts) == pytest.approx(volume_l, rel=0.01)
    assert mean(liquid.strength_pct_vol for _, liquid in hearts) == pytest.approx(strength, abs=0.5)
    assert mean(_hours(house, {run for run, _ in hearts})) == pytest.approx(4.0, abs=0.25)


def test_five_strips_fill_the_rectifying_still(house, readme, stills):
    """Each rectifying run of grain spirit takes five lots, reduced to the README's strength; they fill the still."""
    [charged_pct_vol] = _numbers(readme, r"Five strips, reduced to (\d+) % vol, fill")
    charges = [
        working.into
        for working in house.book.workings
        if working.run.startswith("REC") and len([lot for lot, _ in working.into if lot.startswith("HRT")]) > 1
    ]
    assert len(charges) == len(house.neutral)
    for into in charges:
        assert len([lot for lot, _ in into if lot.startswith("HRT")]) == 5
        charge = sum((liquid for _, liquid in into[1:]), into[0][1])
        assert charge.strength_pct_vol == pytest.approx(charged_pct_vol, abs=0.01)
        assert 0.75 * stills["R1"]["capacity_l"] < charge.volume_l < stills["R1"]["capacity_l"]


def test_neutral_spirit_is_that_of_the_readme_and_of_the_law(house, readme):
    """Neutral spirit has 96.0 % vol at least (Regulation (EU) 2019/787, Article 5) and stays below the azeotrope."""
    volume_l, strength = _numbers(readme, r"about (\d+) L of neutral spirit at ([\d.]+) % vol")
    spirit = _parts(house, "REC", "NS-")
    strengths = [liquid.strength_pct_vol for _, liquid in _parts(house, "REC", "NS")]

    assert mean(liquid.volume_l for _, liquid in spirit) == pytest.approx(volume_l, rel=0.01)
    assert mean(liquid.strength_pct_vol for _, liquid in spirit) == pytest.approx(strength, abs=0.05)
    assert len(strengths) == len(spirit) + 2  # the feints campaigns
    assert min(strengths) > 96.0 and max(strengths) < float(highest_strength_pct_vol(SITE_PRESSURE_KPA))


def test_gauged_neutral_spirit_stays_below_the_azeotrope(house):
    """No laboratory value of neutral spirit passes the azeotrope, the planted slip of the pen included."""
    values = [r.value for r in house.book.results if r.lot.startswith("NS") and r.analyte == "strength"]

    assert max(values) < float(highest_strength_pct_vol(SITE_PRESSURE_KPA))


def test_plates_can_give_the_stages_that_the_simulation_uses(readme, stills):
    """No still of the profile is simulated with more ideal stages than its plates are worth."""
    assert stills["S1"]["plates"] == stills["S2"]["plates"] == 5 and "five plates of S1 or S2" in readme
    assert stills["R1"]["plates"] == 44 and "44 plates" in readme
    assert stages_available(stills["S1"]["plates"]) >= 1 + STRIP_STAGES
    assert stages_available(stills["R1"]["plates"]) >= 1 + RECTIFY_STAGES


def test_no_vessel_holds_more_than_its_capacity(house, sample_logs, stills):
    """Each lot as it was laid down fits its vessel, and each charge its still, by the capacities of the profile."""
    profile = tomllib.loads((sample_logs / "house.toml").read_text(encoding="utf-8"))
    capacity = {vessel["code"]: vessel["capacity_l"] for vessel in profile["vessels"]}
    equipment = {run.run: run.equipment for run in house.book.runs}
    too_large = [lot.name for lot in house.cellar.lots.values() if lot.changes[0][1].volume_l > capacity[lot.vessel]]
    charges = [
        (working.run, sum(liquid.volume_l for _, liquid in working.into), stills[equipment[working.run]]["capacity_l"])
        for working in house.book.workings
        if equipment[working.run] in stills
    ]

    assert too_large == []
    assert [run for run, charged_l, capacity_l in charges if charged_l > capacity_l] == []


def test_vodka_takes_about_two_fifths_of_the_neutral_spirit(house, readme):
    """The share of the year's neutral spirit that is drawn for vodka, as the README has it."""
    assert "About two fifths of that become vodka" in readme
    vodka = [run.run for run in house.book.runs if run.stage == "reduce" and run.product == "VODKA"]
    drawn = sum(
        liquid.alcohol_l
        for working in house.book.workings
        if working.run in vodka
        for lot, liquid in working.into
        if lot.startswith("NS")
    )
    made = sum(liquid.alcohol_l for _, liquid in _parts(house, "REC", "NS-"))

    assert drawn / made == pytest.approx(0.4, abs=0.05)


def test_logs_show_what_equilibrium_gives(house, sample_logs):
    """A gin run's parrot starts at the vapour of the recipe's charge; the head of R1 stands near 78 °C, where ethanol
    boils (common practice)."""
    recipes = tomllib.loads((sample_logs / "house.toml").read_text(encoding="utf-8"))["recipes"]
    [charge] = [recipe["charge_strength_pct_vol"] for recipe in recipes if recipe["name"] == "quillmere gin"]
    vapour = float(strength_from_mole_fraction(column(0).distillate(float(mole_fraction_from_strength(charge)), 0.0)))
    runs = {run.run: run for run in house.book.runs}
    gins = [log for log in house.book.logs if runs[log.run].product == "GIN"]
    rectified = [log for log in house.book.logs if log.still == "R1"]
    assert gins and rectified

    for log in gins:
        parrot = log.values["parrot_strength_pct_vol"]
        assert parrot[parrot > 60.0][:5].mean() == pytest.approx(vapour, abs=1.2), log.run
    for log in rectified:
        run = runs[log.run]
        minutes = slice(*((at - log.started) // timedelta(minutes=1) for at in (run.hearts_from, run.hearts_to)))
        assert log.values["vapour_temperature_c"][minutes].mean() == pytest.approx(78.0, abs=0.6), log.run


def test_apple_spirit_is_distilled_below_86_percent(house):
    """Fruit spirit is distilled below 86 % vol (Regulation (EU) 2019/787, Annex I, category 9)."""
    hearts = [liquid.strength_pct_vol for _, liquid in _parts(house, "REC", "DIST", "APPLE")]

    assert len(hearts) == 4
    assert max(hearts) < 86.0


def test_recoveries_lie_where_the_house_expects_them(house):
    """True recoveries: strip 0.955, rectifying 0.88 of the alcohol charged, a good still's losses 1 to 2 %."""
    falling = {
        run.run for run in house.book.runs if run.equipment == "S2" and "2026-03-10" < f"{run.started}" < "2026-05-25"
    }
    for prefix, lot_prefix, expected in (("STR", "HRT", 0.955), ("REC", "NS", 0.88)):
        ratios, losses = [], []
        for working in house.book.workings:
            if (
                working.run.startswith(prefix)
                and working.run not in falling
                and working.out[1][0].startswith(lot_prefix)
            ):
                charged = sum(liquid.alcohol_l for _, liquid in working.into)
                ratios.append(working.out[1][1].alcohol_l / charged)
                losses.append(sum(liquid.alcohol_l for _, liquid in working.lost) / charged)
        assert mean(ratios) == pytest.approx(expected, abs=0.006)
        assert min(losses) > 0.005 and max(losses) < 0.025
