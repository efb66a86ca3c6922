"""Reach: which part of each hazard edge a worker tied to the lines and anchors can work at, by phase."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from planforge.assess.anchors import AnchorRun
from planforge.assess.finding import Finding, found, stated
from planforge.assess.ground import Ground
from planforge.assess.index import Index
from planforge.assess.stances import RigRun
from planforge.assess.stated_edges import LEFT, let_pass, where_runs
from planforge.job.hazard import Hazard, System
from planforge.job.layout import Edge
from planforge.units import FOOT, Display

_BESIDE = 1.5 * FOOT
"""A guardrail this close to an edge, in plan, guards it as far as it runs, and not past its ends."""

_ROUND = 64
"""How many sides a quarter of the round past a line's end is drawn with: 0.03 % of its radius is lost."""

_SAME_LEVEL = FOOT
"""A stance whose surface lies this near to an edge's level, in height, is one at that edge."""


def line_reach(run: RigRun) -> float:
    """How far from the line, in plan, a worker of this stance may get: stated, else as reckoned."""
    if run.rig.stance.reach is not None:
        return run.rig.stance.reach
    reckoned = float(np.max(run.rig.lateral))
    return min(_by_connector(run.rig.connector.length, float(np.mean(run.rig.above))), reckoned)


def anchor_reach(run: AnchorRun) -> float:
    """How far from the anchorage, in plan, a worker of this stance may get: stated, else as reckoned."""
    if run.stance.reach is not None:
        return run.stance.reach
    return min(_by_connector(run.connector.length, run.above), float(np.max(run.lateral)))


@dataclass(frozen=True, slots=True)
class Stay:
    """How far in plan (m) anyone tied to a line or anchor may go from it in a phase."""

    stated: float  # the least that its stances then state, or were reckoned at
    told: float  # no more than their grounds hold at their narrowest: whoever ties on goes by this one number


Stays = dict[tuple[str, str], Stay]
"""By line or anchor, and phase in which someone is tied to it."""


def _stay(
    line_runs: Iterable[RigRun],
    anchor_runs: Iterable[AnchorRun],
    grounds: Iterable[Ground],
    thing: str,
    phase: str,
) -> Stay | None:
    lines = [line_reach(r) for r in line_runs if r.rig.parts.line.id == thing and phase in r.rig.task.phases]
    anchors = [anchor_reach(r) for r in anchor_runs if r.anchor.id == thing and phase in r.task.phases]
    bounds = [float(g.reach.min()) for g in grounds if g.of == thing and g.phase == phase]
    if not (lines or anchors):
        return None
    stated = min([*lines, *anchors])
    return Stay(stated, min([stated, *bounds]))


def _by_connector(length: float, above: float) -> float:
    return float(np.sqrt(max(length**2 - above**2, 0.0)))


@dataclass(frozen=True)
class Guarded:
    """The part of an edge that one line, anchor or guardrail guards in a phase."""

    by: str
    within: float | None  # m in plan, as the crew is told to stay; None: a guardrail
    part: shapely.Geometry  # along the edge


@dataclass(frozen=True)
class EdgeReach:
    """A hazard edge that lines or anchors guard, in one phase, with what of it they leave."""

    hazard: str
    edge: str
    phase: str
    uses: tuple[str, ...]  # the lines and anchors
    length: float  # m
    guarded: tuple[Guarded, ...]  # what each line, anchor and guardrail guards of it
    unreached: shapely.Geometry  # what nobody reaches who stays as near as the crew is told to
    off_ground: shapely.Geometry  # what the computed grounds leave
    grounds: tuple[Ground, ...]

    @property
    def left(self) -> float:
        """The length on no ground, m."""
        return float(shapely.length(self.off_ground))

    @property
    def bounded_by(self) -> str:
        """What bounds the grounds nearest to what is left, or the narrowest of all, in words."""
        near = min(self.grounds, key=self._distance, default=None)
        return f"{near.label}: {near.narrowed_by}" if near else "no stance is tied to them at this level"

    def _distance(self, ground: Ground) -> float:
        if shapely.is_empty(ground.area):
            return 0.0
        return float(shapely.distance(ground.area, self.off_ground))


def stays_within(
    index: Index, line_runs: Sequence[RigRun], anchor_runs: Sequence[AnchorRun], grounds: Sequence[Ground]
) -> Stays:
    """How far from every line and anchor one may go, in each phase in which someone is tied to it."""
    stays = {}
    for thing in (*index.lines, *index.anchors):
        for phase in index.phases:
            stay = _stay(line_runs, anchor_runs, grounds, thing, phase)
            if stay is not None:
                stays[thing, phase] = stay
    return stays


