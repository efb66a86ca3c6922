"""The labels of a plan view: what each says, its mark, and where it would like to stand.

Hazards are lengthened hexagons with their id, places are circles with a letter; all else is text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.drafting import FINE, LEAST_MARK, LEAST_TEXT
from planforge.figures.far_place import far_text, way_from_building
from planforge.figures.labels import Box, Placed, Wanted, place_labels
from planforge.figures.paper import FRAME, LINE, MASK, Paper, Pen, rectangle, ring
from planforge.figures.plan_content import BARRED, EDGE_LETTERS, PlanContent
from planforge.figures.plan_drawing import (
    ALONG,
    PlanPicture,
    anchor_on_paper,
    beside_line,
    line_on_paper,
)
from planforge.figures.text_metrics import ASCENT, block_size, text_width
from planforge.job.layout import Anchor, Lifeline, Zone
from planforge.units import Display

Shape = Literal["text", "hazard", "place"]

SIZE = LEAST_TEXT
MARK = LEAST_MARK
"""Size of the text in marks, points."""
PLACE_RADIUS = 9.5
LEADER = FINE
_ARROW = 14.0
"""Room for the arrow of a place beyond the window, points."""


@dataclass(frozen=True, slots=True)
class Label:
    """A label with how it is drawn; ``wanted`` holds the size of its box on paper."""

    wanted: Wanted
    lines: tuple[str, ...]
    shape: Shape = "text"
    size: float = SIZE
    bold: bool = False
    italic: bool = False
    angle: float = 0.0
    minor: tuple[str, ...] = ()  # lines of the least size under the others


def text_label(
    key: str,
    lines: tuple[str, ...],
    at: tuple[float, float],
    *,
    size: float = SIZE,
    bold: bool = False,
    italic: bool = False,
    gap: float = 4.0,
    preferred: Sequence[tuple[float, float]] = (),
    minor: tuple[str, ...] = (),
) -> Label:
    """A label of text lines near ``at``; ``minor`` lines follow in the least size."""
    width, height = block_size(lines, size, bold)
    if minor:
        below = block_size(minor, SIZE)
        width, height = max(width, below[0]), height + below[1]
    wanted = Wanted(key, width + 2.0, height + 1.0, at, tuple(preferred), gap)
    return Label(wanted, lines, "text", size, bold, italic, minor=minor)


def wished_box(label: Label) -> Box:
    """Where a label goes if nothing is in its way."""
    x, y = label.wanted.preferred[0] if label.wanted.preferred else label.wanted.at
    across, up = label.wanted.width / 2, label.wanted.height / 2
    return x - across, y - up, x + across, y + up


def beside_label(
    key: str,
    lines: tuple[str, ...],
    ends: Array,
    *,
    size: float = SIZE,
    bold: bool = False,
    italic: bool = False,
    minor: tuple[str, ...] = (),
    along: Sequence[float] = ALONG,
) -> Label:
    """A label that runs along a segment (2, 2) on paper, tried at the fractions ``along`` it."""
    middle = np.asarray(ends, dtype=float).mean(axis=0)
    at = float(middle[0]), float(middle[1])
    label = text_label(key, lines, at, size=size, bold=bold, italic=italic, minor=minor)
    extent = label.wanted.width, label.wanted.height
    preferred, angle = beside_line(ends, extent, 3.5, along)
    width, height = extent[::-1] if angle else extent
    return replace(
        label, wanted=replace(label.wanted, width=width, height=height, preferred=preferred), angle=angle
    )


def hazard_labels(picture: PlanPicture, content: PlanContent, size: float = MARK) -> list[Label]:
    """A hexagon with the id at each hazard."""
    labels = []
    for hazard in content.hazards:
        at = picture.view.one(hazard.at)
        if not picture.owns(at):
            continue
        picture.shown.add("hazard")
        width = text_width(hazard.id, size, bold=True) + size * 1.1
        wanted = Wanted(hazard.id, width, size * 1.55, at, (at,), gap=2.0, on_lines=True)
        labels.append(Label(wanted, (hazard.id,), "hazard", size, bold=True))
    return labels


def place_labels_of(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """A circle with a letter at each place; one beyond the window stands at its border with the way there.

    The way and the distance are those from the building.
    """
    left, bottom, right, top = picture.window
    labels = []
    for name, place in content.places:
        x, y = picture.view.one(place.at)
        if not picture.owns((x, y)):
            continue
        picture.shown.add("place")
        inside = picture.sees((x, y))
        inset = PLACE_RADIUS + 1.0
        at = min(max(x, left + inset), right - inset), min(max(y, bottom + inset), top - inset)
        lines: tuple[str, ...] = (name,)
        width, middle, angle = 2 * PLACE_RADIUS, at, 0.0
        if not inside:
            far, way = way_from_building(content.footprint, place.at)
            lines = (name, f"{far_text(content.display, far)} from the building")
            width += _ARROW + text_width(lines[1], SIZE) + 2.0
            middle = _pulled_in(at, width, picture.window)
            angle = math.degrees(way)
        wanted = Wanted(place.id, width, 2 * PLACE_RADIUS, middle, (middle,), gap=2.0, on_lines=True)
        labels.append(Label(wanted, lines, "place", SIZE, bold=True, angle=angle))
    return labels


def _pulled_in(at: tuple[float, float], width: float, window: Box) -> tuple[float, float]:
    return min(max(at[0], window[0] + width / 2), window[2] - width / 2), at[1]


def system_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Posts with the anchorages at their heads, lines with workers and span, other anchorages.

    The sag stands on the card alone, with its temperature: no number here to set a line to on any day.
    """
    view = picture.view
    labels = []
    for post in content.posts:
        at = view.one(post.at)
        if picture.owns(at):
            heads = [a for a in content.anchors if a.post == post.id]
            told = (post.id, *(_told(content, a) for a in heads))
            gap = 9.0 if heads else 5.5
            labels.append(text_label(post.id, told, at, size=MARK, bold=True, gap=gap))
    lines = {line.id: line for line in content.lines}
    for line in content.lines:
        mate = lines.get(line.beside or "")
        if mate is not None and mate.id < line.id:
            continue  # named with its mate
        piece = picture.own_part(line_on_paper(content, view, line))
        if piece is None:
            continue
        both = (line,) if mate is None else (line, mate)
        tied = tuple(_told(content, one) for one in both)
        spans = tuple(dict.fromkeys(content.display.length(content.index.span(one)) for one in both))
        labels.append(beside_label(line.id, tied, piece, size=MARK, bold=True, minor=spans))
    for anchor in content.anchors:
        at = anchor_on_paper(content, view, anchor)
        if picture.owns(at) and anchor.post is None:
            labels.append(text_label(anchor.id, (_told(content, anchor),), at, size=MARK, bold=True, gap=9.0))
    return labels


