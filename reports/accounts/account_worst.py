"""What of an account is worst, told before its totals: vessels below zero, stock not dipped, what is unexplained.

Each is told by sign, since a loss and a gain of the same size come to nought together and are two faults.
"""

from typing import TYPE_CHECKING, Any

from gaugebook.reports.page.figures import number, stated
from gaugebook.reports.page.wording import listed, plural

if TYPE_CHECKING:
    from gaugebook.reports.accounts.account import Account

_NAMED = 6  # vessels or lots told by name
_NO_ENTRY = {"lost_l": 0.0, "losses": 0, "gained_l": 0.0, "gains": 0}
Line = tuple[str, str]


def worst_first(account: "Account") -> list[Line]:
    """What the first page opens with: names and sentences, the worst first.

    Parameters
    ----------
    account : Account
        As gathered.

    Returns
    -------
    list of (str, str)
        Of vessels below zero, of what was not dipped, of what is unexplained, and of where dips and book part.
    """
    return [
        ("Below zero", _below_zero(account)),
        ("Not dipped", _not_dipped(account)),
        ("Unexplained", _unexplained(account)),
        ("Dips against the book", _dips(account.dips)),
    ]


def by_sign(account: "Account", entry: str) -> dict[str, Any]:
    """Losses and gains of an entry, "explained" or "unexplained", with how many they are."""
    return next((row for row in account.by_sign if row["entry"] == entry), _NO_ENTRY)


def _below_zero(account: "Account") -> str:
    vessels = [row for row in account.below_zero if row["lot"] is None]
    wrong = [row for row in vessels if _is_beyond(row)]
    vessels_named = {row["vessel"] for row in wrong}  # a lot that another one in its vessel covers is told by itself
    lots = [row for row in account.below_zero if row["lot"] and row["vessel"] not in vessels_named and _is_beyond(row)]
    sentences = []
    if wrong:
        sentences.append(f"{plural(len(wrong), 'vessel')}: {_amounts(wrong, 'vessel')}.")
    if lots:
        sentences.append(f"{plural(len(lots), 'lot')} in vessels that others fill up: {_amounts(lots, 'lot')}.")
    if sentences:
        sentences.append("A draw or a gauge is booked wrongly, and the sums below hold it.")
    if within := [row for row in vessels if not _is_beyond(row)]:
        sentences.append(f"Within what gauging can tell: {_amounts(within, 'vessel')}.")
    return " ".join(sentences) or "No vessel, and no lot in one."


def _amounts(rows: list[dict[str, Any]], name: str) -> str:
    amounts = [f"{row[name]} {stated(float(row['closing_l']), row['u_closing_l'], 'LPA')}" for row in rows[:_NAMED]]
    rest = [f"{len(rows) - _NAMED} more"] if len(rows) > _NAMED else []
    return listed(amounts + rest)


def _is_beyond(row: dict[str, Any]) -> bool:
    return -float(row["closing_l"]) > 2 * (row["u_closing_l"] or 0.0)


def not_dipped(account: "Account") -> tuple[float, float]:
    """What the book holds in vessels that the month's last stocktake did not measure, and all that it holds [LPA]."""
    held = float(sum(row["closing"] for row in account.rows if row["is_vessel"]))
    if not any(dip["dipped_at"] for dip in account.dips):
        return held, held
    return float(sum(dip["book_l"] for dip in account.dips if dip["dip_l"] is None)), held


def _not_dipped(account: "Account") -> str:
    unknown, held = not_dipped(account)
    if not any(dip["dipped_at"] for dip in account.dips):
        return f"All of the {number(held, 2)} LPA in vessels: no dip is on record in this month."
    lots = [dip for dip in account.dips if dip["dip_l"] is None and dip["book_l"]]
    if not lots:
        return "Nothing: every lot in a vessel was dipped."
    share = f", {number(100 * unknown / held, 0)} %" if held > 0 else ""
    vessels = plural(len({dip["vessel"] for dip in lots}), "vessel")
    return (
        f"{number(unknown, 2)} of the {number(held, 2)} LPA in vessels{share}: {plural(len(lots), 'lot')} in {vessels} "
        "that the book alone vouches for."
    )


def _unexplained(account: "Account") -> str:
    row = by_sign(account, "unexplained")
    if not row["losses"] and not row["gains"]:
        return "Nothing was lost or gained beyond what is usual or gauging can tell."
    lost = f"Lost {number(float(row['lost_l']), 2)} LPA in {plural(row['losses'], 'entry', 'entries')}"
    gained = f"gained {number(float(row['gained_l']), 2)} LPA in {plural(row['gains'], 'entry', 'entries')}"
    return f"{lost}; {gained}."


def _dips(dips: list[dict[str, Any]]) -> str:
    sentences = []
    for word in ("Short", "over"):
        rows = [dip for dip in dips if dip["finding"] == word.lower()]
        total = number(sum(abs(dip["difference_l"]) for dip in rows), 2)
        sentences.append(f"{word} by {total} LPA in {plural(len(rows), 'lot')}" if rows else f"{word} in no lot")
    if not any(dip["dipped_at"] for dip in dips):
        return "There is nothing to compare."
    unread = sum(dip["finding"] == "not computed" for dip in dips)
    more = f"; {plural(unread, 'dip')} could not be computed" if unread else ""
    return f"{sentences[0]}; {sentences[1]}{more}, beyond what the gauges can tell."
