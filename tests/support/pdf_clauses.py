"""Clauses of PDF/A-3 (ISO 19005-3) and PDF/UA-1 (ISO 14289-1) that a file's structure can be asked for, one by one.

Clause numbers are those of the published rule sets for checkers of the two standards. What is not asked here: that
every rendered glyph has a sensible Unicode value and width, that the reading order makes sense, colour contrast, and
that words standing in the place of a figure say what it shows.
"""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from io import BytesIO
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
A_ID, UA_ID = "{http://www.aiim.org/pdfa/ns/id/}", "{http://www.aiim.org/pdfua/ns/id/}"
FORBIDDEN = {
    "/JavaScript", "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData", "/Hide", "/SetOCGState", "/Rendition",
    "/Trans", "/GoTo3DView",
}  # fmt: skip


def faults(content: bytes) -> dict[str, str]:
    """Clause -> what is wrong; empty where all hold."""
    by_clause = dict(_file(content))
    with pikepdf.open(BytesIO(content)) as document:
        for check in _CHECKS:
            by_clause |= dict(check(document))
    return by_clause


def _file(content: bytes) -> Iterator[tuple[str, str]]:
    if not re.match(rb"%PDF-1\.[0-7]\n%[\x80-\xff]{4}", content):
        yield "A 6.1.2", "header"
    if not content.rstrip(b"\r\n").endswith(b"%%EOF"):
        yield "A 6.1.3 end", "something after the last end-of-file marker"


