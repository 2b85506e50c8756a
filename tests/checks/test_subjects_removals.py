"""The subjects of what leaves the house, comes back and is counted, on records made by hand."""

from dataclasses import replace
from datetime import datetime

import pytest
from cask_house import event
from goods_house import counted, goods_book, moved

from gaugebook.checks.evaluation.subjects import subject_frame, tables_for_subjects
from gaugebook.checks.flags.flag_lifecycle import explain
from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.intake.flow import receive

NOON = datetime(2026, 3, 1, 12)


def flags_of(book, rules):
    """{rule: (flag, record, state)} of these rules, of one flag each."""
    rows = book.frame(
        "SELECT rule, flag, f.record, state FROM flagged.flags AS f JOIN history.flag_states AS s USING (flag, rule) "
        "WHERE list_contains($rules, rule)",
        {"rules": list(rules)},
    ).rows()
    assert len(rows) == len({rule for rule, *_ in rows})
    return {rule: tuple(rest) for rule, *rest in rows}


@pytest.fixture
def removal(put):
    """A removal of 60 bottles: removal("dispatched", "B-1", "2026-02-01")."""
    numbers = iter(range(1000))

    def make(kind, lot, at, **more):
        row = {"is_bottled": True, "pieces": 60.0, "source_id": 1, "line": 2}
        put("derived.removals", gauge=next(numbers), kind=kind, lot=lot, removed_at=at, **(row | more))

    return make


@pytest.fixture
def made(put):
    """A lot made on 10 January 2026: made("B-1")."""
    return lambda lot: put("derived.lots", lot=lot, origin="produced", made_at="2026-01-10 12:00")


def test_a_dispatch_tells_when_the_lot_was_made(frames, removal, made, row_of):
    """A day before it was made is one day; the same day is none; a lot that nobody knows has no origin."""
    made("B-1")
    removal("dispatched", "B-1", "2026-01-09", document="D-1")
    removal("dispatched", "B-1", "2026-01-10", document="D-2")
    removal("sampled", "X", "2026-01-10")
    rows = frames()["removals"]

    early = row_of(rows, record="dispatch of lot B-1 on 2026-01-09, document D-1")
    assert (early["days_before_made"], early["origin"]) == (1, "produced")
    assert row_of(rows, document="D-2")["days_before_made"] == 0
    assert row_of(rows, lot="X")["origin"] is None


@pytest.mark.parametrize(
    ("verdict", "at", "is_released"),
    [
        ("released", "2026-01-20", "released"), ("released", "2026-02-20", "released later"),
        ("rejected", "2026-01-20", "rejected"), (None, None, "not decided on"),
    ],
)  # fmt: skip
def test_whether_a_batch_was_released_when_it_left(book, frames, removal, bottle, row_of, verdict, at, is_released):
    """The decision counts from the moment at which it was made."""
    from gaugebook.checks.evaluation import subjects

    bottle("B-1", "VODKA", "PROOF-1")
    removal("dispatched", "B-1", "2026-02-01")
    if verdict:
        book.run_file(subjects.FOLDER.parent / "history.sql")
        book.execute(
            "INSERT INTO history.decisions VALUES (1, 'B-1', ?, 'EV', 'qa lead', 'tested', [], ?, 'x', '{}', '{}')",
            [verdict, at],
        )

    assert row_of(frames()["removals"], lot="B-1")["released"] == is_released


def test_what_came_back_is_held_against_what_left(frames, removal, made, row_of):
    """Of 60 sent out 50 came back, then 20 more: 70."""
    made("B-1")
    removal("dispatched", "B-1", "2026-02-01")
    removal("returned", "B-1", "2026-02-05", pieces=50.0, document="R-1")
    removal("returned", "B-1", "2026-02-09", pieces=20.0, document="R-2")
    rows = frames()["removals"]

    first, second = (row_of(rows, document=name) for name in ("R-1", "R-2"))
    assert (first["returned_so_far"], first["dispatched_before"]) == (50, 60)
    assert (second["returned_so_far"], second["dispatched_before"]) == (70, 60)


