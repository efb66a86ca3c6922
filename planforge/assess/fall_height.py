"""How far one can fall at a hazard, by the layout's levels: what a stated height is held against.

Elevations and heights are in m. Only a hazard that names an edge or an opening has a height to reckon.
"""

from __future__ import annotations

from dataclasses import dataclass

from planforge.assess.below import present
from planforge.assess.index import Index
from planforge.job.hazard import Hazard
from planforge.job.layout import Edge
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


def fall_height(index: Index, hazard: Hazard) -> FallHeight | None:
    """The greatest drop from a hazard's edge or opening; None where it names neither.

    It ends on the lowest of what stances at that edge name outward, as far as it is there in the
    phase. Where no stance names anything, it ends on the phase's lower level; but a smaller stated
    height that is the drop to one of the lot's lasting lower levels (with no dates, no material, no machine)
    is taken to be the drop onto that one: nothing else in a job ties such an edge to its lower level.
    """
    edge = next((e for e in index.job.layout.edges if e.id == hazard.edge), None)
    opening = next((o for o in index.job.layout.openings if o.id == hazard.opening), None)
    place = edge or opening
    if place is None:
        return None
    top = index.job.layout.levels[place.level]
    phases = index.shared_phases(hazard.phases, edge.phases if edge else [])
    drops = [_in_phase(index, hazard, edge, top, index.phases[p]) for p in phases]
    return max(drops, key=lambda d: d.drop, default=None)


def _in_phase(index: Index, hazard: Hazard, edge: Edge | None, top: float, phase: Phase) -> FallHeight:
    named = [n for n in _named_outward(index, edge, phase) if index.surface(n) < top]
    if named:
        lowest = min(named, key=index.surface)
        return FallHeight(top - index.surface(lowest), index.surface_name(lowest))
    general = top - index.surface(phase.lower_level)
    if hazard.height is not None and hazard.height < general - ALLOWED_OFF:
        meant = _meant(index, top, hazard.height)
        if meant is not None:
            return FallHeight(top - meant.elevation, meant.name)
    return FallHeight(general, index.surface_name(phase.lower_level))


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
