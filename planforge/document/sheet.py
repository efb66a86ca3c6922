"""A drawing on an 11x17 landscape sheet of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planforge.document import marks
from planforge.document.flowables import Anchor, Block
from planforge.document.picture import draw_picture, size_of
from planforge.document.style import SHEET_HEIGHT, SHEET_WIDTH
from planforge.errors import RefusedError

if TYPE_CHECKING:
    from planforge.document.picture import Picture


class Sheet(Block):
    """One figure, centred in the sheet's frame at true size; the page draws the title block."""

    def __init__(self, picture: Picture, name: str, anchor: Anchor, scale: str, number: str) -> None:
        """Refuse a figure that the frame can't hold: scaling would falsify its scale."""
        width, height = size_of(picture)
        if width > SHEET_WIDTH + 0.5 or height > SHEET_HEIGHT + 0.5:
            raise RefusedError(
                f"figure {name!r} is {width / 72:.2f} x {height / 72:.2f} in; a sheet holds at most "
                f"{SHEET_WIDTH / 72:.2f} x {SHEET_HEIGHT / 72:.2f} in."
            )
        self._picture, self._size = picture, (width, height)
        self.anchor, self.scale, self.number = anchor, scale, number

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return the whole frame: a sheet holds one drawing."""
        return SHEET_WIDTH, SHEET_HEIGHT

    def draw(self) -> None:
        """Draw the figure centred."""
        width, height = self._size
        with marks.shifted(self.canv, (SHEET_WIDTH - width) / 2, (SHEET_HEIGHT - height) / 2):
            draw_picture(self._picture, self.canv)
