"""The drilling map: the slab to scale with every base's four holes, measured from two edges of the slab.

Where what is in the slab is not located, no hole and no coordinate is printed: the sheet says that nobody
drills, and why. A base that lacks data or whose holes do not keep clear is held back alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.drilling import NO_DRILLING
from planforge.calc.arrays import Array
from planforge.calc.base_plate import hole_pattern
from planforge.figures.column_flow import draw_column
from planforge.figures.drafting import FINE, OVERHEAD, SHEET_SIZE, break_line
from planforge.figures.drilling_arrangement import (
    BANNER,
    GUTTER,
    REASON,
    SIZE,
    TO_STRING,
    TO_TEXT,
    Arrangement,
    banner_lines,
    divided,
    reasons,
    running_texts,
    strip_height,
)
from planforge.figures.drilling_content import BaseHoles, DrillingContent, drilling_content
from planforge.figures.drilling_tables import COLUMN
from planforge.figures.kept import kept
from planforge.figures.labels import Box, Placed, crossing, overlapping, place_labels, spread
from planforge.figures.paper import FRAME, LINE, SYMBOL, Paper, Pen, rectangle, ring
from planforge.figures.plan_content import extent
from planforge.figures.plan_drawing import Obstacles, PlanPicture
from planforge.figures.plan_labels import PLACE_RADIUS, Label, draw_label, draw_place, text_label
from planforge.figures.scale import Drawn, View
from planforge.figures.sheet_furniture import draw_north, draw_scale_bar
from planforge.figures.slab_contents import draw_contents
from planforge.figures.text_metrics import ASCENT, DESCENT, LEADING, text_width, wrapped

SLAB_EDGE = Pen(1.8)
BUILDING = OVERHEAD
DATUM = Pen(0.8, dashes=(14, 2, 2, 2))
STRING = FINE
EXTENSION = FINE
TICK = Pen(1.2)
_NUMBER = np.array([7.0, 9.0, 11.0, 14.0])
"""How far from a hole's rim the middle of its number may stand, the nearest first, points."""
_NUMBERS_APART = 2.5
"""Clear space round a number, so that two never read as one, points."""
_TURNS = np.radians([0.0, 12.0, -12.0, 24.0, -24.0, 36.0, -36.0])
_CUT = 8.0
"""How far the slab is drawn past a sheet's stretch of it, points."""


@dataclass(frozen=True, slots=True)
class DrillingSheet:
    """One sheet of the map: its figure's name, its number, its bases and its scale."""

    figure: str
    number: str
    bases: tuple[str, ...]
    scale: str


@dataclass(frozen=True)
class PlannedMap:
    """What a drilling map shows and where its parts went."""

    content: DrillingContent
    arrangement: Arrangement
    placed: tuple[Placed, ...]  # every label, running dimension and hole's number

    @property
    def view(self) -> View:
        """From metres to points."""
        return self.arrangement.view

    @property
    def window(self) -> Box:
        """What the plan is cut to."""
        return self.arrangement.window


def drilling_sheets(assessment: Assessment) -> tuple[DrillingSheet, ...]:
    """Every sheet of the map, in order; nothing is drawn."""
    return tuple(
        DrillingSheet(
            figure="drilling-map" if number == 1 else f"drilling-map:{number}",
            number=content.mark,
            bases=tuple(base.id for base in content.bases),
            scale=sheet.view.scale.text,
        )
        for number, (content, sheet) in enumerate(_sheets(assessment, SHEET_SIZE), start=1)
    )


@kept
def _sheets(
    assessment: Assessment, size: tuple[float, float]
) -> tuple[tuple[DrillingContent, Arrangement], ...]:
    return divided(drilling_content(assessment), size)


def drilling_map(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE, *, number: int = 1) -> Drawn:
    """Draw a sheet of the map on ``size`` inches, the first by default.

    Raises:
        RefusedError: more bases than the tables of any number of sheets hold.
    """
    paper = Paper(*size)
    planned = plan_map(assessment, size, paper, number=number)
    sheet, scale = planned.arrangement, planned.view.scale
    window = sheet.window
    paper.stroke(rectangle(*window), Pen(0.8), closed=True, layer=FRAME)
    x = window[2] + GUTTER
    for blocks in sheet.columns:
        draw_column(paper, blocks, x, window[3], COLUMN)
        x += COLUMN + GUTTER
    for place, block in enumerate(sheet.strip):
        left = window[0] + 10.0 + place * (COLUMN + GUTTER)
        block.draw(paper, (left, window[1] + 4.0, left + COLUMN, window[1] + 4.0 + block.height))
    _draw_foot(paper, assessment, planned, x - COLUMN - GUTTER)
    return Drawn(paper, scale.text, frozenset(b.id for b in planned.content.bases))


