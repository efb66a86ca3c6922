"""Signature blocks: ink lines with fields of the same place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from planforge.document import fonts, marks
from planforge.document.flowables import Block
from planforge.document.form import signature_field, text_field
from planforge.document.style import BODY, FIELD_LABEL, GREY


@dataclass(frozen=True, slots=True)
class SignatureLine:
    """One line of a signature block: its label and its share of the width; ``signed`` for the signature."""

    label: str
    share: float
    name: str
    value: str = ""
    signed: bool = False


class Signature(Block):
    """Ruled lines for name, signature, date and the like, in one row."""

    space_after = 12.0
    _LINE: Final = 25.0
    _GAP: Final = 12.0

    def __init__(self, role: str, lines: Sequence[SignatureLine]) -> None:
        """Keep the lines; ``role`` says in the fields' tooltips who signs."""
        self.role = role
        self.lines = tuple(lines)
        self._width = 0.0

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._width = width
        return width, self._LINE + FIELD_LABEL.leading

    def draw(self) -> None:
        """Draw the lines with their labels and fields."""
        canvas = self.canv
        room = self._width - self._GAP * (len(self.lines) - 1)
        total = sum(line.share for line in self.lines)
        x, base = 0.0, FIELD_LABEL.leading + 1.0
        for line in self.lines:
            width = room * line.share / total
            marks.rule(canvas, x, x + width, base, 0.7)
            if line.value:
                value, size = fonts.fit(line.value, fonts.REGULAR, BODY.size, width, 8.0)
                fonts.draw(canvas, x + 1, base + 3.5, value, fonts.REGULAR, size)
            else:
                place = signature_field if line.signed else text_field
                place(canvas, x, base, width, self._LINE - 5.0, line.name, f"{self.role}: {line.label}")
            marks.ink(canvas, GREY)
            label, size = fonts.fit(line.label, fonts.REGULAR, FIELD_LABEL.size, width, 6.5)
            fonts.draw(canvas, x, base - FIELD_LABEL.size, label, fonts.REGULAR, size)
            marks.ink(canvas, 0)
            x += width + self._GAP