def edge_reaches(index: Index, stays: Stays, grounds: list[Ground]) -> list[EdgeReach]:
    """For each edge that lines or anchors guard, what a worker tied off can't work at, by phase."""
    edges = {e.id: e for e in index.job.layout.edges}
    found_reaches = []
    for hazard in index.job.hazards:
        if hazard.edge is None:
            continue
        for phase in index.shared_phases(hazard.phases, edges[hazard.edge].phases):
            controls = [c for c in hazard.controls if not c.phases or phase in c.phases]
            if any(c.system in (System.LIFELINE, System.SINGLE_ANCHORAGE) for c in controls):
                here = {u: stays.get((u, phase)) for c in controls for u in c.uses}
                found_reaches.append(_edge(index, edges[hazard.edge], hazard, phase, here, grounds))
    return found_reaches


def in_plan(index: Index, thing: str) -> shapely.Geometry:
    """A line from post to post, or an anchorage, in plan."""
    if thing in index.anchors:
        return shapely.points(np.asarray(index.anchor_at(index.anchors[thing])[:2]))
    return shapely.linestrings(np.asarray([end[:2] for end in index.line_ends(index.lines[thing])]))


def _edge(
    index: Index,
    edge: Edge,
    hazard: Hazard,
    phase: str,
    stays: dict[str, Stay | None],
    grounds: list[Ground],
) -> EdgeReach:
    """``stays``: of all that guards the hazard, how far from it whoever is tied to it may go."""
    line = shapely.linestrings(np.asarray(edge.path))
    rails = {
        g.id: shapely.buffer(shapely.linestrings(np.asarray(g.path)), _BESIDE, cap_style="flat")
        for g in index.job.layout.guardrails
        if g.id in stays and (not g.phases or phase in g.phases)
    }
    level = index.job.layout.levels[edge.level]
    own = tuple(
        g
        for g in grounds
        if g.of in stays and g.phase == phase and (g.edge == edge.id or abs(g.surface - level) <= _SAME_LEVEL)
    )
    off_ground = shapely.difference(line, shapely.union_all([*(g.area for g in own), *rails.values()]))
    # what lies on no ground is found by a check of its own: it does not make the rest unreached as well
    on_ground = float(shapely.length(off_ground)) <= LEFT
    told = {name: stay.told if on_ground else stay.stated for name, stay in stays.items() if stay is not None}
    # round past a line's ends: there the way to the post's head counts, not the way to the line's axis
    within = {
        thing: shapely.buffer(in_plan(index, thing), far, quad_segs=_ROUND) for thing, far in told.items()
    }
    areas = [*within.values(), *rails.values()]
    return EdgeReach(
        hazard.id,
        edge.id,
        phase,
        tuple(sorted(stays.keys() & {*index.lines, *index.anchors})),
        float(shapely.length(line)),
        tuple(
            Guarded(name, told.get(name), shapely.intersection(line, area))
            for name, area in sorted((within | rails).items())
        ),
        shapely.difference(line, shapely.union_all(areas)),
        off_ground,
        own,
    )


def reach_findings(index: Index, reaches: list[EdgeReach]) -> list[Finding]:
    """The length nobody reaches who stays as near as told, and the length on no computed ground."""
    display = Display(index.job.site.units)
    return [f for r in reaches for f in (_reached(display, r), _on_ground(display, r))]


def _reached(display: Display, reach: EdgeReach) -> Finding:
    left = float(shapely.length(reach.unreached))
    covered = left <= LEFT
    return found(
        "edge.reach",
        f"{reach.hazard} · {reach.edge}",
        stated(covered),
        phase=reach.phase,
        value=left,
        limit=LEFT,
        unit="m",
        sense="at most",
        note=let_pass(display, left) if covered else _who_stays_where(display, reach),
    )


def _who_stays_where(display: Display, reach: EdgeReach) -> str:
    told = ", ".join(
        f"{display.feet(g.within, 'down')} of {g.by}" for g in reach.guarded if g.within is not None
    )
    return (
        f"{where_runs(display, reach.unreached).capitalize()}: nobody gets there who stays within {told}, "
        "the least of what the stances tied to it state. Let the stance with the least work farther, move a "
        "line or anchor, add one, or put a guardrail along the rest."
    )


def _on_ground(display: Display, reach: EdgeReach) -> Finding:
    covered = reach.left <= LEFT
    note = let_pass(display, reach.left)
    if not covered:
        note = (
            f"{where_runs(display, reach.off_ground).capitalize()} ({reach.bounded_by}). Move a line or "
            "anchor nearer, raise it, clear what lies below, or put a guardrail along the rest."
        )
    return found(
        "edge.ground",
        f"{reach.hazard} · {reach.edge}",
        stated(covered),
        phase=reach.phase,
        value=reach.left,
        limit=LEFT,
        unit="m",
        sense="at most",
        note=note,
    )
