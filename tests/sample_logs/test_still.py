import pytest

from gaugebook.pipeline.engineering.vapour import mole_fraction_from_strength, strength_from_mole_fraction
from sample_logs.generator.equilibrium import SITE_PRESSURE_KPA, column, curve
from sample_logs.generator.mixing import Liquid, spirit
from sample_logs.generator.still import Policy, distil


def _policy(**changes):
    usual = {
        "stages": 6, "boil_up_kmol_h": 9.6, "target_pct_vol": 93.4, "least_reflux": 2.0, "most_reflux": 18.0,
        "tails_reflux": 3.0, "heads": 0.01, "hearts": 0.95, "lost": 0.013, "spent": 0.004,
    }  # fmt: skip
    return Policy(**(usual | changes))


@pytest.mark.parametrize("charge", [spirit(240.0, 9.2), spirit(1350.0, 50.0), Liquid(80.0, 2400.0, 90.0)])
def test_distillation_keeps_every_mass(charge):
    """Parts and losses together are the charge, in ethanol, water and extract."""
    course = distil(charge, _policy())

    out = course.heads + course.hearts + course.tails + course.spent + course.lost

    assert out.ethanol_kg == pytest.approx(charge.ethanol_kg, rel=1e-9)
    assert out.water_kg == pytest.approx(charge.water_kg, rel=1e-9)
    assert out.extract_kg == pytest.approx(charge.extract_kg, rel=1e-9)


def test_pot_without_plates_gives_the_vapour_in_equilibrium():
    """No stage above the pot: the distillate is the vapour in equilibrium with the pot."""
    # x 0.0966, y 0.4375: Perry, 4th edition, p. 13-5; the vapour model stays within 0.013 of that table
    assert column(0).distillate(0.0966, 0.0) == pytest.approx(0.4375, abs=0.015)


def test_more_stages_and_more_reflux_enrich_but_never_past_the_azeotrope():
    """A distillate is richer with more stages and with more reflux, and no column passes the azeotrope at the site."""
    from gaugebook.pipeline.engineering.vapour import azeotrope

    x = float(mole_fraction_from_strength(9.2))
    few, many = column(6), column(25)

    assert few.distillate(x, 4.0) < few.distillate(x, 12.0)
    assert few.distillate(x, 6.0) < many.distillate(x, 6.0)
    assert many.distillate(x, 18.0) < azeotrope(SITE_PRESSURE_KPA).mole_fraction


def test_reflux_for_a_strength_gives_that_strength():
    """The reflux ratio found for a distillate gives that distillate."""
    x, target = 0.02, float(mole_fraction_from_strength(91.0))

    reflux = column(6).reflux_for(x, target)

    assert float(strength_from_mole_fraction(column(6).distillate(x, reflux))) == pytest.approx(91.0, abs=0.05)


def test_ethanol_boils_near_78_c_at_the_site():
    """The strongest liquid of the table boils near 78 °C (common practice)."""
    assert curve()[2][-1] == pytest.approx(78.0, abs=0.5)
