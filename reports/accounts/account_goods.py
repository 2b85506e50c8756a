"""Finished goods in the account, by product: on hand, filled, sent out, came back, sampled, destroyed."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

LINES = {  # of the account of finished goods, by their code, in their order
    "opening": "On hand at the beginning",
    "inventory": "Opening inventory",
    "bottled": "Bottled",
    "returned": "Came back",
    "dispatched": "Dispatched",
    "sampled": "Sampled",
    "destroyed": "Destroyed",
    "used": "Emptied into bulk again",
    "closing": "On hand at the end",
}


def line_name(row: dict[str, Any]) -> str:
    """A line in the words of the trade.

    >>> line_name({"line": "dispatched", "duty_status": "in bond"})
    'Dispatched, in bond'
    """
    return ", ".join(filter(None, (LINES[row["line"]], row["duty_status"])))


def goods_table(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """The lines product by product, and of several products those of all together.

    Parameters
    ----------
    rows : iterable of dict
        As account_goods.sql gives them.

    Returns
    -------
    list of dict
        product and lines: each with name, pieces and alcohol_l [LPA]; None where a part is not known.
    """
    by_product: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        by_product.setdefault(row["product"], []).append(row)
    tables = [{"product": product, "lines": [_line(row) for row in own]} for product, own in by_product.items()]
    if len(tables) > 1:
        tables.append(
            {"product": "All products", "lines": _summed([row for own in by_product.values() for row in own])}
        )
    return tables


def goods_total(rows: Iterable[dict[str, Any]], line: str) -> dict[str, Any]:
    """Pieces and litres of one line, all products and duty statuses together."""
    own = [row for row in rows if row["line"] == line]
    return {"pieces": _sum(own, "pieces"), "alcohol_l": _sum(own, "alcohol_l")}


def _line(row: dict[str, Any]) -> dict[str, Any]:
    return {"line": row["line"], "name": line_name(row), "pieces": row["pieces"], "alcohol_l": row["alcohol_l"]}


def _summed(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    kinds = dict.fromkeys((row["line"], row["duty_status"]) for row in rows)
    in_order = sorted(kinds, key=lambda kind: (list(LINES).index(kind[0]), kind[1] or ""))
    summed = []
    for line, duty_status in in_order:
        own = [row for row in rows if (row["line"], row["duty_status"]) == (line, duty_status)]
        sums = {"pieces": _sum(own, "pieces"), "alcohol_l": _sum(own, "alcohol_l")}
        summed.append(_line({"line": line, "duty_status": duty_status} | sums))
    return summed


def _sum(rows: list[dict[str, Any]], name: str) -> Any:
    values = [row[name] for row in rows]
    return None if any(value is None for value in values) else sum(values, Decimal(0) if name == "alcohol_l" else 0)
