"""Draws the things of a plan view; what labels must keep clear of is gathered beside it.

Each kind has a line or symbol of its own in black, so that a copy in black and white tells
them apart. Nothing here decides where a label goes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.drafting import FINE, OVERHEAD, THICK, THIN
from planforge.figures.labels import Box
from planforge.figures.paper import (
    FILL,
    HEAVY,
    LINE,
    SYMBOL,
    Paper,
    Pen,
    Points,
    hatch_lines,
    ring,
)
from planforge.figures.plan_content import PlanContent
from planforge.figures.scale import View
from planforge.job.layout import Anchor, Lifeline, Zone

FOOTPRINT = Pen(THICK)
SLAB = OVERHEAD
EDGES = {
    "perimeter": Pen(3.4),
    "open-to-below": Pen(3.4, dashes=(7, 3)),
    "leading edge": Pen(3.0, dashes=(14, 3, 3, 3)),
    "eave": Pen(3.0, dashes=(2.5, 2.5)),
    "rake": Pen(3.0, dashes=(10, 2.5, 2.5, 2.5, 2.5, 2.5)),
    "retaining wall": Pen(2.2, dashes=(18, 4)),
}
LIFELINE = Pen(1.5, dashes=(13, 3.5))
RAIL = Pen(0.9)
OPENING = Pen(THIN)
HATCH = FINE
ZONE = Pen(0.9, dashes=(9, 3, 2, 3))
LOWER = Pen(THIN, dashes=(2.2, 2.2))
COVER_HATCH, NO_ENTRY_HATCH = 3.8, 18.0
"""Between the lines over a covered opening and in a zone that nobody enters, points."""
POST = 6.4
"""Side of a post's square, points."""
ANCHOR = 7.5
"""Half diagonal of an anchor's diamond, points."""
_ZONE_CROSSED = 3
"""For how many lines a zone's outline counts to a label: it says where nobody may stand."""
_NAMED_FROM = 40.0
"""A sheet among several names a line of which it shows so much, or the greater half, points."""
_KEPT = 4096
"""How many lines, and how many areas, are kept as a window cuts them; a lot's sheets repeat them."""
ABREAST = 3.2
"""How far each of two lines side by side is moved off their common chord, points."""


@dataclass
class Obstacles:
    """What labels keep clear of: boxes they never touch, lines they cross only at a cost; points."""

    boxes: list[Box] = field(default_factory=list)
    lines: list[tuple[float, float, float, float]] = field(default_factory=list)

    def add_lines(self, points: Points, *, closed: bool = False) -> None:
        """Take the segments through points (n, 2)."""
        whole = np.asarray(points, dtype=float)
        whole = np.concatenate([whole, whole[:1]]) if closed else whole
        self.lines += [(float(a[0]), float(a[1]), float(b[0]), float(b[1])) for a, b in pairwise(whole)]

    @property
    def segments(self) -> Array:
        """The lines as an array (m, 4)."""
        return np.asarray(self.lines, dtype=float).reshape(-1, 4)


