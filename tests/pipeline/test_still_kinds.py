"""What the house profile may say of a still."""

import pytest

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.house.settings import parse_house

PROFILE = """
[house]
name = "Quillmere Stillhouse"
time_zone = "Europe/Copenhagen"
site_altitude_m = 60.0
[[stills]]
code = "C1"
name = "Column"
capacity_l = 900.0
"""


def test_a_still_is_charged_and_emptied_where_nothing_is_said():
    """Most are; a continuous one says so."""
    assert parse_house(PROFILE, "house.toml").stills[0].kind == "batch"
    assert parse_house(PROFILE + 'kind = "continuous"\n', "house.toml").stills[0].kind == "continuous"


def test_another_kind_of_still_is_refused_with_its_name():
    """The message names the still, what was found and what is expected."""
    with pytest.raises(SettingsError, match='still "C1": kind "pot" is none of batch, continuous'):
        parse_house(PROFILE + 'kind = "pot"\n', "house.toml")
