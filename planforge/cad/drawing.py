"""The layout as DXF at full size, for the general contractor's own drawings.

It shows where things stand; the printed plan governs. Holes are given only where the drilling map gives them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from planforge.assess.assessment import Assessment
from planforge.assess.base_model import tolerance_of
from planforge.assess.drilling import NO_DRILLING, BaseDrilling, base_drilling, sheet_reasons
from planforge.cad import layer_table as on
from planforge.cad.dxf_page import Page
from planforge.calc.arrays import Array
from planforge.job.layout import Framing, Layout
from planforge.job.model import Job
from planforge.job.slab import InSlab, Slab
from planforge.units import Display

TEXT_HEIGHT = 0.15
"""Names beside things (m): 1/16 in at a scale of 1/8 in to the foot."""
_MARK = 0.15
"""Half the size of a mark that has no size of its own (m)."""
_LINE = 1.6
"""From line to line of text, by its height."""
GOVERNS = (
    "For reference and coordination only: nobody ties on, drills or erects by this file.",
    "The printed plan with this number, revision and fingerprint governs.",
)
"""What every drawing says of itself."""


def layout_dxf(assessment: Assessment, fingerprint: str) -> bytes:
    """The drawing's bytes; the same assessment and fingerprint give the same bytes on every machine."""
    job = assessment.job
    page = Page(job.site.units)
    _draw_building(page, job)
    _draw_ground(page, job)
    if job.slab is not None:
        _draw_contents(page, job.slab)
    for framing in job.layout.framing:
        _draw_framing(page, framing)
    _draw_hazards(page, job)
    _draw_guards(page, job.layout)
    _draw_posts(page, assessment)
    _draw_lines(page, assessment)
    _draw_title(page, assessment, fingerprint)
    return page.finished(job.plan.prepared, fingerprint)


def _name(page: Page, at: Sequence[float] | Array, name: str, phases: Sequence[str] = ()) -> None:
    during = f" [{', '.join(phases)}]" if phases else ""
    page.text(on.TEXT, np.asarray(at)[:2] + 0.5 * TEXT_HEIGHT, f"{name}{during}", TEXT_HEIGHT)


def _off(at: Sequence[float] | Array, x: float, y: float) -> Array:
    return np.array([at[0] + x, at[1] + y])


def _draw_building(page: Page, job: Job) -> None:
    layout = job.layout
    page.path(on.FOOTPRINT, layout.footprint, closed=True)
    if layout.slab is not None:
        page.path(on.SLAB, layout.slab, closed=True)
    for opening in layout.openings:
        page.path(on.OPENINGS, opening.outline, closed=True)
        _name(page, np.mean(opening.outline, axis=0), opening.id)
    if job.building is None:
        return
    for floor in job.building.floors:
        page.path(on.FLOORS, floor.outline, closed=True)
        _name(page, floor.outline[0], f"{floor.id} {floor.level}")
    for wall in job.building.walls:
        page.path(on.WALLS, wall.path)
        _name(page, _middle(wall.path), wall.id)
    for roof in job.building.roofs:
        page.path_at_heights(on.ROOFS, roof.outline, roof.heights)
        _name(page, roof.outline[0], roof.id)


def _middle(path: Sequence[tuple[float, float]]) -> Array:
    """The middle of a path's longest piece."""
    points = np.asarray(path)
    longest = int(np.argmax(np.hypot(*np.diff(points, axis=0).T)))
    return np.asarray(points[longest : longest + 2].mean(axis=0))


def _draw_ground(page: Page, job: Job) -> None:
    show = Display(job.site.units).length
    for level in job.lower_levels or []:
        if level.area is not None:
            page.path(on.GROUND, level.area, closed=True)
            _name(page, level.area[0], f"{level.id} {show(level.elevation)}")
        for spot in level.spots:
            page.point(on.SPOTS, spot.at, spot.elevation)
            _name(page, spot.at, show(spot.elevation))


def _draw_contents(page: Page, slab: Slab) -> None:
    for thing in slab.contents or []:
        page.path(on.CONTENTS[thing.kind], thing.path, closed=thing.fills)
        for part in shapely.get_parts(_band(slab, thing)):
            for ring in (part.exterior, *part.interiors):
                page.path(on.BAND, shapely.get_coordinates(ring)[:-1], closed=True)
        _name(page, _middle(thing.path), thing.id)


