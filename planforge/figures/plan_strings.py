"""Dimension strings beside a building in plan: posts from the slab's edges, and the slab overall.

Each post is dimensioned on the two strings that stand nearest to it, along x and along y. A
string's lengths have their places before any label is placed: a length that fits its interval
stands over it, one that doesn't stands beyond the string on a leader, in its order. Points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from planforge.figures.dimensions import STRING, TICK
from planforge.figures.drafting import LEAST_TEXT
from planforge.figures.labels import Box, spread
from planforge.figures.paper import LINE
from planforge.figures.plan_content import PlanContent, extent
from planforge.figures.plan_drawing import PlanPicture
from planforge.figures.text_metrics import ASCENT, DESCENT, text_width
from planforge.units import Display

SIZE = LEAST_TEXT
_NEAR = 30.0
"""From the slab's edge to the first string."""
_HEIGHT = SIZE * (ASCENT + DESCENT)
_GAP = 2.0
_TRIED = (0.0, -0.5, 0.5, -0.9, 0.9)
"""Where a length may stand in its interval, from the middle; +-1 is at an end."""
_TICK = 2.6
_LEADER = 6.0
_CHAIN_ROOM, _OVERALL_ROOM = 48.0, 68.0
"""Paper beside a building for a string of posts alone, and for one with the overall string."""
_STEP, _MOST_OUT = 6.0, 60.0
"""A string that would print over something stands this much farther out, at most so far."""


@dataclass(frozen=True, slots=True)
class Length:
    """One length of a string: its text's box, and the leader from its interval where it stands apart."""

    text: str
    box: Box
    leader: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class DimensionString:
    """A string along x (``along`` 0) or y (1), standing at ``across`` on the other axis."""

    name: str
    along: int
    across: float
    outward: float  # -1 where it stands below or left of the slab, +1 above or right
    places: tuple[float, ...]  # of its ticks
    drawn: tuple[float, float]  # where its line begins and ends
    lengths: tuple[Length, ...]

    @property
    def reach(self) -> float:
        """How far the lengths beyond the string reach from it."""
        axis = 1 - self.along
        far = [abs(side - self.across) for v in self.lengths for side in (v.box[axis], v.box[axis + 2])]
        return max([4.0, *far]) if any(v.leader for v in self.lengths) else 4.0

    def point(self, value: float, across: float) -> tuple[float, float]:
        """A place on paper from one along and one across the string."""
        return (value, across) if self.along == 0 else (across, value)


def dimension_string(
    name: str,
    stops: Sequence[tuple[float, float]],
    along: int,
    across: float,
    outward: float,
    limits: tuple[float, float],
    display: Display,
    taken: Sequence[Box] = (),
) -> DimensionString:
    """Lay out one string.

    Args:
        name: what it measures.
        stops: (place on paper along the string, true place in m), rising.
        along: 0 for a string from left to right, 1 for one that goes up.
        across: where it stands on the other axis.
        outward: -1 or +1, the way from the slab.
        limits: what of it shows. An interval cut by a limit prints its whole length where that fits the
            part that shows; a shorter one shows whole on the neighbouring sheet, which overlaps.
        display: prints the lengths.
        taken: what a length moves along its interval to keep off.
    """
    low, high = limits
    inner: list[Length] = []
    outer: list[tuple[float, str]] = []

    def box(middle: float, width: float, off: float) -> Box:
        a, b = middle - width / 2, middle + width / 2
        c, d = across + off - _HEIGHT / 2, across + off + _HEIGHT / 2
        return (a, c, b, d) if along == 0 else (c, a, d, b)

    for (a, true_a), (b, true_b) in pairwise(stops):
        start, end = max(a, low), min(b, high)
        if end - start < 1e-6:
            continue
        text = display.length(true_b - true_a)
        width = text_width(text, SIZE)
        if width + 2 * _GAP <= end - start:
            room = (end - start - width) / 2 - _GAP
            tries = [
                Length(text, box((start + end) / 2 + part * room, width, -outward * (_HEIGHT / 2 + 1.5)))
                for part in _TRIED
            ]
            inner.append(next((one for one in tries if not _meet([one.box], taken)), tries[0]))
        elif low <= a and b <= high:
            outer.append(((start + end) / 2, text))
    drawn = max(stops[0][0], low), min(stops[-1][0], high)
    # Between the string's ends no text meets the lines that rise from them.
    whole = sum(text_width(text, SIZE) + 2 * _GAP for _, text in outer)
    rows = _rows(outer, drawn if whole <= drawn[1] - drawn[0] else limits)
    for number, row in enumerate(rows):
        off = outward * (_LEADER + _HEIGHT / 2 + number * (_HEIGHT + _GAP))
        for middle, at, text in row:
            foot = across + outward * (_LEADER + number * (_HEIGHT + _GAP) - 0.5)
            ends = ((middle, across), (at, foot))
            (x1, y1), (x2, y2) = ends if along == 0 else [(q, p) for p, q in ends]
            inner.append(Length(text, box(at, text_width(text, SIZE), off), (x1, y1, x2, y2)))
    places = tuple(p for p, _ in stops if low - 1e-6 <= p <= high + 1e-6)
    return DimensionString(name, along, across, outward, places, drawn, tuple(inner))


