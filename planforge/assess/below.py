"""What lies below a stance: what would be struck first on a side, at each place, on the dates of a phase."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.assess.index import Index
from planforge.assess.sloping_ground import SlopingGround, sloping_ground
from planforge.calc.arrays import Array, Bools
from planforge.job.site import LowerLevel, Phase
from planforge.job.task import Side, Stance
from planforge.memo import remembered
from planforge.units import FOOT

FALL_RADIUS = 4 * FOOT
"""How far in plan from the edge a falling body may come down; planforge's own allowance, no source."""

_FOUND_BY_PLACE = {"stored material", "porch roof", "machine", "excavation"}


@dataclass(frozen=True, slots=True)
class Below:
    """The governing thing below at each of S places."""

    elevation: Array  # m, shape (S,)
    name: NDArray[np.object_]  # shape (S,)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A thing that may lie below: its top at each spot, m, and where it does."""

    name: str
    top: Array  # (S,)
    here: Bools  # (S,)
    named: bool  # by the side itself, not found by its place


def present(lower: LowerLevel, phase: Phase) -> bool:
    """True where a lower level is there on any day of a phase."""
    begins = lower.start is None or lower.start <= phase.end
    return begins and (lower.end is None or lower.end >= phase.start)


def spots(stance_path: Sequence[tuple[float, float]] | None, places: Array) -> Array:
    """Where a worker tied at ``places`` (S, 2) would go over: nearest on the path, else the place itself."""
    if stance_path is None:
        return places
    path = shapely.linestrings(np.asarray(stance_path))
    along = shapely.line_locate_point(path, shapely.points(places))
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(path, along)))


def _over(lower: LowerLevel, at: Array) -> Bools:
    """Whether each spot (S, 2) lies within reach of a fall onto it."""
    if lower.area is None:
        return np.ones(len(at), dtype=bool)
    return _within_reach(np.asarray(lower.area), at)


@remembered()
def _within_reach(outline: Array, at: Array) -> Bools:
    """Spots (S, 2) within :data:`FALL_RADIUS` of an outline (V, 2); those far from its box need no look."""
    wide = 1.001 * FALL_RADIUS
    near = np.all((at >= outline.min(axis=0) - wide) & (at <= outline.max(axis=0) + wide), axis=1)
    area = shapely.polygons(outline)
    shapely.prepare(area)
    within = near & shapely.contains_xy(area, at)
    beside = near & ~within
    within[beside] = shapely.distance(area, shapely.points(at[beside])) <= FALL_RADIUS
    return np.asarray(within)


def _top(lower: LowerLevel, at: Array, over: Bools) -> Array:
    """Its highest within reach of a fall from each spot; where it was not measured, its stated elevation."""
    top = np.full(len(at), lower.elevation)
    if not lower.spots or not over.any():
        return top
    outline = None if lower.area is None else np.asarray(lower.area)
    top[over] = _highest_within_reach(sloping_ground(lower.spots), outline, lower.elevation, at[over])
    return top


@remembered()
def _highest_within_reach(ground: SlopingGround, outline: Array | None, beyond: float, at: Array) -> Array:
    """The highest ground (S,) within an outline and :data:`FALL_RADIUS` of each of ``at`` (S, 2), m."""
    # the circle is drawn round from outside, so that no part of it is left out
    reach = shapely.buffer(shapely.points(at), FALL_RADIUS / np.cos(np.pi / 32), quad_segs=8)
    if outline is not None:
        reach = shapely.intersection(reach, shapely.polygons(outline))
    return ground.highest_near(reach, beyond=beyond)


def _candidates(index: Index, side: Side, phase: Phase, surface: float, at: Array) -> list[_Candidate]:
    levels = index.job.layout.levels
    everywhere = np.ones(len(at), dtype=bool)
    found = [
        _Candidate(name, np.full(len(at), levels[name]), everywhere, named=True)
        for name in side.onto
        if name in levels
    ]
    for lower in index.job.lower_levels or []:
        listed = lower.id in side.onto
        by_place = lower.area is not None and lower.kind in _FOUND_BY_PLACE and lower.elevation < surface
        if (listed or by_place) and present(lower, phase):
            over = _over(lower, at)
            found.append(_Candidate(lower.name, _top(lower, at, over), over, named=listed))
    return found


def below(index: Index, stance: Stance, side: Side, phase: Phase, surface: float, at: Array) -> Below:
    """The highest thing under each spot of ``at`` (S, 2), m.

    What the side names counts; so does stored material, a porch roof, a machine or an excavation
    whose outline comes within :data:`FALL_RADIUS` of the spot, named or not. Where nothing named
    lies under a spot, the highest of what is named counts, and failing that the phase's lower level.
    Ground that slopes between measured spots counts with its highest within that radius.
    """
    candidates = _candidates(index, side, phase, surface, at)
    elevation = np.full(len(at), -np.inf)
    name = np.full(len(at), "", dtype=object)
    for c in candidates:
        higher = c.here & (c.top > elevation)
        elevation[higher], name[higher] = c.top[higher], c.name
    bare = ~np.isfinite(elevation)
    if bare.any():
        highest = max(((float(c.top.max()), c.name) for c in candidates if c.named), default=None)
        fallback = highest or (index.surface(phase.lower_level), phase.lower_level)
        elevation[bare], name[bare] = fallback
    return Below(elevation, name)
