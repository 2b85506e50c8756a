"""A whole check: flags, counts, which flags stand before which batch, and what is kept."""

import polars as pl
import pytest

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.lineage import LEAST_SHARE
from gaugebook.pipeline.derived.tracing import back
from gaugebook.pipeline.errors import SettingsError

pytestmark = pytest.mark.usefixtures("remembering")


@pytest.fixture
def two_batches(put, bottle):
    """Two vodkas: V-1 from PROOF-1 by NS-1 and STR-1, V-2 from PROOF-2 by NS-2; V-1 lies below its category."""
    for batch, proof, neutral, strip in [("V-1", "PROOF-1", "NS-1", "STR-1"), ("V-2", "PROOF-2", "NS-2", "STR-2")]:
        strength = 37.0 if batch == "V-1" else 40.0
        bottle(
            batch,
            "VODKA",
            proof,
            laboratory_strength_pct_vol=strength,
            u_laboratory_strength_pct_vol=0.05,
            label_deviation_pct_vol=0.0,
        )
        for depth, (run, lot, into) in enumerate(
            [(f"RED-{batch}", neutral, proof), (strip, f"WSH-{batch}", neutral)], 2
        ):
            put("derived.lineage", batch=batch, run=run, lot=lot, into_lot=into, depth=depth)
        put("derived.gauges", run=strip, direction="out", lot=f"HEADS-{batch}", part="heads")


def flags_before(book, rule):
    """Batches before which flags of a rule stand."""
    sql = "SELECT b.batch FROM flagged.batch_flags b JOIN flagged.flags f USING (flag) WHERE f.rule = ? ORDER BY ALL"
    return book.frame(sql, [rule])["batch"].to_list()


def test_a_flag_on_a_batch_stops_that_batch_alone(book, two_batches):
    """V-1 is below 37.5 % vol and stopped; V-2 is not."""
    run_checks(book)

    assert flags_before(book, "category-strength") == ["V-1"]
    standings = dict(book.frame("SELECT batch, standing FROM flagged.standings").rows())
    assert standings["V-1"] == "stopped"


@pytest.mark.parametrize(
    ("lot", "batches"),
    [
        ("NS-1", ["V-1"]),  # a lot drawn on the way
        ("WSH-V-2", ["V-2"]),  # further back
        (
            "HEADS-V-1",
            [],
        ),  # made by a run of the ancestry beside what the batch came from: nothing of it is in the batch
        ("V-1", ["V-1"]),  # the batch itself
        ("ELSEWHERE", []),
    ],
)
def test_a_flag_on_a_lot_stands_before_the_batches_it_went_into(book, two_batches, put, lot, batches):
    """An unknown lot stands before each batch that came through it, and before no other."""
    put("derived.lots", lot=lot, origin="unknown", basis="LPA", quantity_out=1.0, overdraw=0.0)

    run_checks(book)

    assert flags_before(book, "lot-unknown") == batches


def test_a_batch_without_a_genealogy_has_its_own_flags(book, put):
    """A bottling record and nothing else: what is flagged on the bottled lot stands before it."""
    put("derived.bottlings", batch="E-1", product="VODKA", bottled_at="2031-03-01")
    put("derived.lots", lot="E-1", origin="unknown", basis="LPA", quantity_out=1.0, overdraw=0.0)

    run_checks(book)

    assert flags_before(book, "lot-unknown") == ["E-1"]


def test_a_flag_on_a_run_stands_before_the_batches_behind_which_it_lies(book, two_batches, put):
    """A run that ended before it began stands before the batch of its lineage."""
    put("typed.runs", run="STR-2", stage="strip", equipment="S1", started_at="2031-01-02", ended_at="2031-01-01")

    run_checks(book)

    assert flags_before(book, "run-ended-before-started") == ["V-2"]


def test_flags_stand_before_a_batch_by_its_genealogy(sample_book):
    """In the sample book each flag before a batch names the batch, or a run or lot that the batch's own trace leads
    through; and each flag on a run or lot of the trace with a part worth listing stands before it."""
    with open_book(sample_book) as book:
        flags = book.frame("SELECT flag, run, lot, batch FROM flagged.flags").to_dicts()
        before = set(book.frame("SELECT batch, flag FROM flagged.batch_flags").rows())
        for batch, run, quantity in book.frame("SELECT batch, run, alcohol_bottled_l FROM derived.bottlings").rows():
            steps = back(book, batch, quantity)
            listed = steps.filter(pl.col("share").is_null() | (pl.col("share") >= LEAST_SHARE))
            runs, lots = {run, *steps["run"]}, {batch, *steps["lot"]}
            sure_runs, sure_lots = {run, *listed["run"]}, {batch, *listed["lot"]}
            for flag in flags:
                names = flag["batch"] == batch or flag["run"] in runs or flag["lot"] in lots
                surely = flag["batch"] == batch or flag["run"] in sure_runs or flag["lot"] in sure_lots
                stands = (batch, flag["flag"]) in before
                assert names or not stands, (batch, flag)
                assert stands or not surely, (batch, flag)


