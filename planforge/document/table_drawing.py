"""Draws laid-out rows of a table: text, hairlines, shades, grid.

What is drawn is kept for all documents; its origin is its own lower left corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate
from typing import Any, Final

from planforge.document import fonts, marks
from planforge.document.recorder import Kept, Recorder
from planforge.document.style import CELL_HEAD, HAIRLINE, HAIRLINE_GREY, RULE, SHADE, Align, TextStyle
from planforge.document.table_layout import PAD_X, LaidRow, Look
from planforge.document.text_drawing import draw_lines

_KEPT: Final = 2_000
"""How many pieces are kept as drawn; a plan of 170 pages has about 400."""
_GROUP_SHADE: Final = 0.965


@dataclass(frozen=True, slots=True)
class Piece:
    """What one page shows of a table, ``width`` points wide; ``ends`` where its last row is the table's."""

    header: tuple[LaidRow, ...]
    body: tuple[LaidRow, ...]
    widths: tuple[float, ...]
    aligns: tuple[Align, ...]
    look: Look
    width: float
    ends: bool

    @property
    def height(self) -> float:
        """How tall it is, points."""
        return sum(row.height for row in (*self.header, *self.body))


def draw(piece: Piece, canvas: Any) -> None:
    """Draw with the lower left corner at the canvas's origin."""
    kept = _kept(piece)
    if kept is None:
        _Pen(piece, canvas).draw()
    else:
        fonts.draw_kept(canvas, kept)


@lru_cache(maxsize=_KEPT)
def _kept(piece: Piece) -> Kept | None:
    """The piece as drawn in every document; None where it holds what each document has of its own."""
    recorder = Recorder()
    _Pen(piece, recorder).draw()
    return recorder.kept()


@lru_cache(maxsize=256)
def _styles(style: TextStyle, aligns: tuple[Align, ...]) -> tuple[TextStyle, ...]:
    """The style of each column's cells."""
    return tuple(replace(style, align=align) for align in aligns)


@dataclass(frozen=True, slots=True)
class _Pen:
    """Draws one piece on one canvas."""

    piece: Piece
    canvas: Any

    def draw(self) -> None:
        """Draw header, rows and rules."""
        piece, canvas = self.piece, self.canvas
        look, width = piece.look, piece.width
        y = height = piece.height
        heads, cells = _styles(CELL_HEAD, piece.aligns), _styles(look.style, piece.aligns)
        for index, row in enumerate((*piece.header, *piece.body)):
            if index:
                grey = 0.0 if row.group or look.grid else HAIRLINE_GREY
                marks.rule(canvas, 0.0, width, y, HAIRLINE, grey)
            self._row(row, y, (CELL_HEAD,) if row.group else heads if row.head else cells)
            y -= row.height
        marks.rule(canvas, 0.0, width, height, RULE)
        marks.rule(canvas, 0.0, width, 0.0, RULE if piece.ends else HAIRLINE)
        if piece.header:
            marks.rule(canvas, 0.0, width, height - piece.header[0].height, 0.6)
        if look.grid:
            self._grid(height)

    def _row(self, row: LaidRow, top: float, styles: Sequence[TextStyle]) -> None:
        piece, canvas, pad = self.piece, self.canvas, self.piece.look.pad
        if row.head or row.group:
            grey = SHADE if row.head else _GROUP_SHADE
            marks.shade(canvas, 0.0, top - row.height, piece.width, row.height, grey)
        x = 0.0
        widths = (piece.width,) if row.group else piece.widths
        for lines, width, style in zip(row.cells, widths, styles, strict=False):
            # Hand-filled rows are tall: their print stands in the middle, beside the pen's line.
            slack = row.height - len(lines) * style.leading - 2 * pad
            shift = slack / 2 if piece.look.grid and not row.head else 0.0
            draw_lines(canvas, lines, style, x + PAD_X, top - pad - shift, width - 2 * PAD_X)
            x += width

    def _grid(self, height: float) -> None:
        grouped = any(row.group for row in self.piece.body)
        edges = [0.0, *accumulate(self.piece.widths)]
        for edge in (edges[0], edges[-1]) if grouped else edges:
            marks.line(self.canvas, edge, 0.0, edge, height, HAIRLINE)
