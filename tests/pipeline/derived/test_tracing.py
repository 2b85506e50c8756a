"""One lot followed both ways through a small genealogy, by hand.

200 kg of grain become 500 L of wort, a wash of 50 LPA and a spirit of 40 LPA. 30 LPA of it and 10 LPA of neutral spirit
are a blend; all of that and the other 10 LPA of the spirit are a batch of 50 LPA.
"""

import pytest

from gaugebook.pipeline.derived.tracing import back, forward, recall, trace
from gaugebook.pipeline.errors import UnknownRecord

STEPS = (  # lot, run, stage, into, share, quantity, basis, per unit, ranks
    ("GRAIN", "MASH", "mash", "WORT", None, 200.0, "kg", 0.4, 0, 1),
    ("WORT", "FER", "ferment", "WASH", None, 500.0, "L", 10.0, 1, 2),
    ("WASH", "STR", "strip", "SPIRIT", 1.0, 50.0, "LPA", 1.25, 2, 3),
    ("SPIRIT", "BLD", "blend", "BLEND", 0.75, 30.0, "LPA", 0.75, 3, 4),
    ("NEUTRAL", "BLD", "blend", "BLEND", 0.25, 10.0, "LPA", 0.25, 0, 4),
    ("SPIRIT", "BOT", "bottle", "BATCH", 0.2, 10.0, "LPA", 0.2, 3, 5),
    ("BLEND", "BOT", "bottle", "BATCH", 0.8, 40.0, "LPA", 0.8, 4, 5),
    ("BATCH", "RING", "blend", "RING", 1.0, 1.0, "LPA", 1.0, 5, None),
)
NAMES = ("lot", "run", "stage", "into_lot", "share", "quantity", "basis", "per_unit", "lot_rank", "into_rank")


@pytest.fixture
def book(empty_book, put):
    """The genealogy, and how much there was of each lot."""
    for step in STEPS:
        put("derived.steps", **dict(zip(NAMES, step, strict=True)))
    for lot, quantity in (("WASH", 50.0), ("SPIRIT", 40.0), ("BLEND", 40.0), ("BATCH", 50.0), ("GRAIN", 200.0)):
        put(
            "derived.lots",
            lot=lot,
            quantity_in=quantity,
            remaining=0.0,
            basis="LPA",
            origin="produced",
            drawn_by_runs=1,
        )
    return empty_book


def followed(frame):
    """Depth, share and consumed of each step, in its order."""
    rows = {}
    for row in frame.to_dicts():
        rows[row["lot"], row["into_lot"]] = (row["depth"], row["share"], pytest.approx(row["consumed"]))
    return rows


def shares(share):
    return pytest.approx(share)


def test_behind_a_batch_stands_all_that_it_was_made_of(book):
    """Spirit came in directly and through the blend: 0.2 and 0.8 x 0.75 of the batch, 10 and 30 LPA; so all 50 LPA of
    wash, 500 L of wort and 200 kg of grain that stand behind 40 LPA of it. The shortest way counts."""
    frame = back(book, "BATCH", 50.0)

    assert followed(frame) == {
        ("SPIRIT", "BATCH"): (1, 0.2, 10.0), ("BLEND", "BATCH"): (1, 0.8, 40.0),
        ("SPIRIT", "BLEND"): (2, shares(0.6), 30.0), ("NEUTRAL", "BLEND"): (2, 0.2, 10.0),
        ("WASH", "SPIRIT"): (2, shares(0.8), 50.0),
        ("WORT", "WASH"): (3, None, 500.0), ("GRAIN", "WORT"): (4, None, 200.0),
    }  # fmt: skip
    assert frame["depth"].to_list() == [1, 1, 2, 2, 2, 3, 4]
    assert frame.columns == ["lot", "run", "stage", "into_lot", "depth", "share", "quantity", "basis", "consumed"]
    assert frame.row(0)[:4] == ("SPIRIT", "BOT", "bottle", "BATCH")
    assert frame["quantity"].to_list() == [10.0, 40.0, 30.0, 10.0, 50.0, 500.0, 200.0]


def test_behind_a_lot_in_the_middle_stands_what_came_before_it(book):
    """Of half of the spirit, 20 LPA, half of all that went before; nothing that was made of it."""
    assert followed(back(book, "SPIRIT", 20.0)) == {
        ("WASH", "SPIRIT"): (1, 1.0, 25.0), ("WORT", "WASH"): (2, None, 250.0), ("GRAIN", "WORT"): (3, None, 100.0),
    }  # fmt: skip
    assert followed(back(book, "GRAIN", 200.0)) == {}
    assert followed(back(book, "UNKNOWN", 1.0)) == {}


