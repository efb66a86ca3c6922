"""The document's typefaces: one embedded family for text and figures, one fallback.

In: characters and a face's name. Out: widths in points, and runs that say which registered
font draws which part of a text. A character that the family lacks is drawn with the fallback
family; one that both lack, or that is written from right to left, prints as ``[U+XXXX]``, so nothing
vanishes from a plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import font_source_sans_pro
from reportlab.lib.rl_accel import escapePDF
from reportlab.pdfbase import pdfmetrics

from planforge.document.recorder import Kept, Recorder
from planforge.figures.text_metrics import code_of, fallback_file, font_at, letters

REGULAR: Final = "planforge-Regular"
SEMIBOLD: Final = "planforge-Semibold"
BOLD: Final = "planforge-Bold"
ITALIC: Final = "planforge-Italic"
BOLD_ITALIC: Final = "planforge-BoldItalic"
FALLBACK: Final = "planforge-Fallback"
FALLBACK_BOLD: Final = "planforge-FallbackBold"

ASCENT: Final = 0.712
"""Height of an ascender over the baseline, in ems (measured on the letter l)."""
DESCENT: Final = 0.205
"""Depth of a descender below the baseline, in ems (measured on the letter p)."""

_FAMILY_FILES: Final = {
    REGULAR: "SourceSansPro-Regular.ttf",
    SEMIBOLD: "SourceSansPro-Semibold.ttf",
    BOLD: "SourceSansPro-Bold.ttf",
    ITALIC: "SourceSansPro-It.ttf",
    BOLD_ITALIC: "SourceSansPro-BoldIt.ttf",
}
_NAMES: Final = {
    face: f"F{number}" for number, face in enumerate((*_FAMILY_FILES, FALLBACK, FALLBACK_BOLD), start=1)
}
"""What each face is called inside a document: the same in all, so that one drawing serves many."""
_ALIKE: Final = "áéíóúüñÁÉÍÓÚÜÑ¿¡«»·°×±²³½¼¾–—‘’“”•…′″−≤≥≈→←↑↓↖↗↘↙⅛⅜⅝⅞⅓⅔⅕"
"""Characters besides ASCII that every document embeds under the same code, where the face has them."""
_FACES_IN_ALL: Final = len(_NAMES)
_KEPT: Final = 50_000
"""How many texts are kept as measured or set: those of a few house designs."""
_HEAVY: Final = frozenset({SEMIBOLD, BOLD, BOLD_ITALIC})


@lru_cache(maxsize=_FACES_IN_ALL)
def font(face: str) -> Any:
    """Load and register the TrueType font behind ``face`` on first use."""
    if face in _FAMILY_FILES:
        path = Path(font_source_sans_pro.font_directory) / _FAMILY_FILES[face]
    else:
        path = fallback_file(bold=face == FALLBACK_BOLD)
    pdfmetrics.registerFont(font_at(face, path))
    return pdfmetrics.getFont(face)  # the first by its name: two of one name in a document would clash


@lru_cache(maxsize=_FACES_IN_ALL)
def _coverage(face: str) -> frozenset[str]:
    return frozenset(letters(font(face)))


def styled(bold: bool, italic: bool, base: str = REGULAR) -> str:
    """Return the face for a run's weight and slant inside text set in ``base``."""
    if italic:
        return BOLD_ITALIC if bold or base in _HEAVY else ITALIC
    return BOLD if bold else base


def _fallback_of(face: str) -> str:
    return FALLBACK_BOLD if face in _HEAVY else FALLBACK


@lru_cache(maxsize=20_000)
def spelled(text: str, face: str) -> str:
    """Return ``text`` with each character that no font has spelled as ``[U+XXXX]``; newlines stay."""
    missing = set(text).difference(_coverage(face), "\n")
    if missing:
        missing -= _coverage(_fallback_of(face))
    return "".join(code_of(c) if c in missing else c for c in text) if missing else text


@lru_cache(maxsize=_KEPT)
def runs(text: str, face: str) -> tuple[tuple[str, str], ...]:
    """Split ``text`` into ``(part, face)`` so that every part's face has its glyphs."""
    covered = _coverage(face)
    if covered.issuperset(text):
        return ((text, face),) if text else ()
    parts: list[tuple[str, str]] = []
    for character in spelled(text, face):
        chosen = face if character in covered else _fallback_of(face)
        if parts and parts[-1][1] == chosen:
            parts[-1] = (parts[-1][0] + character, chosen)
        else:
            parts.append((character, chosen))
    return tuple(parts)


class _Advances(dict[str, float]):
    """Advance width of each character of a face, in thousandths of an em."""

    def __init__(self, face: str) -> None:
        metrics = font(face).face
        super().__init__((chr(code), advance) for code, advance in metrics.charWidths.items())
        self._default = float(metrics.defaultWidth)

    def __missing__(self, character: str) -> float:
        return self._default


_advances = lru_cache(maxsize=_FACES_IN_ALL)(_Advances)


@lru_cache(maxsize=_KEPT)
def _em_width(text: str, face: str) -> float:
    return sum(0.001 * sum(map(_advances(chosen).__getitem__, part)) for part, chosen in runs(text, face))


