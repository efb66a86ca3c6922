"""The crew's map: where to tie off and how many, guarded edges, zones to keep out of, rescue kit, ways up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import shapely

from planforge.assess.assessment import Assessment
from planforge.figures.far_place import arrow, far_text, way_from_building
from planforge.figures.kept import kept
from planforge.figures.labels import Box
from planforge.figures.paper import FRAME, LINE, PER_INCH, Paper, Pen, rectangle
from planforge.figures.plan_content import BARRED, PlanContent, allowed, core, plan_content
from planforge.figures.plan_drawing import (
    NO_ENTRY_HATCH,
    ZONE,
    Obstacles,
    PlanPicture,
    anchor_on_paper,
    draw_building,
    draw_system,
    line_on_paper,
    never_entered,
)
from planforge.figures.plan_labels import Label, area_label, beside_label, place_and_draw, text_label
from planforge.figures.scale import POINTS_PER_METRE, Drawn, Scale, View
from planforge.figures.sheet_furniture import dot, draw_north, draw_scale_bar
from planforge.figures.text_metrics import wrapped
from planforge.job.building import Floor, Roof
from planforge.job.layout import Anchor, Lifeline, Place, Zone
from planforge.units import FOOT, Display

GROUND = Pen(0.9, 0.25, dashes=(1.0, 2.6))
SIZE_INCHES = (7.0, 4.6)
SIZE = 9.5
WORDS = {
    "rescue kit": "Rescue kit",
    "ladder": "Ladder",
    "gate": "Gate",
    "stair": "Way up",
    "first aid": "First aid",
    "lift": "Lift",
    "assembly point": "Assembly point",
    "no entry": "No entry",
    "controlled access": "Controlled access",
    "at times": "No entry at times: rule of",
    "barred": BARRED,
    "number": "Number after a line or anchorage: the most tied to it at once.",
    "ground": "Dotted: as far from the line or anchorage inside it as one may work, tied to it.",
    "far": "← ↑ → ↓: how far from the building.",
}
"""The map's words by kind of place or zone; another language passes its own."""

_HOISTING = "hoisting"
_ZONES = frozenset({"no entry", "controlled access", _HOISTING})
"""Zones that the map draws: whoever walks out of the building walks into them."""
_FURNITURE = 112.0
_STRIP = 36.0
"""Height of the foot with key, north arrow and bar, points."""
_ROUND = 8 * FOOT
"""What a map shows round the building at least, m."""
_BESIDE, _OVER = 60.0, 24.0
"""Room for labels beside that and over it, points."""


def tie_off_map(
    assessment: Assessment,
    phase: str | None = None,
    size: tuple[float, float] = SIZE_INCHES,
    words: Mapping[str, str] = WORDS,
) -> Drawn:
    """Draw the map for one phase, or for all where ``phase`` is None, on ``size`` inches."""
    content = _crew_content(plan_content(assessment, phase))
    paper = Paper(size[0], min(size[1], _height(content, size[0])))
    window = (1.0, _STRIP, paper.width - 1.0, paper.height - 1.0)
    view = _view(content, window)
    picture = PlanPicture(paper, view, window, Obstacles())
    for zone in content.zones:
        outline = view(zone.outline)
        if never_entered(zone):
            picture.hatch(outline, NO_ENTRY_HATCH, -45.0)
        picture.draw_line(outline, ZONE, closed=True)
    grounds = work_ground(assessment, phase)
    for ground in grounds:
        for part in shapely.get_parts(ground):
            paper_part = view(shapely.get_coordinates(part.exterior))
            for visible in picture.visible(paper_part[:-1], closed=True):
                paper.stroke(visible, GROUND, layer=LINE)
    draw_building(picture, content)
    draw_system(picture, content)
    frame = (window[0] + 3.0, window[1] + 3.0, window[2] - 3.0, window[3] - 3.0)
    place_and_draw(picture, _labels(assessment, picture, content, words), frame)
    beyond = not all(picture.sees(view.one(place.at)) for _, place in content.places)
    told = [words["number"], *([words["ground"]] if grounds else []), *([words["far"]] if beyond else [])]
    _draw_foot(paper, assessment, picture, " ".join(told))
    return Drawn(paper, view.scale.text, content.marks)


