"""The demo's planted faults: each is caught by its rule on its record, and nothing else stops or needs explanation."""

import re
import tomllib
from pathlib import Path

import pytest

from gaugebook.pipeline.book.database import open_book
from sample_logs.generator import faults as planted
from sample_logs.generator.simulation import simulate

SAMPLE_LOGS = Path(__file__).parents[2] / "sample_logs"
PLANTED = [
    (fault["rule"], tuple(fault["records"]), fault["stops_release"])
    for fault in tomllib.loads((SAMPLE_LOGS / "planted_faults.toml").read_text(encoding="utf-8"))["faults"]
]


@pytest.fixture(scope="module")
def flags(sample_book):
    """Every flag of the demo's book that stops a release or needs explanation, as rows."""
    with open_book(sample_book) as book:
        return book.frame("SELECT * FROM flagged.flags WHERE severity <> 'for information'").to_dicts()


def is_about(flag, rule, records):
    """Whether a flag is this rule's on these records: its run, lot, batch or still, and the part named after it."""
    hangs_on = {flag["run"], flag["lot"], flag["batch"], flag["equipment"]}
    if flag["rule"] != rule or records[0] not in hangs_on:
        return False
    return all(part.replace("_", " ") in flag["record"].replace("_", " ") for part in records[1:])


@pytest.mark.parametrize(("rule", "records", "stops_release"), PLANTED)
def test_each_planted_fault_is_caught_by_its_rule(flags, rule, records, stops_release):
    """One flag of the rule on the record, with the severity that the fault has."""
    caught = [flag for flag in flags if is_about(flag, rule, records)]

    assert [flag["severity"] for flag in caught] == ["stops release" if stops_release else "needs explanation"]


def test_nothing_but_the_planted_faults_stops_or_needs_explanation(flags):
    """Clean data with the noise of its instruments raises neither."""
    unplanted = [
        flag["message"] for flag in flags if not any(is_about(flag, rule, records) for rule, records, _ in PLANTED)
    ]

    assert unplanted == []


def test_the_slow_fall_is_told_as_a_loss_with_its_week(flags):
    """The flag on the still says how much it lost beyond the usual, within the uncertainty of what was planted, and
    since which week that is significant. A run after the repair may close the row, as half of all good runs lie below
    the mean."""
    message = next(flag["message"] for flag in flags if flag["rule"] == "strip-recovery-drift")
    words = r"lost ([\d.]+) ± ([\d.]+) LPA more than usual from (\S+) to (\S+), significant with \S+ in week (\S+)\)"
    lost_l, width_l, first, last, week = re.search(words, message).groups()
    truth = simulate().book
    charged_l = {working.run: sum(liquid.alcohol_l for _, liquid in working.into) for working in truth.workings}
    fallen = {
        run.run: planted.fall(run.equipment, run.started)
        for run in truth.runs
        if run.stage == "strip" and run.product is None
    }
    vapour_l = {run: fall * planted.FALL_VAPOUR_SHARE * charged_l[run] for run, fall in fallen.items() if fall}

    assert float(lost_l) == pytest.approx(sum(vapour_l.values()), abs=float(width_l))
    assert first == min(vapour_l) and max(vapour_l) <= last <= "STR-2605-07"
    assert "2026-W12" <= week <= "2026-W21"  # from the first run that fell to the last


def test_every_flag_can_be_followed_to_its_source(flags):
    """Each names file and line of a record, but for what rests on many runs of one still."""
    unplaced = [flag["rule"] for flag in flags if flag["source_id"] is None or flag["line"] is None]

    assert set(unplaced) <= {"strip-recovery-drift"}
