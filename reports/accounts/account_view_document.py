"""One view of the account as a document: pages, data inside, what the register is to say of it."""

from hashlib import sha256
from typing import Any

import rfc8785

from gaugebook.pipeline.exported import exported_data
from gaugebook.reports.accounts.account import STATEMENT, proof_gallons
from gaugebook.reports.accounts.account_data import plain
from gaugebook.reports.accounts.account_goods import goods_table
from gaugebook.reports.accounts.account_views import VIEW_HEADS, AccountView, view_columns
from gaugebook.reports.page import pages, wording
from gaugebook.reports.page.documents import Document
from gaugebook.reports.page.pages import Attached
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

FORMAT = "gaugebook account view data 1"


def view_data(view: AccountView) -> dict[str, Any]:
    """Everything that the view shows, to eight digits; LPA."""
    about = {
        "format": FORMAT, "view": view.view, "month": f"{view.month:%Y-%m}", "house": view.house.name, "unit": "LPA",
        "software": software_version(), "register_head": view.register_head, "statement": STATEMENT,
    }  # fmt: skip
    names = ("rows", "total", "transfers", "goods", "elements")
    exported: dict[str, Any] = exported_data(plain({"about": about} | {name: getattr(view, name) for name in names}))
    return exported


def view_document(view: AccountView) -> Document:
    """Dated by the last entry of the account, so the same book gives the same bytes."""
    content = rfc8785.dumps(view_data(view))
    digest = sha256(content).hexdigest()
    month = f"{view.month:%Y-%m}"
    page = pages.html(
        "account_view.html.jinja", view.house.time_zone, house=view.house, view=view, month=month,
        columns=view_columns(view), heads=VIEW_HEADS, goods=goods_table(view.goods), in_proof_gallons=proof_gallons,
        statement=wording.unbroken(STATEMENT), data_sha256=digest, software=software_version(),
        rule_book=rule_files_sha256(),
    )  # fmt: skip
    attached = [Attached("account-view.json", content, "All data of this view; canonical JSON (RFC 8785)")]
    pdf = pages.pdf(page, view.dated, view.house.documents.paper, attached)
    name = f"account-{month}-{view.view}"
    return Document("account view", f"{month} {view.view}", f"{name}.pdf", pdf, digest, view.register_head)
