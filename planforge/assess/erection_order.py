"""The order of an erection: what has to be done before what, and whether the job's steps say so.

The marks are checked before anything is drilled; the base stands over its holes before an anchor is set
through it and tightened; the hoist lets go only when the base is anchored and every guy is on; then the line,
its sag, and the release. Common practice, no source: the maker's instructions govern where they differ.
"""

from __future__ import annotations

from typing import get_args

from planforge.assess.finding import Finding
from planforge.assess.index import Index
from planforge.assess.stage_order import anchored, guyed, stage_finding
from planforge.job.erection import ErectionStage

STAGES: tuple[ErectionStage, ...] = get_args(ErectionStage)
"""Every stage in its order."""


def needed_stages(index: Index) -> tuple[ErectionStage, ...]:
    """The stages that this layout asks for, in their order."""
    layout = index.job.layout
    on_anchors = anchored(index)
    wanted: dict[ErectionStage, object] = {
        "marks checked": on_anchors,
        "holes drilled": on_anchors,
        "hoist holds post": layout.posts,
        "base anchored": on_anchors,
        "guys fitted": guyed(index),
        "hoist lets go": layout.posts,
        "line hung": layout.lines,
        "sag set": layout.lines,
        "released": layout.lines or layout.anchors,
    }
    return tuple(stage for stage in STAGES if wanted[stage])


def erection_order(index: Index) -> Finding:
    """Whether the steps cover every stage in its order; `confirm` where they don't say what they cover."""
    erection = index.job.erection
    return stage_finding(
        "erection.order",
        "erection",
        erection.sequence if erection else None,
        needed_stages(index),
        STAGES,
        nothing="nothing to put up",
        meanwhile="until then the erection lead compares them with the maker's instructions.",
    )
