"""The drilling map: the slab to scale with every base's four holes, measured from two edges of the slab.

Where what is in the slab is not located, no hole and no coordinate is printed: the sheet says that nobody
drills, and why. A base that lacks data or whose holes do not keep clear is held back alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.drilling import NO_DRILLING
from planforge.calc.arrays import Array
from planforge.calc.base_plate import hole_pattern
from planforge.figures.column_flow import Block, draw_column, least_columns
from planforge.figures.drafting import FINE, LEAST_TEXT, OVERHEAD
from planforge.figures.drilling_content import BaseHoles, DrillingContent, drilling_content
from planforge.figures.drilling_tables import COLUMN, column_blocks, detail_blocks
from planforge.figures.labels import Box, Placed, crossing, overlapping, place_labels, spread
from planforge.figures.paper import FRAME, LINE, PER_INCH, SYMBOL, Paper, Pen, rectangle, ring
from planforge.figures.plan_content import extent
from planforge.figures.plan_drawing import Obstacles, PlanPicture
from planforge.figures.plan_labels import PLACE_RADIUS, Label, draw_label, draw_place, text_label
from planforge.figures.scale import Drawn, Scale, View, largest_scale
from planforge.figures.sheet_furniture import draw_north, draw_scale_bar
from planforge.figures.slab_contents import draw_contents
from planforge.figures.text_metrics import ASCENT, DESCENT, LEADING, text_width, wrapped

SHEET_SIZE = (15.8, 8.9)
"""Inches: what the frame of an 11 x 17 sheet holds."""
SIZE = LEAST_TEXT
SLAB_EDGE = Pen(1.8)
BUILDING = OVERHEAD
DATUM = Pen(0.8, dashes=(14, 2, 2, 2))
STRING = FINE
EXTENSION = FINE
TICK = Pen(1.2)
_GUTTER = 12.0
_MARGIN = 34.0
"""Room round the slab for the marks of both edges, points."""
_STRING = 16.0
"""From the slab to a string, points."""
_LEADER = 14.0
"""From a string to its texts, points."""
_FOOT = 74.0
_NUMBER = np.array([7.0, 9.0, 11.0, 14.0])
"""How far from a hole's rim the middle of its number may stand, the nearest first, points."""
_NUMBERS_APART = 2.5
"""Clear space round a number, so that two never read as one, points."""
_TURNS = np.radians([0.0, 12.0, -12.0, 24.0, -24.0, 36.0, -36.0])
_DETAILS = (150.0, 100.0)
"""Room for an enlarged base's plate in a column, and at the foot of the window, points."""
_MOST_COLUMNS = 4
_BANNER, _REASON = 15.0, 10.0
"""Sizes of the notice that nobody drills and of its reasons, points."""


@dataclass(frozen=True)
class Arrangement:
    """How a sheet is divided: the columns, the window, the enlarged bases at its foot, and the view."""

    columns: tuple[tuple[Block, ...], ...]
    window: Box
    strip: tuple[Block, ...]
    ceiling: float  # height on paper under which the drawing keeps
    view: View


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


def drilling_scale(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE) -> Scale:
    """The map's scale."""
    return arrangement(drilling_content(assessment), size).view.scale


def drilling_map(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE) -> Drawn:
    """Draw the map on ``size`` inches.

    Raises:
        RefusedError: more bases than its tables hold.
    """
    paper = Paper(*size)
    planned = plan_map(assessment, size, paper)
    sheet, scale = planned.arrangement, planned.view.scale
    window = sheet.window
    paper.stroke(rectangle(*window), Pen(0.8), closed=True, layer=FRAME)
    x = window[2] + _GUTTER
    for blocks in sheet.columns:
        draw_column(paper, blocks, x, window[3], COLUMN)
        x += COLUMN + _GUTTER
    for number, block in enumerate(sheet.strip):
        left = window[0] + 10.0 + number * (COLUMN + _GUTTER)
        block.draw(paper, (left, window[1] + 4.0, left + COLUMN, window[1] + 4.0 + block.height))
    _draw_foot(paper, assessment, planned, x - COLUMN - _GUTTER)
    return Drawn(paper, scale.text, frozenset(b.id for b in planned.content.bases))


