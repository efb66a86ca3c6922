"""Blocks of the document, which know how small a first piece they accept.

Every block wraps to a width, splits over pages and draws itself. Lengths are in points.
``lead`` is the least height a block can start with at the foot of a page; headings use it to
stay with what follows them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from planforge.document import fonts, marks, text, text_drawing
from planforge.document.form import check_box
from planforge.document.style import (
    BODY,
    HAIRLINE,
    HAIRLINE_GREY,
    HEADINGS,
    RULE,
    TextStyle,
)

_MIN_LINES: Final = 2
_PRINTED: Final = 4
"""The flag of what stands on a page, not on the screen alone (ISO 32000-1, table 165)."""


class Block:
    """A piece of a page with space around it and a least starting height.

    A subclass has ``wrap`` and ``draw``, which draws on ``canv`` with its lower left corner at the origin.
    """

    space_before: float = 0.0
    space_after: float = 0.0
    canv: Any

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Lay out for a width; return ``(width, height)`` in points."""
        raise NotImplementedError

    def draw(self) -> None:
        """Draw on the canvas."""
        raise NotImplementedError

    def draw_on(self, canvas: Any, x: float, y: float) -> None:
        """Draw with the lower left corner at ``(x, y)``."""
        self.canv = canvas
        with marks.shifted(canvas, x, y):
            self.draw()

    def lead(self, width: float) -> float:
        """Least height in points with which the block can begin on a page."""
        return float(self.wrap(width, 0.0)[1])

    def split(self, _width: float, _height: float) -> list[Block]:
        """Split at ``height``; no parts means the block stays whole."""
        return []


class TextBlock(Block):
    """A paragraph of inlines in one style."""

    def __init__(self, inlines: Sequence[text.Inline], style: TextStyle = BODY) -> None:
        """Keep the inlines; lines are broken when a width is known."""
        self.inlines = tuple(inlines)
        self.style = style
        self.space_before, self.space_after = style.space_before, style.space_after
        self._lines: tuple[text.Line, ...] = ()
        self._width = -1.0

    @classmethod
    def _of_lines(cls, lines: Sequence[text.Line], style: TextStyle, width: float) -> TextBlock:
        block = cls((), style)
        block._lines, block._width = tuple(lines), width
        return block

    def lines(self, width: float) -> tuple[text.Line, ...]:
        """Return the lines for ``width``, broken once."""
        if width != self._width:
            self._lines, self._width = text.break_lines(self.inlines, self.style, width), width
        return self._lines

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        return width, len(self.lines(width)) * self.style.leading

    def lead(self, width: float) -> float:
        """Two lines, or three where the third would be left alone."""
        count = len(self.lines(width))
        return (count if count <= _MIN_LINES + 1 else _MIN_LINES) * self.style.leading

    def split(self, width: float, height: float) -> list[Block]:
        """Split between lines, leaving at least two on each side where there are four."""
        lines = self.lines(width)
        count = min(int(height / self.style.leading + 1e-6), len(lines) - _MIN_LINES)
        if count < _MIN_LINES:
            return []
        head = TextBlock._of_lines(lines[:count], self.style, width)
        tail = TextBlock._of_lines(lines[count:], self.style, width)
        head.space_before, tail.space_before = self.space_before, 0.0
        head.space_after, tail.space_after = 0.0, self.space_after
        return [head, tail]

    def draw(self) -> None:
        """Draw the lines on the page."""
        height = len(self._lines) * self.style.leading
        text_drawing.draw_lines(self.canv, self._lines, self.style, 0.0, height, self._width)


@dataclass
class Anchor:
    """A place that the outline and the contents list point at; ``page`` counts from 1."""

    title: str
    level: int
    key: str
    page: int = 0


class Heading(TextBlock):
    """A heading: part titles (level 1) to paragraph heads (level 4)."""

    def __init__(self, inlines: Sequence[text.Inline], level: int, anchor: Anchor | None) -> None:
        """Set the heading in its level's style; ``anchor`` puts it in the outline."""
        super().__init__(inlines, HEADINGS[level])
        self.level = level
        self.anchor = anchor

    def lead(self, width: float) -> float:
        """The whole heading: it splits only when it alone is taller than a page."""
        return len(self.lines(width)) * self.style.leading

    def draw(self) -> None:
        """Draw the lines; a part title stands on a rule."""
        super().draw()
        if self.level == 1:
            marks.rule(self.canv, 0.0, self._width, -3.0, RULE)


