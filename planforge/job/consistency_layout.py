"""Places in plan that can be: posts on the slab, lines between two posts, guards where there is a drop."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from planforge.errors import Problem
from planforge.job.consistency_outlines import SAME_PLACE, point_text, sound
from planforge.job.cross_references import entries, stated
from planforge.job.hazard import Hazard
from planforge.job.layout import Anchor, Guardrail, Layout, Opening, Post
from planforge.job.model import Job
from planforge.job.named import Named
from planforge.job.positions import FieldPath, Locator
from planforge.job.unread import where_read
from planforge.job.wording import listed, shown
from planforge.units import FOOT, Display

FROM_BUILDING = 50 * FOOT
"""What belongs to the building lies no farther from its footprint than this (m)."""
FROM_DROP = 6 * FOOT
"""A guardrail stands no farther from the edge or opening that it guards than this (m)."""
FROM_MARKED = 20 * FOOT
"""A hazard's mark stands no farther from its edge or opening than this (m)."""

_OF_BUILDING = (
    "layout.edges.path",
    "layout.openings.outline",
    "layout.guardrails.path",
    "tasks.stances.stretch",
)

_EDGES_OF_HAZARD = {
    "leading edge": ("leading edge", "perimeter"),
    "open-to-below edge": ("open-to-below",),
    "roof edge": ("eave", "rake", "perimeter"),
}
_OPENINGS_OF_HAZARD = {
    "floor hole": ("floor hole", "shaft"),
    "stair opening": ("stair opening",),
    "wall opening": ("wall opening",),
    "open-to-below edge": ("open to below", "shaft", "stair opening"),
}

_COORDINATES = "Correct the coordinates: x to the right, y up, from the plan's origin."


