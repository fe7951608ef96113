"""What makes a PDF one for decades and for all: what it says of itself in XMP, and what its colours mean.

It is PDF/A-3a and PDF/UA-1 where it is tagged, PDF/A-3u where it is not: ISO 19005-3, 6.2.3 (output intent)
and 6.6 (metadata), ISO 14289-1, clause 5. Everything else that it asks for, or forbids, is done
or left undone where pages, fonts, fields and attachments are made. Its clauses are tested by
tests/files/test_archival.py.
"""

import re
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import fonts
from sheets.files import objects
from sheets.files.objects import Stream, Words

_PROFILE = Path(fonts.__file__).with_name("sRGB.icc")
_XMP = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" \
xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"{spaces}>
<pdfaid:part>3</pdfaid:part>
<pdfaid:conformance>{level}</pdfaid:conformance>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<pdf:Producer>{producer}</pdf:Producer>
{keywords}{more}</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""

_SPACES = """ \
xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/" \
xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/" \
xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" \
xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#\""""
# A property that ISO 19005-3 does not know itself is described in the file (6.6.2.3).
_MORE = """<pdfuaid:part>1</pdfuaid:part>
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>part</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
"""


def conform(document: Any, title: str, subject: str, producer: str, keywords: str, *, tagged: bool) -> None:
    """Give a document its description, in the old form and in XMP, and its output intent; raise OSError.

    It says of itself what it conforms to, which depends on whether it is `tagged`.
    """
    objects.describe(document, title, subject, producer, keywords)
    known = f"<pdf:Keywords>{_plain(keywords)}</pdf:Keywords>\n" if keywords else ""
    said = _XMP.format(
        title=_plain(title),
        subject=_plain(subject),
        producer=_plain(producer),
        keywords=known,
        level="A" if tagged else "U",
        spaces=_SPACES if tagged else "",
        more=_MORE if tagged else "",
    )
    described = Stream({"/Type": "/Metadata", "/Subtype": "/XML"}, said.encode())
    intent = {
        "/Type": "/OutputIntent",
        "/S": "/GTS_PDFA1",
        "/OutputConditionIdentifier": Words("sRGB IEC61966-2.1"),
        "/Info": Words("sRGB IEC61966-2.1"),
        "/DestOutputProfile": objects.add(document, Stream({"/N": 3}, _PROFILE.read_bytes())),
    }
    entries = {"/Metadata": objects.add(document, described), "/OutputIntents": [intent]}
    objects.catalog(document, entries)


def _plain(text: str) -> str:
    """Return a text for XML, without the control characters that it cannot carry in any form."""
    return escape(re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]", "", text))