@dataclass(frozen=True)
class PlanPicture:
    """Where a plan view is drawn: the sheet, from metres to points, and the window it is cut to.

    ``own`` is what this sheet names where several share a building: the part between its match
    lines, points. ``shown`` gathers the kinds of things that show in the window, for the key.
    """

    paper: Paper
    view: View
    window: Box
    obstacles: Obstacles
    own: Box = (-math.inf, -math.inf, math.inf, math.inf)
    shown: set[str] = field(default_factory=set)

    def owns(self, point: tuple[float, float]) -> bool:
        """True where this sheet names what stands at ``point`` (on paper); a neighbour names the rest."""
        left, bottom, right, top = self.own
        return left <= point[0] <= right and bottom <= point[1] <= top

    def sees(self, point: tuple[float, float]) -> bool:
        """True where ``point`` (on paper) lies in the window."""
        left, bottom, right, top = self.window
        return left <= point[0] <= right and bottom <= point[1] <= top

    @property
    def named(self) -> Box:
        """The part of the window whose things this sheet names."""
        own, window = self.own, self.window
        return (
            max(own[0], window[0]),
            max(own[1], window[1]),
            min(own[2], window[2]),
            min(own[3], window[3]),
        )

    def own_part(self, path: Points) -> Array | None:
        """The longest straight piece (2, 2) of a path (n, 2) on paper that this sheet names, if any.

        A sheet that shows only the lesser end of a piece, and little of it, leaves it to its neighbour.
        """
        points = np.asarray(path, dtype=float)
        pieces = np.stack([points[:-1], points[1:]], axis=1)
        lengths = np.hypot(*(pieces[:, 1] - pieces[:, 0]).T)
        if all(math.isinf(side) for side in self.own):
            return np.asarray(pieces[int(np.argmax(lengths))])
        cut = shapely.intersection(shapely.linestrings(pieces), shapely.box(*self.named))
        left = np.where(
            shapely.length(cut) >= np.minimum(_NAMED_FROM, lengths / 2.0), shapely.length(cut), 0.0
        )
        longest = int(np.argmax(left))
        return shapely.get_coordinates(cut[longest]) if left[longest] > 0.0 else None

    def visible(self, points: Points, *, closed: bool) -> list[Array]:
        """The parts of a line or outline (points on paper) inside the window, not to be written to."""
        return list(_inside(np.asarray(points, dtype=float).tobytes(), self.window, closed=closed))

    def visible_area(self, outline: Points) -> shapely.Geometry:
        """The part of an outline's area (points on paper) inside the window."""
        return _area_inside(np.asarray(outline, dtype=float).tobytes(), self.window)

    def named_area(self, outline: Points) -> shapely.Geometry:
        """The part of an outline's area (points on paper) that this sheet names."""
        return _area_inside(np.asarray(outline, dtype=float).tobytes(), self.named)

    def draw_line(
        self, points: Points, pen: Pen, *, closed: bool = False, layer: int = LINE, kind: str = ""
    ) -> list[Array]:
        """Draw what of a line is visible and keep labels off it; return the visible parts."""
        parts = self.visible(points, closed=closed)
        if parts and kind:
            self.shown.add(kind)
        for part in parts:
            self.paper.stroke(part, pen, layer=layer)
            self.obstacles.add_lines(part)
        return parts

    def hatch(self, outline: Points, spacing: float, angle: float, pen: Pen = HATCH) -> None:
        """Hatch the visible part of an outline."""
        area = self.visible_area(outline)
        for part in shapely.get_parts(area):
            if part.geom_type == "Polygon" and not part.is_empty:
                lines = hatch_lines(shapely.get_coordinates(part.exterior)[:-1], spacing, angle)
                self.paper.strokes(lines, pen, layer=FILL)


@lru_cache(maxsize=_KEPT)
def _inside(points: bytes, window: Box, *, closed: bool) -> tuple[Array, ...]:
    """The parts of a line within a window, from the bytes of its points (n, 2)."""
    line = np.frombuffer(points).reshape(-1, 2)
    whole = shapely.linearrings(line) if closed else shapely.linestrings(line)
    inside = shapely.intersection(whole, shapely.box(*window))
    parts = shapely.get_parts(shapely.line_merge(inside) if inside.geom_type != "LineString" else inside)
    lines = [shapely.get_coordinates(p) for p in parts if p.geom_type == "LineString" and not p.is_empty]
    for one in lines:
        one.flags.writeable = False
    return tuple(lines)


@lru_cache(maxsize=_KEPT)
def _area_inside(outline: bytes, window: Box) -> shapely.Geometry:
    """The part of an area within a window, from the bytes of its outline's points (n, 2)."""
    area = shapely.polygons(np.frombuffer(outline).reshape(-1, 2))
    return shapely.intersection(shapely.make_valid(area), shapely.box(*window))


