"""Draws lines of running text with what stands in them: tags, blanks to fill, boxes to tick."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from planforge.document import fonts, marks
from planforge.document.form import check_box, signature_field, text_field
from planforge.document.style import ACCENT, GREY, Align, TextStyle
from planforge.document.text import HAIR, TAG_FACES, TAG_PADDING, Blank, Box, Line, Run, Tag

_PLACE: Final[dict[Align, float]] = {"left": 0.0, "center": 0.5, "right": 1.0}


def draw_lines(
    canvas: Any, lines: Sequence[Line], style: TextStyle, x: float, top: float, width: float
) -> None:
    """Draw ``lines`` downward from ``top``; all lengths in points."""
    baseline = top - first_baseline(style)
    at, accent, size = _PLACE[style.align], style.accent, style.size
    for line in lines:
        start = x + at * (width - line.width)
        for segment in line.segments:
            inline = segment.inline
            if isinstance(inline, Run):
                if accent:
                    marks.ink(canvas, *ACCENT)
                fonts.draw(canvas, start + segment.x, baseline, inline.text, inline.face, size)
            else:
                _draw_object(canvas, inline, segment.width, style, start + segment.x, baseline)
        baseline -= style.leading


@lru_cache(maxsize=256)
def first_baseline(style: TextStyle) -> float:
    """Distance in points from a block's top to its first baseline."""
    return (style.leading - style.size * (fonts.ASCENT + fonts.DESCENT)) / 2 + style.size * fonts.ASCENT


def _draw_object(
    canvas: Any, inline: Tag | Blank | Box, width: float, style: TextStyle, x: float, y: float
) -> None:
    if isinstance(inline, Tag):
        _draw_tag(canvas, inline, width, style.size, x, y)
    elif isinstance(inline, Blank):
        if inline.ruled:
            marks.rule(canvas, x, x + width, y - 2, 0.6, 0.25)
        place = signature_field if inline.signed else text_field
        place(canvas, x, y - 2, width, style.leading, inline.name, inline.label)
    else:
        check_box(canvas, x, y - 0.08 * style.size, 0.85 * style.size, inline.name, inline.label)


def _draw_tag(canvas: Any, tag: Tag, width: float, size: float, x: float, y: float) -> None:
    bottom, height = y - 0.27 * size, 1.2 * size
    face = TAG_FACES[tag.look]
    with marks.kept(canvas):
        if tag.look == "solid":
            marks.shade(canvas, x, bottom, width, height)
            marks.ink(canvas, 1)
        elif tag.look == "framed":
            marks.frame(canvas, x, bottom, width, height, 0.9)
        elif tag.look == "faint":
            marks.ink(canvas, GREY)
        padding = TAG_PADDING if tag.look in {"solid", "framed"} else 0.0
        word, size = fonts.fit(tag.text, face, size, width - 2 * padding + HAIR, 5.0)
        fonts.draw(canvas, x + padding, y, word, face, size)
