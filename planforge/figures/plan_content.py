"""What a plan view shows in a phase: the things that stand then, and the ids that are marked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol, TypeVar

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.below import present
from planforge.assess.index import Index
from planforge.calc.arrays import Array
from planforge.figures.kept import kept
from planforge.figures.standing import Standing, standing
from planforge.job.hazard import Hazard
from planforge.job.layout import (
    Anchor,
    Cover,
    Edge,
    Framing,
    Guardrail,
    Lifeline,
    Opening,
    Place,
    Post,
    Zone,
)
from planforge.job.site import LowerLevel, OverheadLine, Phase
from planforge.units import FOOT, Display

EDGE_LETTERS = {
    "perimeter": "P",
    "open-to-below": "B",
    "leading edge": "L",
    "eave": "E",
    "rake": "R",
    "retaining wall": "W",
}
"""The letter beside an edge's id, by kind; each kind has a line of its own too."""

BARRED = "DO NOT TIE ON"
"""What a drawing prints beside a line or anchor that nobody may tie to."""

NEAR = 10 * FOOT
"""What lies farther than this outside the footprint may be left to the sheet's border (m)."""


class _Phased(Protocol):
    @property
    def phases(self) -> list[str]: ...


P = TypeVar("P", bound=_Phased)


@dataclass(frozen=True)
class PlanContent:
    """The things on one plan view; coordinates as in the job, m."""

    index: Index
    display: Display
    phase: Phase | None
    edges: tuple[Edge, ...]
    openings: tuple[Opening, ...]
    posts: tuple[Post, ...]
    lines: tuple[Lifeline, ...]
    anchors: tuple[Anchor, ...]
    guardrails: tuple[Guardrail, ...]
    covers: tuple[Cover, ...]
    zones: tuple[Zone, ...]
    places: tuple[tuple[str, Place], ...]  # with the letter of each
    hazards: tuple[Hazard, ...]
    lower_levels: tuple[LowerLevel, ...]  # those with a place in plan
    framing: tuple[Framing, ...]
    standing: Standing
    power_lines: tuple[OverheadLine, ...]  # those with a place in plan
    allowed: Mapping[str, int]  # how many may tie to each line and anchor as things stand

    @property
    def footprint(self) -> Array:
        """The building's outline (n, 2), m."""
        return np.asarray(self.index.job.layout.footprint)

    @property
    def marks(self) -> frozenset[str]:
        """Ids of everything marked on the view."""
        groups: tuple[Sequence[object], ...] = (
            self.edges,
            self.openings,
            self.posts,
            self.lines,
            self.anchors,
            self.guardrails,
            self.covers,
            self.zones,
            [place for _, place in self.places],
            self.hazards,
            self.lower_levels,
            self.framing,
            self.standing.floors,
            self.standing.to_come,
            self.standing.walls,
            self.standing.roofs,
            self.power_lines,
        )
        return frozenset(str(getattr(item, "id")) for group in groups for item in group)  # noqa: B009


@kept
def plan_content(assessment: Assessment, phase_id: str | None) -> PlanContent:
    """Gather what stands in a phase; None gathers all of every phase."""
    job, index = assessment.job, assessment.index
    phase = index.phases[phase_id] if phase_id is not None else None

    def in_phase(items: Sequence[P]) -> tuple[P, ...]:
        return tuple(i for i in items if phase is None or not i.phases or phase.id in i.phases)

    layout = job.layout
    lines, anchors = in_phase(layout.lines), in_phase(layout.anchors)
    return PlanContent(
        index=index,
        display=Display(job.site.units),
        phase=phase,
        edges=in_phase(layout.edges),
        openings=tuple(layout.openings),
        posts=in_phase(layout.posts),
        lines=lines,
        anchors=anchors,
        guardrails=in_phase(layout.guardrails),
        covers=in_phase(layout.covers),
        zones=in_phase(layout.zones),
        places=tuple((letter(n), place) for n, place in enumerate(layout.places)),
        hazards=in_phase(job.hazards),
        lower_levels=tuple(
            level
            for level in job.lower_levels or []
            if level.area is not None and (phase is None or present(level, phase))
        ),
        framing=in_phase(layout.framing),
        standing=standing(index, phase),
        power_lines=tuple(
            line for line in (job.power_lines.lines if job.power_lines else []) if line.path is not None
        ),
        allowed=MappingProxyType(
            {i: allowed(assessment, i) for i in [*(x.id for x in lines), *(x.id for x in anchors)]}
        ),
    )


@kept
def allowed(assessment: Assessment, thing: str) -> int:
    """How many may tie to a line or anchor as things stand."""
    return assessment.allowed(thing)


def letter(number: int) -> str:
    """A, B, ... Z, A2, B2, ... for 0, 1, ..."""
    name = chr(ord("A") + number % 26)
    return name if number < 26 else f"{name}{number // 26 + 1}"


def extent(points: Sequence[Array]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of several arrays of points (n, 2)."""
    every = np.concatenate([np.asarray(p, dtype=float).reshape(-1, 2) for p in points])
    low, high = every.min(axis=0), every.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def core(content: PlanContent, near: float = NEAR) -> tuple[float, float, float, float]:
    """What a plan view must hold: the building, its posts and hazards, and what lies near it, m.

    Outlines and places that reach farther out count as far as ``near``.
    """
    layout = content.index.job.layout
    points = [content.footprint]
    points += [np.asarray(layout.slab)] if layout.slab else []
    points += [np.asarray([p.at for p in content.posts])] if content.posts else []
    points += [np.asarray([content.index.anchor_at(a)[:2]]) for a in content.anchors]
    points += [np.asarray([h.at for h in content.hazards])] if content.hazards else []
    points += [np.asarray(e.path) for e in content.edges]
    there = content.standing
    points += [np.asarray(f.outline) for f in (*there.floors, *there.to_come)]
    points += [np.asarray(r.outline) for r in there.roofs]
    points += [np.asarray([g.to for g in post.guys]) for post in content.posts if post.guys]
    left, bottom, right, top = extent(points)
    outer = [np.asarray(z.outline) for z in content.zones]
    outer += [np.asarray(level.area) for level in content.lower_levels]
    outer += [np.asarray(f.area) for f in content.framing]
    outer += [np.asarray([place.at]) for _, place in content.places]
    if not outer:
        return left, bottom, right, top
    low, high = np.array([left, bottom]) - near, np.array([right, top]) + near
    a, b, c, d = extent([np.clip(o, low, high) for o in outer])
    return min(left, a), min(bottom, b), max(right, c), max(top, d)
