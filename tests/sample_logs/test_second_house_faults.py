"""The faults planted in the second house, each found by its rule on its record, and what else the book says of it.

`planted_faults.toml` was made by a simulation that shares no code with the book, by people who had not read it.
"""

import tomllib
from pathlib import Path

import pytest

from gaugebook.checks.evaluation.claims import claims
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force

HOUSE = Path(__file__).parents[2] / "sample_logs" / "second_house"
FAULTS = {
    fault["fault"]: fault
    for fault in tomllib.loads((HOUSE / "planted_faults.toml").read_text(encoding="utf-8"))["faults"]
}

# Refused with its reason, or held already: the fault is in the row itself.
IN_ROWS = {
    "gross-below-tare": "cask_events.gross-below-tare",
    "proof-out-of-range": "cask_events.strength-impossible",
    "log-unreadable": "readings.not-a-number",
}
# Of each fault the rule that finds it, and how the record that it stands on begins.
FOUND = {
    "leak-at-regauge": ("cask-evaporation", "cask C-0042"),
    "leak-not-gauged": ("lot-overdrawn", "lot C-0124/1"),
    "leak-no-reason": ("cask-loss-reason", "cask C-0067"),
    "dumped-twice": ("cask-holds", "cask C-0011, emptied"),
    "filled-while-full": ("cask-overfilled", "cask C-0116"),
    "age-statement": ("claim-shown", "batch VSB-25-02, age of 4 years"),
    "bond-two-seasons": ("claim-shown", "batch VRB-25-02, bottled in bond: one season"),
    "bond-too-young": ("claim-shown", "batch VRB-25-03, bottled in bond: at least 4 years"),
    "bond-99-proof": ("claim-shown", "batch VRB-26-01, bottled in bond: bottled at 100 proof"),
    "bourbon-used-cask": ("claim-shown", "batch VSC-26-01, straight bourbon whisky: stored in charred new oak"),
    "topping-younger": ("claim-shown", "batch VSB-25-03, age of 4 years"),
    "fill-date-missing": ("claim-shown", "batch VSB-26-03, age of 4 years"),
    "mash-bill": ("mash-bill-share", "batch VYB-26-01, corn"),
    "regauge-above-fill": ("cask-gains", "cask C-0133"),
    "pounds-as-kg": ("cask-evaporation", "cask C-0120"),
    "tare-contradicts": ("cask-tare", "cask C-0118, filled"),
    "sample-of-dumped": ("cask-holds", "cask C-0013, sampled"),
    "regauge-after-dump": ("cask-holds", "cask C-0059, regauged"),
    "short-fill": ("fill-average-us", "batch VBL-25-01"),
    "dispatch-over-stock": ("lot-overdrawn", "lot VWR-25-01"),
    "dispatch-no-document": ("dispatch-document", "dispatch of lot VSB-25-01"),
    "entry-proof": ("cask-entry-strength", "cask C-01"),
    "ethyl-carbamate": ("house-target", "batch VRM-26-01, ethyl carbamate (house)"),
    "document-used-twice": ("dispatch-document-own", "dispatch of lot VRM-25-01 on 2025-05-27"),
    "return-unknown-document": ("return-document", "return of lot VRB-25-01"),
    "bottles-unaccounted": ("count-against-book", "bottles of lot VRB-25-01, count of 2025-10-31"),
    "count-unsigned": ("count-signed", "tank "),
    "count-of-dumped": ("count-against-book", "cask C-0025"),
    "destruction-no-witness": ("destruction-witness", "destruction of lot VSB-25-01"),
}
# What planted faults bring with them on other records than their own: what follows of each.
FOLLOWS = {
    ("cask-holds", "cask C-0174, regauged"): "filled-while-full",  # the cask that was truly filled
    ("cask-evaporation", "cask C-0116"): "filled-while-full",
    ("count-against-book", "cask C-0174"): "filled-while-full",
    ("lot-unknown", "lot C-0011/2"): "dumped-twice",
    ("label-as-product", "batch VRB-26-01"): "bond-99-proof",
    ("claim-shown", "batch VSB-26-02"): "dumped-twice",
    ("count-against-book", "cask C-0021"): "dumped-twice",
    ("removal-lot-known", "sample of lot C-0013/2"): "sample-of-dumped",
    ("recipe-quantity", "run M-25-00"): "mash-bill",
    ("claim-shown", "batch VSC-26-01"): "bourbon-used-cask",
    ("claim-shown", "batch VSB-25-03"): "topping-younger",
    ("claim-shown", "batch VRB-25-03"): "bond-too-young",
    ("claim-shown", "batch VSB-26-03"): "fill-date-missing",
    ("cask-evaporation", "cask C-0133"): "regauge-above-fill",
    ("cask-evaporation", "cask C-0053"): "fill-date-missing",  # it stands from the inventory with its original gauge
    ("fill-balance", "batch VBL-25-01"): "short-fill",
    ("dispatch-document-own", "dispatch of lot VSC-25-01 on 2025-04-16"): "document-used-twice",  # the other of the two
    ("goods-overdrawn", "bottles of lot VWR-25-01"): "dispatch-over-stock",
    ("count-against-book", "bottles of lot VWR-25-01"): "dispatch-over-stock",
    ("count-against-book", "bottles of lot VRB-25-01"): "bottles-unaccounted",
}
# No planted faults: what the records cannot say yet. None of it stops a release.
NOT_SAID_YET = {
    ("fill-balance", "batch V"): "the simulation sets its filler 0.2 % over: 20 of 24 bottles hold more than nominal",
    ("mash-bill-share", "batch V"): "casks of the opening inventory have no mash on record",
    ("dispatch-released", "dispatch of lot V"): "no decision on a batch is among the files",
}


