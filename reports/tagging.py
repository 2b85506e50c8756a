"""What reading software needs to know of a page and WeasyPrint does not write: scope of heads, language of passages."""

from typing import Any

import pydyf

from reports.language import RULES_IN


def finish(document: Any, pdf: pydyf.PDF) -> None:
    """Add to the tags of a finished page what PDF/UA asks for; WeasyPrint calls this before it writes the file.

    Every head of a table gets its scope. The only `span` elements of our pages are passages in the language of the rule
    book (see `Language.marked`), so a Span that holds other elements is one.
    """
    by_reference = {item.reference: item for item in pdf.objects if isinstance(item, pydyf.Dictionary)}
    for item in by_reference.values():
        if item.get("Type") != "/StructElem":
            continue
        if item["S"] == "/TH":
            item["A"]["Scope"] = "/Column" if _in_head(item, by_reference) else "/Row"
        elif item["S"] == "/Span" and not any(isinstance(kid, int) for kid in item["K"]):
            item["Lang"] = pydyf.String(RULES_IN)


def _in_head(cell: pydyf.Dictionary, by_reference: dict[bytes, pydyf.Dictionary]) -> bool:
    row = by_reference[cell["P"]]
    return by_reference[row["P"]]["S"] == "/THead"