class Space(Block):
    """Vertical room, ``height`` points."""

    def __init__(self, height: float) -> None:
        """Keep the height."""
        self._height = height

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        return width, self._height

    def draw(self) -> None:
        """Nothing to draw."""


class Rule(Block):
    """A thin line across the text."""

    space_before = 4.0
    space_after = 7.0

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._width = width
        return width, 1.0

    def draw(self) -> None:
        """Draw the line."""
        marks.rule(self.canv, 0.0, self._width, 0.5, HAIRLINE, HAIRLINE_GREY)


@dataclass(frozen=True, slots=True)
class Edges:
    """Which sides of a notice's frame a piece draws."""

    top: bool
    bottom: bool


class Inset(Block):
    """A block set in from the left: list items with their mark, and pieces of a framed notice."""

    def __init__(
        self,
        inner: Block,
        left: float,
        right: float = 0.0,
        mark: str | text.Box = "",
        edges: Edges | None = None,
    ) -> None:
        """``mark`` hangs in the indent at the first line; ``edges`` draws the notice frame."""
        self.inner, self.left, self.right, self.mark, self.edges = inner, left, right, mark, edges
        self.space_before = 0.0 if edges and not edges.top else max(inner.space_before, 6.0 if edges else 0.0)
        self.space_after = (
            0.0 if edges and not edges.bottom else max(inner.space_after, 9.0 if edges else 0.0)
        )
        self._size = (0.0, 0.0)

    @property
    def _pads(self) -> tuple[float, float]:
        if self.edges is None:
            return 0.0, 0.0
        return 5.0 if self.edges.top else 0.0, 5.0 if self.edges.bottom else self.inner.space_after

    def _inner_width(self, width: float) -> float:
        return max(width - self.left - self.right, 40.0)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        _, inner = self.inner.wrap(self._inner_width(width), height)
        self._size = (width, inner + sum(self._pads))
        return self._size

    def lead(self, width: float) -> float:
        """What the inner block needs, and the frame's upper edge."""
        return self.inner.lead(self._inner_width(width)) + sum(self._pads)

    def split(self, width: float, height: float) -> list[Block]:
        """Split the inner block; the mark stays with the first part."""
        parts = self.inner.split(self._inner_width(width), height - sum(self._pads))
        if len(parts) < 2:
            return []
        edges = self.edges
        first = Inset(parts[0], self.left, self.right, self.mark, edges and Edges(edges.top, False))
        rest = [
            Inset(part, self.left, self.right, "", edges and Edges(False, edges.bottom and part is parts[-1]))
            for part in parts[1:]
        ]
        return [first, *rest]

    def draw(self) -> None:
        """Draw frame, mark and content."""
        width, height = self._size
        if self.edges is not None:
            self._draw_frame(width, height, self.edges)
        self.inner.draw_on(self.canv, self.left, self._pads[1])
        style = self.inner.style if isinstance(self.inner, TextBlock) else BODY
        baseline = height - self._pads[0] - text_drawing.first_baseline(style)
        if isinstance(self.mark, text.Box):
            size = 0.85 * style.size
            check_box(self.canv, self.left - 15.0, baseline - 0.8, size, self.mark.name, self.mark.label)
        elif self.mark:
            x = self.left - 5.0 - fonts.width(self.mark, style.face, style.size)
            fonts.draw(self.canv, x, baseline, self.mark, style.face, style.size)

    def _draw_frame(self, width: float, height: float, edges: Edges) -> None:
        canvas = self.canv
        marks.shade(canvas, 0.0, 0.0, 3.2, height)
        marks.line(canvas, width, 0.0, width, height, HAIRLINE)
        if edges.top:
            marks.rule(canvas, 0.0, width, height, HAIRLINE)
        if edges.bottom:
            marks.rule(canvas, 0.0, width, 0.0, HAIRLINE)


