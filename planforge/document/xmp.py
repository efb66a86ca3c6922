"""The document's metadata as XMP (ISO 16684-1), saying the same as the information dictionary.

No conformance to PDF/A is stated: that takes a validator's word, and none has been asked.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from html import escape

_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:xmp="http://ns.adobe.com/xap/1.0/">
<dc:format>application/pdf</dc:format>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
<pdf:Keywords>{keywords}</pdf:Keywords>
<pdf:Producer>{producer}</pdf:Producer>
<xmp:CreatorTool>{creator}</xmp:CreatorTool>
<xmp:CreateDate>{date}</xmp:CreateDate>
<xmp:ModifyDate>{date}</xmp:ModifyDate>
<xmp:MetadataDate>{date}</xmp:MetadataDate>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""


@dataclass(frozen=True, slots=True)
class Record:
    """What the information dictionary and the XMP packet both say."""

    title: str
    keywords: str
    creator: str
    producer: str
    date: dt.date
    language: str


def packet(record: Record) -> bytes:
    """Return ``record`` as an XMP packet; its date is the day's beginning in UTC."""
    texts = {
        key: escape(getattr(record, key), quote=False)
        for key in ("title", "keywords", "creator", "producer", "language")
    }
    return _PACKET.format(**texts, date=f"{record.date.isoformat()}T00:00:00+00:00").encode("utf-8")
