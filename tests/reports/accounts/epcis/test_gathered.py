"""The events of a book: the small house, casks, and the sample distillery."""

from datetime import date
from pathlib import Path
from urllib.parse import unquote

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.derived.tracing import recall, trace
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.accounts.epcis.events import Events, document_bytes
from gaugebook.reports.accounts.epcis.gathered import events_of_month, events_of_trace
from gaugebook.reports.page.figures import local_month

SIDES = {"inputQuantityList": "in", "outputQuantityList": "out", "quantityList": "object"}


def traced(book: Book, lot: str) -> Events:
    return events_of_trace(book, profile_in_force(book), trace(book, lot))


def name(uri: str) -> str:
    """What the house calls it."""
    return unquote(uri.split("#", 1)[1].split("/", 1)[-1])


def lots(events: list[dict], *sides: str) -> set[str]:
    """Lots that events name on these sides."""
    return {
        name(item["epcClass"]) for event in events for key in event if SIDES.get(key) in sides for item in event[key]
    }


def reached(events: list[dict], lot: str, near: str, far: str) -> set[str]:
    """Lots that transformations lead to from a lot, by the events alone."""
    found, waiting = {lot}, [lot]
    while waiting:
        here = waiting.pop()
        for step in events:
            if here in lots([step], near):
                new = lots([step], far) - found
                found |= new
                waiting += new
    return found - {lot}


def quantity(event: dict, side: str, lot: str) -> dict:
    """The entry of a lot on one side of an event."""
    return next(item for item in event[side] if name(item["epcClass"]) == lot)


def runs(events: list[dict]) -> dict[str, dict]:
    return {name(event["transformationID"]): event for event in events if "transformationID" in event}


def test_a_batch_from_malt_to_bottles(book):
    """Each run of the small house is one event, and the malt's receipt, worked by hand: 200 kg of 500, 470 bottles."""
    found = traced(book, "RYE-1")

    assert list(runs(found.events)) == ["MSH-1", "FER-1", "STR-1", "RED-1", "BOT-1"]
    assert found.left_out == []
    receipt = found.events[0]
    assert (receipt["bizStep"], receipt["eventTime"]) == ("receiving", "2026-01-02T00:00:00.000+01:00")
    assert receipt["quantityList"][0]["quantity"] == 500
    mash, bottling = runs(found.events)["MSH-1"], runs(found.events)["BOT-1"]
    assert quantity(mash, "inputQuantityList", "MALT-1") | {"epcClass": ""} == {
        "epcClass": "",
        "quantity": 200,
        "uom": "KGM",
    }
    assert quantity(mash, "outputQuantityList", "WORT-1")["uom"] == "LTR"
    assert quantity(bottling, "outputQuantityList", "RYE-1") | {"epcClass": ""} == {"epcClass": "", "quantity": 470}
    assert bottling["eventTime"] == "2026-01-14T12:00:00.000+01:00"


def test_one_run_is_one_event_in_every_document(book):
    """The event of a run is the whole run, whichever lot is asked for: an eventID never names two events."""
    of_malt, of_batch = traced(book, "MALT-1").events, traced(book, "RYE-1").events
    month = events_of_month(book, profile_in_force(book), date(2026, 1, 1)).events

    assert {event["eventID"]: event for event in of_malt + of_batch + month} == {
        event["eventID"]: event for event in month
    }
    assert runs(of_malt)["STR-1"] == runs(of_batch)["STR-1"]


def test_the_same_book_gives_the_same_bytes(received, tmp_path):
    """Received twice, into two books: byte for byte the same document."""
    received()
    with open_book(tmp_path / "book") as book:
        first = document_bytes(traced(book, "RYE-1").events)
        (tmp_path / "book").rename(tmp_path / "earlier")
    received()
    with open_book(tmp_path / "book") as book:
        assert document_bytes(traced(book, "RYE-1").events) == first


RUNS = """
    run,stage,equipment,product,recipe,started,ended,operator
    MSH-1,mash,M1,,rye mash,2026-01-05 08:00,2026-01-05 14:00,AB
    FER-1,ferment,F1,,,2026-01-05 15:00,2026-01-12 09:00,AB
    STR-1,strip,S1,,,2026-01-12 10:00,,AB
"""
MOVES = """
    run,dir,lot,part,vessel,L,tV,S,kind,tS,kg
    MSH-1,in,MALT-1,grain,,,,,,,200
    MSH-1,out,WORT-1,wort,F1,1000,20,,,,
    FER-1,in,WORT-1,wort,F1,1000,20,,,,
    FER-1,out,WASH-1,wash,F1,1000,20,10.0,pct_vol_20c,,
    STR-1,in,WASH-1,wash,F1,1000,20,10.0,pct_vol_20c,,
"""
MADE = "    STR-1,out,SPIRIT-1,hearts,T1,118.75,20,80,pct_vol_20c,,\n"
ELSE = {"bottling.csv": "lot,run,product,at,bottles,rejected\n", "fills.csv": "lot,no,ml\n"}