@kept
def work_ground(assessment: Assessment, phase: str | None) -> tuple[shapely.Geometry, ...]:
    """For each line or anchor that may be used: where each of its stances may work, in plan, m.

    No farther than the crew sheet prints for the phase; two lines of one span have one outline
    where theirs is alike.
    """
    content = plan_content(assessment, phase)
    phases = [phase] if phase is not None else [p.id for p in assessment.job.phases]
    grounds: list[shapely.Geometry] = []
    things: list[Lifeline | Anchor] = [*content.lines, *content.anchors]
    for thing in things:
        own = [
            shapely.intersection(g.area, _stated(assessment, content, thing, g.phase))
            for g in assessment.grounds
            if g.of == thing.id and g.phase in phases
        ]
        if not own or not allowed(assessment, thing.id):
            continue
        within = [*own, _built(assessment)]
        ground = shapely.intersection_all(within)
        areas = [p for p in shapely.get_parts(ground) if p.geom_type == "Polygon" and p.area > 0.0]
        ground = shapely.simplify(shapely.MultiPolygon(areas), 0.02)
        if areas and not any(shapely.equals_exact(ground, g, 0.05) for g in grounds):
            grounds.append(ground)
    return tuple(grounds)


def _built(assessment: Assessment) -> shapely.Geometry:
    """The building in plan: its footprint with the floors and roofs that reach beyond it."""
    job = assessment.job
    parts: list[Floor | Roof] = []
    if job.building is not None:
        parts = [*job.building.floors, *job.building.roofs]
    outlines = [job.layout.footprint, *(part.outline for part in parts)]
    return shapely.union_all([shapely.Polygon(outline) for outline in outlines])


def _stated(
    assessment: Assessment, content: PlanContent, thing: Lifeline | Anchor, phase: str
) -> shapely.Geometry:
    """What lies no farther from a line or anchor than one may go in a phase."""
    index, within = content.index, assessment.stay_within(thing.id, phase)
    if isinstance(thing, Lifeline):
        centre = shapely.linestrings(np.asarray([index.posts[p].at for p in (thing.start, thing.end)]))
    else:
        centre = shapely.points(np.asarray(index.anchor_at(thing)[:2]))
    return shapely.buffer(centre, within or 0.0, quad_segs=16)


def _draw_foot(paper: Paper, assessment: Assessment, picture: PlanPicture, told: str) -> None:
    left, bottom, right, top = picture.window
    paper.stroke(rectangle(left, 1.0, right, top), Pen(0.8), closed=True, layer=FRAME)
    paper.stroke([(left, bottom), (right, bottom)], Pen(0.6), layer=FRAME)
    x = right - _FURNITURE
    for number, line in enumerate(wrapped(told, SIZE, x - left - 16.0)):
        paper.text(left + 6.0, bottom - 12.0 - 10.5 * number, line, SIZE)
    draw_north(paper, x, bottom - 23.0, assessment.job.site.north, 10.0)
    display = Display(assessment.job.site.units)
    draw_scale_bar(paper, x + 24.0, 8.0, picture.view.scale, display, _FURNITURE - 44.0)


def _crew_content(content: PlanContent) -> PlanContent:
    return replace(
        content,
        zones=tuple(z for z in content.zones if z.kind in _ZONES),
        places=tuple(p for p in content.places if p[1].kind in WORDS),
        hazards=(),
        lower_levels=(),
        framing=(),
    )


def _height(content: PlanContent, width: float) -> float:
    """Inches that a map of ``width`` inches takes, less where the building is long."""
    left, bottom, right, top = core(content, _ROUND)
    points = (width * PER_INCH - 2.0 - _BESIDE) / (right - left)
    return float(points * (top - bottom) + _OVER + _STRIP + 1.0) / PER_INCH


