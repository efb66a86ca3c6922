"""The crew's map: where to tie off and how many, guarded edges, no-entry zones, rescue kit, ways up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.figures.labels import Box
from planforge.figures.paper import FRAME, Paper, Pen, rectangle
from planforge.figures.plan_content import PlanContent, core, plan_content
from planforge.figures.plan_drawing import (
    ZONE,
    Obstacles,
    PlanPicture,
    anchor_on_paper,
    draw_building,
    draw_system,
    line_on_paper,
)
from planforge.figures.plan_labels import Label, beside_label, place_and_draw, text_label
from planforge.figures.scale import Drawn, View, largest_scale
from planforge.figures.sheet_furniture import dot, draw_north, draw_scale_bar
from planforge.job.layout import Place
from planforge.units import FOOT

SIZE_INCHES = (7.0, 4.6)
SIZE = 9.5
_CREW_PLACES = {
    "rescue kit": "Rescue kit",
    "ladder": "Ladder",
    "gate": "Gate",
    "stair": "Way up",
    "first aid": "First aid",
    "lift": "Lift",
    "assembly point": "Assembly point",
}
_FURNITURE = 60.0


def tie_off_map(
    assessment: Assessment, phase: str | None = None, size: tuple[float, float] = SIZE_INCHES
) -> Drawn:
    """Draw the map for one phase, or for all where ``phase`` is None, on ``size`` inches."""
    content = _crew_content(plan_content(assessment, phase))
    paper = Paper(*size)
    window = (1.0, 1.0, paper.width - 1.0, paper.height - 1.0)
    view = _view(content, window)
    picture = PlanPicture(paper, view, window, Obstacles())
    for zone in content.zones:
        outline = view(zone.outline)
        picture.hatch(outline, 11.0, -45.0)
        picture.draw_line(outline, ZONE, closed=True)
    draw_building(picture, content)
    draw_system(picture, content)
    furniture = (window[2] - _FURNITURE - 52.0, window[1], window[2], window[1] + 46.0)
    picture.obstacles.boxes.append(furniture)
    frame = (window[0] + 3.0, window[1] + 3.0, window[2] - 3.0, window[3] - 3.0)
    place_and_draw(picture, _labels(picture, content), frame)
    draw_north(paper, furniture[0] + 14.0, furniture[1] + 18.0, assessment.job.site.north, 12.0)
    draw_scale_bar(paper, furniture[0] + 36.0, furniture[1] + 8.0, view.scale, content.display, _FURNITURE)
    paper.stroke(rectangle(*window), Pen(0.8), closed=True, layer=FRAME)
    return Drawn(paper.figure(), view.scale.text, content.marks)


def _crew_content(content: PlanContent) -> PlanContent:
    return replace(
        content,
        zones=tuple(z for z in content.zones if z.kind in {"no entry", "controlled access"}),
        places=tuple(p for p in content.places if p[1].kind in _CREW_PLACES),
        hazards=(),
        lower_levels=(),
    )


def _view(content: PlanContent, window: Box) -> View:
    left, bottom, right, top = core(content, 6 * FOOT)
    room = window[2] - window[0] - 24.0, window[3] - window[1] - 24.0
    scale = largest_scale(right - left, top - bottom, room, content.display.system)
    middle = (window[0] + window[2]) / 2, (window[1] + window[3]) / 2
    return View(scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    view = picture.view
    labels = [
        beside_label(
            line.id, (f"{line.id}: {line.workers}",), line_on_paper(content, view, line), size=12.0, bold=True
        )
        for line in content.lines
    ]
    for anchor in content.anchors:
        at = anchor_on_paper(content, view, anchor)
        labels.append(
            text_label(anchor.id, (f"{anchor.id}: {anchor.workers}",), at, size=12.0, bold=True, gap=9.0)
        )
    labels += [
        text_label(post.id, (post.id,), view.one(post.at), size=SIZE, gap=5.0) for post in content.posts
    ]
    for zone in content.zones:
        middle = np.asarray(view(zone.outline)).mean(axis=0)
        at = float(middle[0]), float(middle[1])
        word = "No entry" if zone.kind == "no entry" else "Controlled access"
        labels.append(text_label(zone.id, (word,), at, size=SIZE, bold=True, preferred=[at]))
    return labels + [_place_label(picture, content, place) for _, place in content.places]


def _place_label(picture: PlanPicture, content: PlanContent, place: Place) -> Label:
    """A dot with its word; a place beyond the window stands at the border with an arrow and how far it is."""
    left, bottom, right, top = picture.window
    x, y = picture.view.one(place.at)
    at = min(max(x, left + 6.0), right - 6.0), min(max(y, bottom + 6.0), top - 6.0)
    word = _CREW_PLACES[place.kind]
    dx, dy = x - at[0], y - at[1]
    if dx or dy:
        far = content.display.length(float(np.hypot(dx, dy)) / picture.view.scale.points, denominator=1)
        arrow = ("→" if dx > 0 else "←") if abs(dx) > abs(dy) else ("↑" if dy > 0 else "↓")
        word = f"{word} {arrow} {far}"
    else:
        dot(picture.paper, *at, 2.6)
        picture.obstacles.boxes.append((at[0] - 2.6, at[1] - 2.6, at[0] + 2.6, at[1] + 2.6))
    return text_label(place.id, (word,), at, size=SIZE, gap=5.0)