def _rows(
    wanted: Sequence[tuple[float, str]], limits: tuple[float, float]
) -> list[list[tuple[float, float, str]]]:
    """Rows of (middle of the interval, middle of the text, text) in which no text meets another."""
    count = 1
    while True:
        rows = [wanted[start::count] for start in range(count)]
        widths = [[text_width(text, SIZE) + 2 * _GAP for _, text in row] for row in rows]
        if all(sum(row) <= limits[1] - limits[0] for row in widths):
            break
        count += 1
    placed = []
    for row, wide in zip(rows, widths, strict=True):
        # ``spread`` works from the top down
        middles = spread([-m for m, _ in row], wide, -limits[1], -limits[0])
        placed.append([(m, -at, text) for (m, text), at in zip(row, middles, strict=True)])
    return [row for row in placed if row]


def slab_extent(content: PlanContent) -> Box:
    """The edges that posts are dimensioned from, m: the slab's, or else the building's."""
    slab = content.index.job.layout.slab
    return extent([np.asarray(slab) if slab is not None else content.footprint])


def building_strings(
    picture: PlanPicture, content: PlanContent, marks: Sequence[Box] = ()
) -> tuple[DimensionString, ...]:
    """Strings of posts on the sides nearest to them, and overall strings below and to the left.

    Their lengths keep off what is drawn already and off ``marks``, boxes that want to stand where they are.
    """
    taken = [*picture.obstacles.boxes, *marks]
    strings: list[DimensionString] = []
    edges = slab_extent(content)
    on_paper = (*picture.view.one(edges[:2]), *picture.view.one(edges[2:]))
    for along in (0, 1):
        for outward in (-1.0, 1.0):
            across = on_paper[1 - along] if outward < 0 else on_paper[3 - along]
            if not picture.window[1 - along] < across < picture.window[3 - along]:
                continue  # that edge is on another sheet
            strings += _side(picture, content, along, outward, across, taken)
    return tuple(strings)


def _side(
    picture: PlanPicture,
    content: PlanContent,
    along: int,
    outward: float,
    edge: float,
    taken: Sequence[Box],
) -> list[DimensionString]:
    """The strings on one side of the slab: of posts, and overall where it is the lower or left side."""
    edges = slab_extent(content)
    low, high = edges[along], edges[along + 2]
    middle = (edges[1 - along] + edges[3 - along]) / 2
    near = [p.at[along] for p in content.posts if (p.at[1 - along] > middle) == (outward > 0)]
    wanted = []
    if near:
        wanted.append((f"posts {'xy'[along]}", sorted({round(v, 4) for v in (*near, low, high)})))
    if outward < 0:
        wanted.append((f"overall {'xy'[along]}", [low, high]))
    limits = picture.window[along] + 4.0, picture.window[along + 2] - 4.0
    off, made = _NEAR, []
    for name, values in wanted:
        stops = [(float(picture.view((v, v))[along]), v) for v in values]
        string = _clear_string(
            picture, name, stops, along, edge, outward, off, limits, content.display, taken
        )
        made.append(string)
        off = abs(string.across - edge) + string.reach + _HEIGHT + 4.0
    return made


