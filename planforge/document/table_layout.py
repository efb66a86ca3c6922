"""How a table's rows come out: column widths from the text, lines broken, heights.

In: columns and rows of inlines. Lengths in points. No content is too wide: words that a column cannot hold
are broken by the text engine. What was laid out is kept by its content: lots of one house share most tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from planforge.document import fonts, text
from planforge.document.style import BODY_HEIGHT, CELL_HEAD, Align, TextStyle

Cell = tuple[text.Inline, ...]

PAD_X: Final = 4.5
"""Room at either side of a cell's text."""
SPLIT_OVER: Final = 0.4 * BODY_HEIGHT
"""Rows taller than this may be split between their lines."""
_LONG: Final = 100
"""Tables of more rows than this are kept row by row."""
_KEPT: Final = 2_000
"""How many tables are kept as laid out; a plan of 170 pages has about 300."""
_KEPT_ROWS: Final = 10_000
"""How many rows of long tables are kept; a plan of 170 pages has about 700."""


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
class Look:
    """How a table is set: its cells' style, padding above and below, least height of rows, a full grid."""

    style: TextStyle
    pad: float
    row_height: float
    grid: bool


@dataclass(frozen=True, slots=True, eq=False)
class LaidRow:
    """A row with its lines broken: per cell its lines, and the height. It equals itself alone."""

    cells: tuple[tuple[text.Line, ...], ...]
    height: float
    group: bool
    head: bool


@dataclass(frozen=True, slots=True)
class Laid:
    """A table laid out: what heads every page of it, its rows, its columns' widths."""

    header: tuple[LaidRow, ...]
    body: tuple[LaidRow, ...]
    widths: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Measure:
    """What a row is laid out by; there is one of each."""

    look: Look
    widths: tuple[float, ...]
    width: float


_measure = lru_cache(maxsize=_KEPT)(_Measure)


def laid(columns: tuple[Column, ...], rows: tuple[Row, ...], look: Look, width: float) -> Laid:
    """Lay a table out at ``width``. A header too tall to stand on every page is its first row.

    Lots of one house share nearly all rows of the long tables, though not the tables: those are kept by rows.
    """
    return (_laid if len(rows) <= _LONG else _laid.__wrapped__)(columns, rows, look, width)


@lru_cache(maxsize=_KEPT)
def _laid(columns: tuple[Column, ...], rows: tuple[Row, ...], look: Look, width: float) -> Laid:
    measure = _measure(look, tuple(_widths(columns, rows, look.style, width)), width)
    head = _row(Row(tuple(column.heading for column in columns)), measure, head=True)
    lay = _kept_row if len(rows) > _LONG else _row
    body = tuple(lay(row, measure) for row in rows)
    if not any(column.heading for column in columns):
        return Laid((), body, measure.widths)
    if head.height > SPLIT_OVER:
        return Laid((), (head, *body), measure.widths)
    return Laid((head,), body, measure.widths)


def _row(row: Row, by: _Measure, *, head: bool = False) -> LaidRow:
    look = by.look
    style = CELL_HEAD if head or row.group else look.style
    cells = tuple(
        text.break_lines(cell, style, room - 2 * PAD_X)
        for cell, room in zip(row.cells, (by.width,) if row.group else by.widths, strict=False)
    )
    count = max((len(lines) for lines in cells), default=1)
    least = 0.0 if head or row.group else look.row_height
    return LaidRow(cells, max(count * style.leading + 2 * look.pad, least), row.group, head)


_kept_row = lru_cache(maxsize=_KEPT_ROWS)(_row)


def split_row(row: LaidRow, look: Look, height: float) -> tuple[LaidRow, LaidRow] | None:
    """Split a row between its lines, the first part at most ``height``; None where it can't be."""
    leading = CELL_HEAD.leading if row.head or row.group else look.style.leading
    count = int((height - 2 * look.pad) / leading + 1e-6)
    if count < 2:
        return None
    upper = tuple(lines[:count] for lines in row.cells)
    lower = tuple(lines[count:] for lines in row.cells)
    most = max((len(lines) for lines in lower), default=0)
    if not most:
        return None
    return (
        replace(row, cells=upper, height=count * leading + 2 * look.pad),
        replace(row, cells=lower, height=most * leading + 2 * look.pad),
    )


def _widths(columns: Sequence[Column], rows: Sequence[Row], style: TextStyle, width: float) -> list[float]:
    fixed = {i: c.share * width for i, c in enumerate(columns) if c.share is not None}
    free = [i for i in range(len(columns)) if i not in fixed]
    minimums, naturals = [], []
    for index in free:
        cells = [row.cells[index] for row in rows if not row.group and index < len(row.cells)]
        sizes = [text.extents(cell, style) for cell in cells]
        sizes.append(text.extents(columns[index].heading, CELL_HEAD))
        minimums.append(max(size[0] for size in sizes) + 2 * PAD_X)
        naturals.append(max(size[1] for size in sizes) + 2 * PAD_X)
    shared = column_widths(minimums, naturals, max(width - sum(fixed.values()), 0.0))
    fixed.update(zip(free, shared, strict=True))
    scale = width / (sum(fixed.values()) or 1.0)
    return [fixed[index] * scale for index in range(len(columns))]


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


def heading_cell(heading: str) -> Cell:
    """Return a column heading as a cell in the header's face."""
    return text.plain(heading, fonts.SEMIBOLD)