def _told(content: PlanContent, thing: Lifeline | Anchor) -> str:
    """How many may tie on, or that nobody may."""
    count = content.allowed[thing.id]
    if not count:
        return f"{thing.id}: 0, {BARRED}"
    return f"{thing.id}   {count} worker{'s' if count > 1 else ''}"


def sag_band(display: Display, band: tuple[float, float]) -> str:
    """A band of sags on the careful side: its lower limit rounded up, its upper limit down."""
    return f"{display.inches(band[0], 'up')} – {display.inches(band[1], 'down')}"


def guard_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Edges, guardrails, openings and covers."""
    view = picture.view
    labels: list[Label] = []
    for edge in content.edges:
        piece = picture.own_part(view(edge.path))
        if piece is not None:
            labels.append(beside_label(edge.id, (f"{edge.id} · {EDGE_LETTERS[edge.kind]}",), piece))
    for rail in content.guardrails:
        piece = picture.own_part(view(rail.path))
        if piece is not None:
            labels.append(beside_label(rail.id, (rail.id,), piece, italic=True))
    covers = {cover.opening: cover for cover in content.covers}
    for opening in content.openings:
        cover = covers.get(opening.id)
        lines = (opening.id, cover.id) if cover else (opening.id,)
        outline = view(opening.outline)
        if not picture.named_area(outline).is_empty:
            labels.append(area_label(picture, opening.id, lines, outline))
    return labels


def surrounding_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Zones and lower levels whose outline shows in the window."""
    view, display = picture.view, content.display
    labels = []
    for zone in content.zones:
        outline = view(zone.outline)
        if not picture.named_area(outline).is_empty:
            labels.append(
                area_label(picture, zone.id, (_zone_kind(zone),), outline, size=MARK, minor=(zone.id,))
            )
    for level in content.lower_levels:
        outline = view(level.area)
        if not picture.named_area(outline).is_empty:
            told = (level.id, f"{'highest' if level.spots else 'top'} {display.length(level.elevation)}")
            labels.append(area_label(picture, level.id, told, outline, italic=True))
    return labels


def _zone_kind(zone: Zone) -> str:
    return f"{zone.kind}, at times" if zone.at_times else zone.kind


def area_label(
    picture: PlanPicture,
    key: str,
    lines: tuple[str, ...],
    outline: Array,
    *,
    size: float = SIZE,
    italic: bool = False,
    minor: tuple[str, ...] = (),
) -> Label:
    """A label inside an area, else beside it; one larger than the least size is bold."""
    area = picture.named_area(outline)
    if area.is_empty:
        area = shapely.box(*picture.window)
    point = shapely.get_coordinates(shapely.point_on_surface(area))[0]
    at = (float(point[0]), float(point[1]))
    label = text_label(key, lines, at, size=size, bold=size > SIZE, italic=italic, minor=minor)
    centres = _inside_places(area, (label.wanted.width + 12.0, label.wanted.height + 13.0))
    return replace(label, wanted=replace(label.wanted, preferred=centres))


_TRIED = 24
"""How many places inside an area are tried before its label goes elsewhere."""


