"""Decisions: who may, what stands in the way, what they rest on, and that a later change is found."""

import json
from datetime import datetime, timedelta
from functools import partial
from hashlib import sha256

import pytest
import rfc8785
from by_hand import put_batch, put_row

from gaugebook.checks.decisions.decisions import decide
from gaugebook.checks.flags.flag_lifecycle import NotAllowed, explain
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.intake.flow import profile_in_force

pytestmark = pytest.mark.usefixtures("remembering")

START = datetime(2031, 4, 1, 8)
OVERRULE = '\n[decisions]\nmay_overrule = ["FW"]\n'


def steep_checked(book):
    """A steep with all that its rules ask, bottled as B-1, and one check of it."""
    put = partial(put_row, book)
    put_batch(put, "B-1", "STEEP", "L-1", laboratory_strength_pct_vol=30.0, u_laboratory_strength_pct_vol=0.05,
              label_deviation_pct_vol=0.0, fills=20, fill_mean_ml=501.0, fill_mean_deficit_ml=-3.0, fills_below_tne=0,
              fills_below_2tne=0, label_strength_pct_vol=30.0, nominal_ml=500.0, bottling_loss=0.0, bottles_filled=99,
              bottles_rejected=1, alcohol_in_l=100.0, u_alcohol_in_l=0.5, u_alcohol_bottled_l=0.5,
              u_bottling_loss=0.007)  # fmt: skip
    book.execute("UPDATE derived.gauges SET strength_pct_vol = 30.0, u_strength_pct_vol = 0.1, alcohol_l = 100.0")
    put("received.files", file_id=1, sha256="a" * 64, name="bottling.csv", origin="made up", size_bytes=1, map="m",
        map_sha256="b" * 64, received_at=START, received_by="nobody", times_read=1)  # fmt: skip
    put("landed.sources", source_id=1, file_id=1, header_line=1, header=["a"])
    run_checks(book, START)


@pytest.fixture
def start(made_once):
    """Every test begins with the steep, checked and undecided."""
    return made_once(steep_checked)


@pytest.fixture
def relabel(book):
    """A function that changes the steep's deviation from its label, and checks again."""

    def change(deviation):
        book.execute("UPDATE derived.bottlings SET label_deviation_pct_vol = ?", [deviation])
        run_checks(book, START + timedelta(hours=1))

    return change


@pytest.fixture
def given(book, rules):
    """Decide on B-1."""

    def make(verdict="released", person="EV", reason="All is as it should be.", batch="B-1", hour=1):
        return decide(
            book,
            profile_in_force(book),
            list(rules.values()),
            batch,
            verdict,
            person,
            reason,
            START + timedelta(hours=hour),
        )

    return make


def overruling(book):
    book.execute("UPDATE received.houses SET text = text || ?", [OVERRULE])


def flags_of(book):
    return book.frame("SELECT rule FROM flagged.flags WHERE severity <> 'for information' ORDER BY rule")[
        "rule"
    ].to_list()


def test_a_clear_batch_is_released_by_qa(book, given):
    """The decision has person, role, reason and the hash of what it rested on."""
    decision = given()

    assert (decision.verdict, decision.person, decision.role, decision.overruled) == ("released", "EV", "qa lead", ())
    assert book.frame("SELECT batch, verdict, decision FROM history.verdicts").rows() == [("B-1", "released", 1)]


def test_the_evidence_is_canonical_and_its_hash_can_be_made_again(book, given):
    """Canonical JSON (RFC 8785): parsed and written anew it is the same bytes; its SHA-256 is the decision's."""
    decision = given()

    frozen = book.value("SELECT evidence FROM history.decisions")
    told = json.loads(frozen)
    assert rfc8785.dumps(told).decode() == frozen
    assert sha256(frozen.encode()).hexdigest() == decision.evidence_sha256
    assert told["files"] == [{"name": "bottling.csv", "sha256": "a" * 64}]
    assert {"lineage", "gauges", "bottling"} <= told["records"].keys()
    assert told["house_profile_sha256"] == "made up"
    assert len(told["rule_book_sha256"]) == 64


@pytest.mark.parametrize(
    ("more", "error", "message"),
    [
        ({"person": "AQ"}, NotAllowed, '"AQ" is distiller; batches are decided on by: qa lead'),
        ({"person": "FW"}, NotAllowed, '"FW" is owner; batches are decided on by: qa lead'),
        ({"person": "ZZ"}, NotAllowed, '"ZZ" is nobody'),
        ({"reason": " "}, NotAllowed, "A reason is needed"),
        ({"batch": "B-2"}, UnknownRecord, 'no batch "B-2".*Did you mean "B-1"'),
    ],
)
def test_who_and_what_is_wrong_is_refused(book, given, more, error, message):
    """Role, person, reason and batch must be right, and nothing is recorded where they are not."""
    with pytest.raises(error, match=message):
        given(**more)
    assert book.value("SELECT count(*) FROM history.decisions") == 0


def test_a_stopped_batch_is_not_released_and_may_be_held_or_rejected(book, relabel, given):
    """The refusal counts the flags in the way and says that nobody may overrule them."""
    relabel(2.0)  # 30 % vol on the label, 2 % vol off: beyond 1.5 and the method's uncertainty

    with pytest.raises(NotAllowed, match=r"1 that stop a release .*names nobody who may overrule"):
        given()
    assert given(verdict="held", hour=2).verdict == "held"
    assert given(verdict="rejected", hour=3).verdict == "rejected"