def test_bottles_are_counted_without_uncertainty(frames, removal, row_of):
    """Of spirit in bulk the root of 0.3 and 0.4 squared, 0.5, in what left and came back; of bottles none."""
    for lot, bulk in (("B-1", {}), ("L-1", {"is_bottled": False, "alcohol_l": 9.0})):
        for kind, at, u_alcohol_l in (("dispatched", "2026-02-01", 0.3), ("returned", "2026-02-05", 0.4)):
            removal(kind, lot, at, u_alcohol_l=u_alcohol_l, **bulk)
    rows = frames()["removals"]

    assert row_of(rows, lot="B-1", kind="returned")["u_returned"] == 0
    assert row_of(rows, lot="L-1", kind="returned")["u_returned"] == pytest.approx(0.5)


def test_only_a_sample_of_the_samples_record_is_asked_for_its_purpose(frames, put, removal, row_of):
    """A sample of a cask's own log, in another line, has no such record; nor has a dispatch in the same line."""
    put("typed.samples", lot="B-1", taken_at="2026-02-01", source_id=1, line=2)
    removal("sampled", "B-1", "2026-02-01")
    removal("sampled", "C1/1", "2026-02-01", line=3)
    removal("dispatched", "B-2", "2026-02-01")
    rows = frames()["removals"]

    records = [row_of(rows, lot=lot)["sample_record"] for lot in ("B-1", "C1/1", "B-2")]
    assert records == ["sample", None, None]


def test_what_came_back_is_held_against_the_document_that_it_names(frames, removal, made, row_of):
    """Of the lot 120 left by two documents; of the 60 of D-1 come back 50, and then 20 more: 70, of D-2 12."""
    made("B-1")
    removal("dispatched", "B-1", "2026-02-01", document="D-1")
    removal("dispatched", "B-1", "2026-02-02", document="D-2")
    removal("dispatched", "B-1", "2026-03-01", document="D-1")
    for document, day, pieces, of in (
        ("R-1", 5, 50, "D-1"),
        ("R-2", 9, 20, "D-1"),
        ("R-3", 9, 12, "D-2"),
        ("R-4", 9, 1, "X"),
    ):
        removal("returned", "B-1", f"2026-02-0{day}", pieces=float(pieces), document=document, dispatch_document=of)
    rows = frames()["removals"]

    assert {
        name: (row_of(rows, document=name)["returned_of_document"], row_of(rows, document=name)["sent_by_document"])
        for name in ("R-1", "R-2", "R-3", "R-4")
    } == {"R-1": (50, 60), "R-2": (70, 60), "R-3": (12, 60), "R-4": (1, None)}
    assert row_of(rows, document="D-2")["returned_of_document"] is None


def test_samples_and_destructions_say_what_for_and_to_whom(tmp_path):
    """27 CFR 19.616 and 19.617; a sample of a cask's own log names no recipient, and is not asked for one."""
    book = goods_book(
        tmp_path,
        samples=[moved("taken_at", 1, "2026-02-01"),
                 moved("taken_at", 2, "2026-02-02", purpose="panel", recipient="L-1")],
        destructions=[moved("destroyed_at", 1, "2026-02-03", witness="AB"),
                      moved("destroyed_at", 1, "2026-02-04", witness="AB", reason="corked")],
        casks=[{"cask": "C1", "tare_kg": 50, "nominal_l": 50, "wood": "american oak"}],
        cask_events=[event("C1", "filled", "2026-01-20", lot="LIQ-1", volume_at_t_l=15, strength_reading=41.3),
                     event("C1", "sampled", "2026-02-20", volume_at_t_l=0.1, strength_reading=41.3)],
    )  # fmt: skip
    with open_book(book, writing=True) as opened:
        run_checks(opened)
        flags = opened.frame(
            "SELECT rule, record, severity FROM flagged.flags "
            "WHERE rule LIKE 'sample-%' OR rule LIKE 'destruction-%' ORDER BY ALL"
        )

    assert flags.rows() == [
        ("destruction-reason", "destruction of lot B-1 on 2026-02-03", "needs explanation"),
        ("sample-purpose", "sample of lot B-1 on 2026-02-01", "needs explanation"),
        ("sample-recipient", "sample of lot B-1 on 2026-02-01", "needs explanation"),
    ]


