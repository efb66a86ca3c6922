"""How many sheets a building takes at a readable scale, and where the match lines between them run.

Pure geometry: lengths in metres, what is on paper in points. All phases share one division.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from planforge.errors import RefusedError
from planforge.figures.labels import Box
from planforge.figures.scale import Scale, scales

READABLE = 1.0 / 128.0
"""The smallest scale of a layout sheet, 3/32" = 1'-0": half of it still tells two guys of a post apart."""
OVERLAP = 72.0
"""What two neighbours both show, half of it beyond each side of their match line, points."""
MOST = 36
"""Sheets of one phase: more than that is a coordinate in the wrong unit, not a building."""
FAR = 1e6
"""Where the outermost sheets end, m: they take everything on their side."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's share of the building; rows count from the top, so sheets follow as one reads."""

    column: int
    row: int
    own: Box  # m, between its match lines; without a neighbour to FAR
    shown: Box  # m, what is there of the building and its surroundings


@dataclass(frozen=True, slots=True)
class Tiling:
    """The scale, and the sheets in their order."""

    scale: Scale
    columns: int
    tiles: tuple[Tile, ...]

    def at(self, column: int, row: int) -> int | None:
        """The number (from 1) of the sheet at a place in the grid, if there is one."""
        places = [(t.column, t.row) for t in self.tiles]
        return places.index((column, row)) + 1 if (column, row) in places else None


Extent = Callable[[Scale], Box]
"""What must be shown at a scale, m: a wider margin where it is a length of paper."""


def tiling(
    extent: Extent,
    room: tuple[float, float],
    system: Literal["us", "metric"],
    things: Sequence[tuple[float, float]] = (),
    readable: float = READABLE,
) -> Tiling:
    """Divide ``extent`` among as few sheets of ``room`` points as hold it at a readable scale.

    One sheet at the largest scale that fits where that is readable; else the fewest sheets at
    the smallest readable scale, drawn as large as that number of sheets allows. ``things`` (m) are
    what a match line keeps away from as far as the sheets leave it room.

    Raises:
        RefusedError: it would take more than MOST sheets.
    """
    large = [s for s in scales(system) if s.ratio >= readable * (1.0 - 1e-9)]
    whole = next((s for s in large if _counts(extent(s), s, room) == (1, 1)), None)
    if whole is not None:
        return Tiling(whole, 1, (Tile(0, 0, (-FAR, -FAR, FAR, FAR), extent(whole)),))
    counts = _counts(extent(large[-1]), large[-1], room)
    if counts[0] * counts[1] > MOST:
        raise RefusedError(
            f"drawing: the layout takes {counts[0]} x {counts[1]} sheets at {large[-1].text}, more than "
            f"{MOST}; look for a coordinate with a wrong unit, or divide the building among several plans."
        )
    scale = next(s for s in large if _fits(_counts(extent(s), s, room), counts))
    box = extent(scale)
    x = _cuts(
        box[0], box[2], counts[0], room[0] / scale.points, OVERLAP / scale.points, [p for p, _ in things]
    )
    y = _cuts(
        box[1], box[3], counts[1], room[1] / scale.points, OVERLAP / scale.points, [q for _, q in things]
    )
    tiles = tuple(
        Tile(
            column,
            row,
            (
                x[column] if column else -FAR,
                y[-2 - row] if row < counts[1] - 1 else -FAR,
                x[column + 1] if column < counts[0] - 1 else FAR,
                y[-1 - row] if row else FAR,
            ),
            (x[column], y[-2 - row], x[column + 1], y[-1 - row]),
        )
        for row in range(counts[1])
        for column in range(counts[0])
    )
    return Tiling(scale, counts[0], tiles)


def _fits(counts: tuple[int, int], most: tuple[int, int]) -> bool:
    return counts[0] <= most[0] and counts[1] <= most[1]


def _counts(box: Box, scale: Scale, room: tuple[float, float]) -> tuple[int, int]:
    wide, high = (box[2] - box[0]) * scale.points, (box[3] - box[1]) * scale.points
    return _count(wide, room[0]), _count(high, room[1])


def _count(length: float, room: float) -> int:
    if length <= room + 1e-6:
        return 1
    return math.ceil((length - OVERLAP) / (room - OVERLAP) - 1e-9)


def _cuts(
    low: float, high: float, count: int, room: float, overlap: float, things: Sequence[float]
) -> list[float]:
    """Where the shares begin and end (count + 1 places, m): even, then moved off ``things``."""
    share = (high - low) / count
    # An inner share has a neighbour at both ends, and both of its cuts may move.
    slack = max((room - overlap - share) / 2.0, 0.0) * 0.98
    inner = [_clear(low + n * share, min(slack, share / 4.0), things) for n in range(1, count)]
    return [low, *inner, high]


def _clear(middle: float, slack: float, things: Sequence[float]) -> float:
    """The middle of the widest gap between ``things`` within ``slack`` of ``middle``."""
    left, right = middle - slack, middle + slack
    stops = sorted({left, right, *(t for t in things if left < t < right)})
    if len(stops) <= 2:
        return middle
    gaps = [(b - a, -abs((a + b) / 2 - middle), (a + b) / 2) for a, b in pairwise(stops)]
    return max(gaps)[2]
