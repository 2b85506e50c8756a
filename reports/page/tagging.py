"""What reading software needs to know of a page and WeasyPrint does not write, so that the file keeps PDF/UA-1.

Clauses are those of ISO 14289-1:2014. WeasyPrint calls `finish` with all objects at hand, before it writes the file.
"""

from collections.abc import Iterator
from typing import Any, TypeAlias

import pydyf

from gaugebook.reports.page.language import RULES_IN

_Element: TypeAlias = Any  # of pydyf, which has no types
_PAGINATION = pydyf.Dictionary({"Type": "/Pagination"})
# ISO 14289-1, 5 asks for the first; ISO 19005-3, 6.6.2.3.1 asks that a schema it does not know is described.
_UA_CLAIM = b"""<rdf:Description xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" rdf:about="">
<pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"
 rdf:about=""><pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix><pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name><pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 that the file keeps</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
"""


def finish(document: Any, pdf: pydyf.PDF) -> None:
    """Add to the tags of a finished page what PDF/UA asks for.

    Heads of tables get their scope (7.5); running heads and feet become artifacts (7.8); a link is one annotation in
    one link element (7.18.5), where WeasyPrint gives each box inside it one more; the metadata claim the standard (5).
    The only `span` elements of our pages are passages in the language of the rule book (see `Language.marked`), so a
    Span that holds other elements is one (7.2).
    """
    tree = _Tree(pdf)
    for item in tree.elements:
        if item["S"] == "/TH":
            item["A"]["Scope"] = "/Column" if tree.is_in_head(item) else "/Row"
        elif item["S"] == "/Span" and not any(isinstance(kid, int) for kid in item["K"]):
            item["Lang"] = pydyf.String(RULES_IN)
    for link in [item for item in tree.elements if item["S"] == "/Link"]:
        tree.leave_one_annotation(link)
    tree.make_artifacts_of_what_is_outside()
    metadata = tree.of[pdf.catalog["Metadata"]]
    metadata.stream = [b"".join(metadata.stream).replace(b"</rdf:RDF>", _UA_CLAIM + b"</rdf:RDF>", 1)]


class _Tree:
    """The structure of a file: its elements, those that hang on its root first."""

    def __init__(self, pdf: pydyf.PDF) -> None:
        self.of: dict[bytes, Any] = {item.reference: item for item in pdf.objects}
        self.root = self.of[pdf.catalog["StructTreeRoot"]]
        parents = self.of[self.root["ParentTree"]]["Nums"]
        self.parents: dict[int, Any] = dict(zip(parents[::2], parents[1::2], strict=True))
        self.elements = [item for item in pdf.objects if _is_element(item)]

    def is_in_head(self, cell: _Element) -> bool:
        """Whether a cell stands in the head of its table."""
        row = self.of[cell["P"]]
        return bool(self.of[row["P"]]["S"] == "/THead")

    def leave_one_annotation(self, link: _Element) -> None:
        """Take away the annotations of what is inside a link; its own covers them."""
        if not any(self._annotations(link)):
            return
        for item in self._below(link):
            for place in self._annotations(item):
                annotation = self.of[place["Obj"]]
                self.of[place["Pg"]]["Annots"].remove(annotation.reference)
                item["K"].remove(place.reference)
                del self.parents[annotation["StructParent"]]
                place.clear()
                annotation.clear()
            if item["S"] == "/Link":
                item["S"] = "/Span"

    def make_artifacts_of_what_is_outside(self) -> None:
        """What no way leads to from the root is drawn in the margins: it repeats on each page and is no content."""
        inside = {id(item) for item in self._below(self.root)}
        outside = [item for item in self.elements if id(item) not in inside]
        marked: dict[bytes, set[int]] = {}
        for item in outside:
            marked.setdefault(item["Pg"], set()).update(kid for kid in item["K"] if isinstance(kid, int))
            item.clear()
        for page, numbers in marked.items():
            self._unmark(self.of[page], numbers)
        nums = self.of[self.root["ParentTree"]]["Nums"]
        nums[:] = [part for pair in sorted(self.parents.items()) for part in pair]

    def _unmark(self, page: pydyf.Dictionary, numbers: set[int]) -> None:
        parts = self.of[page["Contents"]].stream
        for at, part in enumerate(parts):
            if isinstance(part, dict) and part.get("MCID") in numbers:
                parts[at - 1 : at + 1] = ["/Artifact", _PAGINATION]
        elements = self.parents[page["StructParents"]]
        for number in numbers:
            elements[number] = "null"

    def _below(self, item: _Element) -> Iterator[_Element]:
        waiting = [item]
        while waiting:
            kids = (self.of[kid] for kid in waiting.pop()["K"] if not isinstance(kid, int))
            for kid in kids:
                if _is_element(kid):
                    yield kid
                    waiting.append(kid)

    def _annotations(self, item: _Element) -> list[_Element]:
        kids = [self.of[kid] for kid in item["K"] if not isinstance(kid, int)]
        return [kid for kid in kids if kid.get("Type") == "/OBJR"]


def _is_element(item: Any) -> bool:
    return isinstance(item, pydyf.Dictionary) and item.get("Type") == "/StructElem"
