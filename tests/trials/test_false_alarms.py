"""A thousand clean batches: fewer than one in two hundred is stopped."""

from clean_years import clean_year, stopped

YEARS = 22  # of 47 batches each
LIMIT = 1 / 200


def test_few_clean_batches_are_stopped(tmp_path):
    """Each year from a seed of its own, noise with its tails; prints what was stopped, and by which rules."""
    batches, alarms = 0, []
    for number in range(YEARS):
        in_all, found = stopped(clean_year(f"clean-{number}", tmp_path / str(number)))
        batches += in_all
        alarms += found.pop("batches")
        print(f"year {number}: {in_all} batches, stopped by {found or 'nothing'}")
    print(f"{len(alarms)} of {batches} clean batches stopped: {', '.join(alarms) or 'none'}")

    assert batches >= 1000
    assert len(alarms) / batches < LIMIT