def test_after_a_wash_stands_all_that_was_made_of_it(book):
    """All of the spirit's alcohol, 0.75 of the blend's, 0.2 and 0.6 of the batch's; 1.25 LPA of wash stand behind each
    LPA of spirit. What only goes round in a ring is not followed."""
    assert followed(forward(book, "WASH")) == {
        ("WASH", "SPIRIT"): (1, 1.0, 1.25), ("SPIRIT", "BLEND"): (2, 0.75, 0.9375), ("SPIRIT", "BATCH"): (2, 0.2, 0.25),
        ("BLEND", "BATCH"): (3, shares(0.6), 0.75),
    }  # fmt: skip


def test_what_carries_no_alcohol_has_no_share_of_what_it_became(book):
    """Grain: 0.4 kg behind each litre of wort, 4 behind each LPA of wash, 5 behind each of spirit."""
    assert followed(forward(book, "GRAIN")) == {
        ("GRAIN", "WORT"): (1, None, 0.4), ("WORT", "WASH"): (2, None, 4.0), ("WASH", "SPIRIT"): (3, None, 5.0),
        ("SPIRIT", "BLEND"): (4, None, 3.75), ("SPIRIT", "BATCH"): (4, None, 1.0), ("BLEND", "BATCH"): (5, None, 3.0),
    }  # fmt: skip


def test_a_lot_that_is_not_there_is_told_with_three_that_are_like_it(book):
    """By how many letters differ; capitals do not count."""
    with pytest.raises(UnknownRecord, match=r'no lot "wahs"\. Lots with similar names: WASH, BATCH, \w+\.$'):
        trace(book, "wahs")
    assert trace(book, "BATCH").lot["quantity_in"] == 50.0
    assert followed(trace(book, "BATCH").back) == followed(back(book, "BATCH", 50.0))
    assert followed(trace(book, "WASH").forward) == followed(forward(book, "WASH"))


def test_of_a_lot_of_unknown_size_nothing_is_told_to_be_consumed(book):
    """Its shares stand."""
    book.execute("UPDATE derived.lots SET quantity_in = NULL WHERE lot = 'SPIRIT'")

    assert followed(trace(book, "SPIRIT").back)["WASH", "SPIRIT"] == (1, 1.0, 0.0)


def test_an_empty_book_names_none(empty_book):
    """There is none that is like it."""
    with pytest.raises(UnknownRecord, match=r'The book holds no lot "A"\.$'):
        trace(empty_book, "A")


def test_a_recall_accounts_for_the_whole_lot(book, put):
    """Of 50 LPA of wash 40 LPA of the batch in bottles hold 1 x 40, a vessel with 4 LPA of the blend 0.9375 x 4, 2 LPA
    that left as spirit 1.25 x 2, and 1.5 are left: 2 that nothing drew less 0.5 that a cask lost."""
    put("derived.bottlings", batch="BATCH", product="GIN", bottles_filled=143, alcohol_bottled_l=40.0)
    put("derived.account_entries", place="T1", is_vessel=True, lot="BLEND", alcohol_l=4.0)
    put("derived.removals", kind="dispatched", lot="SPIRIT", alcohol_l=2.0, is_bottled=False)
    book.execute("UPDATE derived.lots SET remaining = 2.0 WHERE lot = 'WASH'")
    put("derived.cask_losses", contents="WASH", loss_l=0.5)

    recalled = recall(book, trace(book, "WASH"))

    assert recalled.bottles.select("batch", "bottles", "share").rows() == [("BATCH", 143, shares(0.8))]
    assert recalled.bottles["consumed"].item() == pytest.approx(40.0)
    assert recalled.stock["consumed"].item() == pytest.approx(3.75)
    assert recalled.left == pytest.approx(1.5)
    assert dict(zip(recalled.removals["kind"], recalled.removals["consumed"], strict=True)) == {
        "dispatched": pytest.approx(2.5), "lost in cask": pytest.approx(0.5),
    }  # fmt: skip
    assert recalled.accounted == pytest.approx((40.0 + 3.75 + 2.5 + 0.5 + 1.5) / 50.0)


def test_of_what_carries_no_alcohol_no_share_is_told(book, put):
    """1 and 3 kg behind each LPA of the batch: 160 of 200 kg behind 40 LPA; all of it was drawn."""
    put("derived.bottlings", batch="BATCH", product="GIN", bottles_filled=143, alcohol_bottled_l=40.0)
    recalled = recall(book, trace(book, "GRAIN"))

    assert recalled.bottles.select("share", "consumed").row(0) == (None, pytest.approx(160.0))
    assert (recalled.left, recalled.accounted) == (0.0, pytest.approx(0.8))


def test_a_lot_of_unknown_size_is_not_accounted_for(book, put):
    """Nor is anything left of one that was used up, whatever the gauges say."""
    put("derived.lots", lot="OLD", basis="LPA", origin="unknown", drawn_by_runs=0)
    book.execute("UPDATE derived.lots SET remaining = 2.0 WHERE lot = 'WASH'")
    put("derived.used_up_lots", lot="WASH")

    assert (recall(book, trace(book, "OLD")).left, recall(book, trace(book, "OLD")).accounted) == (None, None)
    assert recall(book, trace(book, "WASH")).left == 0.0
