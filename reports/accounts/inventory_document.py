"""The count sheet and the inventory as documents: pages, data inside, what the register is to say of them."""

from datetime import datetime
from hashlib import sha256
from typing import Any

import rfc8785

from gaugebook.pipeline.exported import exported_data
from gaugebook.pipeline.house.settings import House
from gaugebook.reports.accounts.account_data import plain
from gaugebook.reports.accounts.inventory import CAUTION, STATEMENT, Inventory
from gaugebook.reports.page import pages, wording
from gaugebook.reports.page.documents import Document
from gaugebook.reports.page.pages import Attached
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

FORMAT, DATA = "gaugebook inventory data 1", "inventory.json"


def inventory_data(inventory: Inventory) -> dict[str, Any]:
    """Everything that the inventory shows, to eight digits; LPA, times in UTC."""
    about = {
        "format": FORMAT, "day": inventory.day, "house": inventory.house.name, "software": software_version(),
        "time_zone": inventory.house.time_zone, "register_head": inventory.register_head, "statement": STATEMENT,
    }  # fmt: skip
    names = ("tanks", "casks", "goods", "counted_by", "unsigned", "without_lot")
    data = {"about": about} | {name: getattr(inventory, name) for name in names}
    exported: dict[str, Any] = exported_data(plain(data))
    return exported


def inventory_document(inventory: Inventory) -> Document:
    """Dated by the last count of the day, so the same book gives the same bytes."""
    content = rfc8785.dumps(inventory_data(inventory))
    digest = sha256(content).hexdigest()
    page = pages.html(
        "inventory.html.jinja", inventory.house.time_zone, house=inventory.house, inventory=inventory,
        day=f"{inventory.day}", statement=wording.unbroken(STATEMENT), caution=wording.unbroken(CAUTION),
        data_sha256=digest, software=software_version(), rule_book=rule_files_sha256(),
    )  # fmt: skip
    attached = [Attached(DATA, content, "All data of this inventory, to eight digits; canonical JSON (RFC 8785)")]
    pdf = pages.pdf(page, inventory.dated, inventory.house.documents.paper, attached)
    day = f"{inventory.day}"
    return Document("inventory", day, f"inventory-{day}.pdf", pdf, digest, inventory.register_head)


def sheet_pdf(house: House, rows: list[dict[str, Any]], moment: datetime) -> bytes:
    """The sheet to count with, for a moment (UTC)."""
    page = pages.html(
        "count_sheet.html.jinja", house.time_zone, house=house, rows=rows, moment=moment,
        statement=wording.unbroken(STATEMENT), caution=wording.unbroken(CAUTION),
        software=software_version(), rule_book=rule_files_sha256(),
    )  # fmt: skip
    return pages.pdf(page, moment, house.documents.paper)
