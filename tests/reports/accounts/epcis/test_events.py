"""Events against the clauses of GS1 EPCIS 2.0 that concern ours.

Source: the standard's own JSON Schema (public repository gs1/EPCIS, folder JSON-Schema; draft 7); each test names the
definition. Words of the vocabulary: Core Business Vocabulary 2.0, the enumerations of the same folder. Codes of units:
UN/CEFACT Recommendation 20.
"""

import json
import re
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.reports.accounts.epcis.events import (
    TOLD,
    Amount,
    Happening,
    House,
    Run,
    document,
    document_bytes,
    events_of,
)

HOUSE = House("House of the tests (invented)", "Europe/Copenhagen")
AT = datetime(2026, 1, 14, 11, 0)


def words(text: str) -> set[str]:
    """The words of an enumeration."""
    return set(text.split())


# enumerations of bizStep-JSON-Schema.json, disposition-..., bizTransaction-type-... and source-dest-type-...
STEPS = words(
    "accepting arriving assembling collecting commissioning consigning creating_class_instance cycle_counting "
    "decommissioning departing destroying disassembling dispensing encoding entering_exiting holding inspecting "
    "installing killing loading other packing picking receiving removing repackaging repairing replacing reserving "
    "retail_selling shipping staging_outbound stock_taking stocking storing transporting unloading unpacking "
    "void_shipping sensor_reporting sampling"
)
DISPOSITIONS = words(
    "active container_closed damaged destroyed dispensed disposed encoded expired in_progress in_transit inactive "
    "no_pedigree_match non_sellable_other partially_dispensed recalled reserved retail_sold returned "
    "sellable_accessible sellable_not_accessible stolen unknown available completeness_verified completeness_inferred "
    "conformant container_open mismatch_instance mismatch_class mismatch_quantity needs_replacement non_conformant "
    "unavailable"
)
DOCUMENTS = words("bol cert desadv inv pedigree po poc prodorder recadv rma testprd testres upevt")
PARTIES = {"owning_party", "possessing_party", "location"}
COMMON = {"type", "eventTime", "eventTimeZoneOffset", "eventID"}
OBJECT = COMMON | {
    "quantityList", "action", "bizStep", "disposition", "readPoint", "bizLocation", "bizTransactionList", "sourceList",
    "destinationList",
}  # fmt: skip
TRANSFORMATION = COMMON | {
    "inputQuantityList", "outputQuantityList", "transformationID", "bizStep", "disposition", "readPoint", "bizLocation",
}  # fmt: skip
# RFC 3986: a scheme, a path without spaces or signs that would have to be encoded, and one fragment at most
_CHARACTERS = r"(%[0-9A-F]{2}|[A-Za-z0-9_\-.~:/?@!$&'()*+,;=])*"
URI = re.compile(rf"[a-z][a-z0-9+.-]*:{_CHARACTERS}(#{_CHARACTERS})?")


def amount(lot: str = "RYE-1", basis: str = "LPA", **known: float) -> Amount:
    """So much of a lot; what is not given is not known."""
    return Amount(lot, basis, **{name: known.get(name) for name in ("pieces", "alcohol_l", "volume_l", "mass_kg")})


def run(at: datetime | None = AT, drawn: tuple = (amount("SPIRIT-1", alcohol_l=95.0),), produced: tuple = ()) -> Run:
    return Run(run="STR-1", at=at, equipment="S1", drawn=drawn, produced=produced)


def happening(kind: str, of: Amount | None = None, at: datetime = AT) -> Happening:
    return Happening(kind=kind, at=at, vessel=None, party="C-7", document="DN/12 a", amount=of or amount(pieces=60))


def only(record: Run | Happening) -> dict:
    """The one event of a record."""
    of_run = isinstance(record, Run)
    (event,) = events_of(HOUSE, [record] if of_run else [], [] if of_run else [record]).events
    return event


EVERY = [
    only(run()),
    only(run(produced=(amount("HRT-1", alcohol_l=90.25), amount("SPENT-1")))),
    *(only(happening(kind)) for kind in TOLD),
    only(happening("returned", at=datetime(2026, 7, 14, 11, 0))),
]
every = pytest.mark.parametrize("event", EVERY, ids=lambda event: f"{event['type']} {event['bizStep']}")


@every
def test_required_fields_of_an_event(event):
    """definitions/Event: eventTime and eventTimeZoneOffset are required; type by the definition of each event."""
    assert event["type"] in {"ObjectEvent", "TransformationEvent"}
    assert {"eventTime", "eventTimeZoneOffset"} <= event.keys()


