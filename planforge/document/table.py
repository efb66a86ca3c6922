"""Tables: hairlines, a header on every page, rows that may split.

A row that is taller than a good part of a page is split between its lines; every other row stays whole.
Lengths in points.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from planforge.document import table_drawing
from planforge.document.flowables import Block
from planforge.document.style import BODY_HEIGHT, CELL, TextStyle
from planforge.document.table_drawing import Piece
from planforge.document.table_layout import SPLIT_OVER, Column, Laid, LaidRow, Look, Row, laid, split_row

_PAD: Final = 3.2
_PAD_SMALL: Final = 2.1
_PAD_TIGHT: Final = 1.0
_SMALL: Final = 8.7
_LEAST_ROWS: Final = 2
"""Rows that a page keeps together at least, at the beginning of a table and at its end."""
_WHOLE: Final = 0.2 * BODY_HEIGHT
"""Rows no taller than this are kept together so."""


def _whole(row: LaidRow) -> bool:
    return row.height <= _WHOLE


class Table(Block):
    """A table with hairlines, or with a full grid for tables that are filled in by hand."""

    space_before = 3.0
    space_after = 9.0

    def __init__(
        self,
        columns: Sequence[Column],
        rows: Sequence[Row],
        *,
        grid: bool = False,
        row_height: float = 0.0,
        style: TextStyle = CELL,
        tight: bool = False,
    ) -> None:
        """``row_height`` is a least height in points; ``grid`` adds vertical lines; ``tight`` long lists."""
        self.columns, self.rows = tuple(columns), tuple(rows)
        # Small print is for reference: its rows stand closer.
        small = _PAD_TIGHT if tight else _PAD_SMALL
        pad = small if style.size < _SMALL and not grid else _PAD
        self._look = Look(style, pad, row_height, grid)
        self._laid = Laid((), (), ())
        self._width = -1.0
        self._begins = self._ends = True

    def _layout(self, width: float) -> None:
        if width != self._width:
            self._width = width
            self._laid = laid(self.columns, self.rows, self._look, width)

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._layout(width)
        return width, sum(row.height for row in (*self._laid.header, *self._laid.body))

    def lead(self, width: float) -> float:
        """The header and two rows, or what a tall row needs at least to begin."""
        self._layout(width)
        begun = 3 * self._look.style.leading + 2 * self._look.pad
        first = (r.height if _whole(r) else min(r.height, begun) for r in self._laid.body[:_LEAST_ROWS])
        return sum(row.height for row in self._laid.header) + sum(first)

    def split(self, width: float, height: float) -> list[Block]:
        """Split between rows, or inside a row that is taller than a good part of a page."""
        self._layout(width)
        header, body = self._laid.header, self._laid.body
        used = sum(row.height for row in header)
        count = 0
        while count < len(body) and used + body[count].height <= height + 1e-6:
            used += body[count].height
            count += 1
        head, tail = list(body[:count]), list(body[count:])
        if not tail:
            return []
        if len(tail) == 1 and len(head) > _LEAST_ROWS and _whole(tail[0]) and _whole(head[-1]):
            tail.insert(0, head.pop())  # no row stands alone on the next page
        while head and head[-1].group:
            tail.insert(0, head.pop())
        if self._begins and len(head) < _LEAST_ROWS and all(map(_whole, body[:_LEAST_ROWS])):
            return []  # nor under its heading
        if tail[0].height > SPLIT_OVER:
            room = height - sum(row.height for row in (*header, *head))
            parts = split_row(tail[0], self._look, room)
            if parts:
                head.append(parts[0])
                tail[0] = parts[1]
        if not head:
            return []
        return [self._part(head, begins=self._begins, ends=False), self._part(tail, begins=False, ends=True)]

    def _part(self, body: Sequence[LaidRow], *, begins: bool, ends: bool) -> Table:
        part = Table(self.columns, ())
        part._look, part._width = self._look, self._width
        part._laid = Laid(self._laid.header, tuple(body), self._laid.widths)
        part._begins, part._ends = begins, ends and self._ends
        part.space_before = self.space_before if begins else 0.0
        part.space_after = self.space_after if part._ends else 0.0
        return part

    def draw(self) -> None:
        """Draw header, rows and rules."""
        aligns = tuple(column.align for column in self.columns)
        laid, look = self._laid, self._look
        piece = Piece(laid.header, laid.body, laid.widths, aligns, look, self._width, self._ends)
        table_drawing.draw(piece, self.canv)
