"""QR codes as vectors: the plan's identity, readable by a phone without a network."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import segno

from planforge.document import text
from planforge.document.flowables import Block, TextBlock
from planforge.document.style import ITEM

_QUIET_ZONE: Final = 4
_GAP: Final = 10.0


@dataclass(frozen=True, slots=True)
class QrCode:
    """A QR code drawn as vectors; ``size`` in points includes the quiet zone."""

    content: str
    size: float

    def draw(self, canvas: Any, x: float, y: float) -> None:
        """Draw with the lower left corner at ``(x, y)``, dark modules as merged bars."""
        matrix = _matrix(self.content)
        module = self.size / (len(matrix) + 2 * _QUIET_ZONE)
        canvas.setFillGray(0)
        path = canvas.beginPath()
        for index, row in enumerate(matrix):
            bottom = y + self.size - (index + 1 + _QUIET_ZONE) * module
            start = 0
            while start < len(row):
                end = start
                while end < len(row) and row[end]:
                    end += 1
                if end > start:
                    path.rect(x + (start + _QUIET_ZONE) * module, bottom, (end - start) * module, module)
                start = end + 1
        canvas.drawPath(path, stroke=0, fill=1)


@lru_cache(maxsize=8)
def _matrix(content: str) -> tuple[tuple[bool, ...], ...]:
    """Dark modules by row; every sheet of a document carries the same code."""
    return tuple(tuple(bool(cell) for cell in row) for row in segno.make(content, micro=False).matrix)


class QrBlock(Block):
    """A QR code with text at its right."""

    space_before = 4.0
    space_after = 8.0

    def __init__(self, code: QrCode, beside: Sequence[text.Inline]) -> None:
        """Keep the code; the text is set beside it, aligned at the top."""
        super().__init__()
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
        self._beside.drawOn(self.canv, self._code.size + _GAP, self._height - self._text_height)
