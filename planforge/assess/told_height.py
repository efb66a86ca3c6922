"""The height of a fall that the plan tells: the register's, or that of a stance where it is more."""

from __future__ import annotations

from collections.abc import Iterable

from planforge.assess.anchors import AnchorRun
from planforge.assess.index import Index
from planforge.assess.stances import RigRun
from planforge.job.hazard import Hazard


def told_height(
    index: Index,
    line_runs: Iterable[RigRun],
    anchor_runs: Iterable[AnchorRun],
    hazard: Hazard,
    phase: str,
    things: set[str],
) -> float | None:
    """The greatest fall, m, of whoever is tied to some lines or anchors at a hazard; None: none is stated.

    The height stated, or that of a stance of the ``things`` that guard it, on whichever side it is most;
    those stances are left out that are worked at the edge of another hazard.
    """
    if hazard.height is None:
        return None
    things = {t for t in things if _guards(hazard, phase, {t})}
    others = {h.edge for h in index.job.hazards if h.edge and phase in h.phases and _guards(h, phase, things)}
    others -= {hazard.edge}
    falls = [(r.rig.parts.line.id, r.rig.stance.edge, r.rig.surface, r.sides) for r in line_runs]
    falls += [(r.anchor.id, r.stance.edge, r.surface, r.sides) for r in anchor_runs]
    drops = [
        surface - float(side.under.elevation.min())
        for thing, edge, surface, sides in falls
        if thing in things and edge not in others
        for side in sides
        if side.phase.id == phase
    ]
    return max([hazard.height, *drops])


def _guards(hazard: Hazard, phase: str, things: set[str]) -> bool:
    """Whether one of ``things`` guards a hazard in a phase."""
    controls = [c for c in hazard.controls if not c.phases or phase in c.phases]
    return any(use in things for c in controls for use in c.uses)
