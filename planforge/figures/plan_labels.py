"""The labels of a plan view: what each says, its mark, and where it would like to stand.

Hazards are lengthened hexagons with their id, places are circles with a letter; all else is text.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.labels import Box, Placed, Wanted, place_labels
from planforge.figures.paper import FRAME, LINE, MASK, Paper, Pen, Points, rectangle, ring
from planforge.figures.plan_content import EDGE_LETTERS, PlanContent
from planforge.figures.plan_drawing import (
    PlanPicture,
    anchor_on_paper,
    beside_line,
    line_on_paper,
)
from planforge.figures.text_metrics import ASCENT, block_size, text_width
from planforge.job.layout import Lifeline
from planforge.units import Display

Shape = Literal["text", "hazard", "place"]

SIZE = 9.0
MARK = 10.0
"""Size of the text in marks, points."""
PLACE_RADIUS = 8.0
LEADER = Pen(0.55)
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
) -> Label:
    """A label of text lines near ``at``."""
    width, height = block_size(lines, size, bold)
    wanted = Wanted(key, width + 2.0, height + 1.0, at, tuple(preferred), gap)
    return Label(wanted, lines, "text", size, bold, italic)


def beside_label(
    key: str,
    lines: tuple[str, ...],
    ends: Array,
    *,
    size: float = SIZE,
    bold: bool = False,
    italic: bool = False,
) -> Label:
    """A label that runs along a segment (2, 2) on paper."""
    middle = np.asarray(ends, dtype=float).mean(axis=0)
    label = text_label(key, lines, (float(middle[0]), float(middle[1])), size=size, bold=bold, italic=italic)
    extent = label.wanted.width, label.wanted.height
    preferred, angle = beside_line(ends, extent, 3.5)
    width, height = extent[::-1] if angle else extent
    return replace(
        label, wanted=replace(label.wanted, width=width, height=height, preferred=preferred), angle=angle
    )


def hazard_labels(picture: PlanPicture, content: PlanContent, size: float = MARK) -> list[Label]:
    """A hexagon with the id at each hazard."""
    labels = []
    for hazard in content.hazards:
        at = picture.view.one(hazard.at)
        width = text_width(hazard.id, size, bold=True) + size * 1.1
        wanted = Wanted(hazard.id, width, size * 1.55, at, (at,), gap=2.0, on_lines=True)
        labels.append(Label(wanted, (hazard.id,), "hazard", size, bold=True))
    return labels


def place_labels_of(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """A circle with a letter at each place; one beyond the window stands at its border with the way there."""
    left, bottom, right, top = picture.window
    labels = []
    for name, place in content.places:
        x, y = picture.view.one(place.at)
        inside = left <= x <= right and bottom <= y <= top
        inset = PLACE_RADIUS + 1.0
        at = min(max(x, left + inset), right - inset), min(max(y, bottom + inset), top - inset)
        lines: tuple[str, ...] = (name,)
        width, middle, angle = 2 * PLACE_RADIUS, at, 0.0
        if not inside:
            far = float(np.hypot(x - at[0], y - at[1])) / picture.view.scale.points
            lines = (name, content.display.length(far, denominator=1))
            width += _ARROW + text_width(lines[1], SIZE) + 2.0
            middle = _pulled_in(at, width, picture.window)
            angle = float(np.degrees(np.arctan2(y - at[1], x - at[0])))
        wanted = Wanted(place.id, width, 2 * PLACE_RADIUS, middle, (middle,), gap=2.0, on_lines=True)
        labels.append(Label(wanted, lines, "place", SIZE, bold=True, angle=angle))
    return labels


def _pulled_in(at: tuple[float, float], width: float, window: Box) -> tuple[float, float]:
    return min(max(at[0], window[0] + width / 2), window[2] - width / 2), at[1]


def system_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Posts, lines with span, workers and sag, and anchors."""
    view = picture.view
    labels = [
        text_label(post.id, (post.id,), view.one(post.at), size=10.0, bold=True, gap=5.5)
        for post in content.posts
    ]
    lines = {line.id: line for line in content.lines}
    for line in content.lines:
        mate = lines.get(line.beside or "")
        if mate is None:
            told: tuple[str, ...] = (_tied(line), _measures(content, line))
        elif mate.id > line.id:
            both = (_measures(content, line), _measures(content, mate))
            told = (_tied(line), _tied(mate), *dict.fromkeys(both))
        else:
            continue  # named with its mate
        labels.append(beside_label(line.id, told, line_on_paper(content, view, line), bold=True))
    for anchor in content.anchors:
        at = anchor_on_paper(content, view, anchor)
        workers = f"{anchor.workers} worker{'s' if anchor.workers > 1 else ''}"
        labels.append(text_label(anchor.id, (anchor.id, workers), at, size=10.0, bold=True, gap=9.0))
    return labels


