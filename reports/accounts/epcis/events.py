"""Runs, and what befell lots outside of runs, as events of GS1 EPCIS 2.0 (ISO/IEC 19987).

Identifiers: the house is the UUID of its name, and everything of it a fragment of that (docs/decisions, page on EPCIS).
Quantities carry codes of UN/CEFACT Recommendation 20; what is counted has none, as the standard wants it.
"""

import json
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import quote

from gaugebook.pipeline.exported import exported
from gaugebook.reports.accounts.epcis.event_hash import event_id
from gaugebook.reports.page.figures import local

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
# by the basis of a lot: what its quantity is stated in, the first that is known
BY_BASIS = {
    "LPA": ("alcohol_l", "volume_l", "mass_kg"),
    "L": ("volume_l", "mass_kg"),
    "kg": ("mass_kg", "volume_l"),
    "pieces": ("volume_l", "mass_kg"),
}
UNECE = {"alcohol_l": "LPA", "volume_l": "LTR", "mass_kg": "KGM"}  # Recommendation 20: litre of pure alcohol, litre, kg


@dataclass(frozen=True)
class Amount:
    """So much of a lot; NULL is what is not known."""

    lot: str
    basis: str
    pieces: float | None
    alcohol_l: float | None
    volume_l: float | None
    mass_kg: float | None


@dataclass(frozen=True)
class Run:
    """A run with all that it drew and made; `at` is NULL where nothing says when."""

    run: str
    at: datetime | None
    equipment: str | None
    drawn: tuple[Amount, ...]
    produced: tuple[Amount, ...]


@dataclass(frozen=True)
class Happening:
    """What befell a lot outside of runs: received, opening, bottled, dispatched, returned, sampled, destroyed, lost."""

    kind: str
    at: datetime
    vessel: str | None
    party: str | None
    document: str | None
    amount: Amount


@dataclass(frozen=True)
class Told:
    """What an ObjectEvent says of a kind of happening, in words of the Core Business Vocabulary."""

    action: str
    step: str
    disposition: str | None = None
    party_is: str | None = None  # source or destination
    document_is: str | None = None  # what kind of document, where the record means one kind
    stays: bool = True  # at the house afterwards


TOLD = {
    "received": Told("OBSERVE", "receiving", party_is="source"),
    "opening": Told("OBSERVE", "stock_taking"),
    "bottled": Told("ADD", "commissioning", "active"),
    "dispatched": Told("OBSERVE", "shipping", "in_transit", party_is="destination", document_is="desadv", stays=False),
    "returned": Told("OBSERVE", "receiving", "returned", party_is="source"),
    "sampled": Told("DELETE", "sampling", party_is="destination", stays=False),
    "destroyed": Told("DELETE", "destroying", "destroyed", stays=False),
    "lost": Told("DELETE", "other", stays=False),  # the vocabulary has no word for a leak
}


@dataclass(frozen=True)
class Events:
    """Events in the order of time, and what could not become one, with the reason."""

    events: list[dict[str, Any]]
    left_out: list[str]


class House:
    """Names of a house as URIs, and its calendar."""

    def __init__(self, name: str, zone: str) -> None:
        self.zone = zone
        self._urn = uuid.uuid5(uuid.NAMESPACE_X500, f"O={name}").urn

    def uri(self, kind: str, name: str) -> str:
        """A lot, run, place, document or party of the house.

        >>> House("House of the tests (invented)", "UTC").uri("lot", "C9/1")
        'urn:uuid:...#lot/C9/1'
        """
        return f"{self._urn}#{kind}/{quote(name, safe='/')}"

    def begun(self, type_of_event: str, at: datetime) -> dict[str, Any]:
        """What every event begins with: type, and time in the house's zone with its offset."""
        there = local(at, self.zone).isoformat(timespec="milliseconds")
        return {"type": type_of_event, "eventTime": there, "eventTimeZoneOffset": there[-6:]}

    def where(self, place: str | None, stays: bool) -> dict[str, Any]:
        """Where it happened, a still, tank or cask, else the site; and the site where things are at it afterwards."""
        site = {"id": f"{self._urn}#site"}
        read_point = {"id": self.uri("place", place)} if place else site
        return {"readPoint": read_point} | ({"bizLocation": site} if stays else {})

    def quantities(self, amounts: Iterable[Amount]) -> list[dict[str, Any]]:
        """Lots with their quantities, in the order of their names; a quantity that is not known is left out."""
        return [self._quantity(amount) for amount in sorted(amounts, key=lambda amount: amount.lot)]

    def _quantity(self, amount: Amount) -> dict[str, Any]:
        element: dict[str, Any] = {"epcClass": self.uri("lot", amount.lot)}
        if amount.pieces is not None:
            return element | {"quantity": _number(amount.pieces)}
        for name in BY_BASIS[amount.basis]:
            value = getattr(amount, name)
            if value is not None:
                return element | {"quantity": _number(value), "uom": UNECE[name]}
        return element