def test_the_gravest_flag_decides_the_standing(book, bottle, put):
    """Stopped before to explain before clear; and the counts are those of the batch's flags."""
    bottle("B-1", "STEEP", "L-1", laboratory_strength_pct_vol=30.0, u_laboratory_strength_pct_vol=0.05,
           label_deviation_pct_vol=0.0, fills=20, fill_mean_ml=701.0, fill_mean_deficit_ml=-3.0, fills_below_tne=0,
           fills_below_2tne=0, label_strength_pct_vol=30.0, nominal_ml=500.0, bottling_loss=0.0, bottles_filled=99,
           bottles_rejected=1, alcohol_in_l=100.0,
           u_alcohol_in_l=0.5, u_alcohol_bottled_l=0.5, u_bottling_loss=0.007)  # fmt: skip
    book.execute("UPDATE derived.gauges SET strength_pct_vol = 30.0, u_strength_pct_vol = 0.1")

    def standing():
        run_checks(book)
        return book.frame(
            "SELECT standing, stops_release, needs_explanation, for_information FROM flagged.standings"
        ).row(0)

    assert standing() == ("clear", 0, 0, 0)
    put("typed.runs", run="BOT-B-1", stage="bottle", equipment="BT", started_at="2031-01-02", operator="ZZ")
    assert standing() == ("clear", 0, 0, 2)  # an operator that nobody knows, and no end
    book.execute("UPDATE derived.bottlings SET label_deviation_pct_vol = 1.55")
    assert standing() == ("to explain", 0, 1, 2)
    book.execute("UPDATE derived.bottlings SET label_deviation_pct_vol = 1.7")
    assert standing() == ("stopped", 1, 0, 2)


def test_counts_add_up_for_every_rule(book, two_batches, put):
    """Every rule has its line; records are the sum of the answers; and each answer but within is one flag."""
    put("typed.runs", run="STR-2", stage="strip", equipment="S1", started_at="2031-01-02", operator="ZZ")

    summary = run_checks(book)

    counts = book.frame("SELECT * FROM flagged.rule_counts")
    assert len(counts) == summary.rules
    assert (counts["records"] == counts["within"] + counts["doubtful"] + counts["out"] + counts["not_evaluated"]).all()
    flagged = counts["doubtful"].sum() + counts["out"].sum() + counts["not_evaluated"].sum()
    assert flagged == sum(summary.flags.values()) == book.value("SELECT count(*) FROM flagged.flags")
    assert book.value("SELECT count(DISTINCT flag) FROM flagged.flags") == flagged


def test_a_rule_that_found_nothing_says_so(book):
    """On an empty book every rule is counted with no record, and nothing needs attention."""
    summary = run_checks(book)

    assert len(summary.rules_without_records) == summary.rules == book.value("SELECT count(*) FROM flagged.rule_counts")
    assert not summary.needs_attention


def test_a_second_check_says_the_same(book, two_batches):
    """Flags are made anew with the same names, and do not multiply."""
    run_checks(book)
    first = book.frame("SELECT * FROM flagged.flags ORDER BY flag")
    run_checks(book)

    assert book.frame("SELECT * FROM flagged.flags ORDER BY flag").equals(first)


def test_a_check_that_fails_leaves_the_last_one_standing(book, two_batches, monkeypatch):
    """All or nothing: an error on the way leaves flags and standings as they were."""
    run_checks(book)
    before = book.frame("SELECT * FROM flagged.flags ORDER BY flag")
    book.execute("UPDATE derived.bottlings SET laboratory_strength_pct_vol = 10.0")
    append = book.append

    def fails_after_the_flags(table, frame):
        if table == "flagged.rule_counts":
            raise OSError("made to fail")
        append(table, frame)

    monkeypatch.setattr(book, "append", fails_after_the_flags)

    with pytest.raises(OSError, match="made to fail"):
        run_checks(book)

    assert book.frame("SELECT * FROM flagged.flags ORDER BY flag").equals(before)


def test_a_bad_change_of_the_house_is_refused_before_anything_is_judged(book):
    """The house's own rules are read from the profile in the book."""
    book.execute("UPDATE received.houses SET text = text || '\n[rules.no-such-rule]\nseverity = \"stops release\"\n'")

    with pytest.raises(SettingsError, match="no-such-rule"):
        run_checks(book)


def test_a_house_may_tighten_a_limit(book, put):
    """A limit of the profile is in force, and the flag's citation says so."""
    put("derived.run_balances", run="STR-1", stage="strip", recovery=0.95, u_recovery=0.005)
    put("typed.runs", run="STR-1", stage="strip", equipment="S1", started_at="2031-01-01", ended_at="2031-01-02")
    book.execute("UPDATE received.houses SET text = text || '\n[rules.strip-recovery]\nin_range = [0.96, 1.0]\n'")

    run_checks(book)

    limits, citation = book.frame("SELECT limits, citation FROM flagged.flags WHERE rule = 'strip-recovery'").row(0)
    assert limits == "0.960 to 1.000"
    assert citation.endswith("changed by the house profile")


def test_what_was_checked_can_be_read_by_another_process(tmp_path, book, two_batches):
    """Flags and standings are committed with the check."""
    run_checks(book)
    book._connection.close()

    with open_book(tmp_path / "book") as again:
        assert again.value("SELECT count(*) FROM flagged.standings") == 2
