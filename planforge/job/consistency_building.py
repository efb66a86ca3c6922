"""Floors, walls, roofs and sloping ground that can be: heights for each corner, one floor at a place."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from planforge.errors import Problem
from planforge.job.building import Building, Floor, Roof, Wall
from planforge.job.consistency_outlines import LEAST_AREA, SAME_PLACE, point_text, sound
from planforge.job.model import Job
from planforge.job.named import Named
from planforge.job.positions import FieldPath, Locator
from planforge.job.site import LowerLevel
from planforge.job.unread import where_read
from planforge.job.wording import shown
from planforge.units import Display

SAME_LEVEL = 0.0254
"""Floors whose tops differ by less (m) are at one level."""
SAME_HEIGHT = 1e-6
LEAST_WIDTH = 0.1
"""Spots all nearer to one line than this (m) leave the ground's slope across it unknown."""


def check_building(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each part of the building or slope of the ground that can't be."""
    yield from _slopes(job, locator)
    yield from _names(job, locator)
    if job.building is None:
        return
    yield from _roofs(locator, job.building)
    named = Named(job)
    yield from _walls(named, locator, job.building)
    yield from _floors(named, locator, job.building)


@where_read
def _slopes(job: Job, locator: Locator) -> Iterator[Problem]:
    for index, level in enumerate(job.lower_levels or []):
        yield from _spots(job, locator, ("lower_levels", index), level)


@where_read
def _names(job: Job, locator: Locator) -> Iterator[Problem]:
    """Drawings and sheets call a lower level by its name: two of one name could not be told apart."""
    first: dict[str, int] = {}
    for index, level in enumerate(job.lower_levels or []):
        yield from _name(locator, first, index, level)


@where_read
def _name(locator: Locator, first: dict[str, int], index: int, level: LowerLevel) -> Iterator[Problem]:
    other = first.setdefault(" ".join(level.name.casefold().split()), index)
    if other != index:
        yield locator.problem(
            ("lower_levels", index, "name"),
            found=f"{shown(level.name)}, the name of {locator.label(('lower_levels', other))} too",
            expected="a name of its own for each lower level",
            remedy="Say in the name which of the two it is.",
        )


@where_read
def _spots(job: Job, locator: Locator, path: FieldPath, level: LowerLevel) -> Iterator[Problem]:
    if not level.spots:
        return
    display = Display(job.site.units)
    places = np.array([spot.at for spot in level.spots])
    for (first, one), (second, other) in combinations(enumerate(level.spots), 2):
        if max(abs(one.at[0] - other.at[0]), abs(one.at[1] - other.at[1])) < SAME_PLACE:
            yield locator.problem(
                (*path, "spots", second, "at"),
                found=f"{point_text(locator, (*path, 'spots', second, 'at'))}, the place of spots[{first}]",
                expected="each spot in a place of its own",
                remedy="Delete one of the two, or correct it.",
            )
            return
    narrow = len(places) < 3 or np.linalg.svd(places - places.mean(axis=0), compute_uv=False)[1] < LEAST_WIDTH
    if narrow:
        yield locator.problem(
            (*path, "spots"),
            found=f"{len(places)} spots" + (" in one line" if len(places) > 2 else ""),
            expected="three or more spots that do not lie in one line",
            remedy="Measure another height beside them, or delete spots and let elevation hold throughout.",
        )
    for number, spot in enumerate(level.spots):
        if spot.elevation > level.elevation + SAME_HEIGHT:
            yield locator.problem(
                (*path, "spots", number, "elevation"),
                expected=f"at most the elevation of {shown(level.id)}, {display.length(level.elevation)}, "
                "its highest",
                remedy="Correct the spot, or raise elevation to the highest of the ground.",
            )


@where_read
def _roofs(locator: Locator, building: Building) -> Iterator[Problem]:
    for index, roof in enumerate(building.roofs):
        yield from _heights(locator, ("building", "roofs", index, "heights"), roof)


@where_read
def _heights(locator: Locator, path: FieldPath, roof: Roof) -> Iterator[Problem]:
    if len(roof.heights) != len(roof.outline):
        yield locator.problem(
            path,
            found=f"{len(roof.heights)} heights",
            expected=f"one for each of the {len(roof.outline)} points of its outline, in their order",
            remedy="Add or delete heights, or points of the outline.",
        )


@where_read
def _walls(named: Named, locator: Locator, building: Building) -> Iterator[Problem]:
    for index, wall in enumerate(building.walls):
        path: FieldPath = ("building", "walls", index)
        yield from _top_plate(named.job, locator, (*path, "top"), wall)
        yield from _worked(named, locator, (*path, "worked"), wall)


@where_read
def _top_plate(job: Job, locator: Locator, path: FieldPath, wall: Wall) -> Iterator[Problem]:
    foot = job.layout.levels.get(wall.level)
    if foot is not None and wall.top <= foot + SAME_HEIGHT:
        yield locator.problem(
            path,
            expected=f"a top plate above the level it stands on, {shown(wall.level)} at "
            f"{Display(job.site.units).length(foot)}",
            remedy="Correct top or level; elevations count up from the top of the slab.",
        )


@where_read
def _worked(named: Named, locator: Locator, path: FieldPath, wall: Wall) -> Iterator[Problem]:
    for number, phase in enumerate(wall.worked):
        if _before(named, phase, wall.raised):
            yield locator.problem(
                (*path, number),
                expected=f"a phase no earlier than {shown(wall.raised)}, in which it is raised",
                remedy="Correct worked or raised.",
            )


@where_read
def _floors(named: Named, locator: Locator, building: Building) -> Iterator[Problem]:
    for index, floor in enumerate(building.floors):
        yield from _enclosed(named, locator, ("building", "floors", index, "enclosed"), floor)
    for (_, one), (index, other) in combinations(enumerate(building.floors), 2):
        yield from _apart(named.job, locator, ("building", "floors", index, "outline"), one, other)


@where_read
def _enclosed(named: Named, locator: Locator, path: FieldPath, floor: Floor) -> Iterator[Problem]:
    if _before(named, floor.enclosed, floor.laid) or floor.enclosed == floor.laid is not None:
        yield locator.problem(
            path,
            expected=f"a phase later than {shown(floor.laid)}, in which it is laid",
            remedy="Correct enclosed or laid; delete enclosed where no walls close it in this plan.",
        )


@where_read
def _apart(job: Job, locator: Locator, path: FieldPath, one: Floor, other: Floor) -> Iterator[Problem]:
    if _shared(job, one, other) > LEAST_AREA:
        yield locator.problem(
            path,
            found=f"an outline that lies over that of {shown(one.id)} at the same level",
            expected="floors of one level beside each other",
            remedy="Correct the outlines; two floors may share a side.",
        )


def _shared(job: Job, one: Floor, other: Floor) -> float:
    """The area, m2, that two floors of one level both claim."""
    levels = job.layout.levels
    if one.level not in levels or other.level not in levels:
        return 0.0
    if abs(levels[one.level] - levels[other.level]) > SAME_LEVEL:
        return 0.0
    areas = sound(one.outline), sound(other.outline)
    if areas[0] is None or areas[1] is None:
        return 0.0
    # the drawing tolerance: a sliver no wider than a point's breadth is no overlap
    return float(areas[0].buffer(-SAME_PLACE).intersection(areas[1].buffer(-SAME_PLACE)).area)


def _before(named: Named, one: str | None, other: str | None) -> bool:
    """True where phase ``one`` starts earlier than phase ``other``; where either is unknown, False."""
    phases = named.phases
    if one not in phases or other not in phases:
        return False
    first, second = phases[one], phases[other]
    return (first.start, first.end) < (second.start, second.end)
