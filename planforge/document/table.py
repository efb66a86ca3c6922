"""Tables: column widths from the text, hairlines, header on every page, rows that may split.

In: columns and rows of inlines. Lengths in points. A row that is taller than a good part of a
page is split between its lines; every other row stays whole. No content is too wide: words that
a column cannot hold are broken by the text engine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from planforge.document import fonts, marks, text
from planforge.document.flowables import Block
from planforge.document.style import (
    BODY_HEIGHT,
    CELL,
    CELL_HEAD,
    HAIRLINE,
    HAIRLINE_GREY,
    RULE,
    SHADE,
    Align,
    TextStyle,
)

Cell = tuple[text.Inline, ...]

_PAD_X: Final = 4.5
_PAD_Y: Final = 3.2
_PAD_Y_SMALL: Final = 2.1
_PAD_Y_TIGHT: Final = 1.0
_SMALL: Final = 8.7
_SPLIT_OVER: Final = 0.4 * BODY_HEIGHT
_LEAST_ROWS: Final = 2
"""Rows that a page keeps together at least, at the beginning of a table and at its end."""
_WHOLE: Final = 0.2 * BODY_HEIGHT
"""Rows no taller than this are kept together so."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column's heading, alignment and, if fixed, its share (0 to 1) of the table's width."""

    heading: Cell
    align: Align = "left"
    share: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One row of cells; a ``group`` row has one cell that spans the table."""

    cells: tuple[Cell, ...]
    group: bool = False


@dataclass(frozen=True, slots=True)
class _LaidRow:
    """A row with its lines broken: per cell its lines, and the row's height in points."""

    cells: tuple[tuple[text.Line, ...], ...]
    height: float
    group: bool
    head: bool


@lru_cache(maxsize=256)
def _aligned(style: TextStyle, align: Align) -> TextStyle:
    return replace(style, align=align)


def _whole(row: _LaidRow) -> bool:
    return row.height <= _WHOLE


def column_widths(minimums: Sequence[float], naturals: Sequence[float], room: float) -> list[float]:
    """Share ``room`` points among columns so that the sum is exactly ``room``.

    Enough room for every natural width: the surplus goes in proportion to the natural widths.
    Less: each column gets its longest word, the rest goes in proportion to what is still missing.
    Not even that: a common ceiling is found, so that only the widest columns break their words.
    """
    if sum(naturals) <= room:
        spare = room - sum(naturals)
        total = sum(naturals) or 1.0
        return [natural + spare * natural / total for natural in naturals]
    if sum(minimums) <= room:
        spare = room - sum(minimums)
        missing = [natural - least for natural, least in zip(naturals, minimums, strict=True)]
        total = sum(missing) or 1.0
        return [least + spare * lack / total for least, lack in zip(minimums, missing, strict=True)]
    ceiling = _ceiling(minimums, room)
    return [min(least, ceiling) for least in minimums]


