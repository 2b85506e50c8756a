"""Figures of the trade that must come out of the simulation by themselves; all of them 'common practice'."""

from datetime import timedelta
from statistics import mean

import pytest

from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.vapour import highest_strength_pct_vol
from sample_logs.generator.equilibrium import SITE_PRESSURE_KPA


def _parts(house, prefix, lot_prefix):
    return [
        (working.run, liquid)
        for working in house.book.workings
        if working.run.startswith(prefix)
        for name, liquid in working.out
        if name.startswith(lot_prefix)
    ]


def _hours(runs, names):
    return [
        (run.hearts_to - run.hearts_from) / timedelta(hours=1)
        for run in runs
        if run.run in names
    ]  # fmt: skip


def _grain_strips(house):
    return {run.run for run in house.book.runs if run.stage == "strip" and run.product is None}


def test_wash_is_near_ten_percent_after_about_a_week(house):
    """A grain wash holds 8.5 to 10 % vol after six and a half to eight days."""
    strengths = [liquid.strength_pct_vol for run, liquid in _parts(house, "FER", "WASH") if not _is_apple(house, run)]
    days = [
        (run.ended - run.started) / timedelta(days=1)
        for run in house.book.runs
        if run.stage == "ferment" and run.product is None
    ]

    assert min(strengths) > 8.3 and max(strengths) < 10.0
    assert 9.0 < mean(strengths) < 10.0
    assert min(days) > 6.5 and max(days) < 8.0


def _is_apple(house, run_name):
    return next(run.product for run in house.book.runs if run.run == run_name) == "APPLE"


def test_pot_under_eight_plates_gives_about_250_l_at_90_percent_in_about_six_hours(house):
    """Hearts of a grain strip: about 250 L, about 90 % vol, about six hours."""
    strips = _grain_strips(house)
    hearts = [liquid for run, liquid in _parts(house, "STR", "HRT") if run in strips]

    assert mean(h.volume_l for h in hearts) == pytest.approx(250.0, abs=15.0)
    assert mean(h.strength_pct_vol for h in hearts) == pytest.approx(90.0, abs=1.0)
    assert mean(_hours(house.book.runs, strips)) == pytest.approx(6.0, abs=0.8)


def test_six_strips_fill_the_next_still(house):
    """Six runs of 250 L at 90 % vol are 1,350 LPA; each rectifying run of grain spirit takes six lots of about that."""
    assert litres_of_pure_alcohol(6 * 250.0, 90.0) == pytest.approx(1350.0)
    for working in house.book.workings:
        lots = [name for name, _ in working.into if name.startswith("HRT")]
        if working.run.startswith("REC") and len(lots) > 1:
            assert len(lots) == 6
            alcohol = sum(liquid.alcohol_l for _, liquid in working.into)
            assert alcohol == pytest.approx(1350.0, rel=0.05), working.run


def test_sixty_plates_give_96_percent_and_never_pass_the_azeotrope(house):
    """Neutral spirit stands between 96.2 and 96.6 % vol, below what the azeotrope allows at the site."""
    strengths = [liquid.strength_pct_vol for _, liquid in _parts(house, "REC", "NS")]
    assert len(strengths) >= 17

    assert min(strengths) > 96.2 and max(strengths) < 96.6
    assert max(strengths) < float(highest_strength_pct_vol(SITE_PRESSURE_KPA))


def test_gauged_neutral_spirit_stays_below_the_azeotrope(house):
    """No laboratory value of neutral spirit passes the azeotrope, the planted slip of the pen included."""
    values = [r.value for r in house.book.results if r.lot.startswith("NS") and r.analyte == "strength"]

    assert max(values) < float(highest_strength_pct_vol(SITE_PRESSURE_KPA))


def test_gin_distillate_starts_near_74_percent(house):
    """The first hearts of a gin run are near 74 % vol, their mean lies lower."""
    gins = {run.run for run in house.book.runs if run.stage == "botanical" and run.product == "GIN"}
    first = [log for log in house.book.logs if log.run in gins]
    assert len(first) == len(gins)
    for log in first:
        parrot = log.values["parrot_strength_pct_vol"]
        start = parrot[parrot > 60.0][:5].mean()
        assert start == pytest.approx(74.0, abs=1.2), log.run
    hearts = [liquid.strength_pct_vol for run, liquid in _parts(house, "BOT", "DIST") if run in gins]
    assert max(hearts) < 74.0


def test_ethanol_boils_near_78_c(house):
    """The head of the rectifying still stands near 78 °C while neutral spirit comes over."""
    for log in house.book.logs:
        run = next(r for r in house.book.runs if r.run == log.run)
        if run.equipment == "R1":
            from_min = int((run.hearts_from - log.started) / timedelta(minutes=1))
            to_min = int((run.hearts_to - log.started) / timedelta(minutes=1))
            head = log.values["vapour_temperature_c"][from_min:to_min]
            assert head.mean() == pytest.approx(78.0, abs=0.6)


def test_apple_spirit_is_distilled_below_86_percent(house):
    """Fruit spirit is distilled below 86 % vol (Regulation (EU) 2019/787, Annex I, category 9)."""
    hearts = [liquid.strength_pct_vol for run, liquid in _parts(house, "REC", "DIST")]

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