@lru_cache(maxsize=1024)
def _inside_places(area: shapely.Geometry, size: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """Centres at which a box of ``size`` lies wholly inside ``area``, along its rim first."""
    left, bottom, right, top = shapely.bounds(area)
    if right - left < size[0] or top - bottom < size[1]:
        return ()
    x = np.linspace(left + size[0] / 2, right - size[0] / 2, 9)
    y = np.linspace(bottom + size[1] / 2, top - size[1] / 2, 9)
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    half = np.asarray(size) / 2
    shapely.prepare(area)
    boxes = shapely.box(*(places - half + 0.1).T, *(places + half - 0.1).T)
    fits = places[shapely.covers(area, boxes)]
    # the middle is where lines and posts stand
    rim = shapely.distance(shapely.boundary(area), shapely.points(fits))
    order = np.lexsort((fits[:, 0], -fits[:, 1], np.round(rim, 1)))
    return tuple((float(a), float(b)) for a, b in fits[order[:_TRIED]])


def place_and_draw(picture: PlanPicture, labels: Sequence[Label], frame: Box) -> tuple[Placed, ...]:
    """Place all labels of a plan view in their order and draw them."""
    placed = place_labels(
        [label.wanted for label in labels], frame, picture.obstacles.boxes, picture.obstacles.segments
    )
    for label, where in zip(labels, placed, strict=True):
        draw_label(picture.paper, label, where)
    return placed


def draw_label(paper: Paper, label: Label, placed: Placed) -> None:
    """Draw a placed label with its leader."""
    left, bottom, right, top = placed.box
    if placed.leader is not None:
        x1, y1, x2, y2 = placed.leader
        paper.stroke([(x1, y1), (x2, y2)], LEADER, layer=LINE)
        paper.fill(ring(x2, y2, 1.3, 10), 0.0, layer=LINE)
    x, y = placed.centre
    if label.shape == "hazard":
        draw_hazard(paper, placed.box)
    elif label.shape == "place":
        _draw_place(paper, label, placed.box)
        return
    else:
        paper.fill(rectangle(left, bottom, right, top), 1.0, layer=MASK)
    if label.minor:
        _draw_in_two_sizes(paper, label, x, y)
        return
    paper.block(x, y, label.lines, label.size, bold=label.bold, italic=label.italic, angle=label.angle)


def _draw_in_two_sizes(paper: Paper, label: Label, x: float, y: float) -> None:
    """The label's lines, and the minor ones under them as the text is read."""
    upper = block_size(label.lines, label.size, label.bold)[1]
    lower = block_size(label.minor, SIZE)[1]
    turn = math.radians(label.angle)
    for lines, size, bold, up in (
        (label.lines, label.size, label.bold, lower / 2.0),
        (label.minor, SIZE, False, -upper / 2.0),
    ):
        at = x - up * math.sin(turn), y + up * math.cos(turn)
        paper.block(*at, lines, size, bold=bold, italic=label.italic, angle=label.angle)


def draw_hazard(paper: Paper, box: Box) -> None:
    """A lengthened hexagon, heavy outline on white."""
    left, bottom, right, top = box
    nose, middle = (top - bottom) * 0.32, (bottom + top) / 2
    corners = [
        (left, middle),
        (left + nose, top),
        (right - nose, top),
        (right, middle),
        (right - nose, bottom),
        (left + nose, bottom),
    ]
    paper.fill(corners, 1.0, pen=Pen(1.4), layer=FRAME)


def _draw_place(paper: Paper, label: Label, box: Box) -> None:
    left, bottom, right, top = box
    x, y = left + PLACE_RADIUS, (bottom + top) / 2
    draw_place(paper, x, y, label.lines[0])
    if len(label.lines) > 1:
        x += PLACE_RADIUS + _ARROW / 2
        paper.fill(rectangle(x - _ARROW / 2, bottom, right, top), 1.0, layer=MASK)
        _draw_arrow(paper, x, y, math.radians(label.angle))
        paper.text(x + _ARROW / 2, y - ASCENT * SIZE / 2, label.lines[1], SIZE)


def _draw_arrow(paper: Paper, x: float, y: float, angle: float) -> None:
    way = np.array([math.cos(angle), math.sin(angle)])
    side = np.array([-way[1], way[0]])
    tip, tail = np.array([x, y]) + 6.0 * way, np.array([x, y]) - 5.0 * way
    paper.stroke(np.array([tail, tip]), Pen(0.9), layer=FRAME)
    paper.fill(
        np.asarray([tip, tip - 4.5 * way + 2.2 * side, tip - 4.5 * way - 2.2 * side]), 0.0, layer=FRAME
    )


def draw_place(paper: Paper, x: float, y: float, name: str) -> None:
    """A letter in a circle."""
    paper.fill(ring(x, y, PLACE_RADIUS - 0.6), 1.0, pen=Pen(0.9), layer=FRAME)
    paper.text(x, y - 0.33 * MARK, name, MARK, align="center", bold=True)