def _ceiling(widths: Sequence[float], room: float) -> float:
    """Return c with sum(min(w, c)) = room, for sum(w) > room."""
    left, count = room, len(widths)
    for width in sorted(widths):
        if width * count > left:
            break
        left, count = left - width, count - 1
    return left / max(count, 1)


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
        self.columns, self.rows, self.grid = tuple(columns), tuple(rows), grid
        self.row_height, self.style = row_height, style
        # Small print is for reference: its rows stand closer.
        small = _PAD_Y_TIGHT if tight else _PAD_Y_SMALL
        self._pad_y = small if style.size < _SMALL and not grid else _PAD_Y
        self._header: tuple[_LaidRow, ...] = ()
        self._body: tuple[_LaidRow, ...] = ()
        self._widths: tuple[float, ...] = ()
        self._width = -1.0
        self._begins = self._ends = True

    def _layout(self, width: float) -> None:
        if width == self._width:
            return
        self._width = width
        self._widths = tuple(self._columns_for(width))
        head = self._lay(Row(tuple(column.heading for column in self.columns)), head=True)
        body = tuple(self._lay(row) for row in self.rows)
        if not any(column.heading for column in self.columns):
            self._header, self._body = (), body
        elif head.height > _SPLIT_OVER:
            self._header, self._body = (), (head, *body)
        else:
            self._header, self._body = (head,), body

    def _columns_for(self, width: float) -> list[float]:
        fixed = {i: c.share * width for i, c in enumerate(self.columns) if c.share is not None}
        free = [i for i in range(len(self.columns)) if i not in fixed]
        minimums, naturals = [], []
        for index in free:
            cells = [row.cells[index] for row in self.rows if not row.group and index < len(row.cells)]
            sizes = [text.extents(cell, self.style) for cell in cells]
            sizes.append(text.extents(self.columns[index].heading, CELL_HEAD))
            minimums.append(max(size[0] for size in sizes) + 2 * _PAD_X)
            naturals.append(max(size[1] for size in sizes) + 2 * _PAD_X)
        shared = column_widths(minimums, naturals, max(width - sum(fixed.values()), 0.0))
        fixed.update(zip(free, shared, strict=True))
        scale = width / (sum(fixed.values()) or 1.0)
        return [fixed[index] * scale for index in range(len(self.columns))]

    def _styles(self, base: TextStyle) -> tuple[TextStyle, ...]:
        """The style of each column's cells."""
        return tuple(_aligned(base, column.align) for column in self.columns)

    def _lay(self, row: Row, *, head: bool = False) -> _LaidRow:
        widths = (self._width,) if row.group else self._widths
        style = CELL_HEAD if head or row.group else self.style
        cells = tuple(
            text.break_lines(cell, style, width - 2 * _PAD_X)
            for cell, width in zip(row.cells, widths, strict=False)
        )
        count = max((len(lines) for lines in cells), default=1)
        least = 0.0 if head or row.group else self.row_height
        return _LaidRow(cells, max(count * style.leading + 2 * self._pad_y, least), row.group, head)

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._layout(width)
        return width, sum(row.height for row in (*self._header, *self._body))

    def lead(self, width: float) -> float:
        """The header and two rows, or what a tall row needs at least to begin."""
        self._layout(width)
        begun = 3 * self.style.leading + 2 * self._pad_y
        first = (r.height if _whole(r) else min(r.height, begun) for r in self._body[:_LEAST_ROWS])
        return sum(row.height for row in self._header) + sum(first)

    def split(self, width: float, height: float) -> list[Block]:
        """Split between rows, or inside a row that is taller than a good part of a page."""
        self._layout(width)
        used = sum(row.height for row in self._header)
        count = 0
        while count < len(self._body) and used + self._body[count].height <= height + 1e-6:
            used += self._body[count].height
            count += 1
        head, tail = list(self._body[:count]), list(self._body[count:])
        if not tail:
            return []
        if len(tail) == 1 and len(head) > _LEAST_ROWS and _whole(tail[0]) and _whole(head[-1]):
            tail.insert(0, head.pop())  # no row stands alone on the next page
        while head and head[-1].group:
            tail.insert(0, head.pop())
        if self._begins and len(head) < _LEAST_ROWS and all(map(_whole, self._body[:_LEAST_ROWS])):
            return []  # nor under its heading
        if tail[0].height > _SPLIT_OVER:
            parts = self._split_row(tail[0], height - sum(r.height for r in (*self._header, *head)))
            if parts:
                head.append(parts[0])
                tail[0] = parts[1]
        if not head:
            return []
        return [self._part(head, begins=self._begins, ends=False), self._part(tail, begins=False, ends=True)]

    def _split_row(self, row: _LaidRow, height: float) -> tuple[_LaidRow, _LaidRow] | None:
        leading = CELL_HEAD.leading if row.head or row.group else self.style.leading
        count = int((height - 2 * self._pad_y) / leading + 1e-6)
        if count < 2:
            return None
        upper = tuple(lines[:count] for lines in row.cells)
        lower = tuple(lines[count:] for lines in row.cells)
        most = max((len(lines) for lines in lower), default=0)
        if not most:
            return None
        return (
            replace(row, cells=upper, height=count * leading + 2 * self._pad_y),
            replace(row, cells=lower, height=most * leading + 2 * self._pad_y),
        )

    def _part(self, body: Sequence[_LaidRow], *, begins: bool, ends: bool) -> Table:
        part = Table(self.columns, (), grid=self.grid, row_height=self.row_height, style=self.style)
        part._width, part._widths = self._width, self._widths
        part._header, part._body = self._header, tuple(body)
        part._begins, part._ends = begins, ends and self._ends
        part.space_before = self.space_before if begins else 0.0
        part.space_after = self.space_after if part._ends else 0.0
        return part

    def draw(self) -> None:
        """Draw header, rows and rules."""
        y = height = self.wrap(self._width, 0.0)[1]
        heads, cells = self._styles(CELL_HEAD), self._styles(self.style)
        for index, row in enumerate((*self._header, *self._body)):
            if index:
                grey = 0.0 if row.group or self.grid else HAIRLINE_GREY
                marks.rule(self.canv, 0.0, self._width, y, HAIRLINE, grey)
            self._draw_row(row, y, (CELL_HEAD,) if row.group else heads if row.head else cells)
            y -= row.height
        marks.rule(self.canv, 0.0, self._width, height, RULE)
        marks.rule(self.canv, 0.0, self._width, 0.0, RULE if self._ends else HAIRLINE)
        if self._header:
            marks.rule(self.canv, 0.0, self._width, height - self._header[0].height, 0.6)
        if self.grid:
            self._draw_grid(height)

    def _draw_row(self, row: _LaidRow, top: float, styles: Sequence[TextStyle]) -> None:
        canvas = self.canv
        if row.head or row.group:
            grey = SHADE if row.head else 0.965
            marks.shade(canvas, 0.0, top - row.height, self._width, row.height, grey)
        x = 0.0
        widths = (self._width,) if row.group else self._widths
        for lines, width, style in zip(row.cells, widths, styles, strict=False):
            # Hand-filled rows are tall: their print stands in the middle, beside the pen's line.
            slack = row.height - len(lines) * style.leading - 2 * self._pad_y
            shift = slack / 2 if self.grid and not row.head else 0.0
            text.draw_lines(canvas, lines, style, x + _PAD_X, top - self._pad_y - shift, width - 2 * _PAD_X)
            x += width

    def _draw_grid(self, height: float) -> None:
        bottom_of_group = [row for row in self._body if row.group]
        x = 0.0
        edges = [0.0]
        for width in self._widths:
            x += width
            edges.append(x)
        for edge in edges if not bottom_of_group else (edges[0], edges[-1]):
            marks.line(self.canv, edge, 0.0, edge, height, HAIRLINE)


def heading_cell(heading: str) -> Cell:
    """Return a column heading as a cell in the header's face."""
    return text.plain(heading, fonts.SEMIBOLD)