def events_of(house: House, runs: Iterable[Run], happenings: Iterable[Happening]) -> Events:
    """Every run that has a time, and every happening, as events; the same records give the same events."""
    events: dict[str, dict[str, Any]] = {}
    left_out: list[str] = []
    for run in runs:
        if run.at is None:
            left_out.append(f"run {run.run}: no record says when it ended or was gauged")
        else:
            _keep(events, _transformation(house, run, run.at))
    for happening in happenings:
        if not _keep(events, _observation(house, happening)):
            left_out.append(
                f"lot {happening.amount.lot}, {happening.kind} {happening.at:%Y-%m-%d %H:%M} UTC: another record says "
                "exactly the same, and events that say the same are one"
            )
    in_time = sorted(events.values(), key=lambda event: (datetime.fromisoformat(event["eventTime"]), event["eventID"]))
    return Events(in_time, sorted(left_out))


def document(events: list[dict[str, Any]]) -> dict[str, Any]:
    """The events as an EPCISDocument, dated by the last of them, so that the same book gives the same bytes."""
    return {
        "@context": [CONTEXT],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": events[-1]["eventTime"],
        "epcisBody": {"eventList": events},
    }


def document_bytes(events: list[dict[str, Any]]) -> bytes:
    """The document as a file: JSON in UTF-8, one field a line."""
    return (json.dumps(document(events), indent=1, ensure_ascii=False) + "\n").encode()


def _keep(events: dict[str, dict[str, Any]], event: dict[str, Any]) -> bool:
    """Whether the event is new; it is then kept under its eventID."""
    name = event_id(event)
    is_new = name not in events
    if is_new:
        events[name] = {"eventID": name} | event
    return is_new


def _transformation(house: House, run: Run, at: datetime) -> dict[str, Any]:
    """A run; one at work has no output yet, which a transformationID allows (EPCIS 2.0, TransformationEvent)."""
    event = house.begun("TransformationEvent", at)
    if run.drawn:
        event["inputQuantityList"] = house.quantities(run.drawn)
    if run.produced:
        event["outputQuantityList"] = house.quantities(run.produced)
    event |= {"transformationID": house.uri("run", run.run), "bizStep": "creating_class_instance"}
    if run.produced:
        event["disposition"] = "active"
    return event | house.where(run.equipment, stays=True)


def _observation(house: House, happening: Happening) -> dict[str, Any]:
    meaning = TOLD[happening.kind]
    event = house.begun("ObjectEvent", happening.at)
    event |= {"action": meaning.action, "quantityList": house.quantities([happening.amount]), "bizStep": meaning.step}
    if meaning.disposition:
        event["disposition"] = meaning.disposition
    event |= house.where(happening.vessel, meaning.stays)
    if happening.document:
        document_is = {"type": meaning.document_is} if meaning.document_is else {}
        event["bizTransactionList"] = [document_is | {"bizTransaction": house.uri("document", happening.document)}]
    if meaning.party_is and happening.party:
        party = {"type": "possessing_party", meaning.party_is: house.uri("party", happening.party)}
        event[f"{meaning.party_is}List"] = [party]
    return event


def _number(value: float) -> float:
    """A figure as it is exported; whole ones without a point."""
    rounded = exported(value)
    return int(rounded) if rounded == int(rounded) else rounded
