"""What a house profile may say of an instrument's uncertainty."""

import pytest
from small_house import HOUSE

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import parse_house

PROFILE = """
[[instruments]]
code = "X"
kind = "{kind}"
name = "Instrument under test"
{stated}
"""


def _profile(kind: str, stated: str):
    return parse_house(HOUSE + PROFILE.format(kind=kind, stated=stated), "house.toml")


@pytest.mark.parametrize(
    ("kind", "stated", "words"),
    [
        ("density meter", 'u = 0.1\nunit = "kg"', 'density meter is not stated in "kg"; expected one of kg/m3, g/cm3'),
        ("balance", 'u = 0.1\nunit = "pct"', "expected one of kg, g,"),
        ("alcoholmeter", 'u = 0.1\nunit = "% vol"', "does not say at which temperature"),
        ("thermometer", 'u = 0.1\nunit = "mg/L"', "expected one of degC, degF, K"),
        ("chromatograph", 'u = 0.1\nunit = "ppm"', "may be by mass or by volume"),
        ("flow meter", 'u = 5.0\nunit = "L/h"', "expected one of pct"),
        ("sorcerer's rod", 'u = 0.1\nunit = "smoot"', "is no known unit"),
        ("balance", 'u = -0.1\nunit = "kg"', "expected standard uncertainties of 0 or more"),
        ("balance", 'u = nan\nunit = "kg"', "expected standard uncertainties of 0 or more"),
        ("balance", 'u = 0.0\nunit = "kg"', "one of them above 0"),
        (
            "chromatograph",
            'u = 0.1\nunit = "mg/L"\nu_relative_pct = -2',
            "expected standard uncertainties of 0 or more",
        ),
    ],
)
def test_an_uncertainty_that_means_nothing_is_refused(kind, stated, words):
    """The sentence names the instrument and the units that its kind is stated in."""
    with pytest.raises(SettingsError, match=words) as refusal:
        _profile(kind, stated)
    assert 'instrument "X"' in str(refusal.value)


@pytest.mark.parametrize(
    ("kind", "stated"),
    [
        ("density meter", 'u = 0.0001\nunit = "g/cm3"'),
        ("alcoholmeter", 'u = 0.3\nunit = "us_proof"'),
        ("chromatograph", 'u = 0.0\nunit = "g/hL pa"\nu_relative_pct = 3.0'),
        ("sorcerer's rod", 'u = 1.0\nunit = "psia"'),
    ],
)
def test_any_unit_of_what_it_reads_will_do(kind, stated):
    """It is turned into the unit of each reading where it is used; a kind that is not known may read anything."""
    assert _profile(kind, stated).instruments[-1].code == "X"