def _view(content: PlanContent, window: Box) -> View:
    """As large as the map holds: it is read by its bar, nobody measures from it."""
    left, bottom, right, top = core(content, _ROUND)
    room = window[2] - window[0] - _BESIDE, window[3] - window[1] - _OVER
    points = min(room[0] / (right - left), room[1] / (top - bottom))
    middle = (window[0] + window[2]) / 2, (window[1] + window[3]) / 2
    scale = Scale(points / POINTS_PER_METRE, "by the scale bar")
    return View(scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _told(assessment: Assessment, thing: str, words: Mapping[str, str]) -> str:
    """How many may tie on, or that nobody may."""
    most = allowed(assessment, thing)
    return f"{thing}: {most}" if most else f"{thing}: 0, {words['barred']}"


def _zone_told(zone: Zone, words: Mapping[str, str]) -> str:
    """What a zone is and its name, by which its rule stands below the map."""
    if zone.kind == _HOISTING:
        return zone.id
    ruled = zone.at_times and zone.kind == "no entry"
    return f"{words['at times'] if ruled else words[zone.kind]} {zone.id}"


def _labels(
    assessment: Assessment, picture: PlanPicture, content: PlanContent, words: Mapping[str, str]
) -> list[Label]:
    view = picture.view
    labels = []
    lines = {line.id: line for line in content.lines}
    for line in content.lines:
        mate = lines.get(line.beside or "")
        if mate is not None and mate.id < line.id:
            continue  # named with its mate
        told = tuple(_told(assessment, one.id, words) for one in (line, mate) if one is not None)
        labels.append(beside_label(line.id, told, line_on_paper(content, view, line), size=12.0, bold=True))
    for anchor in content.anchors:
        at = anchor_on_paper(content, view, anchor)
        labels.append(
            text_label(anchor.id, (_told(assessment, anchor.id, words),), at, size=12.0, bold=True, gap=9.0)
        )
    labels += [
        text_label(post.id, (post.id,), view.one(post.at), size=SIZE, gap=5.0) for post in content.posts
    ]
    for zone in content.zones:
        told = (_zone_told(zone, words),)
        if zone.kind == _HOISTING:
            if not picture.named_area(view(zone.outline)).is_empty:
                labels.append(area_label(picture, zone.id, told, view(zone.outline), size=SIZE))
            continue
        middle = np.asarray(view(zone.outline)).mean(axis=0)
        at = float(middle[0]), float(middle[1])
        labels.append(text_label(zone.id, told, at, size=SIZE, bold=True, preferred=[at]))
    labels += [_place_label(picture, content, place, words) for _, place in content.places]
    return labels + _guard_labels(picture, content)


def _guard_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Guardrails and covers by the names that the sheet's table gives them."""
    labels = []
    for rail in content.guardrails:
        piece = picture.own_part(picture.view(rail.path))
        if piece is not None:
            labels.append(beside_label(rail.id, (rail.id,), piece, size=SIZE, italic=True))
    outlines = {opening.id: picture.view(opening.outline) for opening in content.openings}
    for cover in content.covers:
        outline = outlines[cover.opening]
        if not picture.named_area(outline).is_empty:
            labels.append(area_label(picture, cover.id, (cover.id,), outline, size=SIZE, italic=True))
    return labels


def _place_label(picture: PlanPicture, content: PlanContent, place: Place, words: Mapping[str, str]) -> Label:
    """A dot with its word; a place beyond the window stands at the border, told from the building."""
    left, bottom, right, top = picture.window
    x, y = picture.view.one(place.at)
    at = min(max(x, left + 3.0), right - 3.0), min(max(y, bottom + 3.0), top - 3.0)
    word = words[place.kind]
    if at != (x, y):
        far, way = way_from_building(content.footprint, place.at)
        word = f"{word} {arrow(way)} {far_text(content.display, far)}"
        label = text_label(place.id, (word,), at, size=SIZE, gap=5.0)
        half = label.wanted.width / 2 + 4.0, label.wanted.height / 2 + 4.0
        inside = (
            min(max(at[0], left + half[0]), right - half[0]),
            min(max(at[1], bottom + half[1]), top - half[1]),
        )
        return replace(label, wanted=replace(label.wanted, at=inside, preferred=(inside,)))
    dot(picture.paper, *at, 2.6)
    picture.obstacles.boxes.append((at[0] - 2.6, at[1] - 2.6, at[0] + 2.6, at[1] + 2.6))
    return text_label(place.id, (word,), at, size=SIZE, gap=5.0)
