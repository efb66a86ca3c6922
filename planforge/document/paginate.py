"""Lays blocks out on pages before anything is drawn.

In: blocks and page breaks. Out: pages with every block's place, so that page counts and the
contents list are known before the first page is drawn, in one pass. A block that fits nowhere
is split; one that can't be split is drawn smaller; nothing is dropped and nothing overflows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from planforge.document.flowables import (
    Anchor,
    Block,
    Break,
    Group,
    Heading,
    Inset,
    TextBlock,
    stacked_height,
)
from planforge.document.markdown_flow import Flow
from planforge.document.sheet import Sheet
from planforge.document.style import (
    BODY_HEIGHT,
    BODY_WIDTH,
    BOTTOM,
    LEFT,
    LETTER,
    SHEET_HEIGHT,
    SHEET_MARGIN,
    SHEET_PADDING,
    SHEET_STRIP,
    SHEET_WIDTH,
    TABLOID,
)
from planforge.document.table import Table
from planforge.document.words import Words

_EPSILON: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a kind of page takes content: paper size and content area, in points."""

    paper: tuple[float, float]
    left: float
    bottom: float
    width: float
    height: float


FRAMES: Final = {
    "portrait": Frame(LETTER, LEFT, BOTTOM, BODY_WIDTH, BODY_HEIGHT),
    "sheet": Frame(
        TABLOID,
        SHEET_MARGIN + SHEET_PADDING,
        SHEET_MARGIN + SHEET_STRIP + SHEET_PADDING,
        SHEET_WIDTH,
        SHEET_HEIGHT,
    ),
}


@dataclass(frozen=True, slots=True)
class Placed:
    """A block and its lower left corner on the page, in points."""

    block: Block
    x: float
    y: float
    height: float


@dataclass
class Page:
    """One page: its kind, its language, the part that begins or goes on at its top, what stands on it."""

    kind: str
    words: Words
    part: str = ""
    placed: list[Placed] = field(default_factory=list)

    @property
    def frame(self) -> Frame:
        """The page's paper and content area."""
        return FRAMES[self.kind]

    @property
    def sheet(self) -> Sheet | None:
        """The drawing of a sheet page."""
        block = self.placed[0].block if self.placed else None
        return block if isinstance(block, Sheet) else None


class Shrunk(Block):
    """A block that is taller than a page and can't be split, drawn smaller as a whole."""

    def __init__(self, inner: Block, width: float, height: float) -> None:
        """Scale ``inner``, laid out at ``width``, to ``height`` points."""
        self._inner, self._width, self._height = inner, width, height
        self._scale = height / float(inner.wrap(width, height)[1])

    def wrap(self, _width: float, _height: float) -> tuple[float, float]:
        """Return ``(width, height)`` in points."""
        return self._width, self._height

    def draw(self) -> None:
        """Draw scaled."""
        self.canv.scale(self._scale, self._scale)
        self._inner.draw_on(self.canv, 0.0, 0.0)


def anchor_of(block: Block) -> Anchor | None:
    """Return the anchor that a heading or sheet carries, also inside a list or notice."""
    while isinstance(block, Inset):
        block = block.inner
    return block.anchor if isinstance(block, Heading | Sheet) else None


class Paginator:
    """Fills pages from the top; one call of :meth:`run` for each part of the document."""

    def __init__(self) -> None:
        """Start with no pages."""
        self.pages: list[Page] = []
        self._left = 0.0
        self._gap = 0.0
        self._pending: str | None = "portrait"
        self._part = ""

    def run(self, flow: Flow, words: Words) -> None:
        """Place ``flow``; new pages take ``words``."""
        for index, item in enumerate(flow):
            if isinstance(item, Break):
                self._pending = item.kind
                continue
            if self._pending is not None:
                self._new_page(self._pending, words)
            if isinstance(item, Group):
                self._place_group(item, words)
            else:
                self._place(item, self._need(flow, index), words)

    def _new_page(self, kind: str, words: Words) -> None:
        self.pages.append(Page(kind, words, self._part))
        self._left, self._gap, self._pending = FRAMES[kind].height, 0.0, None

    def _need(self, flow: Sequence[Block | Break], index: int) -> float:
        """Height that must be free for ``flow[index]`` to start here: headings count what follows.

        So does a short paragraph between a heading and the table that it leads in.
        """
        width = self.pages[-1].frame.width
        need = 0.0
        for at in range(index, len(flow)):
            item = flow[at]
            if isinstance(item, Break):
                break
            need += item.lead(width) + (item.space_before if need else 0.0)
            if not (isinstance(item, Heading) or self._leads_in(flow, at, index)):
                break
            need += item.space_after
        return min(need, self.pages[-1].frame.height)

    def _leads_in(self, flow: Sequence[Block | Break], at: int, first: int) -> bool:
        block, width = flow[at], self.pages[-1].frame.width
        if at == first or at + 1 == len(flow) or not isinstance(block, TextBlock):
            return False
        whole = block.wrap(width, 0.0)[1] <= block.lead(width)
        return whole and isinstance(flow[at - 1], Heading) and isinstance(flow[at + 1], Table)

    def _place_group(self, group: Group, words: Words) -> None:
        frame = self.pages[-1].frame
        total = stacked_height(group.blocks, frame.width, frame.height)
        if total <= frame.height and total + self._gap > self._left and self.pages[-1].placed:
            self._new_page(self.pages[-1].kind, words)
        for index, block in enumerate(group.blocks):
            self._place(block, self._need(group.blocks, index), words)

    def _place(self, block: Block, need: float, words: Words) -> None:
        waiting = [block]
        while waiting:
            block = waiting.pop(0)
            page = self.pages[-1]
            width = page.frame.width
            gap = max(self._gap, block.space_before) if page.placed else 0.0
            room = self._left - gap
            height = float(block.wrap(width, room)[1])
            if height <= room + _EPSILON and (need <= room + _EPSILON or not page.placed):
                self._put(block, height, gap)
                need = 0.0
                continue
            parts = block.split(width, room) if need <= room or not page.placed else []
            if len(parts) > 1:
                self._put(parts[0], float(parts[0].wrap(width, room)[1]), gap)
                waiting[:0] = parts[1:]
                need = 0.0
            elif page.placed:
                waiting.insert(0, block)
            else:
                self._put(Shrunk(block, width, room), room, gap)
                continue
            if waiting:
                self._new_page(page.kind, words)

    def _put(self, block: Block, height: float, gap: float) -> None:
        page = self.pages[-1]
        self._left -= gap + height
        page.placed.append(Placed(block, page.frame.left, page.frame.bottom + self._left, height))
        self._gap = block.space_after
        anchor = anchor_of(block)
        if anchor is not None:
            anchor.page = len(self.pages)
            if anchor.level == 1:
                self._part = anchor.title
                if len(page.placed) == 1 or not page.part:
                    page.part = anchor.title