def plan_map(
    assessment: Assessment, size: tuple[float, float] = SHEET_SIZE, paper: Paper | None = None
) -> PlannedMap:
    """Draw the plan view itself on ``paper`` and return where everything went."""
    content = drilling_content(assessment)
    sheet = arrangement(content, size)
    window = sheet.window
    picture = PlanPicture(paper or Paper(*size), sheet.view, window, Obstacles())
    _draw_banner(picture, content, sheet.ceiling)
    _draw_slab(picture, content)
    things = draw_contents(picture, content)
    strings = [p for axis in (0, 1) for p in _draw_running(picture, content, axis)]
    picture.obstacles.boxes += [p.box for p in strings]
    labels = [_draw_base(picture, base) for base in content.bases]
    numbers = [n for base in content.drilled for n in _draw_numbers(picture, base)]
    frame = (window[0] + 3.0, window[1] + _strip_height(sheet.strip) + 3.0, window[2] - 3.0, sheet.ceiling)
    every = [*labels, *things]
    placed = place_labels(
        [label.wanted for label in every], frame, picture.obstacles.boxes, picture.obstacles.segments
    )
    for label, where in zip(every, placed, strict=True):
        draw_label(picture.paper, label, where)
    return PlannedMap(content, sheet, (*placed, *strings, *numbers))


def arrangement(content: DrillingContent, size: tuple[float, float]) -> Arrangement:
    """The enlarged bases in the columns or at the window's foot, whichever leaves the larger scale."""
    blocks = column_blocks(content)
    beside, below = (detail_blocks(content, room) for room in _DETAILS)
    tried = [_arranged(content, size, [*blocks, *beside], []), _arranged(content, size, blocks, below)]
    fitting = [t for t in tried if len(t.strip) * (COLUMN + _GUTTER) <= t.window[2] - t.window[0]]
    return max(fitting, key=lambda t: t.view.scale.ratio)


def _arranged(
    content: DrillingContent, size: tuple[float, float], blocks: list[Block], strip: list[Block]
) -> Arrangement:
    width, height = size[0] * PER_INCH, size[1] * PER_INCH
    columns = least_columns(blocks, height - 2.0, _FOOT, _MOST_COLUMNS, "drilling map")
    window = (1.0, 1.0, width - len(columns) * (COLUMN + _GUTTER) - 1.0, height - 1.0)
    ceiling = window[3] - _banner_height(content, window)
    view = _view(content, (window[0], window[1] + _strip_height(strip), window[2], ceiling))
    return Arrangement(tuple(tuple(c) for c in columns), window, tuple(strip), ceiling, view)


def _strip_height(strip: Sequence[Block]) -> float:
    return max((block.height for block in strip), default=0.0)


