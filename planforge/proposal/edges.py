"""Hazard edges that a proposal has to guard, phase by phase: the layout's own and those of the building.

An edge under the code profile's trigger height needs no guard. Nor does an edge in a phase in which the
register names a control that stays: a guardrail, a cover, a lift, or a pinned line or anchorage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from planforge.assess.drop_offs import DropOff, found_drop_offs
from planforge.assess.index import Index
from planforge.assess.stated_edges import BESIDE_EDGE, LEFT, coverage
from planforge.calc.arrays import Array
from planforge.codes.profile import Profile
from planforge.errors import RefusedError
from planforge.job.hazard import Hazard
from planforge.job.layout import Edge, EdgeKind
from planforge.job.proposal import AllowedGuardrail, Proposal, ProposedWork


@dataclass(frozen=True)
class HazardEdge:
    """An edge with the phases in which a proposal has to guard it."""

    id: str
    of: str  # itself, or the floor, wall, roof or opening that it is the edge of
    kind: EdgeKind
    level: str
    path: Array  # (N, 2) plan, m
    top: float  # m, its highest point
    bottom: float  # m, the lowest that lies below it
    phases: tuple[str, ...]  # to be guarded
    open_in: tuple[str, ...]  # all in which it is open
    hazard: Hazard | None
    drawn: bool  # it is one of the layout's own

    @property
    def drop(self) -> float:
        """The greatest fall, m."""
        return self.top - self.bottom

    def named_in(self, names: list[str]) -> bool:
        """True where it, or the thing it is the edge of, is among some names."""
        return self.id in names or self.of in names

    @property
    def pieces(self) -> Array:
        """Its straight pieces (P, 2, 2), m."""
        return np.stack([self.path[:-1], self.path[1:]], axis=1)


def with_edges(index: Index, edges: list[HazardEdge]) -> list[Edge]:
    """The layout's edges and those found from the building, as a layout holds them."""
    more = [
        Edge.model_construct(
            id=e.id,
            kind=e.kind,
            path=[(float(x), float(y)) for x, y in e.path],
            level=e.level,
            phases=list(e.open_in),
        )
        for e in edges
        if not e.drawn
    ]
    return [*index.job.layout.edges, *more]


def proposal_of(index: Index) -> Proposal:
    """The job's proposal part, which the caller has made sure of."""
    proposal = index.job.proposal
    assert proposal is not None
    return proposal


def works_at(index: Index, edge: HazardEdge, phase: str) -> list[ProposedWork]:
    """The work at an edge in a phase."""
    tasks = {t.id: t for t in index.job.tasks}
    return [
        w
        for w in proposal_of(index).work
        if edge.named_in(w.edges) and phase in index.shared_phases(tasks[w.task].phases)
    ]


def guardrail_at(index: Index, edge: HazardEdge, phase: str) -> AllowedGuardrail | None:
    """The guardrail that is acceptable at an edge in a phase, where one is."""
    allowed = proposal_of(index).guardrails
    return next((g for g in allowed if edge.named_in(g.edges) and phase in g.phases), None)


def hazard_edges(index: Index, profile: Profile) -> list[HazardEdge]:
    """Every edge at or over the trigger height with at least one phase to guard: the layout's, then the
    building's.

    Raises:
        RefusedError: a drop-off of the building stands at no level of the layout, so that it can't be drawn.
    """
    trigger = profile.limits["trigger_height"].value
    found = [e for e in _drawn(index) if e.drop >= trigger - 1e-9]
    return [e for e in [*found, *_found(index, profile)] if e.phases]


def _found(index: Index, profile: Profile) -> list[HazardEdge]:
    """The building's drop-offs, or the parts of them, that no edge or opening of the layout states or
    strikes.
    """
    parts: dict[tuple[str, int], list[tuple[DropOff, Array]]] = {}
    for covered in coverage(_as_if_registered(index), found_drop_offs(index, profile)):
        if not covered.complete and not _closed(index, covered.drop):
            for n, line in enumerate(_lines(covered.left)):
                parts.setdefault((covered.drop.id, n), []).append((covered.drop, line))
    return [_found_edge(index, name, n, own) for (name, n), own in parts.items()]


def _as_if_registered(index: Index) -> Index:
    """The job as if every edge of the layout were in the register: what is stated needs no second edge."""
    job = index.job
    known = {h.edge for h in job.hazards}
    phases = [p.id for p in job.phases]
    more = [
        Hazard.model_construct(
            id=f"as-if-{e.id}",
            kind="unprotected edge",
            name=e.id,
            at=e.path[0],
            edge=e.id,
            phases=phases,
            exposed="as if",
        )
        for e in job.layout.edges
        if e.id not in known
    ]
    return Index(job.model_copy(update={"hazards": [*job.hazards, *more]}))


def _closed(index: Index, drop: DropOff) -> bool:
    """True where a cover may lie over the opening that a drop-off is the edge of, in its phase."""
    return any(c.opening == drop.of and drop.phase in c.phases for c in proposal_of(index).covers)


def _lines(left: shapely.Geometry) -> list[Array]:
    """The straight or bent lines of what is left, longer than drawing noise."""
    merged = shapely.line_merge(left) if left.geom_type == "MultiLineString" else left
    return [shapely.get_coordinates(g) for g in shapely.get_parts(merged) if shapely.length(g) > LEFT]


def _found_edge(index: Index, name: str, number: int, own: list[tuple[DropOff, Array]]) -> HazardEdge:
    drop, path = own[0]
    top = float(max(d.top.max() for d, _ in own))
    levels = index.job.layout.levels
    level = drop.level or min(levels, key=lambda n: (abs(levels[n] - top), n))
    if abs(levels[level] - top) > BESIDE_EDGE:
        raise RefusedError(
            f"drop-off {name} of {drop.of} stands at no level of the layout: add its level to "
            "layout.levels, and the edge to layout.edges."
        )
    open_in = tuple(d.phase for d, _ in own)
    return HazardEdge(
        id=name if number == 0 else f"{name}.{number + 1}",
        of=drop.of,
        kind=drop.kind,
        level=level,
        path=path,
        top=top,
        bottom=float(min(d.below.min() for d, _ in own)),
        phases=open_in,
        open_in=open_in,
        hazard=None,
        drawn=False,
    )


def _drawn(index: Index) -> list[HazardEdge]:
    job = index.job
    by_edge = {h.edge: h for h in job.hazards if h.edge is not None}
    edges = []
    for edge in job.layout.edges:
        hazard = by_edge.get(edge.id)
        open_in = index.shared_phases(edge.phases)
        edges.append(
            HazardEdge(
                id=edge.id,
                of=edge.id,
                kind=edge.kind,
                level=edge.level,
                path=np.asarray(edge.path),
                top=job.layout.levels[edge.level],
                bottom=_bottom(index, edge.id, open_in),
                phases=tuple(p for p in open_in if not _guarded(hazard, p)),
                open_in=tuple(open_in),
                hazard=hazard,
                drawn=True,
            )
        )
    return edges


def _guarded(hazard: Hazard | None, phase: str) -> bool:
    return hazard is not None and any(not c.phases or phase in c.phases for c in hazard.controls)


def _bottom(index: Index, edge: str, phases: list[str]) -> float:
    """The lowest of what the work names outward, m; without work, the phases' lower levels."""
    named = [n for w in proposal_of(index).work if edge in w.edges for n in w.outward]
    named += [] if named else [index.phases[p].lower_level for p in phases]
    return min((index.surface(n) for n in named), default=0.0)
