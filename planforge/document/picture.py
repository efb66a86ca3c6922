"""Pictures in a document, at true size: planforge's own drawings and matplotlib figures.

One inch of a drawing is one inch of paper, so a stated scale stays true. All of them share the
document's embedded fonts. Lengths in points, the origin at a picture's lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from importlib import import_module
from typing import TYPE_CHECKING, Any

from planforge.calc.arrays import Array
from planforge.document import fonts, marks, text
from planforge.document.flowables import Block, TextBlock
from planforge.document.style import BODY_HEIGHT, BODY_WIDTH, CAPTION
from planforge.errors import RefusedError
from planforge.figures.paper import Paper, Style, TextLine

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    Picture = Paper | Figure


def size_of(picture: Picture) -> tuple[float, float]:
    """Width and height in points."""
    if isinstance(picture, Paper):
        return picture.width, picture.height
    width, height = (72.0 * float(inches) for inches in picture.get_size_inches())
    return width, height


def draw_picture(picture: Picture, canvas: Any) -> None:
    """Draw with the lower left corner at the canvas's origin."""
    if isinstance(picture, Paper):
        _draw_paper(picture, canvas)
    else:
        # A plan with drawings of its own alone never waits for matplotlib.
        import_module("planforge.document.canvas_backend").draw_figure(picture, canvas)


def _draw_paper(paper: Paper, canvas: Any) -> None:
    with marks.kept(canvas):
        for style, parts in paper.shapes():
            canvas._code.append(_pen(style))
            canvas._code += [_outline(points, closed) for points, closed in parts]
            canvas._code.append("S" if style.fill is None else "f" if style.pen is None else "B")
        for line in paper.texts:
            marks.ink(canvas, line.grey)
            _letter(line, canvas)


def _pen(style: Style) -> str:
    fill = "" if style.fill is None else f"{style.fill:.3f} g "
    pen = style.pen
    if pen is None:
        return fill
    dashes = " ".join(f"{dash:.3f}" for dash in pen.dashes)
    return f"{fill}{pen.grey:.3f} G {pen.width:.3f} w 0 J 0 j [{dashes}] 0 d"


def _outline(points: Array, closed: bool) -> str:
    """Path operators through ``points`` (n, 2), to 0.001 pt."""
    (x, y), *others = points.tolist()
    drawn = "".join([f" {x:.3f} {y:.3f} l" for x, y in others])
    return f"{x:.3f} {y:.3f} m{drawn}{' h' if closed else ''}"


def _letter(line: TextLine, canvas: Any) -> None:
    face = fonts.styled(line.bold, line.italic)
    if not line.angle:
        fonts.draw(canvas, line.x, line.y, line.text, face, line.size)
        return
    with marks.turned(canvas, line.x, line.y, math.radians(line.angle)):
        fonts.draw(canvas, 0.0, 0.0, line.text, face, line.size)


class FigureBlock(Block):
    """A figure at true size with an optional caption below."""

    space_before = 4.0
    space_after = 6.0

    def __init__(self, picture: Picture, name: str, caption: Sequence[text.Inline] = ()) -> None:
        """Refuse a figure wider or taller than the page's text: scaling would falsify its scale."""
        width, height = size_of(picture)
        if width > BODY_WIDTH + 0.5 or height > BODY_HEIGHT - 40:
            raise RefusedError(
                f"figure {name!r} is {width / 72:.2f} x {height / 72:.2f} in; a portrait page holds at most "
                f"{BODY_WIDTH / 72:.2f} x {BODY_HEIGHT / 72 - 0.56:.2f} in. Draw it smaller or on a sheet."
            )
        self._picture, self._size = picture, (width, height)
        self._caption = TextBlock(caption, CAPTION) if caption else None
        self._width = width

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._width = width
        caption = self._caption.wrap(width, height)[1] + 3.0 if self._caption else 0.0
        return width, self._size[1] + caption

    def draw(self) -> None:
        """Draw the figure centred, the caption below."""
        below = 0.0
        if self._caption is not None:
            below = self._caption.wrap(self._width, 0.0)[1] + 3.0
            self._caption.draw_on(self.canv, 0.0, 0.0)
        with marks.shifted(self.canv, (self._width - self._size[0]) / 2, below):
            draw_picture(self._picture, self.canv)
