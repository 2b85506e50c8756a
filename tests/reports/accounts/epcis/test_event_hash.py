"""The eventID against examples that were published with their digests.

Source: the examples of the reference implementation of the EPCIS event hash ID of CBV 2.0 (public repository
RalphTro/epcis-event-hash-generator, tests/examples, files *.prehashes and *.hashes). Identifiers stand here as they
stand in the hashed text there: web addresses.
"""

import pytest

from gaugebook.reports.accounts.epcis.event_hash import event_id, pre_hash

ID = "https://id.gs1.org"
PUBLISHED = {
    # epcisDocWithSingleEvent: a document without a source or destination
    "ffa491b16867e34a7791a8d5389d826afc24e63a121026b6a4004ace38631b4b": {
        "type": "ObjectEvent", "eventTime": "2022-02-16T20:33:31.116-06:00", "eventTimeZoneOffset": "-06:00",
        "epcList": [f"{ID}/01/10614141073464/21/2018", f"{ID}/01/10614141073464/21/2017"], "action": "OBSERVE",
        "bizStep": "shipping", "disposition": "in_transit", "readPoint": {"id": f"{ID}/414/0614141073467/254/1234"},
        "bizTransactionList": [{"type": "po", "bizTransaction": "http://transaction.acme.com/po/12345678"}],
    },
    # epcisDocWithShippingAndTransportingEvent, the first: document, source and destination
    "7a82a68b0f9c78bebb1c729d950edbf1fd40c56f3351906020d2d67d5dffbc72": {
        "type": "ObjectEvent", "eventTime": "2022-02-16T12:50:00.000+01:00", "eventTimeZoneOffset": "+01:00",
        "epcList": [f"{ID}/00/140123451122233341"], "action": "OBSERVE", "bizStep": "departing",
        "readPoint": {"id": f"{ID}/414/4012345000221"},
        "bizTransactionList": [{"type": "desadv", "bizTransaction": "urn:epcglobal:cbv:bt:4012345000009:ASN1099"}],
        "sourceList": [{"type": "possessing_party", "source": f"{ID}/417/4012345000009"}],
        "destinationList": [{"type": "possessing_party", "destination": f"{ID}/417/4023333000000"}],
    },
    # epcisDocWith2DifferentTransformationEvents, the first: 2019-09-10T08:40:21.3142715Z, cut to microseconds here
    "81d77913ba5f798c51ab0b17b097d8365ca9b250b62c9a089d23ffea5a31812d": {
        "type": "TransformationEvent", "eventTime": "2019-09-10T08:40:21.314271Z", "eventTimeZoneOffset": "+02:00",
        "inputEPCList": [f"{ID}/01/04047111123453/21/1111", f"{ID}/01/04047111123453/21/2222"],
        "outputEPCList": [f"{ID}/01/04047111123453/21/3333"], "bizStep": "repairing", "disposition": "damaged",
    },
    # epcisDocWithVariousEventTypes, the tenth: a quantity with its unit, and a location
    "b741a543ea0b2a4c4bdb3441c7dc196b41710e5b2c9870b211fac8d6d4c93427": {
        "type": "TransactionEvent", "eventTime": "2019-10-21T12:58:56.591Z", "eventTimeZoneOffset": "+02:00",
        "quantityList": [{"epcClass": f"{ID}/01/04012345999884/10/2014-02-10", "quantity": 2030.0, "uom": "KGM"}],
        "action": "ADD", "bizStep": "holding", "readPoint": {"id": f"{ID}/414/4012345000252"},
        "bizLocation": {"id": f"{ID}/414/4012345000023"},
        "bizTransactionList": [{"type": "inv", "bizTransaction": "urn:epcglobal:cbv:bt:4012345123456:RE1099"}],
    },
    # the same file, the thirteenth: what came of a transformation, by count, and a step by its own address
    "756558aa09b2d38c6bcb6e50eab2fcbebd9bde17362a7c4f4686a5d7f5fb013f": {
        "type": "TransformationEvent", "eventTime": "2019-10-21T12:58:56.591Z", "eventTimeZoneOffset": "+02:00",
        "inputEPCList": [f"{ID}/01/04000001654321/21/99886655", f"{ID}/01/04012345111224/21/25"],
        "outputQuantityList": [{"epcClass": f"{ID}/01/04054739999025/10/P20131121", "quantity": 9520}],
        "transformationID": f"{ID}/253/40123455555541234",
        "bizStep": "http://epcis.example.com/user/vocab/bizstep/exampling",
        "readPoint": {"id": f"{ID}/414/4012345000016"},
    },
    # TimeStampRoundOff, the first: 2023-02-02T11:04:03.1415Z is rounded up
    "af7658e711574363633f20b3dadc7bc4c13c6f612cf96d95e03c421c0e58f3c6": {
        "type": "ObjectEvent", "eventTime": "2023-02-02T11:04:03.1415Z", "eventTimeZoneOffset": "+01:00",
        "epcList": [f"{ID}/00/040123451111111110"], "action": "OBSERVE", "bizStep": "shipping",
        "disposition": "in_transit", "readPoint": {"id": f"{ID}/414/4012345000115"},
    },
}  # fmt: skip


@pytest.mark.parametrize("digest", PUBLISHED)
def test_the_published_digest(digest):
    """Each published event has the digest that was published with it."""
    assert event_id(PUBLISHED[digest]) == f"ni:///sha-256;{digest}?ver=CBV2.0"


def test_the_order_of_lots_says_nothing():
    """Lists are sorted: the same lots in another order are the same event, another quantity is another event."""
    lots = [{"epcClass": f"urn:x:{name}", "quantity": 1.5, "uom": "KGM"} for name in "abc"]
    event = {"type": "ObjectEvent", "eventTime": "2026-01-01T00:00:00Z", "eventTimeZoneOffset": "+00:00"}

    assert event_id(event | {"quantityList": lots}) == event_id(event | {"quantityList": lots[::-1]})
    assert event_id(event | {"quantityList": lots}) != event_id(event | {"quantityList": lots[:2]})


def test_numbers_have_no_trailing_zeros():
    """ "A quantity of one SHALL be expressed as '1', and SHALL NOT be expressed as '1.0'" (the algorithm, rule 6)."""
    event = {"type": "ObjectEvent", "eventTime": "2026-01-01T00:00:00Z", "eventTimeZoneOffset": "+00:00"}
    amounts = [{"epcClass": "urn:x:a", "quantity": 1.0}, {"epcClass": "urn:x:b", "quantity": 0.3434}]

    assert pre_hash(event | {"quantityList": amounts}).endswith(
        "quantityListquantityElementepcClass=urn:x:aquantity=1quantityElementepcClass=urn:x:bquantity=0.3434"
    )