def _band(slab: Slab, thing: InSlab) -> shapely.Geometry:
    """Where a thing may lie, m: its line or area widened by its half width and the locating tolerance."""
    whole = shapely.polygons(thing.path) if thing.fills else shapely.linestrings(thing.path)
    half = 0.0 if thing.fills else thing.half_width
    return shapely.buffer(whole, half + tolerance_of(slab, thing))


def _draw_framing(page: Page, framing: Framing) -> None:
    layer = on.FRAMING[framing.kind]
    page.path(f"{layer}-AREA", framing.area, closed=True)
    for start, end in centre_lines(framing):
        page.line(layer, start, end)
    _name(page, framing.area[0], framing.id, framing.phases)


def centre_lines(framing: Framing) -> Iterable[tuple[Array, Array]]:
    """The centre lines of trusses or joists where they cross their area, from one side to the other, m."""
    along = np.array([np.cos(framing.direction), np.sin(framing.direction)])
    across = np.array([-along[1], along[0]])
    area = shapely.Polygon(framing.area)
    first, corners = np.asarray(framing.first), np.asarray(framing.area)
    places = (corners - first) @ across / framing.spacing
    reach = float(np.abs((corners - first) @ along).max()) + 1.0
    for number in range(int(np.ceil(places.min() - 1e-9)), int(np.floor(places.max() + 1e-9)) + 1):
        middle = first + number * framing.spacing * across
        cut = shapely.intersection(
            area, shapely.linestrings([middle - reach * along, middle + reach * along])
        )
        for part in shapely.get_parts(cut):
            ends = shapely.get_coordinates(part)
            if len(ends) == 2:
                yield ends[0], ends[1]


def _draw_hazards(page: Page, job: Job) -> None:
    for edge in job.layout.edges:
        page.path(on.EDGES, edge.path)
        _name(page, _middle(edge.path), f"{edge.id} {edge.level}", edge.phases)
    for hazard in job.hazards:
        at = np.asarray(hazard.at)
        corners = at + _MARK * np.array([(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)])
        page.path(on.HAZARDS, corners, closed=True)
        page.text(on.HAZARDS, _off(at, 1.2 * _MARK, -0.5 * TEXT_HEIGHT), hazard.id, TEXT_HEIGHT)


def _draw_guards(page: Page, layout: Layout) -> None:
    openings = {opening.id: opening for opening in layout.openings}
    for rail in layout.guardrails:
        page.path(on.RAILS, rail.path)
        _name(page, _middle(rail.path), rail.id, rail.phases)
    for cover in layout.covers:
        outline = openings[cover.opening].outline
        page.path(on.COVERS, outline, closed=True)
        _name(page, np.asarray(outline).min(axis=0), cover.id, cover.phases)
    for zone in layout.zones:
        page.path(on.ZONES, zone.outline, closed=True)
        _name(page, zone.outline[0], zone.id, zone.phases)
    for place in layout.places:
        page.point(on.PLACES, place.at)
        page.circle(on.PLACES, place.at, _MARK)
        _name(page, place.at, f"{place.id} {place.name}")


def _draw_posts(page: Page, assessment: Assessment) -> None:
    kinds = assessment.index.post_kinds
    for post in assessment.job.layout.posts:
        page.point(on.POSTS, post.at)
        diameter = kinds[post.kind].outer_diameter
        page.circle(on.POSTS, post.at, 0.5 * diameter if diameter else _MARK)
        _name(page, post.at, post.id, post.phases)
        for guy in post.guys:
            page.line(on.GUYS, post.at, guy.to)
            page.circle(on.GUYS, guy.to, 0.5 * _MARK)
            page.text(on.GUYS, guy.to, guy.id, 0.6 * TEXT_HEIGHT)
    for one in base_drilling(assessment):
        _draw_base(page, one)


