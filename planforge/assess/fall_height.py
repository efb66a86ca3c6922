"""How far one can fall at a hazard, by geometry and levels: what a stated height is held against.

Elevations and heights are in m. Only a hazard that names an edge or an opening has a height to reckon.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from planforge.assess.below import present
from planforge.assess.drop_offs import DropOff, Found
from planforge.assess.index import Index
from planforge.assess.sloping_ground import sloping_ground
from planforge.assess.stated_edges import BESIDE_EDGE, LEFT, edge_part
from planforge.job.hazard import Hazard
from planforge.job.layout import Edge, Opening
from planforge.job.site import LowerLevel, Phase
from planforge.units import INCH

ALLOWED_OFF = 2 * INCH
"""How far a stated height may lie below the reckoned one, m; planforge's own allowance, no source."""

_PASSING = {"stored material", "machine"}


@dataclass(frozen=True, slots=True)
class FallHeight:
    """The greatest drop at a hazard over its phases."""

    drop: float  # m
    onto: str  # what it ends on, in words


def fall_height(index: Index, hazard: Hazard, found_edges: Found) -> FallHeight | None:
    """The greatest drop from a hazard's edge or opening; None where it names neither.

    Where the building's geometry gives the edge or opening, its greatest height there counts. Elsewhere
    it ends on the lowest of what stances at that edge name outward, as far as it is there in the phase.
    Where no stance names anything, it ends on the phase's lower level; but a smaller stated height that
    is the drop to one of the lot's lasting lower levels (with no dates, no material, no machine) is taken
    to be the drop onto that one: nothing else in a job ties such an edge to its lower level. Of sloping
    ground the lowest beside the edge counts.
    """
    edge = next((e for e in index.job.layout.edges if e.id == hazard.edge), None)
    opening = next((o for o in index.job.layout.openings if o.id == hazard.opening), None)
    place = edge or opening
    if place is None:
        return None
    phases = index.shared_phases(hazard.phases, edge.phases if edge else [])
    drops = [_in_phase(index, hazard, place, index.phases[p], found_edges) for p in phases]
    return max(drops, key=lambda d: d.drop, default=None)


def _in_phase(
    index: Index, hazard: Hazard, place: Edge | Opening, phase: Phase, found_edges: Found
) -> FallHeight:
    top = index.job.layout.levels[place.level]
    edge = place if isinstance(place, Edge) else None
    outline = place.path if isinstance(place, Edge) else [*place.outline, place.outline[0]]
    line = shapely.linestrings(np.asarray(outline))
    given = _by_geometry(index, place, phase, found_edges)
    if given:
        return max(given, key=lambda d: d.drop)
    lows = {name: _lowest(index, name, line) for name in _named_outward(index, edge, phase)}
    named = [name for name, low in lows.items() if low < top]
    if named:
        lowest = min(named, key=lambda n: lows[n])
        return FallHeight(top - lows[lowest], index.surface_name(lowest))
    general = top - _lowest(index, phase.lower_level, line)
    if hazard.height is not None and hazard.height < general - ALLOWED_OFF:
        meant = _meant(index, top, hazard.height)
        if meant is not None:
            return FallHeight(top - meant.elevation, meant.name)
    return FallHeight(general, index.surface_name(phase.lower_level))


def _by_geometry(index: Index, place: Edge | Opening, phase: Phase, found_edges: Found) -> list[FallHeight]:
    """What the drop-offs of a phase give along an edge, or around an opening."""
    heights = []
    for drop in (*found_edges.over, *found_edges.under):
        if drop.phase != phase.id:
            continue
        if isinstance(place, Edge):
            part = edge_part(index, drop, place)
        else:
            part = drop.line if drop.of == place.id else shapely.LineString()
        if shapely.length(part) > LEFT:
            heights.append(FallHeight(_greatest(drop, part), " and ".join(drop.onto)))
    return heights


def _greatest(drop: DropOff, part: shapely.Geometry) -> float:
    """The greatest height over a part of a drop-off, m; it runs straight between its points."""
    ends = shapely.line_locate_point(drop.line, shapely.points(shapely.get_coordinates(part)))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(drop.path, axis=0).T))])
    within = along[(along > ends.min()) & (along < ends.max())]
    return float(np.interp([*ends, *within], along, drop.height).max())


def _lowest(index: Index, name: str, line: shapely.Geometry) -> float:
    """The lowest of a level or lower level beside a line in plan, m."""
    lower = index.lower_levels.get(name)
    if lower is None or not lower.spots:
        return index.surface(name)
    beside = shapely.buffer(line, BESIDE_EDGE)
    if lower.area is not None:
        beside = shapely.intersection(beside, shapely.polygons(np.asarray(lower.area)))
    return sloping_ground(lower.spots).lowest_over(beside)


def _named_outward(index: Index, edge: Edge | None, phase: Phase) -> list[str]:
    """What any stance at an edge names outward, as far as it is there in the phase."""
    if edge is None:
        return []
    names = [
        name
        for task in index.job.tasks
        for stance in task.stances
        if stance.edge == edge.id
        for side in stance.sides
        if side.direction == "outward"
        for name in side.onto
    ]
    lower = index.lower_levels
    return [n for n in dict.fromkeys(names) if n not in lower or present(lower[n], phase)]


def _meant(index: Index, top: float, height: float) -> LowerLevel | None:
    """The lasting lower level whose drop a stated height is, to the allowance; the nearest of several."""

    def off(level: LowerLevel) -> float:
        return abs(top - level.elevation - height)

    lasting = [
        level
        for level in index.job.lower_levels or []
        if level.start is None and level.end is None and level.kind not in _PASSING
    ]
    nearest = min(lasting, key=off, default=None)
    return nearest if nearest is not None and off(nearest) <= ALLOWED_OFF else None
