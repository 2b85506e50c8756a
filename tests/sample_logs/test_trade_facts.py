"""Figures of the trade, all of them 'common practice', that distillation gives on equipment of the tests.

The sample house has other equipment and figures; what must hold of it stands in test_house_figures.
"""

import pytest

from gaugebook.pipeline.engineering.pure_alcohol import litres_of_pure_alcohol
from gaugebook.pipeline.engineering.vapour import (
    highest_strength_pct_vol,
    mole_fraction_from_strength,
    strength_from_mole_fraction,
)
from gaugebook.pipeline.engineering.vapour_check import stages_available
from sample_logs.generator.equilibrium import SITE_PRESSURE_KPA, column, dew_c
from sample_logs.generator.grain import EXTRACT_PER_ALCOHOL
from sample_logs.generator.mixing import Liquid, water, water_to_reduce
from sample_logs.generator.still import Policy, distil

# A pot under eight plates, worth six ideal stages, and a column of sixty, worth twenty-five at its reflux.
STRIP_PLATES, STRIP = 8, Policy(6, 9.0, 93.4, 2.0, 18.0, 3.0, 0.007, 0.955, 0.013, 0.004)
RECTIFY_PLATES, RECTIFY = 60, Policy(25, 13.2, 96.42, 2.5, 9.0, 1.5, 0.03, 0.88, 0.0145, 0.012)


@pytest.fixture(scope="module")
def wash():
    """Of 650 kg of malt with 72 % of extract in 2,600 L, fermented to 86 %."""
    extract = 0.965 * 0.72 * 650.0
    wort = Liquid(water_kg=(2600.0 - 0.617 * extract) * 0.998201, extract_kg=extract)
    fermented = 0.86 * wort.extract_kg
    return Liquid(fermented / EXTRACT_PER_ALCOHOL, wort.water_kg, wort.extract_kg - fermented)


@pytest.fixture(scope="module")
def strip(wash):
    """One strip of it."""
    return distil(wash, STRIP)


@pytest.fixture(scope="module")
def rectified(strip):
    """Neutral spirit of six strips, charged at 50 % vol."""
    hearts = strip.hearts.times(6.0)
    return distil(hearts + water(water_to_reduce(hearts, 50.0)), RECTIFY)


def test_650_kg_of_malt_in_2600_l_give_a_wash_of_nine_to_ten_percent(wash):
    """A grain wash is near 9.5 % vol (common practice)."""
    assert wash.strength_pct_vol == pytest.approx(9.5, abs=0.5)


def test_plates_are_worth_the_stages():
    """Neither still needs more ideal stages than its plates can give."""
    for plates, policy in ((STRIP_PLATES, STRIP), (RECTIFY_PLATES, RECTIFY)):
        assert stages_available(plates) >= 1 + policy.stages


def test_pot_under_eight_plates_gives_about_250_l_at_90_percent_in_about_six_hours(strip):
    """Hearts of a grain strip: about 250 L, about 90 % vol, about six hours (common practice)."""
    assert strip.hearts.volume_l == pytest.approx(250.0, abs=15.0)
    assert strip.hearts.strength_pct_vol == pytest.approx(90.0, abs=1.0)
    assert (strip.hearts_to_min - strip.hearts_from_min) / 60.0 == pytest.approx(6.0, abs=0.5)


def test_six_strips_fill_the_next_still(strip):
    """Six runs of 250 L at 90 % vol are 1,350 LPA (common practice), and six of these strips about that."""
    assert litres_of_pure_alcohol(6 * 250.0, 90.0) == pytest.approx(1350.0)
    assert 6 * strip.hearts.alcohol_l == pytest.approx(1350.0, rel=0.05)


def test_sixty_plates_give_96_percent_and_never_pass_the_azeotrope(rectified):
    """Neutral spirit of 96 % vol at least (common practice; Regulation (EU) 2019/787, Article 5), below the azeotrope
    of the site; the few plates of the strip still do not reach it even at their highest reflux."""
    azeotrope = float(highest_strength_pct_vol(SITE_PRESSURE_KPA))
    assert 96.0 < rectified.hearts.strength_pct_vol < azeotrope
    highest = [
        float(strength_from_mole_fraction(column(policy.stages).distillate(0.32, 18.0))) for policy in (STRIP, RECTIFY)
    ]
    assert highest[0] < 96.0 < highest[1] < azeotrope


def test_gin_distillate_starts_near_74_percent():
    """The vapour of a pot of 28 % vol, without plates, is near 74 % vol (common practice)."""
    first = column(0).distillate(float(mole_fraction_from_strength(28.0)), 0.0)

    assert float(strength_from_mole_fraction(first)) == pytest.approx(74.0, abs=1.2)


def test_ethanol_boils_near_78_c(rectified):
    """The head of the rectifying still stands near 78 °C while neutral spirit comes over (common practice)."""
    hearts = rectified.distillate[rectified.hearts_from_min : rectified.hearts_to_min]

    assert [float(dew_c(y)) for y in hearts] == pytest.approx([78.0] * len(hearts), abs=0.6)