def test_a_run_at_work_has_inputs_only(received, tmp_path):
    """It began at 10:00, and has made nothing yet."""
    received(ELSE | {"runs.csv": RUNS, "moves.csv": MOVES})
    with open_book(tmp_path / "book") as book:
        at_work = runs(traced(book, "MALT-1").events)["STR-1"]

    assert at_work["eventTime"] == "2026-01-12T10:00:00.000+01:00"
    assert "outputQuantityList" not in at_work
    assert quantity(at_work, "inputQuantityList", "WASH-1")["quantity"] == 100  # LPA: 1000 L of 10 % vol


def test_a_run_whose_end_nobody_wrote_down_is_left_out_and_named(received, tmp_path):
    """It has made hearts, and neither its end nor the time of their gauge is on record: no time is made up."""
    received(ELSE | {"runs.csv": RUNS, "moves.csv": MOVES + MADE})
    with open_book(tmp_path / "book") as book:
        found = traced(book, "SPIRIT-1")
        month = events_of_month(book, profile_in_force(book), date(2026, 1, 1))

    assert "STR-1" not in runs(found.events)
    assert found.left_out == ["run STR-1: no record says when it ended or was gauged"] == month.left_out


@pytest.fixture(scope="module")
def casks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """New make in two casks, emptied into a tank, of which some is sent, some comes back, some is destroyed."""
    read = {"reading_kind": "pct_vol_20c", "volume_temperature_c": 20, "vessel": "T2"}
    out = {"volume_at_t_l": 50, "strength_reading": 60, "lot": "VAT-1"} | read
    return cask_book(
        tmp_path_factory.mktemp("casks"),
        casks=CASKS,
        opening_stock=OPENING,
        runs=[{"run": "V1", "stage": "blend", "equipment": "T2", "started_at": "2027-01-01", "ended_at": "2027-01-02"}],
        movements=[
            {
                "run": "V1",
                "direction": "out",
                "lot": "VAT-1",
                "part": "spirit",
                "volume_at_t_l": 380,
                "strength_reading": 60,
            }
            | read
        ],
        cask_events=[
            filled("C1", 200, "2024-01-10"),
            filled("C2", 200, "2024-01-10"),
            event("C1", "sampled", "2025-01-10", alcohol_l=0.5),
            event("C2", "lost", "2025-03-10", alcohol_l=4, reason="leak"),
            event("C1", "emptied", "2027-01-01", run="V1", lot="VAT-1", volume_at_t_l=192, strength_reading=60),
            event("C2", "emptied", "2027-01-01", run="V1", lot="VAT-1", volume_at_t_l=188, strength_reading=60),
        ],
        dispatches=[out | {"dispatched_at": "2027-02-01", "customer": "CU-1", "document": "D1"}],
        returns=[out | {"returned_at": "2027-02-10", "customer": "CU-1", "document": "R1", "volume_at_t_l": 10}],
        destructions=[out | {"destroyed_at": "2027-02-12", "document": "X1", "volume_at_t_l": 10}],
    )


def test_through_casks_to_the_customer(casks):
    """Opening stock, fills, sample, leak, dump, dispatch, return and destruction, each once, in the order of time."""
    with open_book(casks) as book:
        found = traced(book, "NM-1")

    told = [(event["bizStep"], event.get("action"), event["eventTime"][:10]) for event in found.events]
    assert told == [
        ("stock_taking", "OBSERVE", "2024-01-01"),
        ("creating_class_instance", None, "2024-01-10"),
        ("sampling", "DELETE", "2025-01-10"),
        ("other", "DELETE", "2025-03-10"),
        ("creating_class_instance", None, "2027-01-02"),
        ("shipping", "OBSERVE", "2027-02-01"),
        ("receiving", "OBSERVE", "2027-02-10"),
        ("destroying", "DELETE", "2027-02-12"),
    ]
    sent = found.events[5]
    assert quantity(sent, "quantityList", "VAT-1")["quantity"] == pytest.approx(30.0)  # 50 L of 60 % vol
    assert name(sent["destinationList"][0]["destination"]) == "CU-1"
    assert name(sent["bizTransactionList"][0]["bizTransaction"]) == "D1"
    assert lots(found.events[1:2], "out") == {"C1/1", "C2/1"}


