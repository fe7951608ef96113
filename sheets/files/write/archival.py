"""What makes a PDF one for decades, PDF/A-3u: what it says of itself in XMP, and what its colours mean.

ISO 19005-3, 6.2.3 (output intent) and 6.6 (metadata). Everything else that it asks for, or forbids, is done
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
xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
<pdfaid:part>3</pdfaid:part>
<pdfaid:conformance>U</pdfaid:conformance>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<pdf:Producer>{producer}</pdf:Producer>
{keywords}</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""


def conform(document: Any, title: str, subject: str, producer: str, keywords: str) -> None:
    """Give a document its description, in the old form and in XMP, and its output intent; raise OSError."""
    objects.describe(document, title, subject, producer, keywords)
    known = f"<pdf:Keywords>{_plain(keywords)}</pdf:Keywords>\n" if keywords else ""
    said = _XMP.format(
        title=_plain(title), subject=_plain(subject), producer=_plain(producer), keywords=known
    )
    # Not compressed, so that whoever looks for it need not be able to read a PDF.
    described = Stream({"/Type": "/Metadata", "/Subtype": "/XML"}, said.encode(), packed=False)
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
