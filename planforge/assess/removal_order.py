"""The order of a removal: what has to be done before what, and whether the job's steps say so.

Everyone is off and the line tagged; the hoist takes the post's weight before anything that holds it is
eased; the guys that pull against the line are eased before the line is let go, so that neither pulls the
head over; then the guys across, the base, the holes and the anchors. Common practice, no source: the
maker's instructions for taking it down govern where they differ.
"""

from __future__ import annotations

from typing import get_args

from planforge.assess.finding import Finding
from planforge.assess.index import Index
from planforge.assess.stage_order import anchored, guyed, stage_finding
from planforge.job.erection import RemovalStage

STAGES: tuple[RemovalStage, ...] = get_args(RemovalStage)
"""Every stage in its order."""


def needed_stages(index: Index) -> tuple[RemovalStage, ...]:
    """The stages that this layout asks for, in their order."""
    layout = index.job.layout
    has_guys = guyed(index)
    wanted: dict[RemovalStage, object] = {
        "everyone off": layout.lines or layout.anchors,
        "hoist holds post": layout.posts,
        "guys opposite line eased": has_guys and layout.lines,
        "line released": layout.lines,
        "guys across line eased": has_guys,
        "base freed": layout.posts,
        "holes closed": layout.posts,
        "anchors cut or plugged": anchored(index),
    }
    return tuple(stage for stage in STAGES if wanted[stage])


def removal_order(index: Index) -> Finding:
    """Whether the steps cover every stage in its order; `confirm` where they don't say what they cover."""
    removal = index.job.removal
    return stage_finding(
        "removal.order",
        "removal",
        removal.sequence if removal else None,
        needed_stages(index),
        STAGES,
        nothing="nothing to take down",
        meanwhile="until then the form of the removal part governs.",
    )
