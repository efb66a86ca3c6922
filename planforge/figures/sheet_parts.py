"""A layout sheet among its neighbours: match lines with their labels, cut ends, and the key plan."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.drafting import FINE, LEAST_MARK, LEAST_TEXT, MATCH, THIN, break_line
from planforge.figures.labels import Box, overlapping
from planforge.figures.match_lines import FAR, Tile, Tiling
from planforge.figures.paper import HEAVY, LINE, MASK, Paper, Pen, hatch_lines, rectangle
from planforge.figures.plan_content import PlanContent
from planforge.figures.plan_drawing import PlanPicture
from planforge.figures.scale import View
from planforge.figures.text_metrics import text_width

KEY_PLAN_HEIGHT = 78.0
"""Room for the key plan, points."""
_OFF = 9.0
"""Between a match line and the middle of its label, points."""
_SIDES = ((0, -1, 0), (1, 0, 1), (2, 1, 0), (3, 0, -1))
"""Side of a box, and the way to the neighbour there: columns to the right, rows down."""


def own_on_paper(tile: Tile, view: View) -> Box:
    """The share between the match lines on paper; infinite where there is no neighbour."""
    left, bottom, right, top = (
        math.copysign(math.inf, v) if abs(v) >= FAR else float(view((v, v))[side % 2])
        for side, v in enumerate(tile.own)
    )
    return left, bottom, right, top


def neighbours(tiling: Tiling, tile: Tile) -> Iterator[tuple[int, int]]:
    """Each side (0 left, 1 below, 2 right, 3 above) that has a neighbour, with its number from 1."""
    for side, columns, rows in _SIDES:
        number = tiling.at(tile.column + columns, tile.row + rows)
        if number is not None:
            yield side, number


def draw_match_lines(picture: PlanPicture, content: PlanContent, tiling: Tiling, tile: Tile) -> list[Box]:
    """Draw every match line across the window and break what is cut; what dimensions keep off, as boxes."""
    strips: list[Box] = []
    for side, _ in neighbours(tiling, tile):
        picture.shown.add("match line")
        place, axis = picture.own[side], side % 2
        low, high = picture.window[1 - axis], picture.window[3 - axis]
        ends = [_point(axis, place, low), _point(axis, place, high)]
        picture.paper.stroke(ends, MATCH, layer=HEAVY)
        picture.obstacles.add_lines(ends)
        out = 1.0 if side > 1 else -1.0
        _break_building(picture, content, axis, picture.window[side] - out * 2.0)
        strips.append((*_point(axis, place - 3.0, low), *_point(axis, place + 3.0, high)))
    return strips


def name_match_lines(picture: PlanPicture, tiling: Tiling, tile: Tile, numbers: list[str]) -> None:
    """Write beside both ends of each match line, beyond it, which sheet goes on there."""
    for side, number in neighbours(tiling, tile):
        place, axis = picture.own[side], side % 2
        text = f"MATCH LINE · see sheet {numbers[number - 1]}"
        half = text_width(text, LEAST_MARK, bold=True) / 2 + 3.0, LEAST_MARK / 2 + 1.0
        half = half[::-1] if axis == 0 else half
        low = picture.window[1 - axis] + 4.0 + half[1 - axis]
        high = picture.window[3 - axis] - 4.0 - half[1 - axis]
        across = place + (_OFF if side > 1 else -_OFF)
        for start, step in ((low, 6.0), (high, -6.0)):
            # as near its end as nothing stands there already
            tried = [_point(axis, across, float(v)) for v in start + step * np.arange((high - low) / 12.0)]
            boxes = [
                (x - half[0], y - half[1], x + half[0], y + half[1])
                for x, y in tried or [_point(axis, across, start)]
            ]
            free = ~overlapping(np.asarray(boxes), np.asarray(picture.obstacles.boxes).reshape(-1, 4)).any(
                axis=1
            )
            box = boxes[int(np.argmax(free))]
            x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
            picture.paper.fill(rectangle(*box), 1.0, layer=MASK)
            picture.paper.block(x, y, (text,), LEAST_MARK, bold=True, angle=90.0 if axis == 0 else 0.0)
            picture.obstacles.boxes.append(box)


def _point(axis: int, place: float, along: float) -> tuple[float, float]:
    return (place, along) if axis == 0 else (along, place)


def _break_building(picture: PlanPicture, content: PlanContent, axis: int, place: float) -> None:
    """A long break line where the window's side cuts the building."""
    across = shapely.linestrings([_point(axis, place, -1e5), _point(axis, place, 1e5)])
    cut = shapely.intersection(across, picture.visible_area(picture.view(content.footprint)))
    for part in shapely.get_parts(cut):
        ends = shapely.get_coordinates(part)
        if len(ends) == 2:
            line = break_line(tuple(ends[0]), tuple(ends[1]))
            picture.paper.stroke(line, FINE, layer=LINE)


