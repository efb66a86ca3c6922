"""The file around the pages: metadata, attachment, language, identity; and writing it whole.

Nothing here reads a clock or a random source: dates come from the plan, the file identifier from
the file's own bytes. The pages are closed in one pass; no second program re-reads the file.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import os
import zlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

from planforge.document import fonts, xmp
from planforge.document.colour_profile import NAME as PROFILE_NAME
from planforge.document.colour_profile import srgb_profile
from planforge.document.left_over import clear_once, hold, part_of
from planforge.document.pages import DocumentMeta
from planforge.document.written import PageResources, References, WrittenPage, held, written
from planforge.errors import RefusedError

_ID_PLACE: Final = b"0" * 32
_CREATOR: Final = "planforge"
_PAGE_ENTRIES: Final = [*pdfdoc.PDFPage.__NoDefault__, "Tabs"]


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that rides inside the PDF."""

    name: str
    data: bytes
    description: str
    mime_type: str = "application/yaml"


class _Info(pdfdoc.PDFInfo):  # type: ignore[misc]
    """Document information without author."""

    def __init__(self, record: xmp.Record) -> None:
        super().__init__()
        self.title = record.title
        self._record = record

    def format(self, document: Any) -> Any:
        record = self._record
        entries = {
            "Title": pdfdoc.PDFString(record.title),
            "Keywords": pdfdoc.PDFString(record.keywords),
            "Creator": pdfdoc.PDFString(record.creator),
            "Producer": pdfdoc.PDFString(record.producer),
            "CreationDate": pdfdoc.PDFString(pdf_date(record.date)),
            "ModDate": pdfdoc.PDFString(pdf_date(record.date)),
        }
        return pdfdoc.PDFDictionary(entries).format(document)


_PACKED: Final = 1
"""How hard a page's content is packed: at the lowest level a plan is a twentieth larger, in half the time."""


class _PackedPage(pdfdoc.PDFStreamFilterZCompress):  # type: ignore[misc]
    """Packs the content of a page with pictures."""

    def encode(self, text: str) -> bytes:
        return zlib.compress(text.encode("utf-8"), _PACKED)


class _Stream(pdfdoc.PDFStream):  # type: ignore[misc]
    """A stream with a line's end before ``endstream``, outside its length (ISO 32000-1, 7.3.8.1).

    reportlab leaves it out after packed content, which PDF/A forbids (ISO 19005-3, 6.1.7.1, from memory).
    """

    def format(self, document: Any) -> bytes:
        written: bytes = super().format(document)
        return written.removesuffix(b"endstream\n") + b"\nendstream\n"


def _record(meta: DocumentMeta, producer: str) -> xmp.Record:
    """What the metadata say: the dates are the plan's, the keywords its identity."""
    # Worded so that nothing takes what is no plan for one, whatever a site is called.
    about = f"{meta.title.lower()} about {meta.subject}" if meta.subject else ""
    what = about or f"plan {meta.plan_number}, revision {meta.revision}"
    identity = f"{what}, fingerprint {meta.fingerprint}"
    return xmp.Record(
        title=f"{meta.name} – {meta.title}",
        keywords=identity + (", draft" if meta.draft else ""),
        creator=_CREATOR,
        producer=producer,
        date=meta.date,
        language=meta.language,
    )


def pdf_date(date: dt.date) -> str:
    """Return ``date`` at 00:00 UTC in PDF's form (ISO 32000-1, 7.9.4)."""
    return f"D:{date:%Y%m%d}000000+00'00'"


def open_canvas(meta: DocumentMeta) -> Canvas:
    """Return a canvas whose file will hold nothing but what it is given."""
    fonts.font(fonts.REGULAR)
    canvas = Canvas(
        BytesIO(),
        invariant=1,
        pageCompression=1,
        initialFontName=fonts.REGULAR,
        pdfVersion=(1, 7),
        lang=meta.language,
    )
    document = canvas._doc
    record = _record(meta, pdfdoc.PDFInfo.producer)
    document.info = _Info(record)
    document._ID = b"\n[<" + _ID_PLACE + b"><" + _ID_PLACE + b">]\n"
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.addPageLabel(0, style="ARABIC", start=1)
    canvas.showOutline()
    document.Catalog.Metadata = _metadata(record)
    document.Catalog.OutputIntents = pdfdoc.PDFArray([document.Reference(_output_intent(document))])
    document.Catalog.__NoDefault__ = [*document.Catalog.__NoDefault__, "OutputIntents"]
    return canvas


def _metadata(record: xmp.Record) -> _Stream:
    """The XMP packet, unpacked so that programs which know no PDF find it (ISO 32000-1, 14.3.2)."""
    stream = _Stream(content=xmp.packet(record))
    stream.dictionary["Type"] = pdfdoc.PDFName("Metadata")
    stream.dictionary["Subtype"] = pdfdoc.PDFName("XML")
    return stream


def _output_intent(document: Any) -> Any:
    """What the page's colours mean: sRGB (ISO 32000-1, 14.11.5)."""
    profile = _Stream(content=srgb_profile(), filters=[pdfdoc.PDFZCompress])
    profile.dictionary["N"] = 3
    return pdfdoc.PDFDictionary(
        {
            "Type": pdfdoc.PDFName("OutputIntent"),
            # The subtype by which readers find it; it states nothing about the file's conformance.
            "S": pdfdoc.PDFName("GTS_PDFA1"),
            "OutputConditionIdentifier": pdfdoc.PDFString(PROFILE_NAME),
            "Info": pdfdoc.PDFString(PROFILE_NAME),
            "DestOutputProfile": document.Reference(profile),
        }
    )


