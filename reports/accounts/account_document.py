"""The alcohol account as a document: pages with the data inside, and what the register is to say of it."""

from hashlib import sha256

import rfc8785

from gaugebook.reports.accounts.account import Account, account_html
from gaugebook.reports.accounts.account_data import account_data, attachments
from gaugebook.reports.page import pages
from gaugebook.reports.page.documents import Document


def account_document(account: Account) -> Document:
    """Dated by the account's last entry, so the same book gives the same bytes."""
    content = rfc8785.dumps(account_data(account))
    digest = sha256(content).hexdigest()
    paper, attached = account.house.documents.paper, attachments(account, content)
    pdf = pages.pdf(account_html(account, digest), account.dated, paper, attached)
    month = f"{account.month:%Y-%m}"
    return Document("account", month, f"account-{month}.pdf", pdf, digest, account.register_head)
