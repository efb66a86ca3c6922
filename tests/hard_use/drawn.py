"""Every text as it is drawn on a document's pages: where its corners lie, whatever turns or shifts it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pytest

from planforge.document import fonts, picture, sheet, table_drawing

ASCENT, DESCENT = fonts.ASCENT, fonts.DESCENT


@dataclass(frozen=True)
class Drawn:
    """A text on a page: its corners and the page's size, points."""

    page: int
    text: str
    left: float
    bottom: float
    right: float
    top: float
    paper: tuple[float, float]
    turned: bool
    pictured: bool

    def off(self, margin: float) -> float:
        """How far it sticks out of the page less a margin, points; below 0 where it lies inside."""
        width, height = self.paper
        return max(
            margin - self.left, margin - self.bottom, self.right - width + margin, self.top - height + margin
        )


@contextmanager
def watched() -> Iterator[list[Drawn]]:
    """Collect every text that is drawn meanwhile."""
    found: list[Drawn] = []
    draw, paint = fonts.draw, picture.draw_picture
    within: list[Any] = []

    def drawing(canvas: Any, x: float, y: float, text: str, face: str, size: float) -> None:
        draw(canvas, x, y, text, face, size)
        advance = fonts.width(text, face, size)
        a, b, c, d, e, f = canvas._currentMatrix
        corners = [
            (a * u + c * v + e, b * u + d * v + f)
            for u in (x, x + advance)
            for v in (y - DESCENT * size, y + ASCENT * size)
        ]
        across, up = zip(*corners, strict=True)
        box = (min(across), min(up), max(across), max(up))
        turned = abs(b) > 1e-9
        found.append(Drawn(canvas.getPageNumber(), text, *box, tuple(canvas._pagesize), turned, bool(within)))
        return advance

    def painting(shown: Any, canvas: Any) -> None:
        within.append(shown)
        paint(shown, canvas)
        within.pop()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fonts, "draw", drawing)
        patch.setattr(table_drawing, "_kept", lambda piece: None)  # every table is drawn on its page
        for module in (picture, sheet):
            patch.setattr(module, "draw_picture", painting)
        yield found
