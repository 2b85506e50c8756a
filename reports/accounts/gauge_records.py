"""Gauge records: a page a gauge, numbered, with what was read, how it was corrected and what came of it."""

from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

import rfc8785

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.engineering.age import Age, age_between
from gaugebook.pipeline.engineering.us_proof import us_proof_from_strength
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.exported import exported_data
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.accounts.account import proof_gallons
from gaugebook.reports.accounts.account_data import plain
from gaugebook.reports.page import pages, wording
from gaugebook.reports.page.documents import Document
from gaugebook.reports.page.pages import Attached
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

HERE = Path(__file__).parent
FORMAT = "gaugebook gauge record data 1"
READINGS = {
    "alcoholmeter": ("glass alcoholmeter", "% vol"),
    "density": ("density", "kg/m³"),
    "pct_vol_20c": ("strength at 20 °C", "% vol"),
    "us_proof_60f": ("proof at 60 °F", "proof"),
    "us_proof_hydrometer": ("proof hydrometer", "proof"),
}
CAUTION = (
    "Spirit vapour is highly flammable: gauging needs ventilation and no source of ignition. Local codes, the excise "
    "rules and licensed practice decide how a gauge is made and recorded."
)


@dataclass(frozen=True)
class GaugeRecords:
    """The gauges asked for, in the order of their serial numbers."""

    house: House
    asked: str  # in words for the file's name: the month, run, lot or cask
    records: list[dict[str, Any]]
    register_head: str | None


def gather_gauge_records(
    book: Book, house: House, *, month: date | None = None, run: str | None = None, lot: str | None = None
) -> GaugeRecords:
    """The gauges of a month, of a run, or of a lot or cask.

    Raises
    ------
    UnknownRecord
        If there is none.
    """
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")
    every = book.frame((HERE / "gauge_records.sql").read_text(encoding="utf-8")).to_dicts()
    chosen = [
        corrected(row)
        for row in every
        if (month is None or row["month"] == month)
        and (run is None or row["run"] == run)
        and (lot is None or lot in (row["lot"], row["vessel"]))
    ]
    asked = f"{month:%Y-%m}" if month else run or lot or "all"
    if not chosen:
        raise UnknownRecord(f'The book has no gauge of alcohol of "{asked}".')
    head = register.state_head(book)
    return GaugeRecords(house, asked, chosen, head.own_sha256 if head else None)


def gauges_of_month(book: Book, house: House, month: date) -> list[Document]:
    """The records of a month as one document; none where nothing was gauged."""
    try:
        return [gauge_records_document(gather_gauge_records(book, house, month=month))]
    except UnknownRecord:
        return []


def corrected(row: dict[str, Any]) -> dict[str, Any]:
    """A gauge with its corrections, proof, wine and proof gallons, and how old the spirit then was.

    >>> row = {"volume_at_t_l": 200.0, "volume_l": 199.0, "reading_kind": "alcoholmeter", "strength_reading": 63.0,
    ...        "strength_pct_vol": 62.0, "alcohol_l": 123.38, "aged_from": date(2020, 3, 1),
    ...        "gauged_on": date(2024, 4, 3)}
    >>> record = corrected(row)
    >>> record["volume_factor"], record["strength_correction"], round(record["proof_gallons"], 1), record["age"]
    (0.995, -1.0, 64.9, '4 years, 1 month, 2 days')
    """
    strength, reading = row["strength_pct_vol"], row["strength_reading"]
    is_strength = row["reading_kind"] in ("alcoholmeter", "pct_vol_20c")
    known = strength is not None and 0.0 < strength <= 100.0
    proof = float(us_proof_from_strength(strength)) if known else None
    gallons = None if row["alcohol_l"] is None else proof_gallons(row["alcohol_l"])
    return row | {
        "volume_factor": row["volume_l"] / row["volume_at_t_l"] if row["volume_at_t_l"] and row["volume_l"] else None,
        "strength_correction": strength - reading if is_strength and known and reading is not None else None,
        "proof": proof,
        "proof_gallons": gallons,
        "wine_gallons": 100 * gallons / proof if gallons is not None and proof else None,  # 27 CFR 30.11
        "age": _age_in_words(row),
    }


def _age_in_words(row: dict[str, Any]) -> str | None:
    """Of the youngest part on the day of the gauge: in a cask to that day, in a tank as it left the wood."""
    age = None
    if row["aged_from"] is not None and row["gauged_on"] >= row["aged_from"]:
        age = age_between(row["aged_from"], row["gauged_on"])
    elif not row["is_cask"] and row["years"] is not None:
        age = Age(row["years"], row["months"], row["days"])
    if age is None:
        return None
    parts = {"year": age.years, "month": age.months, "day": age.days}
    return ", ".join(f"{number} {unit}{'' if number == 1 else 's'}" for unit, number in parts.items())


def gauge_records_document(asked: GaugeRecords) -> Document:
    """Dated by the last gauge, so the same book gives the same bytes."""
    about = {
        "format": FORMAT, "asked": asked.asked, "house": asked.house.name, "software": software_version(),
        "register_head": asked.register_head,
    }  # fmt: skip
    content = rfc8785.dumps(exported_data(plain({"about": about, "gauges": asked.records})))
    digest = sha256(content).hexdigest()
    page = pages.html(
        "gauge_record.html.jinja", asked.house.time_zone, house=asked.house, asked=asked, readings=READINGS,
        caution=wording.unbroken(CAUTION), data_sha256=digest, software=software_version(),
        rule_book=rule_files_sha256(),
    )  # fmt: skip
    attached = [Attached("gauges.json", content, "The gauges, to eight digits; canonical JSON (RFC 8785)")]
    dated = max((row["gauged_at"] for row in asked.records if row["gauged_at"]), default=datetime(2000, 1, 1))
    content_pdf = pages.pdf(page, dated, asked.house.documents.paper, attached)
    name = f"gauge-records-{pages.file_name(asked.asked)}.pdf"
    return Document("gauge records", asked.asked, name, content_pdf, digest, asked.register_head)
