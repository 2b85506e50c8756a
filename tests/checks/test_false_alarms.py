"""Clean batches are not stopped: one clean year here, twenty-two of them in tests/trials."""

import pytest
from clean_years import clean_year, stopped


@pytest.fixture(scope="module")
def clean(tmp_path_factory):
    """What stops a release in a year without faults: batches in all, and the records by rule."""
    return stopped(clean_year("clean-0", tmp_path_factory.mktemp("clean")))


def test_a_clean_year_has_batches_enough_to_say_something(clean):
    """The same calendar as the sample: 47 batches."""
    assert clean[0] == 47


def test_no_rule_stops_a_clean_batch(clean):
    """With the tails of its instruments' noise, nothing of a clean year stops a release."""
    assert clean[1] == {"batches": []}
