"""The typeface that readers set filled-in fields with: embedded, so that it prints the same everywhere.

Fields need a font with a fixed encoding (ISO 32000-1, 12.7.3.3), unlike the pages' subsets, whose codes run
by first use. This one holds the letters of Windows code page 1252 (WinAnsiEncoding, annex D), enough for
English and Spanish, under a Unicode character map (9.6.6.4). It bears no subset tag: readers type with no
font that says it lacks letters.
"""

from __future__ import annotations

import re
from functools import lru_cache
from struct import pack, unpack_from
from typing import Any, Final

from reportlab.pdfbase import pdfdoc
from reportlab.pdfbase.ttfonts import TTFontMaker, makeToUnicodeCMap

from planforge.document import fonts

_FIRST: Final = 32
_CHARACTERS: Final = re.sub(r"[\x7f\ufffd]", " ", bytes(range(_FIRST, 256)).decode("cp1252", "replace"))
_NONSYMBOLIC: Final = 32
_NAME: Final = "SourceSansPro-Regular"
_TABLE_ENTRY: Final = ">4sIII"
_LAST_SEGMENT: Final = (0xFFFF, 0xFFFF, 1)


def form_font(document: Any) -> Any:
    """Return a reference to the font in a reportlab ``document``."""
    face = fonts.font(fonts.REGULAR).face
    codes = [ord(character) for character in _CHARACTERS]
    descriptor = pdfdoc.PDFDictionary(
        {
            "Type": pdfdoc.PDFName("FontDescriptor"),
            "FontName": pdfdoc.PDFName(_NAME),
            "Flags": _NONSYMBOLIC,
            "FontBBox": pdfdoc.PDFArray(face.bbox),
            "ItalicAngle": face.italicAngle,
            "Ascent": face.ascent,
            "Descent": face.descent,
            "CapHeight": face.capHeight,
            "StemV": face.stemV,
            "FontFile2": document.Reference(_stream(_program(), Length1=len(_program()))),
        }
    )
    text_of_codes = [ord(" ")] * _FIRST + codes
    return document.Reference(
        pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("Font"),
                "Subtype": pdfdoc.PDFName("TrueType"),
                "BaseFont": pdfdoc.PDFName(_NAME),
                "Encoding": pdfdoc.PDFName("WinAnsiEncoding"),
                "FirstChar": _FIRST,
                "LastChar": 255,
                "Widths": pdfdoc.PDFArray([face.getCharWidth(code) for code in codes]),
                "FontDescriptor": document.Reference(descriptor),
                "ToUnicode": document.Reference(_stream(makeToUnicodeCMap(_NAME, text_of_codes))),
            }
        )
    )


def _stream(content: bytes | str, **entries: int) -> Any:
    stream = pdfdoc.PDFStream(content=content, filters=[pdfdoc.PDFZCompress])
    for key, value in entries.items():
        stream.dictionary[key] = value
    return stream


@lru_cache(maxsize=1)
def _program() -> bytes:
    """The font program: reportlab's subset with its character map by place replaced by one by Unicode."""
    face = fonts.font(fonts.REGULAR).face
    codes = sorted({ord(character) for character in _CHARACTERS})
    subset = face.makeSubset(codes)
    # A subset numbers its glyphs in the order in which the codes first ask for them, from 1.
    glyphs: dict[int, int] = {}
    numbers = {code: glyphs.setdefault(face.charToGlyph[code], len(glyphs) + 1) for code in codes}
    made = TTFontMaker()
    for index in range(unpack_from(">H", subset, 4)[0]):
        tag, _, start, length = unpack_from(_TABLE_ENTRY, subset, 12 + 16 * index)
        if tag != b"cmap":
            made.add(tag.decode(), subset[start : start + length])
    made.add("cmap", _character_map(numbers))
    program: bytes = made.makeStream()
    return program


def _character_map(glyphs: dict[int, int]) -> bytes:
    """A ``cmap`` table for Unicode (platform 3, encoding 1; format 4), one segment a character."""
    segments = [(code, code, (glyph - code) % 65536) for code, glyph in sorted(glyphs.items())]
    segments.append(_LAST_SEGMENT)
    count = len(segments)
    power = count.bit_length() - 1
    ends, starts, deltas = (pack(f">{count}H", *column) for column in list(zip(*segments, strict=True)))
    search = (2 << power, power, 2 * count - (2 << power))
    body = pack(">4H", 2 * count, *search) + ends + bytes(2) + starts + deltas + bytes(2 * count)
    return pack(">HHHHI", 0, 1, 3, 1, 12) + pack(">3H", 4, 6 + len(body), 0) + body
