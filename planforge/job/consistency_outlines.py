"""Outlines and paths that can be drawn: no crossing, no repeated point, some area, near the origin."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely

from planforge import units
from planforge.errors import Problem
from planforge.job.cross_references import entries, stated
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.tree import Scalar, Sequence, plain

Points = list[tuple[float, float]]

OUTLINES = (
    "layout.footprint",
    "layout.slab",
    "layout.openings.outline",
    "layout.framing.area",
    "layout.zones.outline",
    "building.floors.outline",
    "building.roofs.outline",
    "lower_levels.area",
    "rescue.means.lift.works_from",
    "hoisting.stands.outline",
    "proposal.hoists.outline",
)
PATHS = (
    "layout.edges.path",
    "layout.guardrails.path",
    "building.walls.path",
    "building.struck.path",
    "power_lines.lines.path",
    "slab.contents.path",
    "tasks.stances.stretch",
)
PLACES = (
    "layout.posts.at",
    "layout.posts.guys.to",
    "layout.anchors.at",
    "layout.framing.first",
    "layout.places.at",
    "lower_levels.spots.at",
    "hazards.at",
    "lower_levels.spots.at",
)

SAME_PLACE = 1e-3
"""Points nearer than this (m) are one point."""
FARTHEST = 1000.0
"""No coordinate of a lot is farther from its origin than this (m); a unit is mistaken."""
LEAST_AREA = 1e-4
"""An outline of less (m2) encloses nothing."""


def check_outlines(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each outline or path that no place could have."""
    for field in PATHS:
        for path, points in stated(job, field):
            yield from _repeated(locator, path, points, closed=False)
    for field in OUTLINES:
        for path, points in stated(job, field):
            yield from _repeated(locator, path, points, closed=True)
            yield from _shape(locator, path, points)


def check_coordinates(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each point farther from the origin than a lot can reach."""
    for path, at in stated(job, "house.at"):
        if max(map(abs, at)) > FARTHEST:
            yield _too_far(locator, path)
            return  # all of the design would lie as far
    groups = [item for field in (*OUTLINES, *PATHS) for item in entries(job, field)]
    groups += [item for field in PLACES for item in stated(job, field)]
    for path, (x, y) in groups:
        if max(abs(x), abs(y)) > FARTHEST:
            yield _too_far(locator, path)


def _too_far(locator: Locator, path: FieldPath) -> Problem:
    return locator.problem(
        path,
        found=point_text(locator, path),
        expected="coordinates within 3,280 ft (1,000 m) of the plan's origin",
        remedy="Correct the length or its unit.",
    )


def sound(points: Points | None) -> shapely.Polygon | None:
    """Return an outline as an area, None where it is absent or encloses none."""
    if points is None:
        return None
    area = shapely.Polygon(points)
    return area if area.is_valid and area.area > LEAST_AREA else None


def point_text(locator: Locator, path: FieldPath) -> str:
    """Return a point as it was written: ``[12'-6", 3']``; one of a design also as it lies on the lot."""
    written, node = locator.value(path), locator.node(path)
    text = f"[{', '.join(map(str, written))}]" if isinstance(written, list) else str(written)
    if not isinstance(node, Sequence) or not any(isinstance(i, Scalar) and i.written for i in node.items):
        return text
    here = ", ".join(f"{units.parse(plain(item), units.LENGTH) / units.FOOT:.2f} ft" for item in node.items)
    return f"{text} of the design, which is [{here}] on the lot"


def _repeated(locator: Locator, path: FieldPath, points: Points, *, closed: bool) -> Iterator[Problem]:
    for before, index in _joints(len(points), closed=closed):
        if not _same(points[before], points[index]):
            continue
        later, earlier = max(before, index), min(before, index)
        found = f"{point_text(locator, (*path, later))}, the place of {locator.label((*path, earlier))}"
        closes = "; an outline closes by itself" if closed else ""
        yield locator.problem(
            (*path, later),
            found=found,
            expected=f"each point in a place of its own{closes}",
            remedy="Delete one of the two, or correct it.",
        )


def _shape(locator: Locator, path: FieldPath, points: Points) -> Iterator[Problem]:
    kept = [
        index
        for before, index in _joints(len(points), closed=True)
        if not _same(points[before], points[index])
    ]
    kept.sort()
    corners = [points[index] for index in kept]
    if len(corners) < 3 or sound(corners) is not None:
        return
    if crossing := _crossing(corners):
        sides = [
            " to ".join(point_text(locator, (*path, kept[(side + end) % len(kept)])) for end in (0, 1))
            for side in crossing
        ]
        yield locator.problem(
            path,
            found=f"an outline whose side from {sides[0]} meets its side from {sides[1]}",
            expected="an outline whose sides meet only at its corners",
            remedy="List the corners in order, once around.",
        )
    else:
        yield locator.problem(
            path,
            found="an outline that doubles back on itself and encloses no area there",
            expected="corners that enclose an area",
            remedy="Correct the corner that lies in line with its neighbours.",
        )


def _crossing(corners: Points) -> tuple[int, int] | None:
    """Return the first two sides, not neighbours, that meet; side i joins corner i and the next."""
    ends = np.array(corners)
    sides = shapely.linestrings(np.stack([ends, np.roll(ends, -1, axis=0)], axis=1))
    first, second = shapely.STRtree(sides).query(sides, predicate="intersects")
    apart = (second - first > 1) & (second - first < len(corners) - 1)
    return min(zip(first[apart].tolist(), second[apart].tolist(), strict=True), default=None)


def _joints(count: int, *, closed: bool) -> Iterator[tuple[int, int]]:
    yield from pairwise(range(count))
    if closed:
        yield count - 1, 0


def _same(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return max(abs(one[0] - other[0]), abs(one[1] - other[1])) < SAME_PLACE