def attach(canvas: Canvas, attachment: Attachment, date: dt.date) -> None:
    """Put ``attachment`` in the file as associated data (ISO 32000-2, 7.11.4 and 14.13)."""
    document = canvas._doc
    stream = pdfdoc.PDFStream(content=attachment.data, filters=[pdfdoc.PDFZCompress])
    stream.dictionary["Type"] = pdfdoc.PDFName("EmbeddedFile")
    # Written raw: a slash inside a name is #2F, which reportlab's own escaping would double.
    stream.dictionary["Subtype"] = "/" + attachment.mime_type.replace("/", "#2F")
    stream.dictionary["Params"] = pdfdoc.PDFDictionary(
        {
            "Size": len(attachment.data),
            "CreationDate": pdfdoc.PDFString(pdf_date(date)),
            "ModDate": pdfdoc.PDFString(pdf_date(date)),
        }
    )
    reference = document.Reference(stream)
    specification = pdfdoc.PDFDictionary(
        {
            "Type": pdfdoc.PDFName("Filespec"),
            "F": pdfdoc.PDFString(attachment.name),
            "UF": pdfdoc.PDFString(attachment.name),
            "Desc": pdfdoc.PDFString(attachment.description),
            "AFRelationship": pdfdoc.PDFName("Data"),
            "EF": pdfdoc.PDFDictionary({"F": reference, "UF": reference}),
        }
    )
    held = document.Reference(specification)
    names = pdfdoc.PDFArray([pdfdoc.PDFString(attachment.name), held])
    catalogue = document.Catalog
    catalogue.Names = pdfdoc.PDFDictionary({"EmbeddedFiles": pdfdoc.PDFDictionary({"Names": names})})
    catalogue.AF = pdfdoc.PDFArray([held])
    catalogue.__NoDefault__ = [*catalogue.__NoDefault__, "AF"]


def close(canvas: Canvas) -> bytes:
    """Return the finished file; its identifier is the digest of its own bytes."""
    _finish_pages(canvas)
    _finish_streams(canvas)
    data = written(canvas)
    fonts.forget(canvas)
    digest = hashlib.sha256(data).hexdigest()[:32].encode()
    place = data.rindex(b"[<" + _ID_PLACE)
    return data[:place] + data[place:].replace(_ID_PLACE, digest)


def _finish_pages(canvas: Canvas) -> None:
    """Give every page its content as a compressed stream, and its fields an order for the tab key.

    reportlab would wrap the content in ASCII besides. The order is by rows (ISO 32000-1, 12.5.1): most
    fields stand in tables.
    """
    document = canvas._doc
    resources = held(document, PageResources())
    for name, page in [*document.idToObject.items()]:
        if not isinstance(page, pdfdoc.PDFPage):
            continue
        annotations = References(page.Annots) if page.Annots else None
        if page.XObjects or page.ExtGState or page._colorsUsed or page._shadingsUsed:
            page.Contents = pdfdoc.PDFStream(content=page.stream, filters=[_PackedPage()])
            page.Tabs = pdfdoc.PDFName("R")
            page.Annots = annotations
            page.__NoDefault__ = _PAGE_ENTRIES
        else:
            document.idToObject[name] = _page(document, page, resources, annotations)


def _page(document: Any, page: Any, resources: int, annotations: References | None) -> WrittenPage:
    packed = zlib.compress(page.stream.encode("utf-8"), _PACKED)
    start = b"<< /Filter /FlateDecode /Length %d >>\nstream\n" % len(packed)
    content = held(document, start + packed + b"\nendstream\n")
    return WrittenPage((page.pagewidth, page.pageheight), content, resources, annotations)


def _finish_streams(canvas: Canvas) -> None:
    """Have every stream end as :class:`_Stream` does, those of the fonts too, which come last."""
    document = canvas._doc
    for font in document.delayedFonts:
        font.addObjects(document)
    document.delayedFonts = []
    held = [*document.idToObject.values()]
    for thing in [*held, *(page.Contents for page in held if isinstance(page, pdfdoc.PDFPage))]:
        if type(thing) is pdfdoc.PDFStream:
            thing.__class__ = _Stream


def write_whole(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` whole or not at all: a temporary neighbour, then one rename.

    Raises :class:`RefusedError` for a folder that is missing or can't be written, a full disk, or
    a file that another program holds open; whatever stood at ``path`` before is untouched then.
    """
    # Made by open(), not mkstemp(): the plan gets the folder's usual permissions, readable to others.
    temporary = part_of(path)
    try:
        if not path.parent.is_dir():
            raise RefusedError(
                f"{path.parent} is not a folder; make it first, or choose another with --output"
            )
        clear_once(path.parent.resolve())
        try:
            with temporary.open("wb") as file:
                hold(file.fileno())
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(path)
        except BaseException:  # a stop from the keyboard too
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise
    except OSError as error:
        reason = error.strerror or str(error)
        raise RefusedError(f"{path} can't be written: {reason}. Nothing was changed.") from error
