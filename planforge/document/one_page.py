"""What fits on a sheet of one page: heights of rows reckoned from their letters, a little to the large side.

A sheet is laid out by the document's engine; here is only decided how much it is given. Lengths in points.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from planforge.document.style import BODY_WIDTH, HEADINGS

LINE: Final = 10.8
"""A line of a table at its least size."""
ROW: Final = 4.6
"""What a row of a table takes beside its lines."""
LETTER: Final = 4.4
"""The width of a letter at that size, on the large side of the average."""
BODY_LINE: Final = 13.6
BODY_LETTER: Final = 5.2
HEADING_LETTER: Final = 10.0

T = TypeVar("T")


def lines(text: str, width: float) -> int:
    """How many printed lines a text of a table takes in a column ``width`` wide, its own breaks kept."""
    return sum(max(math.ceil(len(part) * LETTER / width), 1) for part in text.split("\n"))


def row(*cells: tuple[str, float]) -> float:
    """The height of a table's row; each cell is a text with its column's width."""
    return ROW + LINE * max(lines(text, width) for text, width in cells)


def paragraph(text: str, width: float) -> float:
    """The height of a paragraph with the space after it."""
    return BODY_LINE * max(math.ceil(len(text) * BODY_LETTER / width), 1) + 6.0


def heading(text: str) -> float:
    """The height of a sheet's heading over the whole width, without the space round it."""
    return HEADINGS[1].leading * math.ceil(len(text) * HEADING_LETTER / BODY_WIDTH)


def first_that_fit(rows: Sequence[T], room: float, height: Callable[[T], float]) -> tuple[T, ...]:
    """The first rows whose heights together keep to ``room``."""
    kept = []
    for one in rows:
        room -= height(one)
        if room < 0.0:
            break
        kept.append(one)
    return tuple(kept)
