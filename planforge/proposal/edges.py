"""Hazard edges that a proposal has to guard, phase by phase: the layout's own and those of the building.

An edge under the code profile's trigger height needs no guard. Nor does an edge in a phase in which the register
names a control that stays: a guardrail, a cover, a lift, or a pinned line or anchorage.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from planforge.assess.index import Index
from planforge.calc.arrays import Array
from planforge.codes.profile import Profile
from planforge.job.hazard import Control, Hazard
from planforge.job.layout import EdgeKind
from planforge.job.proposal import AllowedGuardrail, Proposal, ProposedWork


@dataclass(frozen=True)
class HazardEdge:
    """An edge with the phases in which a proposal has to guard it."""

    id: str
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

    @property
    def pieces(self) -> Array:
        """Its straight pieces (P, 2, 2), m."""
        return np.stack([self.path[:-1], self.path[1:]], axis=1)


def proposal_of(index: Index) -> Proposal:
    """The job's proposal part, which the caller has made sure of."""
    proposal = index.job.proposal
    assert proposal is not None
    return proposal


def works_at(index: Index, edge: str, phase: str) -> list[ProposedWork]:
    """The work at an edge in a phase."""
    tasks = {t.id: t for t in index.job.tasks}
    return [
        w for w in proposal_of(index).work if edge in w.edges and phase in index.shared_phases(tasks[w.task].phases)
    ]


def guardrail_at(index: Index, edge: str, phase: str) -> AllowedGuardrail | None:
    """The guardrail that is acceptable at an edge in a phase, where one is."""
    allowed = proposal_of(index).guardrails
    return next((g for g in allowed if edge in g.edges and phase in g.phases), None)


def staying(index: Index, hazard: Hazard) -> list[Control]:
    """The controls of the register that stay: those that use nothing, or only what the layout holds."""
    return list(hazard.controls)


def hazard_edges(index: Index, profile: Profile) -> list[HazardEdge]:
    """Every edge at or over the trigger height with at least one phase to guard, in the job's order."""
    trigger = profile.limits["trigger_height"].value
    found = [e for e in _drawn(index) if e.drop >= trigger - 1e-9]
    return [e for e in found if e.phases]


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
                kind=edge.kind,
                level=edge.level,
                path=np.asarray(edge.path),
                top=job.layout.levels[edge.level],
                bottom=_bottom(index, edge.id, open_in),
                phases=tuple(p for p in open_in if not _guarded(index, hazard, p)),
                open_in=tuple(open_in),
                hazard=hazard,
                drawn=True,
            )
        )
    return edges


def _guarded(index: Index, hazard: Hazard | None, phase: str) -> bool:
    return hazard is not None and any(not c.phases or phase in c.phases for c in staying(index, hazard))


def _bottom(index: Index, edge: str, phases: list[str]) -> float:
    """The lowest of what the work names outward, m; without work, the phases' lower levels."""
    named = [n for w in proposal_of(index).work if edge in w.edges for n in w.outward]
    named += [] if named else [index.phases[p].lower_level for p in phases]
    return min((index.surface(n) for n in named), default=0.0)


def side_lengths(path: Array) -> list[float]:
    """The length of each straight piece, m."""
    return [float(np.hypot(*(b - a))) for a, b in pairwise(path)]