class Group(Block):
    """Blocks that stay on one page where one page can hold them."""

    def __init__(self, blocks: Sequence[Block]) -> None:
        """Keep the blocks; the paginator places them."""
        self.blocks = tuple(blocks)
        self._width = 0.0
        if self.blocks:
            self.space_before, self.space_after = blocks[0].space_before, blocks[-1].space_after

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Return ``(width, height)`` with the space between the blocks."""
        self._width = width
        return width, stacked_height(self.blocks, width, height)

    def lead(self, width: float) -> float:
        """The whole group; the paginator splits one that is taller than a page."""
        return stacked_height(self.blocks, width, 0.0)

    def draw(self) -> None:
        """Draw the blocks one below the other, where the group stands inside another block."""
        y = self.wrap(self._width, 0.0)[1]
        gap = 0.0
        for index, block in enumerate(self.blocks):
            y -= max(block.space_before, gap) if index else 0.0
            y -= float(block.wrap(self._width, 0.0)[1])
            block.draw_on(self.canv, 0.0, y)
            gap = block.space_after


def stacked_height(blocks: Sequence[Block], width: float, height: float) -> float:
    """Height in points of ``blocks`` one below the other, gaps included."""
    total = 0.0
    for index, block in enumerate(blocks):
        gap = max(block.space_before, blocks[index - 1].space_after) if index else 0.0
        total += gap + float(block.wrap(width, height)[1])
    return total


@dataclass(frozen=True, slots=True)
class Break:
    """Start a new page of ``kind``: an instruction for the paginator, not a block."""

    kind: str = "portrait"


class Contents(Block):
    """The list of parts (and, at ``depth`` 2, sections) with page numbers and links.

    Page numbers are read from the anchors when drawing, after every page is laid out.
    """

    space_after = 8.0
    _LEADING: Final = 16.0

    def __init__(self, depth: int, anchors: Sequence[Anchor]) -> None:
        """``anchors`` is read when the list is laid out, once all parts are known and in it."""
        self._depth, self._anchors = depth, anchors
        self._width = 0.0
        self._first, self._last = 0, -1

    def _entries(self) -> Sequence[Anchor]:
        entries = [anchor for anchor in self._anchors if anchor.level <= self._depth]
        return entries[self._first : len(entries) if self._last < 0 else self._last]

    def wrap(self, width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        self._width = width
        return width, len(self._entries()) * self._LEADING

    def lead(self, _width: float) -> float:
        """Two entries."""
        return 2 * self._LEADING

    def split(self, _width: float, height: float) -> list[Block]:
        """Split between entries."""
        count = int(height / self._LEADING)
        if not 0 < count < len(self._entries()):
            return []
        head, tail = Contents(self._depth, self._anchors), Contents(self._depth, self._anchors)
        head._first, head._last = self._first, self._first + count
        tail._first, tail._last = self._first + count, self._last
        return [head, tail]

    def draw(self) -> None:
        """Draw each entry with leader dots, page number and link."""
        canvas = self.canv
        entries = self._entries()
        y = len(entries) * self._LEADING - 11.5
        for anchor in entries:
            face = fonts.SEMIBOLD if anchor.level == 1 else fonts.REGULAR
            x = 16.0 * (anchor.level - 1)
            title, size = fonts.fit(anchor.title, face, BODY.size, self._width - x - 44, 8.5)
            fonts.draw(canvas, x, y, title, face, size)
            end = x + fonts.width(title, face, size)
            number = str(anchor.page)
            start = self._width - fonts.width(number, face, BODY.size)
            fonts.draw(canvas, start, y, number, face, BODY.size)
            canvas.saveState()
            canvas.setDash([0.5, 3.0])
            marks.rule(canvas, end + 5, start - 5, y + 1, 0.6, 0.45)
            canvas.restoreState()
            canvas.linkRect(
                "",
                anchor.key,
                (x, y - 3, self._width, y + 11),
                relative=1,
                thickness=0,
                Border="[0 0 0]",
                F=_PRINTED,
            )
            y -= self._LEADING
