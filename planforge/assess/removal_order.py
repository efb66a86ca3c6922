"""The order of a removal: what has to be done before what, and whether the job's steps say so.

Everyone is off and the line tagged; the hoist takes the post's weight before anything that holds it is
eased; the guys that pull against the line are eased before the line is let go, so that neither pulls the
head over; then the guys across, the base, the holes and the anchors. Common practice, no source: the
maker's instructions for taking it down govern where they differ.
"""

from __future__ import annotations

from itertools import pairwise
from typing import get_args

from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.job.erection import Removal, RemovalStage

STAGES: tuple[RemovalStage, ...] = get_args(RemovalStage)
"""Every stage in its order."""


def needed_stages(index: Index) -> tuple[RemovalStage, ...]:
    """The stages that this layout asks for, in their order."""
    layout = index.job.layout
    kinds = [index.kind_of(post) for post in layout.posts]
    guyed = any(post.guys for post in layout.posts) or any(kind.guys for kind in kinds)
    wanted: dict[RemovalStage, object] = {
        "everyone off": layout.lines or layout.anchors,
        "hoist holds post": layout.posts,
        "guys opposite line eased": guyed and layout.lines,
        "line released": layout.lines,
        "guys across line eased": guyed,
        "base freed": layout.posts,
        "holes closed": layout.posts,
        "anchors cut or plugged": any(kind.base_anchors for kind in kinds),
    }
    return tuple(stage for stage in STAGES if wanted[stage])


def written_stages(removal: Removal) -> list[RemovalStage]:
    """The stages that the job's steps cover, in the order in which each first comes."""
    return list(dict.fromkeys(stage for step in removal.sequence for stage in step.covers))


def _out_of_order(written: list[RemovalStage]) -> tuple[RemovalStage, RemovalStage] | None:
    """The first stage that comes after one that has to follow it, with that one; None where none does."""
    for earlier, later in pairwise(written):
        if STAGES.index(later) < STAGES.index(earlier):
            return later, earlier
    return None


def removal_order(index: Index) -> Finding:
    """Whether the steps cover every stage in its order; `confirm` where they don't say what they cover."""
    removal = index.job.removal
    needed = needed_stages(index)
    written = written_stages(removal) if removal else []
    missing = [stage for stage in needed if stage not in written]
    swapped = _out_of_order(written)
    note = ""
    if not needed:
        verdict, value = Verdict.NOT_APPLICABLE, "nothing to take down"
    elif removal is None:
        verdict, value = Verdict.SHORT, "not written"
        note = "Write removal.sequence."
    elif not written:
        verdict, value = Verdict.CONFIRM, "the steps don't say what they cover"
        note = "State under covers what each step does; until then the form of the removal part governs."
    elif missing:
        verdict, value = Verdict.SHORT, "not covered: " + ", ".join(missing)
        note = "Add a step for each, or state under covers which step does it."
    elif swapped:
        verdict, value = Verdict.SHORT, f"{swapped[0]} after {swapped[1]}"
        note = f"Put the step with '{swapped[0]}' before the one with '{swapped[1]}'."
    else:
        verdict, value = Verdict.MEETS, f"{len(needed)} stages in order"
    return found("removal.order", "removal", verdict, value=value, limit=", then ".join(needed), note=note)