def test_a_document_belongs_to_one_consignment(frames, removal, row_of):
    """Several lots to one recipient on one day are one; another recipient or day is a second use of the number."""
    removal("dispatched", "B-1", "2026-02-01 09:00", document="D-1", to_whom="K-1")
    removal("dispatched", "B-2", "2026-02-01 16:00", document="D-1", to_whom="K-1")
    removal("dispatched", "B-1", "2026-02-03", document="D-2", to_whom="K-1")
    removal("dispatched", "B-2", "2026-02-03", document="D-2", to_whom="K-2")
    removal("dispatched", "B-1", "2026-02-05", document="D-3", to_whom="K-1")
    removal("dispatched", "B-2", "2026-02-06", document="D-3", to_whom="K-1")
    removal("dispatched", "B-1", "2026-02-07", to_whom="K-1")
    removal("dispatched", "B-1", "2026-02-08", to_whom="K-2")
    removal("sampled", "B-1", "2026-02-09", document="D-1")
    rows = frames()["removals"]

    out = rows.filter(kind="dispatched").select("document", "lot", "document_uses").rows()
    assert sorted(set(out), key=str) == [
        ("D-1", "B-1", 1), ("D-1", "B-2", 1), ("D-2", "B-1", 2), ("D-2", "B-2", 2), ("D-3", "B-1", 2),
        ("D-3", "B-2", 2), (None, "B-1", None),
    ]  # fmt: skip
    note = row_of(rows, document="D-2", lot="B-1")["note"]
    assert note == "60 bottles, to K-1, document also of lot B-2 to K-2 on 2026-02-03"
    assert row_of(rows, kind="sampled")["document_uses"] is None


def test_a_day_of_a_document_is_one_of_the_house(book, removal):
    """Noon and six in the evening in Denver are one day there, though midnight of UTC lies between them."""
    removal("dispatched", "B-1", "2026-01-05 19:00", document="D-1", to_whom="K-1")
    removal("dispatched", "B-2", "2026-01-06 01:00", document="D-1", to_whom="K-1")

    def uses(zone):
        house = replace(profile_in_force(book), time_zone=zone)
        with tables_for_subjects(book, house, read_limits()):
            return subject_frame(book, "removals")["document_uses"].to_list()

    assert (uses("UTC"), uses("America/Denver")) == ([2, 2], [1, 1])


@pytest.mark.parametrize(
    ("document", "dispatch_is"),
    [
        ("D-1", "on record"), ("D-2", "of another lot"), ("D-3", "of a later day"), ("D-9", "not on record"),
        (None, None),
    ],
)  # fmt: skip
def test_a_return_names_the_document_by_which_the_lot_left(frames, removal, row_of, document, dispatch_is):
    """One that was never issued, that was issued for another lot, or only after the goods had come back, is told."""
    removal("dispatched", "B-1", "2026-02-01", document="D-1")
    removal("dispatched", "B-2", "2026-02-01", document="D-2")
    removal("dispatched", "B-1", "2026-03-01", document="D-3")
    removal("returned", "B-1", "2026-02-05", document="R-1", dispatch_document=document)

    row = row_of(frames()["removals"], kind="returned")
    assert row["dispatch_is"] == dispatch_is
    assert row["note"] == "60 bottles" + (f", left by {document}" if document else "")


def test_the_fewest_bottles_are_those_at_the_end_of_a_day(frames, put, row_of):
    """Sent out at dawn of the day on which they were filled: none too many; ten more on the day after: ten too many."""
    common = {"batch": "B-1", "source_id": 1, "line": 3}
    put("derived.goods_entries", booked_at="2026-01-10 00:00", entry="dispatched", pieces=-100.0, **common)
    put("derived.goods_entries", booked_at="2026-01-10 12:00", entry="bottled", pieces=100.0, **common)
    assert row_of(frames()["goods"], lot="B-1")["least_pieces"] == 0
    put("derived.goods_entries", booked_at="2026-01-11", entry="dispatched", pieces=-10.0, document="D-9", **common)

    row = row_of(frames()["goods"], lot="B-1")
    assert (row["least_pieces"], row["note"]) == (-10, "on 2026-01-11, document D-9")