def _draw_base(page: Page, one: BaseDrilling) -> None:
    """A base with its holes, or crossed out with nothing from which a hole could be measured."""
    base, at = one.base, np.asarray(one.base.parts.post.at)
    if not one.drilled or base.holes is None:
        for way in ((1.0, 1.0), (1.0, -1.0)):
            page.line(on.NOTES, at - 2.0 * _MARK * np.array(way), at + 2.0 * _MARK * np.array(way))
        page.text(on.NOTES, _off(at, 2.2 * _MARK, -2.0 * TEXT_HEIGHT), f"{base.id}: {NO_DRILLING}")
        return
    toe = base.parts.kind.base_toe
    if toe is not None:
        c, s = np.cos(base.parts.post.turned), np.sin(base.parts.post.turned)
        corners = toe * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
        page.path(on.BASES, at + corners @ np.array([[c, s], [-s, c]]), closed=True)
    for hole in base.holes:
        page.point(on.HOLES, hole)
        if base.anchor is not None:
            page.circle(on.HOLES, hole, 0.5 * base.anchor.diameter)


def _draw_lines(page: Page, assessment: Assessment) -> None:
    index, layout = assessment.index, assessment.job.layout
    for line in layout.lines:
        start, end = index.posts[line.start].at, index.posts[line.end].at
        page.line(on.LINES, start, end)
        _name(page, (np.asarray(start) + end) / 2.0, f"{line.id} for {line.workers}", line.phases)
    for anchor in layout.anchors:
        at = index.anchor_at(anchor)[:2]
        page.point(on.ANCHORS, at)
        page.circle(on.ANCHORS, at, 1.5 * _MARK)
        _name(page, _off(at, 0.0, -2.5 * TEXT_HEIGHT), anchor.id, anchor.phases)


def _draw_title(page: Page, assessment: Assessment, fingerprint: str) -> None:
    job = assessment.job
    plan, site, display = job.plan, job.site, Display(job.site.units)
    low = page.extent[0].copy()
    at = _off(low, 0.0, -1.5)
    levels = ", ".join(f"{name} {display.length(z)}" for name, z in job.layout.levels.items())
    unit = "inches" if site.units == "us" else "metres"
    for layer, height, words in (
        (on.TITLE, 0.3, f"Fall-protection layout: plan {plan.number}, revision {plan.revision}"),
        *((on.NOTES, 0.3, words) for words in _notices(assessment)),
        (on.TITLE, 0.2, f"{site.project}, {site.lot}, for {job.company.name}"),
        (on.TITLE, 0.2, f"Prepared {plan.prepared.isoformat()}. Fingerprint {fingerprint}"),
        (on.TITLE, 0.2, f"Drawn 1:1 in {unit}; levels from the top of the slab: {levels}"),
        *((on.NOTES, 0.2, words) for words in GOVERNS),
        *((on.NOTES, 0.2, words) for words in _drilling_notices(assessment)),
    ):
        page.text(layer, at, words, height)
        at = _off(at, 0.0, -_LINE * height)
    _draw_north(page, _off(low, -1.5, -2.5), site.north)


def _notices(assessment: Assessment) -> list[str]:
    said = []
    if assessment.draft:
        count = sum(1 for f in assessment.short if f.variance is None)
        said.append(f"DRAFT - NOT FOR USE: {count} check(s) of the plan are short")
    if not assessment.all_released:
        said.append("Not every line and anchorage is released for use: the plan's log tells which")
    return said


def _drilling_notices(assessment: Assessment) -> list[str]:
    sheet = sheet_reasons(assessment)
    every = base_drilling(assessment)
    if not every:
        return []
    if sheet:
        return [f"{NO_DRILLING}. {reason} No hole is given." for reason in sheet]
    held = [f"{NO_DRILLING} AT {one.base.id}: {'; '.join(one.reasons)}" for one in every if not one.drilled]
    given = any(one.drilled for one in every)
    own = ["Holes are drilled by the plan's drilling map, measured on the slab, never from this file."]
    return [*held, *(own if given else [])]


def _draw_north(page: Page, at: Array, north: float) -> None:
    """An arrow 1 m long; ``north`` is clockwise from the top of the sheet."""
    way = np.array([np.sin(north), np.cos(north)])
    across = np.array([way[1], -way[0]])
    tip = at + way
    page.line(on.TITLE, at, tip)
    page.path(on.TITLE, [tip - 0.25 * way + 0.1 * across, tip, tip - 0.25 * way - 0.1 * across])
    page.text(on.TITLE, tip + 0.1 * way, "N", 0.2)