def _view(content: DrillingContent, room: Box) -> View:
    left_room, below = (max(_MARGIN, _string_room(content, axis) + 8.0) for axis in (1, 0))
    left, bottom, right, top = extent([content.outline, *_holes(content)])
    box = room[0] + left_room, room[1] + below, room[2] - _MARGIN, room[3] - _MARGIN
    fits = (box[2] - box[0], box[3] - box[1])
    scale = largest_scale(right - left, top - bottom, fits, content.display.system)
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return View(scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _holes(content: DrillingContent) -> list[Array]:
    return [b.base.holes for b in content.drilled if b.base.holes is not None]


def _string_room(content: DrillingContent, axis: int) -> float:
    """The longest text of a running dimension with its leader, points."""
    texts = running_texts(content, axis)
    return max((text_width(text, SIZE) + _STRING + _LEADER for _, text in texts), default=0.0)


def running_texts(content: DrillingContent, axis: int) -> list[tuple[float, str]]:
    """Each running dimension with the posts it belongs to: (m from the edge, as printed), rising."""
    display = content.display
    return [
        (r.value, f"{display.length(r.value, denominator=16)}  {' '.join(r.posts)}")
        for r in content.running(axis)
    ]


def _draw_slab(picture: PlanPicture, content: DrillingContent) -> None:
    view, paper = picture.view, picture.paper
    layout = content.assessment.job.layout
    if layout.slab is not None:
        picture.draw_line(view(layout.footprint), BUILDING, closed=True)
    picture.draw_line(view(content.outline), SLAB_EDGE, closed=True, layer=FRAME)
    x, y = view.one((content.datum.x, content.datum.y))
    right, top = (float(v) for v in np.asarray(view(content.outline)).max(axis=0))
    off = PLACE_RADIUS + 8.0
    for name, at, line in (
        ("A", (x, top + off), [(x, y - off), (x, top + 8.0)]),
        ("B", (right + off, y), [(x - off, y), (right + 8.0, y)]),
    ):
        paper.stroke(line, DATUM)
        draw_place(paper, *at, name)
        picture.obstacles.boxes.append(
            (at[0] - PLACE_RADIUS, at[1] - PLACE_RADIUS, at[0] + PLACE_RADIUS, at[1] + PLACE_RADIUS)
        )


def _draw_running(picture: PlanPicture, content: DrillingContent, axis: int) -> list[Placed]:
    """Running dimensions of the bases' centres below (axis 0) or left of (1) the slab; their boxes."""
    texts = running_texts(content, axis)
    if not texts:
        return []
    view, paper, datum = picture.view, picture.paper, content.datum.at
    edge = view.one((content.datum.x, content.datum.y))
    string = edge[1 - axis] - _STRING
    places = [float(view(datum + value)[axis]) for value, _ in texts]
    row = SIZE * LEADING
    low, high = picture.window[axis] + 3.0, picture.window[axis + 2] - 3.0
    # spread() wants falling middles
    middles = [-m for m in spread([-p for p in places], [row] * len(texts), -high, -low)]

    def point(along: float, across: float) -> tuple[float, float]:
        return (along, across) if axis == 0 else (across, along)

    paper.stroke([point(edge[axis], string), point(places[-1], string)], STRING)
    placed = []
    for place in (edge[axis], *places):
        paper.stroke(np.add(point(place, string), [(-2.6, -2.6), (2.6, 2.6)]), TICK)
    for (_, text), place, middle in zip(texts, places, middles, strict=True):
        end = string - _LEADER
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
    return text_label(base.id, (base.id,), (x, y), size=10.0, bold=True, gap=(right - left) / 2 + 6.0)


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
    return text_label(base.id, (base.id, NO_DRILLING), (x, y), size=10.0, bold=True, gap=6.0)


def banner_lines(content: DrillingContent) -> tuple[str, list[str]]:
    """The notice that nobody drills and its reasons; the notice is empty where every base is drilled."""
    if content.reasons:
        return NO_DRILLING, [f"{reason} No hole and no measurement is printed." for reason in content.reasons]
    if not content.withheld:
        return "", []
    return f"{NO_DRILLING} AT {', '.join(b.id for b in content.withheld)}", [
        f"{b.id}: {'; '.join(b.reasons)}." for b in content.withheld
    ]


def _reasons(content: DrillingContent, window: Box) -> list[str]:
    room = window[2] - window[0] - 24.0
    return [line for reason in banner_lines(content)[1] for line in wrapped(reason, _REASON, room, bold=True)]


def _banner_height(content: DrillingContent, window: Box) -> float:
    if not banner_lines(content)[0]:
        return 3.0
    notice = wrapped(banner_lines(content)[0], _BANNER, window[2] - window[0] - 24.0, bold=True)
    return 12.0 + _BANNER * LEADING * len(notice) + _REASON * LEADING * len(_reasons(content, window))


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
        (_BANNER, wrapped(notice, _BANNER, right - left - 24.0, bold=True)),
        (_REASON, _reasons(content, picture.window)),
    ):
        for line in lines:
            y -= size * LEADING
            picture.paper.text((left + right) / 2, y + size * DESCENT, line, size, align="center", bold=True)


def _draw_foot(paper: Paper, assessment: Assessment, planned: PlannedMap, left: float) -> None:
    bottom, scale = planned.window[1], planned.view.scale
    draw_north(paper, left + 22.0, bottom + 32.0, assessment.job.site.north)
    x = left + 62.0
    draw_scale_bar(paper, x, bottom + 28.0, scale, planned.content.display, COLUMN - 76.0)
    paper.text(x, bottom + 52.0, f"Scale {scale.text}", 10.0, bold=True)
    paper.text(x, bottom + 12.0, "Never scale off a hole: measure it.", SIZE)
