"""Sizes, greys and paragraph styles: one place, so that every page looks alike.

Lengths are in points (1/72 in). Greys run from 0 (black) to 1 (white). Nothing depends on
colour; the accent is a dark blue that prints as near-black.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from planforge.document import fonts

INCH: Final = 72.0
LETTER: Final = (8.5 * INCH, 11.0 * INCH)
TABLOID: Final = (17.0 * INCH, 11.0 * INCH)

# The left margin leaves room for ring-binder holes.
LEFT: Final = 61.0
RIGHT: Final = 47.0
TOP: Final = 76.0
BOTTOM: Final = 58.0
BODY_WIDTH: Final = LETTER[0] - LEFT - RIGHT
BODY_HEIGHT: Final = LETTER[1] - TOP - BOTTOM

SHEET_MARGIN: Final = 36.0
SHEET_STRIP: Final = 66.0
SHEET_PADDING: Final = 6.0
SHEET_WIDTH: Final = TABLOID[0] - 2 * (SHEET_MARGIN + SHEET_PADDING)
SHEET_HEIGHT: Final = TABLOID[1] - 2 * (SHEET_MARGIN + SHEET_PADDING) - SHEET_STRIP

ACCENT: Final = (0.06, 0.15, 0.28)
GREY: Final = 0.35
HAIRLINE: Final = 0.35
HAIRLINE_GREY: Final = 0.6
RULE: Final = 0.9
SHADE: Final = 0.925

Align = Literal["left", "center", "right"]


@dataclass(frozen=True, slots=True)
class TextStyle:
    """How a block of text is set; lengths in points, ``space_*`` outside the block."""

    face: str
    size: float
    leading: float
    space_before: float = 0.0
    space_after: float = 0.0
    align: Align = "left"
    accent: bool = False


BODY: Final = TextStyle(fonts.REGULAR, 10.0, 13.6, space_after=6.0)
ITEM: Final = replace(BODY, space_after=3.0)
NOTICE: Final = replace(BODY, space_after=4.0)
CELL: Final = TextStyle(fonts.REGULAR, 9.0, 11.4)
CELL_HEAD: Final = TextStyle(fonts.SEMIBOLD, 8.6, 10.8)
CAPTION: Final = TextStyle(fonts.ITALIC, 9.0, 11.6, space_before=3.0, space_after=8.0)
FIELD_LABEL: Final = TextStyle(fonts.REGULAR, 8.5, 10.2)
HEADINGS: Final = {
    1: TextStyle(fonts.BOLD, 19.0, 23.0, space_before=20.0, space_after=9.0, accent=True),
    2: TextStyle(fonts.BOLD, 13.5, 17.0, space_before=11.0, space_after=4.5, accent=True),
    3: TextStyle(fonts.SEMIBOLD, 11.2, 14.4, space_before=8.0, space_after=3.0),
    4: TextStyle(fonts.SEMIBOLD, 10.0, 13.4, space_before=5.0, space_after=2.0),
}
