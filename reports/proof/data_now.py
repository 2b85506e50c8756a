"""The data that a document would carry if it were made from the book as it is now."""

import json
from datetime import date
from typing import Any

import rfc8785

from gaugebook.checks.flags.freshness import require_checked
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.profile_in_force import profile_in_force


def data_of(book: Book, what: str, subject: str) -> dict[str, Any]:
    """Data of a kind of document and its subject.

    Raises
    ------
    GaugebookError
        If the book does not hold what it is about, or knows no such kind of document.
    """
    from gaugebook.reports.accounts.account import gather_account
    from gaugebook.reports.accounts.account_data import account_data
    from gaugebook.reports.accounts.inventory import gather_inventory
    from gaugebook.reports.accounts.inventory_document import inventory_data
    from gaugebook.reports.dossier.batch import gather_batch
    from gaugebook.reports.dossier.dossier_data import canonical, dossier_data

    if what == "dossier":
        require_checked(book)
        of_dossier: dict[str, Any] = json.loads(
            canonical(dossier_data(gather_batch(book, profile_in_force(book), subject)))
        )
        return of_dossier
    if what == "account":
        account = gather_account(book, profile_in_force(book), _first_day(subject))
        of_account: dict[str, Any] = json.loads(rfc8785.dumps(account_data(account)))
        return of_account
    if what == "inventory":
        counted = gather_inventory(book, profile_in_force(book), date.fromisoformat(subject))
        of_inventory: dict[str, Any] = json.loads(rfc8785.dumps(inventory_data(counted)))
        return of_inventory
    raise UnknownRecord(f'No document of the kind "{what}" is known.')


def _first_day(month: str) -> date:
    try:
        return date.fromisoformat(f"{month}-01")
    except ValueError as error:
        raise UnknownRecord(f'No account of "{month}" can be made: expected a month such as 2026-03.') from error
