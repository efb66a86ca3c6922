"""How wide text prints, in points: advance widths of the document's typeface, without kerning.

Figures place labels by these numbers; the document draws the same face.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from unicodedata import bidirectional

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
_FALLBACK_FACES = {
    False: ("planforge-Fallback", "DejaVuSans.ttf"),
    True: ("planforge-FallbackBold", "DejaVuSans-Bold.ttf"),
}
_FROM_THE_RIGHT = frozenset({"R", "AL"})


@lru_cache(maxsize=16)
def font_at(name: str, path: Path) -> TTFont:
    """The TrueType font at ``path`` by the name it is drawn under, read once for figures and document."""
    return TTFont(name, str(path))


def letters(face: TTFont) -> Iterator[str]:
    """The characters that are printed from a typeface; all others are spelled as :func:`code_of` says.

    Beyond U+FFFF the embedded font's text mapping (ToUnicode) would be wrong, and what is read from the right
    would stand the wrong way round and unjoined.
    """
    known = (chr(code) for code in face.face.charToGlyph if code <= 0xFFFF)
    return (letter for letter in known if bidirectional(letter) not in _FROM_THE_RIGHT)


def code_of(letter: str) -> str:
    """What is printed in a letter's place where no typeface has it."""
    return f"[U+{ord(letter):04X}]"


def fallback_file(bold: bool) -> Path:
    """The typeface for what the document's own lacks: matplotlib's, found without loading it."""
    spec = find_spec("matplotlib")
    assert spec is not None and spec.origin is not None  # required by planforge
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / _FALLBACK_FACES[bold][1]


class _Advances(dict[str, float]):
    """Advance width of each letter as it prints, in thousandths of an em."""

    def __init__(self, bold: bool) -> None:
        name, file = _FACES[bold]
        face = font_at(name, Path(font_source_sans_pro.font_directory) / file)
        super().__init__((letter, face.face.charWidths[ord(letter)]) for letter in letters(face))
        self._bold = bold

    def __missing__(self, letter: str) -> float:
        face = font_at(_FALLBACK_FACES[self._bold][0], fallback_file(self._bold))
        if letter in set(letters(face)):
            self[letter] = float(face.face.charWidths[ord(letter)])
        else:
            self[letter] = sum(self[c] for c in code_of(letter))
        return self[letter]


_advances = lru_cache(maxsize=2)(_Advances)


@lru_cache(maxsize=8192)
def em_width(text: str, bold: bool = False) -> float:
    """Width of one line of ``text`` in ems."""
    return sum(map(_advances(bold).__getitem__, text)) / 1000.0


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


def wrapped_to(text: str, size: float, room: float, most: int, bold: bool = False) -> list[str]:
    """As :func:`wrapped`, in at most ``most`` lines; what is left off shows by an ellipsis."""
    lines = wrapped(text, size, room, bold)
    if len(lines) > most:
        lines = lines[:most]
        while " " in lines[-1] and text_width(lines[-1] + " …", size, bold) > room:
            lines[-1] = lines[-1].rpartition(" ")[0]
        lines[-1] = cut(lines[-1] + " …", size, room, bold)
    return lines
