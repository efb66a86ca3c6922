"""How wide text prints, in points: advance widths of the document's typeface, without kerning.

Figures place labels by these numbers; the document draws the same face.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import font_source_sans_pro
from reportlab.pdfbase.ttfonts import TTFont

ASCENT = 0.712
"""Height of an ascender over the baseline, in ems."""
DESCENT = 0.205
"""Depth of a descender below the baseline, in ems."""
LEADING = 1.16
"""From one baseline to the next, in ems."""

_FACES = {
    False: ("planforge-Regular", "SourceSansPro-Regular.ttf"),
    True: ("planforge-Bold", "SourceSansPro-Bold.ttf"),
}
_UNKNOWN = 650.0


@lru_cache(maxsize=16)
def font_at(name: str, path: Path) -> TTFont:
    """The TrueType font at ``path`` by the name it is drawn under, read once for figures and document."""
    return TTFont(name, str(path))


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[int, float]:
    """Advance width in thousandths of an em by character."""
    name, file = _FACES[bold]
    widths: dict[int, float] = font_at(name, Path(font_source_sans_pro.font_directory) / file).face.charWidths
    return widths


@lru_cache(maxsize=8192)
def em_width(text: str, bold: bool = False) -> float:
    """Width of one line of ``text`` in ems."""
    known = _advances(bold)
    return sum([known.get(ord(c), _UNKNOWN) for c in text]) / 1000.0


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of ``text`` at ``size`` points."""
    return em_width(text, bold) * size


def block_size(lines: tuple[str, ...], size: float, bold: bool = False) -> tuple[float, float]:
    """Width and height, points, of lines set one under another."""
    width = max((text_width(line, size, bold) for line in lines), default=0.0)
    return width, size * (ASCENT + DESCENT + LEADING * (len(lines) - 1))


def cut(text: str, size: float, room: float, bold: bool = False) -> str:
    """``text`` if it fits ``room`` points, else its beginning with an ellipsis."""
    if text_width(text, size, bold) <= room:
        return text
    keep = len(text)
    while keep and text_width(text[:keep].rstrip() + "…", size, bold) > room:
        keep -= 1
    return text[:keep].rstrip() + "…"


def wrapped(text: str, size: float, room: float, bold: bool = False) -> list[str]:
    """Break ``text`` between words into lines of at most ``room`` points; a longer word is cut."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, bold) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    lines.append(line)
    return [cut(one, size, room, bold) for one in lines]
