"""Text beside a drawing, flowed down columns: blocks that are never divided or dropped."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planforge.errors import RefusedError
from planforge.figures.drafting import FINE, LEAST_TEXT
from planforge.figures.labels import Box
from planforge.figures.paper import LINE, Paper
from planforge.figures.text_metrics import ASCENT, LEADING, wrapped

SIZE = LEAST_TEXT
ROW = SIZE * LEADING


@dataclass(frozen=True, slots=True)
class Block:
    """What stands together in a column: its height (points) and how it is drawn in its box."""

    height: float
    draw: Callable[[Paper, Box], None]


def text_block(heading: str, lines: Sequence[tuple[str, bool]], width: float) -> Block:
    """A ruled heading over paragraphs, each with whether it is bold, all broken to ``width`` points."""
    *above, last = wrapped(heading, SIZE, width, bold=True)
    broken = [(line, bold) for text, bold in lines for line in wrapped(text, SIZE, width, bold)]

    def draw(paper: Paper, box: Box) -> None:
        left, _, right, top = box
        for line in above:
            top -= ROW
            paper.text(left, top + SIZE * (1 - ASCENT) + 1.0, line, SIZE, bold=True)
        y = draw_heading(paper, last, left, right, top)
        for line, bold in broken:
            y -= ROW
            paper.text(left, y + SIZE * (1 - ASCENT), line, SIZE, bold=bold)

    return Block(ROW * (len(broken) + len(above) + 1) + 6.0, draw)


def draw_heading(paper: Paper, heading: str, left: float, right: float, top: float) -> float:
    """A bold heading with a rule under it; return where the text below begins."""
    y = top - ROW
    paper.text(left, y + SIZE * (1 - ASCENT) + 1.0, heading, SIZE, bold=True)
    paper.stroke([(left, y), (right, y)], FINE, layer=LINE)
    return y - 1.0


def flowed(blocks: Sequence[Block], rooms: Sequence[float]) -> list[list[Block]] | None:
    """The blocks of each column in their order, or None where ``rooms`` (points a column) are too few."""
    columns: list[list[Block]] = [[] for _ in rooms]
    at, used = 0, 0.0
    for block in blocks:
        while at < len(rooms) and used + block.height > rooms[at]:
            at, used = at + 1, 0.0
        if at == len(rooms):
            return None
        columns[at].append(block)
        used += block.height
    return columns


def least_columns(
    blocks: Sequence[Block], room: float, reserved: float, most: int, drawing: str
) -> list[list[Block]]:
    """The blocks in the fewest columns ``room`` high, the last ``reserved`` points shorter.

    Raises:
        RefusedError: even ``most`` columns are too few.
    """
    for count in range(1, most + 1):
        columns = flowed(blocks, [room] * (count - 1) + [room - reserved])
        if columns is not None:
            return columns
    raise RefusedError(f"{drawing}: its tables need more than {most} columns; divide the posts among plans.")


def draw_column(paper: Paper, blocks: Sequence[Block], left: float, top: float, width: float) -> None:
    """Draw blocks one under another from ``top``."""
    y = top
    for block in blocks:
        block.draw(paper, (left, y - block.height, left + width, y))
        y -= block.height