def draw_building(picture: PlanPicture, content: PlanContent) -> None:
    """Footprint, slab, edges, openings, covers and guardrails."""
    view = picture.view
    picture.draw_line(view(content.footprint), FOOTPRINT, closed=True, kind="building")
    slab = content.index.job.layout.slab
    if slab is not None:
        picture.draw_line(view(slab), SLAB, closed=True, kind="slab")
    for edge in content.edges:
        picture.draw_line(view(edge.path), EDGES[edge.kind], layer=HEAVY, kind=edge.kind)
    covered = {cover.opening for cover in content.covers}
    for opening in content.openings:
        outline = view(opening.outline)
        closed = opening.id in covered
        picture.draw_line(outline, OPENING, closed=True, kind="cover" if closed else "opening")
        if closed:
            picture.hatch(outline, COVER_HATCH, 45.0)
        else:
            for diagonal in _diagonals(outline):
                picture.paper.strokes(picture.visible(diagonal, closed=False), FINE)
    for rail in content.guardrails:
        parts = picture.draw_line(view(rail.path), RAIL, kind="guardrail")
        for part in parts:
            picture.paper.strokes(ticks(part, 6.0, 2.2), RAIL)


def draw_cross(paper: Paper, outline: Array) -> None:
    """The diagonals of an opening."""
    paper.strokes(_diagonals(outline), FINE)


def _diagonals(outline: Array) -> list[Array]:
    """Lines (2, 2) between opposite corners of an outline."""
    half = len(outline) // 2
    return [outline[[corner, corner + half]] for corner in range(half)]


def never_entered(zone: Zone) -> bool:
    """True of a zone that is hatched; one closed at times only, or controlled, is an outline with words."""
    return zone.kind == "no entry" and not zone.at_times


def draw_surroundings(picture: PlanPicture, content: PlanContent) -> None:
    """Zones and what lies below, as far as the window shows them."""
    for level in content.lower_levels:
        picture.draw_line(picture.view(level.area), LOWER, closed=True, kind="lower level")
    for zone in content.zones:
        outline = picture.view(zone.outline)
        closed = never_entered(zone)
        kind = "no-entry zone" if closed else "zone"
        if closed:
            picture.hatch(outline, NO_ENTRY_HATCH, -45.0)
        parts = picture.draw_line(outline, ZONE, closed=True, kind=kind)
        for part in parts * (_ZONE_CROSSED - 1):
            picture.obstacles.add_lines(part)
        area = shapely.polygons(outline)
        for part in parts:
            picture.paper.strokes(barbs(part, 11.0, 5.0, area), FINE)


def draw_system(picture: PlanPicture, content: PlanContent) -> None:
    """Posts, lines with their absorbers, and anchors."""
    paper, view = picture.paper, picture.view
    for line in content.lines:
        ends = line_on_paper(content, view, line)
        picture.draw_line(ends, LIFELINE, layer=HEAVY, kind="lifeline")
        near, far = ends if line.absorber_at == line.start else ends[::-1]
        if line.absorber_at is not None and picture.sees((float(near[0]), float(near[1]))):
            picture.shown.add("line absorber")
            bar = draw_absorber(paper, near, far)
            picture.obstacles.boxes.append((*bar.min(axis=0), *bar.max(axis=0)))
    for post in content.posts:
        x, y = view.one(post.at)
        if picture.sees((x, y)):
            picture.shown.add("post")
            draw_post(paper, x, y, post.turned)
            picture.obstacles.boxes.append((x - POST / 2, y - POST / 2, x + POST / 2, y + POST / 2))
    for anchor in content.anchors:
        x, y = anchor_on_paper(content, view, anchor)
        if picture.sees((x, y)):
            picture.shown.add("anchorage")
            draw_anchor(paper, x, y)
            picture.obstacles.boxes.append((x - ANCHOR, y - ANCHOR, x + ANCHOR, y + ANCHOR))


def line_on_paper(content: PlanContent, view: View, line: Lifeline) -> Array:
    """A line's two ends (2, 2) on paper; two lines side by side are drawn a little apart."""
    ends = view([content.index.posts[p].at for p in (line.start, line.end)])
    if line.beside is None:
        return ends
    low, high = ends[np.lexsort((ends[:, 1], ends[:, 0]))]
    along = (high - low) / np.hypot(*(high - low))
    side = 1.0 if line.id < line.beside else -1.0
    return np.asarray(ends + side * ABREAST * np.array([-along[1], along[0]]))


