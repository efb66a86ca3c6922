"""The file around the pages: metadata, attachment, language, identity; and writing it whole.

Nothing here reads a clock or a random source: dates come from the plan, the file identifier from
the file's own bytes. The pages are closed in one pass; no second program re-reads the file.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import os
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

from planforge.document import fonts
from planforge.document.pages import DocumentMeta
from planforge.errors import RefusedError

_ID_PLACE: Final = b"0" * 32
_CREATOR: Final = "planforge"


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that rides inside the PDF."""

    name: str
    data: bytes
    description: str
    mime_type: str = "application/yaml"


class _Info(pdfdoc.PDFInfo):  # type: ignore[misc]
    """Document information without author; dates are the plan's, keywords its identity."""

    def __init__(self, meta: DocumentMeta) -> None:
        super().__init__()
        self.title = f"{meta.plan_number} rev {meta.revision} – {meta.title}"
        self._date = meta.date
        self._identity = f"plan {meta.plan_number}, revision {meta.revision}, fingerprint {meta.fingerprint}"
        self._identity += ", draft" if meta.draft else ""

    def format(self, document: Any) -> Any:
        entries = {
            "Title": pdfdoc.PDFString(self.title),
            "Keywords": pdfdoc.PDFString(self._identity),
            "Creator": pdfdoc.PDFString(_CREATOR),
            "Producer": pdfdoc.PDFString(self.producer),
            "CreationDate": pdfdoc.PDFString(pdf_date(self._date)),
            "ModDate": pdfdoc.PDFString(pdf_date(self._date)),
            "Trapped": pdfdoc.PDFName("False"),
        }
        return pdfdoc.PDFDictionary(entries).format(document)


def pdf_date(date: dt.date) -> str:
    """Return ``date`` at 00:00 UTC in PDF's form (ISO 32000-1, 7.9.4)."""
    return f"D:{date:%Y%m%d}000000Z00'00'"


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
    document.info = _Info(meta)
    document._ID = b"\n[<" + _ID_PLACE + b"><" + _ID_PLACE + b">]\n"
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.addPageLabel(0, style="ARABIC", start=1)
    canvas.showOutline()
    return canvas


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
    _compress_pages(canvas)
    data: bytes = canvas.getpdfdata()
    digest = hashlib.sha256(data).hexdigest()[:32].encode()
    place = data.rindex(b"[<" + _ID_PLACE)
    return data[:place] + data[place:].replace(_ID_PLACE, digest)


def _compress_pages(canvas: Canvas) -> None:
    """Give every page its content as a compressed stream: reportlab would wrap it in ASCII besides."""
    for page in canvas._doc.idToObject.values():
        if isinstance(page, pdfdoc.PDFPage):
            page.Contents = pdfdoc.PDFStream(content=page.stream, filters=[pdfdoc.PDFZCompress])


def write_whole(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` whole or not at all: a temporary neighbour, then one rename.

    Raises :class:`RefusedError` for a folder that is missing or can't be written, a full disk, or
    a file that another program holds open; whatever stood at ``path`` before is untouched then.
    """
    if not path.parent.is_dir():
        raise RefusedError(f"{path.parent} is not a folder; make it first, or choose another with --output")
    # Made by open(), not mkstemp(): the plan gets the folder's usual permissions, readable to others.
    temporary = path.with_name(f".{path.stem[:40]}.{os.getpid()}.part")
    try:
        with temporary.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
        reason = error.strerror or str(error)
        raise RefusedError(f"{path} can't be written: {reason}. Nothing was changed.") from error
