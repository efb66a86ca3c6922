"""A document's objects as the bytes of a file (ISO 32000-1, 7.5), as reportlab writes them.

Its own writer passes every object, number and reference through several calls, and a plan has thousands of
fields: written here, they take half the time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from reportlab.pdfbase import pdfdoc

DRAFT_STATE: Final = "Draft"
"""The name of the graphics state in which the draft mark is drawn: lines that let through what is below."""
_DRAFT_OPACITY: Final = 0.34


def held(document: Any, thing: bytes | pdfdoc.PDFObject) -> int:
    """Enter an object into the document by its number alone; return the number.

    A field is referred to from one or two places, so it needs none of the names that reportlab gives.
    """
    number: int = document.objectcounter + 1
    document.objectcounter = number
    document.numberToId[number] = number
    document.idToObject[number] = thing
    document.idToObjectNumberAndVersion[number] = number, 0
    return number


def reference(document: Any, to: Any) -> bytes:
    """What stands for an object in others; ``to`` is its number, or reportlab's reference to it."""
    number = to if type(to) is int else document.idToObjectNumberAndVersion[to.name][0]
    return b"%d 0 R" % number


class References(pdfdoc.PDFArray):  # type: ignore[misc]
    """A list of references alone, ten to a line."""

    def format(self, document: Any) -> bytes:
        """Return the list as written."""
        numbers = [reference(document, to) for to in self.sequence]
        lines = [b" ".join(numbers[start : start + 10]) for start in range(0, len(numbers), 10)]
        return b"[ %b ]" % b" \n  ".join(lines)


class PageResources(pdfdoc.PDFObject):  # type: ignore[misc]
    """What pages that show text, lines and fields alone draw with (ISO 32000-1, 7.8.3)."""

    def format(self, document: Any) -> bytes:
        """Return its dictionary."""
        fonts = reference(document, pdfdoc.PDFObjectReference(pdfdoc.BasicFonts))
        state = f"/{DRAFT_STATE} << /Type /ExtGState /CA {_DRAFT_OPACITY} >>".encode("ascii")
        return b"<< /Font %b /ProcSet [ /PDF /Text ] /ExtGState << %b >> >>" % (fonts, state)


@dataclass
class WrittenPage(pdfdoc.PDFObject):  # type: ignore[misc]
    """A page that shows text, lines and fields alone (ISO 32000-1, 7.7.3.3)."""

    size: tuple[float, float]
    """Points, width by height."""
    content: int
    """The number of its content."""
    resources: int
    """The number of what all such pages draw with."""
    annotations: References | None

    def format(self, document: Any) -> bytes:
        """Return its dictionary."""
        width, height = self.size
        entries = (
            b"/Type /Page /Parent %b" % reference(document, document.Reference(document.Pages)),
            f"/MediaBox [ 0 0 {round(width, 4):.10g} {round(height, 4):.10g} ]".encode("ascii"),
            b"/Resources %d 0 R" % self.resources,
            b"/Contents %d 0 R /Tabs /R" % self.content,
            b"" if self.annotations is None else b"/Annots %b" % self.annotations.format(document),
        )
        return b"<< %b >>" % b"\n".join(filter(None, entries))


def written(canvas: Any) -> bytes:
    """The whole file of a canvas whose pages are all shown.

    What the objects refer to while they are written may still grow the document.
    """
    document = canvas._doc
    catalogue, information = document.Reference(document.Catalog), document.Reference(document.info)
    document.Outlines.prepare(document, canvas)
    if document.Outlines.ready < 0:
        document.Catalog.Outlines = None
    header = pdfdoc.PDFFile(document._pdfVersion)
    parts: list[bytes] = header.strings
    places: list[int] = []
    length = header.offset
    while (number := len(places) + 1) in document.numberToId:
        thing = document.idToObject[document.numberToId[number]]
        content = thing if isinstance(thing, bytes) else pdfdoc.format(thing, document, toplevel=1)
        part = b"%d 0 obj\n%b%bendobj\n" % (number, content, b"" if content.endswith(b"\n") else b"\n")
        parts.append(part)
        places.append(length)
        length += len(part)
    parts.append(_cross_references(places))
    size = len(places) + 1
    trailer = pdfdoc.PDFTrailer(length, size, Root=catalogue, Info=information, ID=document.ID())
    parts.append(trailer.format(document))
    return b"".join(parts)


def _cross_references(places: Sequence[int]) -> bytes:
    """The table of where each object begins (ISO 32000-1, 7.5.4)."""
    rows = [b"%010d 00000 n \n" % place for place in places]
    return b"xref\n0 %d\n0000000000 65535 f \n%b" % (len(rows) + 1, b"".join(rows))