def width(text: str, face: str, size: float) -> float:
    """Advance width of ``text`` in points at ``size`` points, fallback runs included."""
    return _em_width(text, face) * size


def draw(canvas: Any, x: float, y: float, text: str, face: str, size: float) -> None:
    """Draw ``text`` with its baseline's left end at ``(x, y)`` points.

    The operators (ISO 32000-1, 9.4) are written here rather than through a text object: text is
    most of a plan's drawing, and this takes a fraction of the time.
    """
    shown = alike(text, face, size)
    if shown is not None:
        begin(canvas, face)
        canvas._code.append(f"BT 1 0 0 1 {x:.3f} {y:.3f} Tm\n{shown} ET")
        return
    if isinstance(canvas, Recorder):
        canvas.own = True
        return
    advance = 0.0
    for part, chosen in runs(text, face):
        begin(canvas, chosen)
        shown = canvas.planforge_encoders[chosen].shown(part, f"{size:.3f}")
        canvas._code.append(f"BT 1 0 0 1 {x + advance:.3f} {y:.3f} Tm\n{shown} ET")
        advance += width(part, chosen, size)


@lru_cache(maxsize=_KEPT)
def alike(text: str, face: str, size: float) -> str | None:
    """The operators that show ``text`` in every document alike; None where its codes are a document's own."""
    codes = _codes(face)
    if text and _coverage(face).issuperset(text) and all(map(codes.__contains__, map(ord, text))):
        return f"/{_NAMES[face]}+0 {size:.3f} Tf ({text.translate(codes)}) Tj"
    return None


class _Codes:
    """In place of a document: what a face's subset begins with is settled without one."""


@lru_cache(maxsize=_FACES_IN_ALL)
def _codes(face: str) -> Mapping[int, str]:
    """The characters that stand under the same code in every document, with that code as written."""
    shared = [*map(chr, range(0x20, 0x7F)), *_alike_of(face)]
    ((subset, codes),) = font(face).splitString("".join(shared), _Codes())
    assert subset == 0 and len(codes) == len(shared)  # one subset holds 256
    escaped = {ord(one): escapePDF(bytes((code,))) for one, code in zip(shared, codes, strict=True)}
    return {**escaped, 0xA0: " "}


def _alike_of(face: str) -> str:
    return "".join(one for one in _ALIKE if one in _coverage(face))


def begin(canvas: Any, face: str) -> None:
    """Have a document embed ``face``, once."""
    try:
        if face in canvas.planforge_encoders:
            return
    except AttributeError:
        canvas.planforge_encoders = {}
    canvas.planforge_encoders[face] = None if isinstance(canvas, Recorder) else _Encoder(canvas, face)


def draw_kept(canvas: Any, kept: Kept) -> None:
    """Put a drawing that was kept on a page, its origin at the canvas's."""
    for face in kept.faces:
        begin(canvas, face)
    canvas._code.append(kept.code)
    for place, arguments in kept.fields:
        place(canvas, *arguments)


class _Encoder(dict[int, str]):
    """Each character of one face as the escaped code under which one document embeds it."""

    def __init__(self, canvas: Any, face: str) -> None:
        super().__init__()
        self._font, self._canvas = font(face), canvas
        document = canvas._doc
        self._font.splitString(_alike_of(face), document)  # begins its subset for this document
        state = self._font.state[document]
        if state.internalName is None:  # named as reportlab does, but for the number
            state.internalName = _NAMES[face]
            document.fontMapping[face] = f"/{_NAMES[face]}"
            document.delayedFonts.append(self._font)
        self._overflows = False

    def __missing__(self, character: int) -> str:
        document = self._canvas._doc
        ((subset, code),) = self._font.splitString(chr(character), document)
        # A font's subset holds 256 characters; whatever uses more of them is written piece by piece.
        self._overflows |= subset > 0
        self[character] = self._canvas._escape(code)
        return self[character]

    def shown(self, text: str, size: str) -> str:
        """Return the operators that show ``text``."""
        codes = text.translate(self)
        if not self._overflows:
            return f"/{_NAMES[self._font.fontName]}+0 {size} Tf ({codes}) Tj"
        document = self._canvas._doc
        name, escape = self._font.getSubsetInternalName, self._canvas._escape
        return " ".join(
            f"{name(subset, document)} {size} Tf ({escape(part)}) Tj"
            for subset, part in self._font.splitString(text, document)
        )


def forget(canvas: Any) -> None:
    """Let go of what was kept for a canvas that is finished: the two hold each other."""
    canvas.__dict__.pop("planforge_encoders", None)


def fit(text: str, face: str, size: float, room: float, smallest: float) -> tuple[str, float]:
    """Return ``(text, size)`` that fits ``room`` points: shrunk first, then cut in the middle.

    The cut is shown by an ellipsis, and the start and the end stay: plan numbers differ at the end.
    """
    natural = width(text, face, 1.0)
    if natural * size <= room:
        return text, size
    if room / natural >= smallest:
        return text, room / natural
    size, keep = smallest, len(text)
    while keep > 2:
        keep -= 1
        head, tail = text[: (keep + 1) // 2].rstrip(), text[len(text) - keep // 2 :].lstrip()
        cut = f"{head}…{tail}"
        if width(cut, face, size) <= room:
            return cut, size
    return "…", size