def test_who_the_profile_names_may_overrule_and_that_is_recorded(book, relabel, given):
    """The named person releases, with the flags overruled on record; another is told who may."""
    relabel(2.0)
    overruling(book)

    with pytest.raises(NotAllowed, match="only FW may overrule them"):
        given()
    decision = given(person="FW", reason="Relabelled under licence.", hour=2)
    stops = book.frame("SELECT flag FROM flagged.flags WHERE severity = 'stops release'")["flag"].to_list()
    assert list(decision.overruled) == stops
    assert book.value("SELECT reason FROM history.decisions") == "Relabelled under licence."


def test_an_open_explanation_stands_in_the_way_until_it_is_given(book, relabel, given):
    """Unexplained, the release is refused; explained, it goes; the explanation is part of the evidence."""
    relabel(1.55)
    with pytest.raises(NotAllowed, match="1 that await an explanation"):
        given()
    flag = book.value("SELECT flag FROM flagged.flags WHERE severity = 'needs explanation'")
    explain(book, profile_in_force(book), flag, "AQ", "Within the method.", START + timedelta(hours=2))

    given(hour=3)

    (told,) = [row for row in json.loads(book.value("SELECT evidence FROM history.decisions"))["flags"]
               if row["flag"] == flag]  # fmt: skip
    assert (told["state"], told["person"], told["reason"]) == ("explained", "AQ", "Within the method.")


def test_data_that_changes_afterwards_flags_the_decision(book, given):
    """The flag names what changed; a new decision on the data as they are now settles it."""
    given()
    run_checks(book, START + timedelta(hours=2))
    assert flags_of(book) == []
    book.execute("UPDATE derived.gauges SET alcohol_l = 101.0")

    run_checks(book, START + timedelta(hours=3))

    assert flags_of(book) == ["changed-after-decision"]
    message, batch = book.frame("SELECT message, batch FROM flagged.flags WHERE rule = 'changed-after-decision'").row(0)
    assert "changed since: gauges" in message
    assert batch == "B-1"
    given(hour=4)
    run_checks(book, START + timedelta(hours=5))
    assert flags_of(book) == []


def test_what_does_not_touch_the_batch_leaves_the_decision(book, given, put):
    """Another lot's results, and the same records read from another line, change nothing."""
    given()
    put("typed.laboratory", sample="X", lot="ELSEWHERE", analyte="methanol", value=1.0, below_limit=False, unit="mg/L")
    book.execute("UPDATE typed.bottling SET line = 99")

    run_checks(book, START + timedelta(hours=2))

    assert flags_of(book) == []


def test_a_batch_that_is_only_held_may_change(book, given):
    """Data are expected to come while a batch waits."""
    given(verdict="held")
    book.execute("UPDATE derived.gauges SET alcohol_l = 101.0")

    run_checks(book, START + timedelta(hours=2))

    assert flags_of(book) == []


def under_profile(book, more):
    """Check the steep again under a profile with this added."""
    book.execute("UPDATE received.houses SET text = text || ?", [more])
    run_checks(book, START + timedelta(minutes=30))


@pytest.mark.parametrize("person", ["EV", "FW"])
def test_nobody_releases_under_a_rule_set_below_the_law(book, given, person):
    """The refusal names the rule and what the house changed; who may overrule flags may not release either, and the
    batch stands as stopped without any flag."""
    under_profile(book, '\n[rules.label-strength]\nseverity = "for information"\n' + OVERRULE)

    said = r"sets 1 rule of law below the law: label-strength \(severity: stops release -> for information\)"
    with pytest.raises(NotAllowed, match=said):
        given(person=person)
    assert book.frame("SELECT standing, stops_release FROM flagged.standings").rows() == [("stopped", 0)]
    assert given(verdict="held", hour=2).verdict == "held"


def test_a_release_freezes_what_the_profile_eases_and_who_decides_besides(book, given):
    """An eased rule is no bar, and stands in the evidence beside those whom the profile lets decide."""
    under_profile(book, '\n[rules.methanol-limit]\ncoverage = 0.0\n\n[decisions]\nmay_decide = ["qa lead", "owner"]\n')

    given(person="FW")

    frozen = json.loads(book.value("SELECT evidence FROM history.decisions"))
    assert frozen["house_profile_lowers"] == {
        "rules": [{"rule": "methanol-limit", "softened": "eased", "softened_by": "coverage: 2 -> 0"}],
        "may_decide_too": ["owner"],
        "may_overrule": [],
    }
    assert book.value("SELECT standing FROM flagged.standings") == "clear"


def test_a_stricter_profile_lowers_nothing(book, given):
    """More than the law asks is the house's right; nothing is said of it."""
    under_profile(book, "\n[rules.label-strength]\ncoverage = 0.0\n")

    given()

    frozen = json.loads(book.value("SELECT evidence FROM history.decisions"))
    assert frozen["house_profile_lowers"] == {"rules": [], "may_decide_too": [], "may_overrule": []}


def test_an_age_on_the_label_is_frozen_where_there_is_one(book, given):
    """Beside the label's strength; what was frozen of a batch without one stays as it was, to the byte."""
    given("held")
    book.execute("UPDATE typed.bottling SET label_age_years = 6")
    run_checks(book, START + timedelta(hours=1))
    given("held", hour=2)
    frozen = book.frame("SELECT evidence FROM history.decisions ORDER BY decision")["evidence"].to_list()
    none, six = (json.loads(evidence)["records"]["bottling"][0] for evidence in frozen)

    assert "label_age_years" not in none
    assert six == none | {"label_age_years": 6}
