"""Parts appended to a PDF as readers do it (ISO 32000-1, 7.5.6): new versions of objects, and new objects."""

from __future__ import annotations

import zlib
from io import BytesIO
from typing import Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import IndirectObject


def append(data: bytes, objects: dict[int, bytes], *, root: int | None = None, more: bytes = b"") -> bytes:
    """The file with objects appended by number, and a cross-reference section of them."""
    reader = PdfReader(BytesIO(data))
    start = data.rindex(b"startxref")
    previous = int(data[start:].split()[1])
    size = max([int(reader.trailer["/Size"]), *(number + 1 for number in objects)])  # type: ignore[call-overload]
    places, body = {}, b""
    for number, content in objects.items():
        places[number] = len(data) + len(body)
        body += b"%d 0 obj\n%b\nendobj\n" % (number, content)
    table = b"xref\n" + b"".join(
        b"%d 1\n%010d 00000 n \n" % (n, place) for n, place in sorted(places.items())
    )
    trailer = b"trailer\n<< /Size %d /Root %d 0 R /Info %d 0 R /Prev %d %b >>\nstartxref\n%d\n%%%%EOF\n" % (
        size,
        root or reader.trailer.raw_get("/Root").idnum,
        reader.trailer.raw_get("/Info").idnum,
        previous,
        more,
        len(data) + len(body),
    )
    return data + body + table + trailer


def written(data: bytes, number: int) -> bytes:
    """An object of a plan as its file spells it."""
    start = data.index(b"\n%d 0 obj" % number) + len(b"\n%d 0 obj" % number)
    return data[start : data.index(b"endobj", start)].strip()


def numbers(data: bytes) -> dict[str, int]:
    """The numbers of objects of a plan that tests write anew."""
    reader = PdfReader(BytesIO(data))
    root = reader.trailer["/Root"]
    page = reader.pages[0]
    names = root["/Names"]["/EmbeddedFiles"]["/Names"]  # type: ignore[index]
    fonts = page["/Resources"]["/Font"]  # type: ignore[index]
    return {
        "root": reader.trailer.raw_get("/Root").idnum,
        "form": root.raw_get("/AcroForm").idnum,  # type: ignore[attr-defined]
        "page": page.indirect_reference.idnum,  # type: ignore[union-attr]
        "contents": page.raw_get("/Contents").idnum,
        "field": list.__getitem__(page["/Annots"], 0).idnum,  # type: ignore[arg-type]
        "font": next(iter(fonts.values())).idnum
        if isinstance(next(iter(fonts.values())), IndirectObject)
        else fonts.raw_get(next(iter(fonts))).idnum,
        "job": names[1]["/EF"].raw_get("/F").idnum,
        "size": int(reader.trailer["/Size"]),  # type: ignore[call-overload]
    }


def filled(data: bytes, value: str = "J. Siskin, 2026-11-26") -> bytes:
    """The plan with its first field filled in, by a library that appends."""
    writer = PdfWriter(BytesIO(data), incremental=True)
    page = writer.pages[0]
    name = page["/Annots"][0].get_object()["/T"]  # type: ignore[index]
    writer.update_page_form_field_values(page, {name: value}, auto_regenerate=False)
    stream = BytesIO()
    writer.write(stream)
    return stream.getvalue()


def stream(content: bytes, entries: bytes = b"") -> bytes:
    """A packed stream."""
    packed = zlib.compress(content)
    return b"<< /Length %d /Filter /FlateDecode %b >>\nstream\n%b\nendstream" % (len(packed), entries, packed)


def signed_field(data: bytes) -> tuple[int, Any]:
    """The first field of page 1 that was signed, with its number."""
    for held in PdfReader(BytesIO(data)).pages[0].annotations or []:
        field = held.get_object()
        if field["/FT"] == "/Sig" and "/V" in field:
            return held.idnum, field
    raise AssertionError
