"""QR codes as vectors: the plan's identity, readable by a phone without a network."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import segno

from planforge.document import text
from planforge.document.flowables import Block, TextBlock
from planforge.document.style import ITEM

_QUIET_ZONE: Final = 4
_DARK: Final = re.compile(rb"[^\0]+")
_GAP: Final = 10.0


@dataclass(frozen=True, slots=True)
class QrCode:
    """A QR code drawn as vectors; ``size`` in points includes the quiet zone."""

    content: str
    size: float

    def draw(self, canvas: Any, x: float, y: float) -> None:
        """Draw with the lower left corner at ``(x, y)``, dark modules as merged bars."""
        modules, bars = _bars(self.content)
        scale = self.size / modules
        canvas._code.append(f"q {scale:.5f} 0 0 {scale:.5f} {x:.3f} {y:.3f} cm 0 g {bars} f Q")


@lru_cache(maxsize=8)
def _bars(content: str) -> tuple[int, str]:
    """The code's side in modules, quiet zone included, and its bars as a path with a module for unit.

    Every sheet of a document carries the same code.
    """
    matrix = segno.make(content, micro=False).matrix
    side = len(matrix) + 2 * _QUIET_ZONE
    bars = [
        f"{bar.start() + _QUIET_ZONE} {side - 1 - _QUIET_ZONE - index} {bar.end() - bar.start()} 1 re"
        for index, row in enumerate(matrix)
        for bar in _DARK.finditer(bytes(row))
    ]
    return side, " ".join(bars)


class QrBlock(Block):
    """A QR code with text at its right."""

    space_before = 4.0
    space_after = 8.0

    def __init__(self, code: QrCode, beside: Sequence[text.Inline]) -> None:
        """Keep the code; the text is set beside it, aligned at the top."""
        self._code = code
        self._beside = TextBlock(beside, ITEM)
        self._height = self._text_height = 0.0

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._text_height = self._beside.wrap(width - self._code.size - _GAP, height)[1]
        self._height = max(self._code.size, self._text_height)
        return width, self._height

    def draw(self) -> None:
        """Draw code and text."""
        self._code.draw(self.canv, 0.0, self._height - self._code.size)
        self._beside.draw_on(self.canv, self._code.size + _GAP, self._height - self._text_height)