def test_what_became_of_lots_behind_is_not_told(casks):
    """Whoever asks for a vatting is told what it came of, not that a cask behind it leaked; the cask itself tells."""
    with open_book(casks) as book:
        of_vat, of_cask = ({event["bizStep"] for event in traced(book, lot).events} for lot in ("VAT-1", "C2/1"))

    assert of_vat == {"stock_taking", "creating_class_instance", "shipping", "receiving", "destroying"}
    assert of_cask == of_vat | {"other"}  # the leak; the sample was of the other cask


def agrees(book: Book, lot: str) -> None:
    """Following the events alone leads to the lots of the trace, and they name no lot but of those and their runs."""
    asked = trace(book, lot)
    events = events_of_trace(book, profile_in_force(book), asked).events
    assert reached(events, lot, "out", "in") == {*asked.back["lot"]} - {lot}
    assert reached(events, lot, "in", "out") == {*asked.forward["into_lot"]} - {lot}
    of_trace = {lot, *asked.back["lot"], *asked.back["into_lot"], *asked.forward["lot"], *asked.forward["into_lot"]}
    assert of_trace <= lots(events, "in", "out", "object")
    assert lots(events, "object") <= of_trace
    beside = book.frame(
        "SELECT DISTINCT lot FROM derived.gauges WHERE run IN (SELECT unnest($runs))", {"runs": sorted(runs(events))}
    )
    assert lots(events, "in", "out", "object") <= of_trace | {*beside["lot"]}


@pytest.mark.parametrize("lot", ["NM-1", "C1/1", "VAT-1"])
def test_casks_events_and_trace_agree(casks, lot):
    """Both ways, from the new make, from a cask and from the tank."""
    with open_book(casks) as book:
        agrees(book, lot)


@pytest.mark.parametrize("lot", ["NM-1", "C1/1", "C2/1", "VAT-1"])
def test_what_left_is_what_the_recall_says(casks, lot):
    """Each dispatch, return, sample, destruction and leak of the recall is an event of that lot and day, and no other.

    What evaporates in casks happens all the time and is no event.
    """
    with open_book(casks) as book:
        asked = trace(book, lot)
        events = events_of_trace(book, profile_in_force(book), asked).events
        said = recall(book, asked).removals.remove(kind="lost in cask")
    left = {"shipping", "sampling", "destroying", "other"}
    told = [event for event in events if event["bizStep"] in left or event.get("disposition") == "returned"]
    assert sorted((name(event["quantityList"][0]["epcClass"]), event["eventTime"][:10]) for event in told) == sorted(
        (row["lot"], f"{row['removed_at']:%Y-%m-%d}") for row in said.iter_rows(named=True)
    )
    assert told


@pytest.fixture(scope="module")
def sample_lots(sample_book) -> list[str]:
    """Every lot of the sample distillery that some run drew or made."""
    with open_book(sample_book) as book:
        return book.frame("SELECT DISTINCT lot FROM derived.gauges ORDER BY lot")["lot"].to_list()


@pytest.mark.parametrize("seed", range(12))
def test_events_and_trace_agree(sample_book, sample_lots, seed):
    """Of lots all over the sample distillery: the trace of the book is that of the events."""
    with open_book(sample_book) as book:
        agrees(book, sample_lots[seed * len(sample_lots) // 12])


def test_the_months_hold_every_event_once(sample_book):
    """The months together are the whole book: each run and receipt in one of them, and no eventID twice."""
    with open_book(sample_book) as book:
        house = profile_in_force(book)
        times = book.frame("""
            SELECT coalesce(ended_at, started_at) AS at FROM derived.runs WHERE run IN (SELECT run FROM derived.gauges)
            UNION ALL SELECT received_at FROM typed.intake
        """)["at"]
        months = sorted({local_month(at, house.time_zone) for at in times})
        events = [event for month in months for event in events_of_month(book, house, month).events]

    assert len(events) == len(times) == len({event["eventID"] for event in events})


def test_a_month_without_events(book):
    """It is said in one sentence."""
    with pytest.raises(UnknownRecord, match="2031-05"):
        events_of_month(book, profile_in_force(book), date(2031, 5, 1))


@given(st.lists(st.tuples(st.sampled_from("abcd"), st.sampled_from("abcd")), max_size=6))
def test_following_events_sees_what_it_should(edges):
    """The test's own way along events finds a lot if and only if edges lead there."""
    events = [
        {"inputQuantityList": [{"epcClass": f"x#l/{a}"}], "outputQuantityList": [{"epcClass": f"x#l/{b}"}]}
        for a, b in edges
    ]
    expected, before = {"a"}, set()
    while expected != before:
        before = set(expected)
        expected |= {b for a, b in edges if a in expected}
    assert reached(events, "a", "in", "out") == expected - {"a"}