def _tied(line: Lifeline) -> str:
    return f"{line.id}   {line.workers} worker{'s' if line.workers > 1 else ''}"


def _measures(content: PlanContent, line: Lifeline) -> str:
    display = content.display
    text = f"{display.length(content.index.span(line))}   sag {display.inches(line.sag)}"
    band = content.sag_bands.get(line.id)
    return f"{text} ({sag_band(display, band)})" if band else text


def sag_band(display: Display, band: tuple[float, float]) -> str:
    """A band of sags on the careful side: its lower limit rounded up, its upper limit down."""
    return f"{display.inches(band[0], 'up')} – {display.inches(band[1], 'down')}"


def guard_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Edges, guardrails, openings and covers."""
    view = picture.view
    labels = [
        beside_label(edge.id, (f"{edge.id} · {EDGE_LETTERS[edge.kind]}",), _longest(view(edge.path)))
        for edge in content.edges
    ]
    labels += [
        beside_label(rail.id, (rail.id,), _longest(view(rail.path)), italic=True)
        for rail in content.guardrails
    ]
    covers = {cover.opening: cover for cover in content.covers}
    for opening in content.openings:
        cover = covers.get(opening.id)
        lines = (opening.id, cover.id) if cover else (opening.id,)
        labels.append(area_label(picture, opening.id, lines, view(opening.outline)))
    return labels


def surrounding_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Zones and lower levels whose outline shows in the window."""
    view, display = picture.view, content.display
    wanted: list[tuple[str, tuple[str, ...], Points, bool]] = [
        (z.id, (z.id, z.kind), z.outline, False) for z in content.zones
    ]
    wanted += [
        (
            level.id,
            (level.id, f"{'highest' if level.spots else 'top'} {display.length(level.elevation)}"),
            level.area,
            True,
        )
        for level in content.lower_levels
        if level.area is not None
    ]
    labels = []
    for key, lines, outline, italic in wanted:
        if not picture.visible_area(view(outline)).is_empty:
            labels.append(area_label(picture, key, lines, view(outline), italic=italic))
    return labels


def _longest(path: Array) -> Array:
    """The longest straight piece (2, 2) of a path (n, 2)."""
    longest = int(np.argmax(np.hypot(*np.diff(path, axis=0).T)))
    return path[longest : longest + 2]


def area_label(
    picture: PlanPicture, key: str, lines: tuple[str, ...], outline: Array, *, italic: bool = False
) -> Label:
    """A label inside an area, else beside it."""
    width, height = block_size(lines, SIZE)
    area = picture.visible_area(outline)
    if area.is_empty:
        area = shapely.box(*picture.window)
    point = shapely.get_coordinates(shapely.point_on_surface(area))[0]
    centres = _inside_places(area, (width + 14.0, height + 14.0))
    at = (float(point[0]), float(point[1]))
    return text_label(key, lines, at, italic=italic, preferred=centres)


_TRIED = 24
"""How many places inside an area are tried before its label goes elsewhere."""


def _inside_places(area: shapely.Geometry, size: tuple[float, float]) -> list[tuple[float, float]]:
    """Centres at which a box of ``size`` lies wholly inside ``area``, along its rim first."""
    left, bottom, right, top = shapely.bounds(area)
    if right - left < size[0] or top - bottom < size[1]:
        return []
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
    return [(float(a), float(b)) for a, b in fits[order[:_TRIED]]]


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
    paper.block(x, y, label.lines, label.size, bold=label.bold, italic=label.italic, angle=label.angle)


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
    paper.text(x, y - 0.33 * SIZE, name, SIZE, align="center", bold=True)
