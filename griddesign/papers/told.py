"""What a PDF says of itself to whoever opens it without reading it: an XMP packet, ISO 16684-1, in plain letters.

It claims PDF/UA-1 (ISO 14289-1): the rules of that standard that a machine can check are checked in
``tests/unit/test_papers_tags.py``. Whether the order of reading and the words for the figures make sense is
for people to judge.
"""

from griddesign.papers import text
from griddesign.papers.blocks import Stamp

_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfuaid:part>1</pdfuaid:part>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<dc:language><rdf:Bag><rdf:li>en</rdf:li></rdf:Bag></dc:language>{creator}
<pdf:Producer>griddesign</pdf:Producer>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""
_CREATOR = "\n<dc:creator><rdf:Seq><rdf:li>{owner}</rdf:li></rdf:Seq></dc:creator>"


def title_of(stamp: Stamp) -> str:
    """The title that a reader shows for every file of a set."""
    return f"{stamp.job_title}, revision {stamp.revision}"


def metadata(stamp: Stamp) -> bytes:
    """The stream of the packet, ISO 32000-1, 14.3.2; not deflated, so that programs find it that read no PDF."""
    title, subject = _escaped(title_of(stamp)), _escaped(f"fingerprint {stamp.fingerprint}")
    creator = _CREATOR.format(owner=_escaped(stamp.owner)) if stamp.owner else ""
    packet = _PACKET.format(title=title, subject=subject, creator=creator).encode("utf-8")
    return b"<</Type/Metadata/Subtype/XML/Length %d>>stream\n%b\nendstream" % (len(packet), packet)


def _escaped(words: str) -> str:
    """Words as XML 1.0 has them."""
    return text.clean(words).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