def named_here(content: PlanContent, keys: frozenset[str]) -> PlanContent:
    """What of the content a sheet names, by the keys of its labels: its lists hold no more than that."""
    posts = {p.id for p in content.posts} & keys
    lines = {one.id: one for one in content.lines}
    covers = {cover.opening for cover in content.covers} & keys
    there = content.standing
    return replace(
        content,
        edges=tuple(e for e in content.edges if e.id in keys),
        openings=tuple(o for o in content.openings if o.id in keys),
        posts=tuple(p for p in content.posts if p.id in posts),
        lines=tuple(v for v in content.lines if v.id in keys or (v.beside in keys and v.beside in lines)),
        anchors=tuple(a for a in content.anchors if (a.post or a.id) in keys),
        guardrails=tuple(g for g in content.guardrails if g.id in keys),
        covers=tuple(c for c in content.covers if c.opening in covers),
        zones=tuple(z for z in content.zones if z.id in keys),
        places=tuple(p for p in content.places if p[1].id in keys),
        hazards=tuple(h for h in content.hazards if h.id in keys),
        lower_levels=tuple(v for v in content.lower_levels if v.id in keys),
        framing=tuple(f for f in content.framing if f.id in keys),
        power_lines=tuple(p for p in content.power_lines if p.id in keys),
        standing=replace(
            there,
            floors=tuple(f for f in there.floors if f.id in keys),
            to_come=tuple(f for f in there.to_come if f.id in keys),
            walls=tuple(w for w in there.walls if w.id in keys),
            roofs=tuple(r for r in there.roofs if r.id in keys),
        ),
    )


def draw_key_plan(
    paper: Paper, box: Box, content: PlanContent, tiling: Tiling, tile: Tile, numbers: list[str]
) -> None:
    """The whole building small, each sheet's share with its number, this sheet's hatched."""
    left, bottom, right, top = box
    paper.text(left, top - LEAST_TEXT, "Key plan", LEAST_TEXT, bold=True)
    top -= LEAST_TEXT + 5.0
    shares = np.array([t.shown for t in tiling.tiles])
    low, high = shares[:, :2].min(axis=0), shares[:, 2:].max(axis=0)
    wide, tall = high - low
    factor = min((right - left) / wide, (top - bottom) / tall)

    def on_key(points: object) -> Array:
        return np.asarray((np.asarray(points, dtype=float) - low) * factor + (left, top - tall * factor))

    paper.stroke(on_key(content.footprint), Pen(THIN), closed=True, layer=LINE)
    for share, number in zip(tiling.tiles, numbers, strict=True):
        corners = rectangle(*on_key(share.shown[:2]), *on_key(share.shown[2:]))
        if share == tile:
            paper.strokes(hatch_lines(corners, 5.0, 45.0), FINE)
        paper.stroke(corners, FINE, closed=True, layer=LINE)
        x, y = corners.mean(axis=0)
        half = text_width(number, LEAST_TEXT, bold=True) / 2 + 2.0
        paper.fill(rectangle(x - half, y - 6.0, x + half, y + 6.0), 1.0, layer=MASK)
        paper.text(x, y - 0.33 * LEAST_TEXT, number, LEAST_TEXT, align="center", bold=True)