def _metadata(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    trailer = document.trailer
    if "/ID" not in trailer or "/Encrypt" in trailer:
        yield "A 6.1.3", "trailer without ID, or encrypted"
    xmp = bytes(document.Root.Metadata.read_bytes())
    xmp.decode("utf-8")
    rdf = ET.fromstring(xmp[xmp.index(b"<x:xmpmeta") : xmp.index(b"<?xpacket end")]).findall(f".//{RDF}RDF")
    if len(rdf) != 1 or document.Root.Metadata.get("/Type") != Name.Metadata:
        yield "A 6.6.2.1", "metadata"
    properties: dict[str, str] = {}
    for about in rdf[0]:
        properties |= about.attrib | {item.tag: (item.text or "").strip() for item in about}
    if (properties.get(f"{A_ID}part"), properties.get(f"{A_ID}conformance")) != ("3", "U"):
        yield "A 6.6.4", "PDF/A identification"
    if properties.get(f"{UA_ID}part") != "1":
        yield "UA 5", "PDF/UA identification"
    described = rdf[0].findall(".//{http://www.aiim.org/pdfa/ns/schema#}namespaceURI")
    if "http://www.aiim.org/pdfua/ns/id/" not in {item.text for item in described}:
        yield "A 6.6.2.3", "the schema of that identification is not described"
    title = rdf[0].find(".//{http://purl.org/dc/elements/1.1/}title")
    if title is None or not "".join(title.itertext()).strip():
        yield "UA 7.1 title", "no dc:title"
    for info, tag in (
        ("/Title", None),
        ("/Author", None),
        ("/CreationDate", "{http://ns.adobe.com/xap/1.0/}CreateDate"),
    ):
        if info not in document.docinfo or (tag and tag not in properties):
            yield "A 6.6.3", f"{info} is not in both places"


def _colour(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    intents = document.Root.OutputIntents
    profiles = {intent.DestOutputProfile.objgen for intent in intents}
    if len(profiles) != 1 or intents[0].S != Name.GTS_PDFA1 or intents[0].DestOutputProfile.N != 3:
        yield "A 6.2.3", "not one output intent with an RGB profile"
    for item in document.objects:
        is_image = isinstance(item, Stream) and item.get("/Subtype") == Name.Image
        if is_image and item.get("/ColorSpace") == Name.DeviceCMYK:
            yield "A 6.2.4.3", "an image in CMYK under an RGB intent"
        if isinstance(item, Stream) and "/F" in item:
            yield "A 6.1.7.1", "a stream outside the file"
    for operator, _ in _operators(document):
        if operator in ("K", "k"):
            yield "A 6.2.4.3", "CMYK colour under an RGB intent"


def _fonts(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    for item in document.objects:
        if not isinstance(item, Dictionary):
            continue
        files = {"/FontFile", "/FontFile2", "/FontFile3"} & set(item.keys())
        if item.get("/Type") == Name.FontDescriptor and not files:
            yield "A 6.2.11.4.1", f"font {item.FontName} is not embedded"
        if item.get("/Type") == Name.Font and item.get("/Subtype") == Name.Type0 and "/ToUnicode" not in item:
            yield "A 6.2.11.7", "a font without a way to Unicode"


def _actions(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    for item in document.objects:
        if isinstance(item, Dictionary) and (str(item.get("/S")) in FORBIDDEN or "/JS" in item or "/AA" in item):
            yield "A 6.5.1", f"action {item.get('/S')}"
    if "/OpenAction" in document.Root or "/AA" in document.Root:
        yield "A 6.5.2", "an action on opening"


def _attachments(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    names = document.Root.Names.EmbeddedFiles.Names
    names_listed = [str(names[number]) for number in range(0, len(names), 2)]
    if names_listed != sorted(names_listed):
        yield "7.9.6", "the name tree of attachments is not sorted"
    associated = {item.objgen for item in document.Root.AF}
    for number in range(1, len(names), 2):
        spec = names[number]
        if not {"/F", "/UF", "/AFRelationship", "/Desc"} <= set(spec.keys()) or spec.objgen not in associated:
            yield "A 6.8", f"{spec.get('/F')}: name, relationship or association is missing"
        if not re.fullmatch(r"/\w+/[\w.+-]+", str(spec.EF.F.get("/Subtype"))):
            yield "A 6.8 type", f"{spec.F}: media type {spec.EF.F.get('/Subtype')}"


def _tags(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    root = document.Root
    if not root.MarkInfo.get("/Marked") or root.MarkInfo.get("/Suspects"):
        yield "UA 6.2", "not marked, or suspect"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "UA 7.1", "the title is not displayed"
    if "/StructTreeRoot" not in root:
        yield "UA 7.1 tree", "no structure"
        return
    if not str(root.get("/Lang", "")):
        yield "UA 7.2", "no language"
    levels = [int(str(item.S)[2]) for item in _elements(root.StructTreeRoot) if re.fullmatch(r"/H[1-6]", str(item.S))]
    jumps = [(level, two) for level, two in zip([0, *levels], levels, strict=False) if two > level + 1]
    if jumps:
        yield "UA 7.4.2", f"heads leave out a level: {jumps[:3]}"
    if any(str(item.S) == "/H" for item in _elements(root.StructTreeRoot)):
        yield "UA 7.4.4", "heads with and without a level"
    for page in document.pages:
        if page.obj.get("/Annots") and page.obj.get("/Tabs") != Name.S:
            yield "UA 7.18.3", "order of annotations is not that of the structure"


def _figures_and_tables(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    allowed = {
        "/Table": {"/TR", "/THead", "/TBody", "/TFoot", "/Caption"}, "/TR": {"/TH", "/TD"},
        "/THead": {"/TR"}, "/TBody": {"/TR"}, "/L": {"/LI", "/Caption"}, "/LI": {"/Lbl", "/LBody"},
    }  # fmt: skip
    for item in _elements(document.Root.StructTreeRoot):
        kind = str(item.S)
        if kind == "/Figure" and not str(item.get("/Alt", "")) and not str(item.get("/ActualText", "")):
            yield "UA 7.3", "a figure without words in its place"
        if kind == "/TH" and not any("/Scope" in part for part in _attributes(item)):
            yield "UA 7.5", "a head of a table without scope"
        wrong = {str(kid.S) for kid in _kids(item)} - allowed.get(kind, set()) if kind in allowed else set()
        if wrong:
            yield "UA 7.2 nesting", f"{kind} holds {sorted(wrong)}"
        if kind == "/Table":
            widths = {sum(_span(cell, "/ColSpan") for cell in _kids(row)) for row in _rows(item)}
            rowspans = any(_span(cell, "/RowSpan") > 1 for row in _rows(item) for cell in _kids(row))
            if len(widths) > 1 and not rowspans:
                yield "UA 7.2 grid", f"rows of a table are {sorted(widths)} cells wide"


def _content(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    """All content is inside a marked sequence: tagged, or an artifact."""
    painting = {"Tj", "TJ", "'", '"', "S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "sh", "Do", "EI", "INLINE IMAGE"}
    for number, page in enumerate(document.pages, start=1):
        depth, unmarked = 0, 0
        for _, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name in ("BMC", "BDC"):
                depth += 1
            elif name == "EMC":
                depth -= 1
            elif name in painting and not depth:
                unmarked += 1
        if unmarked:
            yield "UA 7.1 content", f"page {number}: {unmarked} things are neither tagged nor an artifact"


def _heads(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    """What is tagged hangs on the structure, and what the margins repeat on every page is an artifact of pagination."""
    tagged = {
        (item.Pg.objgen, kid)
        for item in _elements(document.Root.StructTreeRoot)
        for kid in _all_kids(item)
        if isinstance(kid, int)
    }
    for number, page in enumerate(document.pages, start=1):
        paginated = 0
        for operands, operator in pikepdf.parse_content_stream(page):
            properties = operands[1] if str(operator) == "BDC" else {}
            if "/MCID" in properties and (page.obj.objgen, int(properties.MCID)) not in tagged:
                yield "UA 7.1 tagged", f"page {number}: content {properties.MCID} is in no element of the structure"
            paginated += properties.get("/Type") == "/Pagination"
        if not paginated:
            yield "UA 7.8", f"page {number}: running heads are no artifacts"


def _links(document: pikepdf.Pdf) -> Iterator[tuple[str, str]]:
    in_links = {
        kid.Obj.objgen
        for item in _elements(document.Root.StructTreeRoot)
        for kid in _all_kids(item)
        if isinstance(kid, Dictionary) and kid.get("/Type") == Name.OBJR and str(item.S) == "/Link"
    }
    for page in document.pages:
        for note in page.obj.get("/Annots", []):
            if not note.get("/F", 0) & 4 or note.get("/F", 0) & 3:
                yield "A 6.3.2", "an annotation that is not printed"
            if note.get("/Subtype") == Name.Link and note.objgen not in in_links:
                yield "UA 7.18.5", "a link that is in no link element"
            if note.get("/Subtype") == Name.Link and not str(note.get("/Contents", "")):
                yield "UA 7.18.5 words", "a link without words in its place"


def _operators(document: pikepdf.Pdf) -> Iterator[tuple[str, Any]]:
    for page in document.pages:
        for operands, operator in pikepdf.parse_content_stream(page):
            yield str(operator), operands


def _elements(node: Any) -> Iterator[Any]:
    for kid in _kids(node):
        yield kid
        yield from _elements(kid)


def _all_kids(node: Any) -> list[Any]:
    kids = node.get("/K", [])
    return list(kids) if isinstance(kids, Array) else [kids]


def _kids(node: Any) -> list[Any]:
    return [kid for kid in _all_kids(node) if isinstance(kid, Dictionary) and "/S" in kid]


def _rows(table: Any) -> list[Any]:
    return [item for item in _elements(table) if str(item.S) == "/TR"]


def _attributes(item: Any) -> list[Any]:
    attributes = item.get("/A", [])
    return list(attributes) if isinstance(attributes, Array) else [attributes]


def _span(cell: Any, name: str) -> int:
    return max((int(part[name]) for part in _attributes(cell) if name in part), default=1)


_CHECKS = (
    _metadata, _colour, _fonts, _actions, _attachments, _tags, _figures_and_tables, _content, _heads, _links,
)  # fmt: skip