@pytest.fixture(scope="module")
def flags(rows):
    """Every flag that stops a release or needs explanation."""
    return rows("SELECT * FROM flagged.flags WHERE severity <> 'for information' ORDER BY rule, record")


def is_of(flag: dict, table: dict) -> bool:
    return any(flag["rule"] == rule and flag["record"].startswith(record) for rule, record in table)


def test_every_row_is_kept_or_is_a_planted_fault(rows):
    """What is refused stands in the lines of its fault, with the reason; the row that stands twice is held already."""
    refused = rows("""
        SELECT f.name, r.line, c.kind || '.' || r.code AS code FROM typed.refused AS r
        JOIN typed.row_counts AS c USING (source_id)
        JOIN landed.sources AS s USING (source_id) JOIN received.files AS f USING (file_id)
    """)
    planted = {
        (Path(line["file"]).name, line["line"], code)
        for fault, code in IN_ROWS.items()
        for line in FAULTS[fault]["lines"]
    }
    counts = rows("SELECT sum(held)::INT AS held, sum(kept)::INT AS kept FROM typed.row_counts")

    assert {tuple(row.values()) for row in refused} == planted
    assert counts[0]["held"] == len(FAULTS["duplicate-regauge"]["lines"]) == 1
    assert counts[0]["kept"] > 8000


def test_every_planted_fault_is_found_or_listed():
    """A fault is refused in its row, found by a rule, told apart in the account, or in the list of those to come."""
    in_account, held = {"leak-noted"}, {"duplicate-regauge"}

    assert {*IN_ROWS, *FOUND, *in_account, *held} == set(FAULTS)


@pytest.mark.parametrize("fault", sorted(FOUND))
def test_a_planted_fault_is_found_on_its_record(flags, fault):
    """By its rule; what stops a release in the plan does so in the book."""
    rule, record = FOUND[fault]
    found = [flag for flag in flags if flag["rule"] == rule and flag["record"].startswith(record)]

    assert found, fault
    if FAULTS[fault]["severity"] == "stops release":
        assert {flag["severity"] for flag in found} == {"stops release"}


def test_nothing_else_stops_a_release_or_needs_explanation(flags):
    """What clean data with the noise of its instruments raise is nothing; each list here has its reason."""
    tables = ({*FOUND.values()}, FOLLOWS, NOT_SAID_YET)
    others = [flag["message"] for flag in flags if not any(is_of(flag, table) for table in tables)]
    planted = [{*FOUND.values()}, FOLLOWS]
    stopping = [
        flag["message"]
        for flag in flags
        if flag["severity"] == "stops release" and not any(is_of(flag, table) for table in planted)
    ]

    assert others == []
    assert stopping == []


def test_batches_that_stop_are_those_of_planted_faults(rows):
    """Of 21 batches eleven stop, each for a planted fault that names it."""
    stopped = {row["batch"] for row in rows("SELECT batch FROM flagged.standings WHERE standing = 'stopped'")}

    assert stopped == {
        "VWR-25-01", "VBL-25-01", "VYB-26-01", "VSB-25-02", "VSB-25-03", "VSB-26-02", "VSB-26-03", "VRB-25-02",
        "VRB-25-03", "VRB-26-01", "VSC-26-01",
    }  # fmt: skip
    assert stopped <= {batch for fault in FAULTS.values() for batch in fault["batches"]}


def test_casks_filled_too_strong_are_those_of_the_plan(flags):
    """The ten at 126 proof, and none that lies at 125 or has no such limit."""
    strong = {flag["record"].split(",")[0][5:] for flag in flags if flag["rule"] == "cask-entry-strength"}

    assert strong == set(FAULTS["entry-proof"]["records"])


def test_seasons_before_the_book_are_said_to_be_shown_by_filling(second_book):
    """Of a bottled-in-bond batch whose casks were filled before the book began."""
    with open_book(second_book) as book:
        rows = claims(book, profile_in_force(book), read_limits()).filter(
            batch="VRB-25-01", asks="distilled in one season"
        )

    assert rows["shown"].to_list() == ["yes"]
    assert rows["note"][0].startswith("by the day of filling, not of distillation: C-0058/1")
