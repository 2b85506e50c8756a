"""The eventID of an event: a hash of what it says, by the Core Business Vocabulary 2.0 of GS1 (ISO/IEC 19988).

Whoever has the event can work out its eventID again, and one event that stands in two documents is seen to be one.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from typing import Any

CBV = "https://ref.gs1.org/cbv/"
QUANTITY_LISTS = ("quantityList", "inputQuantityList", "outputQuantityList")
# (list, name of an entry, class of its type) in the order in which the published digests have them
TYPED_LISTS = (
    ("bizTransactionList", "bizTransaction", "BTT"),
    ("destinationList", "destination", "SDT"),
    ("sourceList", "source", "SDT"),
)


def event_id(event: dict[str, Any]) -> str:
    """The eventID of an event, as a name by RFC 6920.

    Source: GS1 EPCIS event hash ID algorithm, CBV 2.0; see `pre_hash` for what of it is here.

    >>> event_id({"type": "ObjectEvent", "eventTime": "2026-01-14T12:00:00+01:00", "eventTimeZoneOffset": "+01:00"})
    'ni:///sha-256;12f694540569c5d721cbde1ba57724234c4f6110b74fba686f4d7cdbcf425f6c?ver=CBV2.0'
    """
    return f"ni:///sha-256;{sha256(pre_hash(event).encode()).hexdigest()}?ver=CBV2.0"


def pre_hash(event: dict[str, Any]) -> str:
    """What is hashed: every field that our events have, in the order of the standard.

    Fields that ours never have (single items by serial number are among those that it takes, as the published examples
    have them; sensors, certificates, instance data and extensions are not) would be left out of the hash.

    >>> pre_hash({"type": "ObjectEvent", "eventTime": "2026-01-14T12:00:00+01:00", "eventTimeZoneOffset": "+01:00"})
    'eventType=ObjectEventeventTime=2026-01-14T11:00:00.000ZeventTimeZoneOffset=+01:00'
    """
    return "".join(_parts(event))


def _parts(event: dict[str, Any]) -> Iterator[str]:
    yield f"eventType={event['type']}"
    yield f"eventTime={_in_utc(event['eventTime'])}"
    yield f"eventTimeZoneOffset={event['eventTimeZoneOffset']}"
    for name in ("epcList", "inputEPCList", "quantityList", "inputQuantityList", "outputEPCList", "outputQuantityList"):
        if event.get(name):
            entries = map(_quantity if name in QUANTITY_LISTS else "epc={}".format, event[name])
            yield name + "".join(sorted(entries))
    for name in ("action", "transformationID"):
        if name in event:
            yield f"{name}={event[name]}"
    for name, of_class in (("bizStep", "BizStep"), ("disposition", "Disp")):
        if name in event:
            yield f"{name}={_in_full(event[name], of_class)}"
    for name in ("readPoint", "bizLocation"):
        if name in event:
            yield f"{name}id={event[name]['id']}"
    for name, entry, of_class in TYPED_LISTS:
        if event.get(name):
            yield name + "".join(sorted(_typed(item, entry, of_class) for item in event[name]))


def _quantity(element: dict[str, Any]) -> str:
    quantity = f"quantity={_plain(element['quantity'])}" if "quantity" in element else ""
    uom = f"uom={element['uom']}" if "uom" in element else ""
    return f"quantityElementepcClass={element['epcClass']}{quantity}{uom}"


def _typed(item: dict[str, str], entry: str, of_class: str) -> str:
    of_type = f"type={_in_full(item['type'], of_class)}" if "type" in item else ""
    return f"{of_type}{entry}={item[entry]}"


def _in_full(word: str, of_class: str) -> str:
    """A word of the vocabulary by its address; what has an address already is somebody's own."""
    return word if ":" in word else f"{CBV}{of_class}-{word}"


def _plain(number: float) -> str:
    """A number without trailing zeros."""
    return str(int(number)) if number == int(number) else str(number)


def _in_utc(time: str) -> str:
    """A time to the millisecond; half of one is rounded up."""
    at = datetime.fromisoformat(time).astimezone(UTC) + timedelta(microseconds=500)
    return f"{at:%Y-%m-%dT%H:%M:%S}.{at.microsecond // 1000:03d}Z"
