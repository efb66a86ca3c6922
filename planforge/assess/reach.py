"""Reach: which part of each hazard edge a worker tied to the lines and anchors can work at, by phase."""

from __future__ import annotations

from collections.abc import Iterable
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
"""A guardrail this close to an edge, in plan, guards it."""

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


def stay_within(
    line_runs: Iterable[RigRun],
    anchor_runs: Iterable[AnchorRun],
    grounds: Iterable[Ground],
    thing: str,
    phase: str,
) -> float | None:
    """How far in plan (m) anyone tied to a line or anchor may go from it in a phase; None: no stance is.

    The least of what its stances then state (or were reckoned at) and of what the grounds of those
    stances bound at their narrowest, so that whoever ties on may go by the one number.
    """
    lines = [line_reach(r) for r in line_runs if r.rig.parts.line.id == thing and phase in r.rig.task.phases]
    anchors = [anchor_reach(r) for r in anchor_runs if r.anchor.id == thing and phase in r.task.phases]
    bounds = [float(g.reach.min()) for g in grounds if g.of == thing and g.phase == phase]
    return min([*lines, *anchors, *bounds]) if lines or anchors else None


def plan_line(run: RigRun) -> shapely.LineString:
    """The line that a stance is tied to, in plan."""
    return shapely.linestrings(np.asarray([run.rig.parts.start[:2], run.rig.parts.end[:2]]))


def _by_connector(length: float, above: float) -> float:
    return float(np.sqrt(max(length**2 - above**2, 0.0)))


@dataclass(frozen=True)
class EdgeReach:
    """A hazard edge that lines or anchors guard, in one phase, with what of it they leave."""

    hazard: str
    edge: str
    phase: str
    uses: tuple[str, ...]  # the lines and anchors
    length: float  # m
    unreached: shapely.Geometry  # what the stances' stated reach leaves
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


def edge_reaches(
    index: Index, line_runs: list[RigRun], anchor_runs: list[AnchorRun], grounds: list[Ground]
) -> list[EdgeReach]:
    """For each edge that lines or anchors guard, what a worker tied off can't work at, by phase."""
    edges = {e.id: e for e in index.job.layout.edges}
    found_reaches = []
    for hazard in index.job.hazards:
        if hazard.edge is None:
            continue
        for phase in index.shared_phases(hazard.phases, edges[hazard.edge].phases):
            controls = [c for c in hazard.controls if not c.phases or phase in c.phases]
            if any(c.system in (System.LIFELINE, System.SINGLE_ANCHORAGE) for c in controls):
                found_reaches.append(
                    _edge(
                        index,
                        edges[hazard.edge],
                        hazard,
                        phase,
                        {u for c in controls for u in c.uses},
                        (line_runs, anchor_runs, grounds),
                    )
                )
    return found_reaches


def _edge(
    index: Index,
    edge: Edge,
    hazard: Hazard,
    phase: str,
    uses: set[str],
    results: tuple[list[RigRun], list[AnchorRun], list[Ground]],
) -> EdgeReach:
    line_runs, anchor_runs, grounds = results
    line = shapely.linestrings(np.asarray(edge.path))
    rails = [
        shapely.buffer(shapely.linestrings(np.asarray(g.path)), _BESIDE)
        for g in index.job.layout.guardrails
        if g.id in uses and (not g.phases or phase in g.phases)
    ]
    within = [
        shapely.buffer(plan_line(r), line_reach(r))
        for r in line_runs
        if r.rig.parts.line.id in uses and phase in r.rig.task.phases
    ]
    within += [
        shapely.buffer(shapely.points(np.asarray(r.place[:2])), anchor_reach(r))
        for r in anchor_runs
        if r.anchor.id in uses and phase in r.task.phases
    ]
    level = index.job.layout.levels[edge.level]
    own = tuple(
        g
        for g in grounds
        if g.of in uses and g.phase == phase and (g.edge == edge.id or abs(g.surface - level) <= _SAME_LEVEL)
    )
    tied = tuple(sorted(uses & {*index.lines, *index.anchors}))
    return EdgeReach(
        hazard.id,
        edge.id,
        phase,
        tied,
        float(shapely.length(line)),
        shapely.difference(line, shapely.union_all([*within, *rails])),
        shapely.difference(line, shapely.union_all([*(g.area for g in own), *rails])),
        own,
    )


def reach_findings(index: Index, reaches: list[EdgeReach]) -> list[Finding]:
    """The length nobody tied off reaches as stated, and the length on no computed ground."""
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
        note=let_pass(display, left)
        if covered
        else "Move a line or anchor, add one, or put a guardrail along the rest.",
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