def plan_map(
    assessment: Assessment,
    size: tuple[float, float] = SHEET_SIZE,
    paper: Paper | None = None,
    *,
    number: int = 1,
) -> PlannedMap:
    """Draw the plan view of a sheet on ``paper`` and return where everything went."""
    content, sheet = _sheets(assessment, size)[number - 1]
    window = sheet.window
    picture = PlanPicture(paper or Paper(*size), sheet.view, window, Obstacles())
    _draw_banner(picture, content, sheet.ceiling)
    ground = _ground(picture, content)
    _draw_slab(ground, content)
    things = draw_contents(ground, content)
    strings = [p for axis in (0, 1) for p in _draw_running(picture, content, axis)]
    picture.obstacles.boxes += [p.box for p in strings]
    labels = [_draw_base(picture, base) for base in content.bases]
    numbers = [n for base in content.drilled for n in _draw_numbers(picture, base)]
    frame = (window[0] + 3.0, window[1] + strip_height(sheet.strip) + 3.0, window[2] - 3.0, sheet.ceiling)
    every = [*labels, *things]
    placed = place_labels(
        [label.wanted for label in every], frame, picture.obstacles.boxes, picture.obstacles.segments
    )
    for label, where in zip(every, placed, strict=True):
        draw_label(picture.paper, label, where)
    return PlannedMap(content, sheet, (*placed, *strings, *numbers))


def _ground(picture: PlanPicture, content: DrillingContent) -> PlanPicture:
    """The picture in which the slab is drawn: cut to the sheet's stretch of it."""
    share = content.share
    if share is None:
        return picture
    window = list(picture.window)
    for side, end, out in ((share.axis, share.low, -_CUT), (share.axis + 2, share.high, _CUT)):
        window[side] = float(picture.view((end, end))[share.axis]) + out
    left, bottom, right, top = window
    return replace(picture, window=(left, bottom, right, top))


def _draw_slab(picture: PlanPicture, content: DrillingContent) -> None:
    view, paper = picture.view, picture.paper
    layout = content.assessment.job.layout
    if layout.slab is not None:
        picture.draw_line(view(layout.footprint), BUILDING, closed=True)
    picture.draw_line(view(content.outline), SLAB_EDGE, closed=True, layer=FRAME)
    _break_slab(picture, content)
    x, y = _edges(picture, content)
    right, top = (float(v) for v in np.asarray(view(content.shown)).max(axis=0))
    off = PLACE_RADIUS + 8.0
    for axis, name, at, line in (
        (0, "A", (x, top + off), [(x, y - off), (x, top + 8.0)]),
        (1, "B", (right + off, y), [(x - off, y), (right + 8.0, y)]),
    ):
        far = _to_edge(content, axis)
        if far:
            _name_far_edge(picture, content, axis, name, far)
            continue
        paper.stroke(line, DATUM)
        draw_place(paper, *at, name)
        picture.obstacles.boxes.append(
            (at[0] - PLACE_RADIUS, at[1] - PLACE_RADIUS, at[0] + PLACE_RADIUS, at[1] + PLACE_RADIUS)
        )


def _to_edge(content: DrillingContent, axis: int) -> float:
    """How far before the sheet's stretch the edge lies that is measured from, m; 0 where it is drawn."""
    share = content.share
    if share is None or share.axis != axis:
        return 0.0
    return max(share.low - float(content.datum.at[axis]), 0.0)


def _edges(picture: PlanPicture, content: DrillingContent) -> tuple[float, float]:
    """Where both edges lie on paper; where the stretch begins for one that lies before it."""
    at = content.datum.at + [_to_edge(content, axis) for axis in (0, 1)]
    return picture.view.one((float(at[0]), float(at[1])))