@every
def test_fields_are_those_of_the_type(event):
    """propertyNames of ObjectEvent and TransformationEvent: any other name would have to be a URI."""
    assert event.keys() <= (OBJECT if event["type"] == "ObjectEvent" else TRANSFORMATION)


@every
def test_times(event):
    """definitions/time: a date-time (RFC 3339) with its offset; eventTimeZoneOffset: the same, by its own pattern."""
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}[+-]\d\d:\d\d", event["eventTime"])
    assert re.fullmatch(r"^([+]|[-])((0[0-9]|1[0-3]):([0-5][0-9])|14:00)$", event["eventTimeZoneOffset"])
    assert event["eventTime"].endswith(event["eventTimeZoneOffset"])


def test_the_time_is_that_of_the_house():
    """11:00 UTC is 12:00 in Copenhagen in January and 13:00 in July."""
    july = happening("dispatched", at=datetime(2026, 7, 14, 11, 0))
    assert only(run())["eventTime"] == "2026-01-14T12:00:00.000+01:00"
    assert only(july)["eventTime"] == "2026-07-14T13:00:00.000+02:00"


@every
def test_event_ids(event):
    """definitions/eventID: a URI; EPCIS-SHACL.ttl of the repository: "^(urn:uuid:|ni:///)"."""
    assert re.fullmatch(r"ni:///sha-256;[0-9a-f]{64}\?ver=CBV2\.0", event["eventID"])


@every
def test_words_of_the_vocabulary(event):
    """bizStep, disposition, bizTransaction-type and source-dest-type: words of the enumerations."""
    assert event["bizStep"] in STEPS
    assert event.get("disposition", "active") in DISPOSITIONS
    assert {item.get("type", "po") for item in event.get("bizTransactionList", [])} <= DOCUMENTS
    for name in ("sourceList", "destinationList"):
        assert {item["type"] for item in event.get(name, [])} <= PARTIES


@every
def test_identifiers_are_uris(event):
    """definitions/uri: format uri, for lots, places, documents, parties, runs; spaces and slashes are encoded."""
    text = json.dumps(event)
    uris = re.findall(r'"(?:epcClass|id|transformationID|bizTransaction|source|destination)": "([^"]*)"', text)
    assert len(uris) >= 3
    assert all(URI.fullmatch(uri) and uri.startswith("urn:uuid:") for uri in uris)


@every
def test_quantities(event):
    """definitions/quantityElement: epcClass required, quantity a number, nothing else; uom "^[A-Z0-9]{2,3}$"."""
    lists = [event[name] for name in event if name.lower().endswith("quantitylist")]
    assert lists
    for element in (element for elements in lists for element in elements):
        assert "epcClass" in element
        assert element.keys() <= {"epcClass", "quantity", "uom"}
        assert isinstance(element.get("quantity", 0), int | float)
        assert re.fullmatch(r"^[A-Z0-9]{2,3}$", element.get("uom", "LPA"))


@every
def test_where(event):
    """definitions/readPoint and bizLocation: an object with id; what has left has no location at the house."""
    assert event["readPoint"].keys() == {"id"}
    assert ("bizLocation" in event) == (event["bizStep"] not in {"shipping", "sampling", "destroying", "other"})


def test_action_and_quantity_of_an_object_event():
    """ObjectEvent: action is one of the enumeration, and quantityList has an entry at least."""
    for kind in TOLD:
        event = only(happening(kind))
        assert event["action"] in {"OBSERVE", "ADD", "DELETE"}
        assert len(event["quantityList"]) == 1
    assert only(happening("destroyed"))["action"] == "DELETE"  # CBV: "quantities are reduced"


def test_a_transformation_has_both_sides_or_an_id():
    """TransformationEvent, anyOf: inputs and outputs, or one of them and a transformationID. A list is never empty."""
    at_work, begun = only(run()), only(run(drawn=(), produced=(amount("X"),)))
    assert "transformationID" in at_work and "outputQuantityList" not in at_work and "disposition" not in at_work
    assert "transformationID" in begun and "inputQuantityList" not in begun


def test_the_frame_of_the_document():
    """epcisDocument: @context, type, schemaVersion, creationDate and epcisBody with eventList; no other names."""
    told = json.loads(document_bytes(EVERY))
    assert told.keys() == {"@context", "type", "schemaVersion", "creationDate", "epcisBody"}
    assert told["type"] == "EPCISDocument"
    assert re.fullmatch(r"^\d+(\.\d+)*$", told["schemaVersion"])
    assert told["epcisBody"].keys() == {"eventList"}
    assert told["@context"] == ["https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"]