def _clear_string(
    picture: PlanPicture,
    name: str,
    stops: Sequence[tuple[float, float]],
    along: int,
    edge: float,
    outward: float,
    off: float,
    limits: tuple[float, float],
    display: Display,
    taken: Sequence[Box],
) -> DimensionString:
    """The string as near the slab as its lengths stay off what is drawn or marked there."""
    tried: list[tuple[int, DimensionString]] = []
    for out in np.arange(off, off + _MOST_OUT, _STEP):
        across = edge + outward * float(out)
        string = dimension_string(name, stops, along, across, outward, limits, display, taken)
        met = sum(_meet([v.box], taken) for v in string.lengths)
        if not _lies_in(string, picture.window):
            break
        tried.append((met, string))
        if not met:
            return string
    if tried:
        return min(tried, key=lambda pair: pair[0])[1]
    return dimension_string(name, stops, along, edge + outward * off, outward, limits, display, taken)


def _lies_in(string: DimensionString, window: Box) -> bool:
    return all(
        window[0] <= v.box[0] and window[1] <= v.box[1] and v.box[2] <= window[2] and v.box[3] <= window[3]
        for v in string.lengths
    )


def _meet(boxes: Sequence[Box], others: Sequence[Box]) -> bool:
    return any(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3] for a in boxes for b in others)


def string_rooms(content: PlanContent) -> tuple[float, float, float, float]:
    """Paper that the strings take left of, below, right of and above the slab's edges."""
    edges = slab_extent(content)
    beyond = [
        any(p.at[axis] > (edges[axis] + edges[axis + 2]) / 2 for p in content.posts) * _CHAIN_ROOM
        for axis in (0, 1)
    ]
    return _OVERALL_ROOM, _OVERALL_ROOM, beyond[0], beyond[1]


def draw_strings(
    picture: PlanPicture, content: PlanContent, marks: Sequence[Box] = ()
) -> tuple[DimensionString, ...]:
    """Lay out and draw the strings; labels placed later keep off their lengths."""
    strings = building_strings(picture, content, marks)
    edges = slab_extent(content)
    corners = (*picture.view.one(edges[:2]), *picture.view.one(edges[2:]))
    for string in strings:
        edge = corners[1 - string.along] if string.outward < 0 else corners[3 - string.along]
        _draw(picture, string, edge)
    return strings


def _draw(picture: PlanPicture, string: DimensionString, edge: float) -> None:
    paper, across = picture.paper, string.across
    line = [string.point(v, across) for v in string.drawn]
    paper.stroke(line, STRING)
    picture.obstacles.add_lines(line)
    for place in string.places:
        x, y = string.point(place, across)
        paper.stroke([(x - _TICK, y - _TICK), (x + _TICK, y + _TICK)], TICK, layer=LINE)
        ends = [
            string.point(place, edge + string.outward * 5.0),
            string.point(place, across + string.outward * 4.0),
        ]
        paper.stroke(ends, STRING)
        picture.obstacles.add_lines(ends)
    for length in string.lengths:
        left, bottom, right, top = length.box
        if length.leader is not None:
            x1, y1, x2, y2 = length.leader
            paper.stroke([(x1, y1), (x2, y2)], STRING)
            picture.obstacles.lines.append(length.leader)
        paper.block(
            (left + right) / 2,
            (bottom + top) / 2,
            (length.text,),
            SIZE,
            angle=90.0 if string.along == 1 else 0.0,
        )
        picture.obstacles.boxes.append(length.box)