def _break_slab(picture: PlanPicture, content: DrillingContent) -> None:
    """A long break line where the slab goes on beyond the sheet."""
    share = content.share
    if share is None:
        return
    axis = share.axis
    ends = content.outline[:, axis]
    sides = np.asarray(picture.view(content.outline))[:, 1 - axis]
    for side, goes_on in ((axis, share.low > ends.min()), (axis + 2, share.high < ends.max())):
        if goes_on:
            place = picture.window[side]
            pair = [(place, float(v)) if axis == 0 else (float(v), place) for v in (sides.min(), sides.max())]
            picture.paper.stroke(break_line(pair[0], pair[1]), FINE, layer=LINE)


def _name_far_edge(picture: PlanPicture, content: DrillingContent, axis: int, name: str, far: float) -> None:
    """Say how far off the edge lies, at the corner of the stretch."""
    view = picture.view
    corner = np.asarray(view(content.shown)).min(axis=0)
    away = content.display.length(far, denominator=16)
    text = f"{'←' if axis == 0 else '↓'} {name}: {away} from here"
    top = float(np.asarray(view(content.shown)).max(axis=0)[1])
    x, y = (float(corner[0]), top + 8.0) if axis == 0 else (float(corner[0]), float(corner[1]) - 14.0)
    picture.paper.text(x, y, text, SIZE, bold=True)
    picture.obstacles.boxes.append((x, y - 2.0, x + text_width(text, SIZE, True), y + SIZE))


def _draw_running(picture: PlanPicture, content: DrillingContent, axis: int) -> list[Placed]:
    """Running dimensions of the bases' centres below (axis 0) or left of (1) the slab; their boxes."""
    texts = running_texts(content, axis)
    if not texts:
        return []
    view, paper, datum = picture.view, picture.paper, content.datum.at
    edge = _edges(picture, content)
    string = edge[1 - axis] - TO_STRING
    places = [float(view(datum + value)[axis]) for value, _ in texts]
    row = SIZE * LEADING
    low, high = picture.window[axis] + 3.0, picture.window[axis + 2] - 3.0
    # spread() wants falling middles
    middles = [-m for m in spread([-p for p in places], [row] * len(texts), -high, -low)]

    def point(along: float, across: float) -> tuple[float, float]:
        return (along, across) if axis == 0 else (across, along)

    paper.stroke([point(edge[axis], string), point(places[-1], string)], STRING)
    placed = []
    for place in (*([] if _to_edge(content, axis) else [edge[axis]]), *places):
        paper.stroke(np.add(point(place, string), [(-2.6, -2.6), (2.6, 2.6)]), TICK)
    for (_, text), place, middle in zip(texts, places, middles, strict=True):
        end = string - TO_TEXT
        paper.stroke([point(place, string - 2.0), point(middle, end + 2.0)], STRING)
        width = text_width(text, SIZE)
        base = middle + 0.5 * SIZE * (ASCENT - DESCENT) * (1 if axis == 0 else -1)
        paper.text(*point(base, end), text, SIZE, align="right", angle=90.0 if axis == 0 else 0.0)
        half = 0.5 * SIZE * (ASCENT + DESCENT)
        a, b = point(middle - half, end - width), point(middle + half, end)
        placed.append(Placed(f"running {'xy'[axis]} {text}", (a[0], a[1], b[0], b[1])))
    _draw_extensions(picture, content, axis, string)
    return placed


def _draw_extensions(picture: PlanPicture, content: DrillingContent, axis: int, string: float) -> None:
    for base in content.drilled:
        at = picture.view.one(base.base.parts.post.at)
        end = (at[0], string) if axis == 0 else (string, at[1])
        picture.paper.stroke([at, end], EXTENSION)


def _draw_base(picture: PlanPicture, base: BaseHoles) -> Label:
    """A base with its four holes, or crossed out where nobody drills; its label."""
    x, y = picture.view.one(base.base.parts.post.at)
    if not base.drilled:
        return _draw_withheld(picture, base, x, y)
    kind, paper, points = base.base.parts.kind, picture.paper, picture.view.scale.points
    holes = picture.view(base.base.holes)
    paper.stroke(holes, FINE, closed=True, layer=LINE)
    tube = max(0.5 * (kind.outer_diameter or 0.0) * points, 1.0)
    paper.fill(ring(x, y, tube), 0.0, layer=SYMBOL)
    for hole in holes:
        paper.circle(float(hole[0]), float(hole[1]), _radius(picture, base), Pen(0.7), 1.0)
    left, bottom, right, top = extent([holes])
    picture.obstacles.boxes.append((left, bottom, right, top))
    return text_label(base.id, (base.id,), (x, y), size=SIZE, bold=True, gap=(right - left) / 2 + 6.0)


