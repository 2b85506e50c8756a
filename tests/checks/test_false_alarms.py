"""Clean batches are not stopped: half a clean year here, twenty-two years in tests/trials."""

import pytest
from clean_years import clean_year, stopped


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    """What stops a release in five months without faults: batches in all, and the records by rule."""
    return stopped(clean_year("clean-0", tmp_path_factory.mktemp("clean"), until="2026-03"))


def test_there_are_batches_enough_to_say_something(clean):
    """The same calendar as the sample's, up to the end of February."""
    assert clean[0] >= 12


def test_no_rule_stops_a_clean_batch(clean):
    """With the tails of its instruments' noise, nothing that is clean stops a release."""
    assert clean[1] == {"batches": []}
