"""The sRGB colour space as an ICC profile, made here from its definition, for the file's output intent.

In: nothing. Out: the same bytes each time. A matrix/TRC display profile of version 4.2 (ICC.1:2004-10), which
PDF 1.7 takes (ISO 32000-1, 8.6.5.5). The primaries and white are those of IEC 61966-2-1, adapted from D65 to
the profile connection space's D50 by the Bradford transform (values from memory; the tests hold the profile
to another library's sRGB).
"""

from __future__ import annotations

from struct import pack
from typing import Final

_D50: Final = (0.9642, 1.0, 0.8249)
_PRIMARIES: Final = {
    b"rXYZ": (0.43607, 0.22249, 0.01392),
    b"gXYZ": (0.38515, 0.71687, 0.09708),
    b"bXYZ": (0.14307, 0.06061, 0.71410),
}
_BRADFORD: Final = (1.04788, 0.02292, -0.05020, 0.02959, 0.99048, -0.01704, -0.00925, 0.01508, 0.75168)
_CURVE: Final = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
"""IEC 61966-2-1 as a parametric curve of type 3: (a x + b)^g from d up, c x below."""
_TABLE_START: Final = 128
NAME: Final = "sRGB IEC61966-2.1"


def srgb_profile() -> bytes:
    """Return the profile."""
    tags = {
        b"desc": _text(NAME),
        b"cprt": _text("No copyright, use freely"),
        b"wtpt": _xyz(_D50),
        b"chad": b"sf32" + bytes(4) + _fixed(_BRADFORD),
        **{tag: _xyz(values) for tag, values in _PRIMARIES.items()},
    }
    curve = b"para" + bytes(4) + pack(">HH", 3, 0) + _fixed(_CURVE)
    shared = (b"rTRC", b"gTRC", b"bTRC")
    place = _TABLE_START + 4 + 12 * (len(tags) + len(shared))
    table, body = b"", b""
    for tag, data in tags.items():
        table += tag + pack(">II", place + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    for tag in shared:
        table += tag + pack(">II", place + len(body), len(curve))
    body += curve + bytes(-len(curve) % 4)
    size = place + len(body)
    return _header(size) + pack(">I", len(tags) + len(shared)) + table + body


def _header(size: int) -> bytes:
    """The header (7.2 of ICC.1:2004-10); dated by the version of the standard, so that it never changes."""
    start = pack(">I4sI4s4s4s", size, bytes(4), 0x04200000, b"mntr", b"RGB ", b"XYZ ")
    day = pack(">6H", 2004, 10, 1, 0, 0, 0)
    rest = b"acsp" + bytes(4 + 4 + 4 + 4 + 8 + 4) + _fixed(_D50)
    return (start + day + rest).ljust(_TABLE_START, b"\0")


def _fixed(values: tuple[float, ...]) -> bytes:
    """Numbers as s15Fixed16."""
    return b"".join(pack(">i", round(value * 65536)) for value in values)


def _xyz(values: tuple[float, float, float]) -> bytes:
    return b"XYZ " + bytes(4) + _fixed(values)


def _text(text: str) -> bytes:
    """A text in one language (multiLocalizedUnicodeType)."""
    data = text.encode("utf-16-be")
    return b"mluc" + bytes(4) + pack(">II2s2sII", 1, 12, b"en", b"US", len(data), 28) + data