def check_layout(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each thing whose place in plan is impossible. Lines have checks of their own."""
    yield from _near_building(job, locator)
    for path, post in entries(job, "layout.posts"):
        yield from _on_slab(job, locator, (*path, "at"), post)
    for path, anchor in entries(job, "layout.anchors"):
        yield from _anchor(job.layout, locator, path, anchor)
        yield from _opposite_line(job.layout, locator, (*path, "opposite_line"), anchor)
    for path, opening in entries(job, "layout.openings"):
        yield from _sill(locator, (*path, "sill"), opening)
    for path, guardrail in entries(job, "layout.guardrails"):
        yield from _guards_drop(job, locator, path, guardrail)
    named = Named(job)
    for path, hazard in entries(job, "hazards"):
        yield from _of_edge(named, locator, path, hazard)
        yield from _of_opening(named, locator, path, hazard)


@where_read
def _sill(locator: Locator, path: FieldPath, opening: Opening) -> Iterator[Problem]:
    if opening.kind == "wall opening" and opening.sill is None:
        yield locator.problem(
            path,
            expected="the inside sill's height above the floor, for a wall opening",
            remedy="Add sill, or correct the kind.",
        )


@where_read
def _near_building(job: Job, locator: Locator) -> Iterator[Problem]:
    footprint = sound(job.layout.footprint)
    if footprint is None:
        return
    for field in _OF_BUILDING:
        for path, points in stated(job, field):
            yield from _far(job, locator, footprint, [((*path, i), point) for i, point in enumerate(points)])
    for path, point in stated(job, "layout.anchors.at"):
        yield from _far(job, locator, footprint, [(path, point)])


@where_read
def _far(
    job: Job,
    locator: Locator,
    footprint: shapely.Polygon,
    points: list[tuple[FieldPath, tuple[float, float]]],
) -> Iterator[Problem]:
    """Yield a problem for the farthest of a thing's points where it lies too far from the building."""
    distance, path = max((footprint.distance(shapely.Point(point)), path) for path, point in points)
    if distance > FROM_BUILDING:
        display = Display(job.site.units)
        yield locator.problem(
            path,
            found=f"{point_text(locator, path)}, {display.feet(distance)} outside the footprint",
            expected=f"a place within {display.feet(FROM_BUILDING)} of layout.footprint",
            remedy=_COORDINATES,
        )


@where_read
def _on_slab(job: Job, locator: Locator, path: FieldPath, post: Post) -> Iterator[Problem]:
    layout = job.layout
    on_slab = layout.levels.get(post.stands_on) == 0
    name = "slab" if on_slab and layout.slab is not None else "footprint"
    outline = sound(layout.slab if name == "slab" else layout.footprint)
    if outline is None:
        return
    distance = outline.distance(shapely.Point(post.at))
    if distance > SAME_PLACE:
        outside = Display(job.site.units).length(distance, "up")
        yield locator.problem(
            path,
            found=f"{point_text(locator, path)}, {outside} outside the {name}",
            expected=f"a place within layout.{name}, since the post stands on {shown(post.stands_on)}",
            remedy=_COORDINATES,
        )


@where_read
def _anchor(layout: Layout, locator: Locator, path: FieldPath, anchor: Anchor) -> Iterator[Problem]:
    own = ("at", "elevation", "fitting")
    present = [name for name in own if getattr(anchor, name) is not None]
    absent = [name for name in own if name not in present]
    if anchor.post is not None and present:
        yield locator.problem(
            path,
            found=f"post {shown(anchor.post)} and also {listed(present, 'and')}",
            expected="either post, or at, elevation and fitting",
            remedy=f"Delete post, or delete {listed(present, 'and')}.",
        )
    if anchor.post is None and absent:
        yield locator.problem(
            path,
            found=f"no post and no {listed(absent)}",
            expected="either post, or at, elevation and fitting",
            remedy=f"Add {listed(absent, 'and')}, or name the post whose head it is.",
        )


@where_read
def _opposite_line(layout: Layout, locator: Locator, path: FieldPath, anchor: Anchor) -> Iterator[Problem]:
    if not anchor.opposite_line:
        return
    ends = {post for line in layout.lines for post in (line.start, line.end)}
    if anchor.post not in ends:
        yield locator.problem(
            path,
            expected="false where the anchor's post ends no line",
            remedy="Delete opposite_line, or name a post at which a line ends.",
        )


@where_read
def _guards_drop(job: Job, locator: Locator, path: FieldPath, guardrail: Guardrail) -> Iterator[Problem]:
    layout = job.layout
    drops = [shapely.LineString(e.path) for e in layout.edges if e.level == guardrail.level]
    drops += [shapely.LinearRing(o.outline) for o in layout.openings if o.level == guardrail.level]
    expected = f"a path along an edge or opening of {shown(guardrail.level)}"
    if not drops:
        yield locator.problem(
            (*path, "level"),
            found=f"{shown(guardrail.level)}, which has no edge and no opening",
            expected="the level of an edge or opening that it guards",
            remedy="Correct the level, or add the edge or opening under layout.",
        )
        return
    ends = [((*path, "path", i), shapely.Point(point)) for i, point in enumerate(guardrail.path)]
    distance, place = max((min(drop.distance(point) for drop in drops), place) for place, point in ends)
    if distance > FROM_DROP:
        display = Display(job.site.units)
        yield locator.problem(
            place,
            found=f"{point_text(locator, place)}, {display.feet(distance)} from the nearest",
            expected=f"{expected}, within {display.feet(FROM_DROP)} of it",
            remedy=_COORDINATES,
        )


@where_read
def _of_edge(named: Named, locator: Locator, path: FieldPath, hazard: Hazard) -> Iterator[Problem]:
    edge = named.edges.get(hazard.edge) if hazard.edge else None
    if edge is not None:
        yield from _kind(
            locator, (*path, "edge"), hazard.kind, edge.kind, _EDGES_OF_HAZARD, _OPENINGS_OF_HAZARD
        )
        yield from _mark(named.job, locator, (*path, "at"), hazard, shapely.LineString(edge.path), edge.id)


@where_read
def _of_opening(named: Named, locator: Locator, path: FieldPath, hazard: Hazard) -> Iterator[Problem]:
    opening = named.openings.get(hazard.opening) if hazard.opening else None
    if opening is not None:
        yield from _kind(
            locator, (*path, "opening"), hazard.kind, opening.kind, _OPENINGS_OF_HAZARD, _EDGES_OF_HAZARD
        )
        yield from _mark(named.job, locator, (*path, "at"), hazard, sound(opening.outline), opening.id)


@where_read
def _kind(
    locator: Locator,
    path: FieldPath,
    hazard: str,
    kind: str,
    allowed: dict[str, tuple[str, ...]],
    other: dict[str, tuple[str, ...]],
) -> Iterator[Problem]:
    """Compare a hazard's kind with that of its edge or opening; some kinds are only one of the two."""
    kinds = allowed.get(hazard, () if hazard in other else (kind,))
    if kind in kinds:
        return
    name = str(path[-1])
    expected = f"an {name} of kind {listed(kinds)}" if kinds else f"no {name}"
    yield locator.problem(
        path,
        found=f"{shown(locator.value(path))}, of kind {kind}",
        expected=f"{expected}, since the hazard is of kind {hazard}",
        remedy=f"Correct the hazard's kind or the {name}.",
    )


@where_read
def _mark(
    job: Job, locator: Locator, path: FieldPath, hazard: Hazard, shape: shapely.Geometry | None, name: str
) -> Iterator[Problem]:
    distance = 0.0 if shape is None else shape.distance(shapely.Point(hazard.at))
    if distance > FROM_MARKED:
        display = Display(job.site.units)
        yield locator.problem(
            path,
            found=f"{point_text(locator, path)}, {display.feet(distance)} from {shown(name)}",
            expected=f"a place within {display.feet(FROM_MARKED)} of the edge or opening that it marks",
            remedy=_COORDINATES,
        )