def anchor_on_paper(content: PlanContent, view: View, anchor: Anchor) -> tuple[float, float]:
    """An anchor's place on paper."""
    x, y, _ = content.index.anchor_at(anchor)
    return view.one((x, y))


def draw_post(paper: Paper, x: float, y: float, turned: float = 0.0, size: float = POST) -> None:
    """A filled square, turned (rad) as the base is."""
    angle = turned + np.pi / 4 + np.arange(4) * np.pi / 2
    radius = size / math.sqrt(2)
    paper.fill(np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)]), 0.0, layer=SYMBOL)


def draw_anchor(paper: Paper, x: float, y: float, size: float = ANCHOR) -> None:
    """A heavy open diamond with a dot."""
    corners = [(x + size, y), (x, y + size), (x - size, y), (x, y - size)]
    paper.stroke(corners, Pen(1.5), closed=True, layer=SYMBOL)
    paper.fill(ring(x, y, 1.6, 12), 0.0, layer=SYMBOL)


def draw_absorber(paper: Paper, near: Array, far: Array) -> Array:
    """An open bar on the line beside the post at ``near``; return its corners (4, 2)."""
    way = (far - near) / max(float(np.hypot(*(far - near))), 1e-9)
    across = np.array([-way[1], way[0]])
    start, end = near + 9.0 * way, near + 19.0 * way
    corners = np.array([start + 2.4 * across, end + 2.4 * across, end - 2.4 * across, start - 2.4 * across])
    paper.fill(corners, 1.0, pen=Pen(0.9), layer=SYMBOL)
    return corners


def ticks(points: Points, spacing: float, half: float) -> list[Array]:
    """Short strokes (2, 2) across a line every ``spacing`` points."""
    return [np.array([p - half * n, p + half * n]) for p, _, n in _stations(points, spacing)]


def barbs(points: Points, spacing: float, length: float, area: shapely.Geometry) -> list[Array]:
    """Slanting strokes (2, 2) from an outline into its area."""
    stations = list(_stations(points, spacing))
    if not stations:
        return []
    place, along, normal = (np.array(part) for part in zip(*stations, strict=True))
    shapely.prepare(area)
    inside = shapely.contains_xy(area, place + 0.5 * normal)
    inward = np.where(inside[:, None], normal, -normal)
    return list(np.stack([place, place + length * (inward + along) / math.sqrt(2)], axis=1))


def _stations(points: Points, spacing: float) -> Iterable[tuple[Array, Array, Array]]:
    for start, end in pairwise(np.asarray(points, dtype=float)):
        length = float(np.hypot(*(end - start)))
        if length < 1e-9:
            continue
        along = (end - start) / length
        count = max(int(length / spacing), 1)
        for distance in (np.arange(count) + 0.5) * length / count:
            yield start + distance * along, along, np.array([-along[1], along[0]])


ALONG: Final = (0.5, 0.36, 0.64, 0.22, 0.78)
"""Where along a segment its label is tried, the middle first."""


def beside_line(
    ends: Array, size: tuple[float, float], gap: float, fractions: Sequence[float] = ALONG
) -> tuple[tuple[tuple[float, float], ...], float]:
    """Centres for a text of ``size`` beside a segment (2, 2), and its angle: 0, or 90 where that is upright.

    The size is that of the text as read; both sides of the segment are tried at each fraction of it.
    """
    start, end = np.asarray(ends, dtype=float)
    along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
    upright = abs(along[0]) < 0.02
    width, height = size[::-1] if upright else size
    normal = np.array([-along[1], along[0]])
    normal = normal if (normal[1], -normal[0]) > (0.0, 0.0) else -normal
    off = gap + abs(normal[0]) * width / 2 + abs(normal[1]) * height / 2
    centres = [start + f * (end - start) + side * off * normal for f in fractions for side in (1.0, -1.0)]
    return tuple((float(x), float(y)) for x, y in centres), 90.0 if upright else 0.0
