"""Signature blocks: ink lines with fields of the same place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from planforge.document import fonts, text
from planforge.document.flowables import Block, TextBlock
from planforge.document.form import text_field
from planforge.document.style import BODY, FIELD_LABEL, GREY, ITEM


@dataclass(frozen=True, slots=True)
class SignatureLine:
    """One line of a signature block: its label and its share of the width."""

    label: str
    share: float
    name: str
    value: str = ""


class Signature(Block):
    """A role, an optional statement, and ruled lines for name, signature, date and the like."""

    space_before = 4.0
    space_after = 10.0
    _LINE: Final = 25.0
    _GAP: Final = 12.0

    def __init__(self, role: str, lines: Sequence[SignatureLine], statement: Sequence[text.Inline]) -> None:
        """Keep the lines; ``statement`` stands under the role, above the lines."""
        super().__init__()
        self.title = role
        self.role = TextBlock(text.plain(role, fonts.SEMIBOLD), ITEM)
        self.statement = TextBlock(statement, ITEM) if statement else None
        self.lines = tuple(lines)
        self._width = 0.0

    def _texts(self) -> list[TextBlock]:
        return [self.role, self.statement] if self.statement else [self.role]

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._width = width
        heights = sum(block.wrap(width, height)[1] for block in self._texts())
        return width, heights + self._LINE + FIELD_LABEL.leading

    def draw(self) -> None:
        """Draw role, statement and lines with their fields."""
        canvas = self.canv
        y = self.wrap(self._width, 0.0)[1]
        for block in self._texts():
            y -= block.wrap(self._width, 0.0)[1]
            block.drawOn(canvas, 0, y)
        room = self._width - self._GAP * (len(self.lines) - 1)
        total = sum(line.share for line in self.lines)
        x, base = 0.0, FIELD_LABEL.leading + 1.0
        for line in self.lines:
            width = room * line.share / total
            canvas.setLineWidth(0.7)
            canvas.setStrokeGray(0)
            canvas.line(x, base, x + width, base)
            if line.value:
                value, size = fonts.fit(line.value, fonts.REGULAR, BODY.size, width, 8.0)
                fonts.draw(canvas, x + 1, base + 3.5, value, fonts.REGULAR, size)
            else:
                text_field(canvas, x, base, width, self._LINE - 5.0, line.name, f"{self.title}: {line.label}")
            canvas.setFillGray(GREY)
            label, size = fonts.fit(line.label, fonts.REGULAR, FIELD_LABEL.size, width, 6.5)
            fonts.draw(canvas, x, base - FIELD_LABEL.size, label, fonts.REGULAR, size)
            canvas.setFillGray(0)
            x += width + self._GAP