def test_the_fewest_bottles_are_placed_at_the_first_line_of_their_day(frames, put, row_of):
    """Of two entries of the day with the fewest the first file and the first line, whichever was booked before."""
    for at, pieces, source_id, line in (
        ("2026-01-10", 100.0, 1, 1), ("2026-01-11 09:00", -110.0, 3, 8), ("2026-01-11 10:00", -5.0, 2, 9),
    ):  # fmt: skip
        put("derived.goods_entries", batch="B-1", booked_at=at, pieces=pieces, source_id=source_id, line=line)

    row = row_of(frames()["goods"], lot="B-1")

    assert (row["least_pieces"], row["source_id"], row["line"]) == (-15, 2, 8)


def test_a_count_of_a_tank_must_be_signed_too(frames, put, row_of):
    """It has no pieces, and its name is asked for; a cask that nobody counted has no name to ask for."""
    put("typed.inventory", container="tank", vessel="T1", lot="L", counted_at="2026-02-28", source_id=1, line=2)
    put("derived.counts", container="cask", item="C1", lot="C1/1", pieces=0.0, book_pieces=1.0, counted_at="2026-02-28")
    rows = frames()["counts"]

    tank, cask = row_of(rows, container="tank"), row_of(rows, container="cask")
    assert (tank["is_counted"], tank["counted_by"], tank["pieces"]) == ("yes", None, None)
    assert (cask["is_counted"], cask["pieces"], cask["book_pieces"]) == (None, 0, 1)


def test_whose_count_must_be_signed(frames, put, row_of):
    """Bottles always, whether or not a line of a file counts them; a cask where a line does."""
    put("derived.counts", container="cased goods", item="B-1", lot="B-1", pieces=9.0, counted_at="2026-02-28")
    put("derived.counts", container="cask", item="C1", lot="C1/1", counted_at="2026-02-28", source_id=1, line=4)
    rows = frames()["counts"]

    assert [row_of(rows, lot=lot)["is_counted"] for lot in ("B-1", "C1/1")] == ["yes", "yes"]


def test_days_are_those_of_the_house_and_flags_keep_their_names(tmp_path):
    """Counted on 31 January at 17:00, sampled at 18:00 and a cask moved at 19:00 in Denver, by UTC in February: each is
    named by the day on the house's clock, while its flag bears the name that earlier checks gave it by UTC, so that
    what was explained stays explained."""
    book = goods_book(
        tmp_path,
        inventory=[counted(150, "2026-02-01T00:00")],
        samples=[moved("taken_at", 1, "2026-02-01T01:00", recipient="L-1")],
        casks=[{"cask": "C1", "tare_kg": 50}],
        cask_events=[event("C1", "emptied", "2026-02-01T02:00", lot="VAT", volume_at_t_l=1, strength_reading=41.3)],
    )
    profile = tmp_path / "site" / "house.toml"
    in_denver = profile.read_text().replace('time_zone = "UTC"', 'time_zone = "America/Denver"')
    rules = ("count-against-book", "sample-purpose", "cask-holds")
    with open_book(book, writing=True) as opened:
        run_checks(opened)
        by_utc = flags_of(opened, rules)
        explain(opened, profile_in_force(opened), by_utc["sample-purpose"][0], "QA", "asked for by phone", NOON)
    profile.write_text(in_denver)
    receive(book, [], profile)
    with open_book(book, writing=True) as opened:
        run_checks(opened)
        by_house = flags_of(opened, rules)

    assert {rule: record for rule, (_, record, _) in by_utc.items()} == {
        "count-against-book": "bottles of lot B-1, count of 2026-02-01",
        "sample-purpose": "sample of lot B-1 on 2026-02-01",
        "cask-holds": "cask C1, emptied 2026-02-01 02:00",
    }
    assert {rule: record for rule, (_, record, _) in by_house.items()} == {
        "count-against-book": "bottles of lot B-1, count of 2026-01-31",
        "sample-purpose": "sample of lot B-1 on 2026-01-31",
        "cask-holds": "cask C1, emptied 2026-01-31 19:00",
    }
    assert {rule: flag for rule, (flag, _, _) in by_house.items()} == {
        rule: flag for rule, (flag, _, _) in by_utc.items()
    }
    assert by_house["sample-purpose"][2] == "explained"
