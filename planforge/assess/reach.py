"""Reach: which part of each hazard edge a worker tied to the lines and anchors can work at, by phase."""

from __future__ import annotations

import numpy as np
import shapely

from planforge.assess.anchors import AnchorRun
from planforge.assess.finding import Finding, found, stated
from planforge.assess.index import Index
from planforge.assess.stances import RigRun
from planforge.job.hazard import Control, Hazard, System
from planforge.job.layout import Edge
from planforge.units import FOOT

_BESIDE = 1.5 * FOOT
"""A guardrail this close to an edge, in plan, guards it."""

_LEFT = 0.5 * FOOT
"""An uncovered remainder shorter than this is drawing noise."""


def line_reach(run: RigRun) -> float:
    """How far from the line, in plan, a worker of this stance gets: stated, else by the connector."""
    if run.rig.stance.reach is not None:
        return run.rig.stance.reach
    return _by_connector(run.rig.connector.length, float(np.mean(run.rig.above)))


def anchor_reach(run: AnchorRun) -> float:
    """How far from the anchorage, in plan, a worker of this stance gets."""
    if run.stance.reach is not None:
        return run.stance.reach
    return _by_connector(run.connector.length, run.above)


def _plan_line(run: RigRun) -> shapely.LineString:
    return shapely.linestrings(np.asarray([run.rig.parts.start[:2], run.rig.parts.end[:2]]))


def _by_connector(length: float, above: float) -> float:
    return float(np.sqrt(max(length**2 - above**2, 0.0)))


def reach_findings(index: Index, line_runs: list[RigRun], anchor_runs: list[AnchorRun]) -> list[Finding]:
    """For each edge that lines or anchors guard: the length nobody tied off can reach, by phase."""
    edges = {e.id: e for e in index.job.layout.edges}
    findings = []
    for hazard in index.job.hazards:
        if hazard.edge is None:
            continue
        for phase in index.shared_phases(hazard.phases, edges[hazard.edge].phases):
            controls = [c for c in hazard.controls if not c.phases or phase in c.phases]
            tied = [c for c in controls if c.system in (System.LIFELINE, System.SINGLE_ANCHORAGE)]
            if tied:
                findings.append(
                    _edge(index, edges[hazard.edge], hazard, phase, controls, (line_runs, anchor_runs))
                )
    return findings


def _edge(
    index: Index,
    edge: Edge,
    hazard: Hazard,
    phase: str,
    controls: list[Control],
    runs: tuple[list[RigRun], list[AnchorRun]],
) -> Finding:
    line = shapely.linestrings(np.asarray(edge.path))
    uses = {use for c in controls for use in c.uses}
    areas = [
        shapely.buffer(
            shapely.linestrings(np.asarray([r.rig.parts.start[:2], r.rig.parts.end[:2]])), line_reach(r)
        )
        for r in runs[0]
        if r.rig.parts.line.id in uses and phase in r.rig.task.phases
    ]
    areas += [
        shapely.buffer(shapely.points(np.asarray(r.place[:2])), anchor_reach(r))
        for r in runs[1]
        if r.anchor.id in uses and phase in r.task.phases
    ]
    areas += [
        shapely.buffer(shapely.linestrings(np.asarray(g.path)), _BESIDE)
        for g in index.job.layout.guardrails
        if g.id in uses
    ]
    left = float(shapely.length(shapely.difference(line, shapely.union_all(areas)))) if areas else 0.0
    if not areas:
        left = float(shapely.length(line))
    covered = left <= _LEFT
    return found(
        "edge.reach",
        f"{hazard.id} · {edge.id}",
        stated(covered),
        phase=phase,
        value=left,
        limit=0.0,
        unit="m",
        sense="at most",
        note="" if covered else "Move a line or anchor, add one, or put a guardrail along the rest.",
    )
