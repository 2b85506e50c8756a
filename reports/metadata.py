"""Metadata that a document carries besides WeasyPrint's: that it is PDF/UA-1, said in a way that PDF/A-3 allows.

PDF/A takes properties of its own list only; the schema of any other is described in the file (ISO 19005-3, 6.6.2.3).
"""

from typing import Any

import pydyf

_UNIVERSAL = b"""
<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"><pdfuaid:part>1</pdfuaid:part></rdf:Description>
<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA Universal Accessibility Schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 that the file conforms to</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>
"""
_END = b"</rdf:RDF>"


def finish(document: Any, pdf: pydyf.PDF) -> None:
    """Say in the metadata that the file is PDF/UA-1; WeasyPrint calls this before it writes the file."""
    stream = next(item for item in pdf.objects if getattr(item, "reference", None) == pdf.catalog["Metadata"])
    text = b"".join(stream.stream)
    stream.stream = [text.replace(_END, _UNIVERSAL + _END, 1)]