def _radius(picture: PlanPicture, base: BaseHoles) -> float:
    """A hole's on paper, points: true, but never too small to see."""
    anchor = base.base.anchor
    return max(0.5 * (anchor.diameter if anchor else 0.0) * picture.view.scale.points, 1.3)


def _draw_numbers(picture: PlanPicture, base: BaseHoles) -> list[Placed]:
    """The numbers of a base's holes; one that finds no clear place is left to the sketch in the table."""
    holes = picture.view(base.base.holes)
    placed = []
    for number, (hole, way) in enumerate(zip(holes, outward(base), strict=True), 1):
        box = _number_box(picture, number, hole, way, _radius(picture, base))
        if box is not None:
            x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
            picture.paper.block(x, y, (str(number),), SIZE)
            picture.obstacles.boxes.append(box)
            placed.append(Placed(f"{base.id} hole {number}", box))
    return placed


def outward(base: BaseHoles) -> Array:
    """The way each hole's number stands from it, unit vectors (4, 2): the diagonals of the turned base."""
    return np.asarray(np.sqrt(2.0) * hole_pattern(1.0, 1.0, base.base.parts.post.turned))


def _number_box(picture: PlanPicture, number: int, hole: Array, way: Array, radius: float) -> Box | None:
    """Where a hole's number stands outward of it: over nothing else, and off the lines where it can be."""
    half = np.array([0.5 * text_width(str(number), SIZE), 0.5 * SIZE * (ASCENT + DESCENT)])
    turns, off = (v.ravel() for v in np.meshgrid(_TURNS, _NUMBER))
    cos, sin = np.cos(turns), np.sin(turns)
    ways = np.column_stack([cos * way[0] - sin * way[1], sin * way[0] + cos * way[1]])
    centres = hole + ways * (radius + off)[:, None]
    boxes = np.hstack([centres - half, centres + half])
    clear = ~overlapping(boxes, np.asarray(picture.obstacles.boxes), _NUMBERS_APART).any(axis=1)
    if not clear.any():
        return None
    crossed = crossing(boxes[clear], picture.obstacles.segments).sum(axis=1)
    left, bottom, right, top = (float(v) for v in boxes[clear][int(np.argmin(crossed))])
    return left, bottom, right, top


def _draw_withheld(picture: PlanPicture, base: BaseHoles, x: float, y: float) -> Label:
    corners = rectangle(x - 5.0, y - 5.0, x + 5.0, y + 5.0)
    picture.paper.stroke(corners, Pen(1.0), closed=True, layer=SYMBOL)
    for pair in ((0, 2), (1, 3)):
        picture.paper.stroke(corners[list(pair)], Pen(1.0), layer=SYMBOL)
    picture.obstacles.boxes.append((x - 5.0, y - 5.0, x + 5.0, y + 5.0))
    return text_label(base.id, (base.id, NO_DRILLING), (x, y), size=SIZE, bold=True, gap=6.0)


def _draw_banner(picture: PlanPicture, content: DrillingContent, ceiling: float) -> None:
    notice, _ = banner_lines(content)
    if not notice:
        return
    left, _, right, top = picture.window
    picture.paper.stroke(
        rectangle(left + 4.0, ceiling + 2.0, right - 4.0, top - 4.0), Pen(2.2), closed=True, layer=FRAME
    )
    y = top - 7.0
    for size, lines in (
        (BANNER, wrapped(notice, BANNER, right - left - 24.0, bold=True)),
        (REASON, reasons(content, picture.window)),
    ):
        for line in lines:
            y -= size * LEADING
            picture.paper.text((left + right) / 2, y + size * DESCENT, line, size, align="center", bold=True)


def _draw_foot(paper: Paper, assessment: Assessment, planned: PlannedMap, left: float) -> None:
    bottom, scale = planned.window[1], planned.view.scale
    draw_north(paper, left + 22.0, bottom + 32.0, assessment.job.site.north)
    x = left + 62.0
    draw_scale_bar(paper, x, bottom + 28.0, scale, planned.content.display, COLUMN - 76.0)
    paper.text(x, bottom + 52.0, f"Scale {scale.text}", SIZE, bold=True)
    paper.text(x, bottom + 12.0, "Never scale off a hole: measure it.", SIZE)