@pytest.mark.parametrize(
    ("of", "quantity", "uom"),
    [
        (amount(pieces=470.0, alcohol_l=94.0), 470, None),  # EPCIS: what is counted has no unit
        (amount(alcohol_l=95.0, volume_l=237.5), 95, "LPA"),
        (amount(volume_l=237.5), 237.5, "LTR"),
        (amount(basis="kg", mass_kg=200.0, volume_l=150.0), 200, "KGM"),
        (amount(basis="L", volume_l=0.1 + 0.2, mass_kg=0.3), 0.3, "LTR"),
        (amount(basis="kg", alcohol_l=0.0), None, None),
        (amount(), None, None),
    ],
)
def test_units(of, quantity, uom):
    """Recommendation 20: LPA litre of pure alcohol, LTR litre, KGM kilogram; what is not known is left out."""
    (element,) = only(happening("sampled", of))["quantityList"]
    assert (element.get("quantity"), element.get("uom")) == (quantity, uom)


def test_a_dispatch_names_document_and_customer():
    """To whom it went and by which document; of a return they are the source, and of a receipt the supplier."""
    sent, back = only(happening("dispatched")), only(happening("returned"))
    assert sent["bizTransactionList"] == [{"type": "desadv", "bizTransaction": HOUSE.uri("document", "DN/12 a")}]
    assert sent["destinationList"] == [{"type": "possessing_party", "destination": HOUSE.uri("party", "C-7")}]
    assert back["sourceList"] == [{"type": "possessing_party", "source": HOUSE.uri("party", "C-7")}]
    assert (sent["disposition"], back["disposition"]) == ("in_transit", "returned")


def test_a_run_without_a_time_is_named_and_left_out():
    """No time is made up."""
    found = events_of(HOUSE, [run(at=None)], [])
    assert found.events == []
    assert found.left_out == ["run STR-1: no record says when it ended or was gauged"]


def test_records_that_say_the_same_are_one_event_and_named():
    """Two events of one eventID would be taken for one, so the second is named, not silently lost."""
    found = events_of(HOUSE, [], [happening("dispatched"), happening("dispatched"), happening("returned")])
    assert len(found.events) == 2
    assert len(found.left_out) == 1 and "lot RYE-1, dispatched 2026-01-14 11:00 UTC" in found.left_out[0]


RECORDS = st.lists(
    st.builds(
        happening,
        st.sampled_from(sorted(TOLD)),
        st.builds(amount, st.text("AB/1 #é", min_size=1, max_size=4), pieces=st.floats(0, 1e6)),
        st.builds(lambda minutes: AT + timedelta(minutes=minutes), st.integers(0, 400_000)),
    ),
    min_size=1,
    max_size=8,
)


@given(RECORDS, st.randoms(use_true_random=False))
def test_order_of_records_says_nothing(records, chance):
    """The same records in any order give the same bytes, in the order of time, dated by the last."""
    mixed = list(records)
    chance.shuffle(mixed)
    events = events_of(HOUSE, [], records).events
    assert document_bytes(events) == document_bytes(events_of(HOUSE, [], mixed).events)
    times = [datetime.fromisoformat(event["eventTime"]) for event in events]
    assert times == sorted(times)
    assert datetime.fromisoformat(document(events)["creationDate"]) == times[-1]


@given(st.text(min_size=1, max_size=12), st.text(min_size=1, max_size=12))
def test_names_stay_apart(one, other):
    """Two lots have two identifiers, whatever their names, and each is a URI."""
    assert (HOUSE.uri("lot", one) == HOUSE.uri("lot", other)) == (one == other)
    assert URI.fullmatch(HOUSE.uri("lot", one))


def test_identifiers_are_fixed():
    """They must never change: RFC 9562 gives this UUID (version 5) for the name "O=…" among X.500 names.

    Worked by hand: SHA-1 over the namespace 6ba7b814-9dad-11d1-80b4-00c04fd430c8 (appendix C there) and the name.
    """
    assert HOUSE.uri("lot", "C9/1").split("#") == ["urn:uuid:1e149527-6cce-534f-a603-bb0e3d1128fc", "lot/C9/1"]
    assert House("Another house", "UTC").uri("lot", "C9/1") != HOUSE.uri("lot", "C9/1")
