"""Whether the steps of an erection or a removal cover every stage that they have to, each in its order."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.job.erection import ErectionStep, RemovalStep


def anchored(index: Index) -> bool:
    """True where a post of the layout stands on anchors in the slab."""
    return any(index.kind_of(post).base_anchors for post in index.job.layout.posts)


def guyed(index: Index) -> bool:
    """True where a post of the layout has guys, or is of a kind that asks for them."""
    return any(post.guys or index.kind_of(post).guys for post in index.job.layout.posts)


def stage_finding(
    check: str,
    where: str,
    steps: Sequence[ErectionStep] | Sequence[RemovalStep] | None,
    needed: Sequence[str],
    stages: Sequence[str],
    *,
    nothing: str,
    meanwhile: str,
) -> Finding:
    """``steps`` against the stages ``needed``; `confirm` where no step says what it covers.

    ``stages`` holds every stage in its order. ``nothing`` is printed where none is needed, ``meanwhile``
    what holds until the steps say what they cover.
    """
    written = list(dict.fromkeys(stage for step in steps or () for stage in step.covers))
    missing = [stage for stage in needed if stage not in written]
    swapped = _out_of_order(written, stages)
    note = ""
    if not needed:
        verdict, value = Verdict.NOT_APPLICABLE, nothing
    elif steps is None:
        verdict, value = Verdict.SHORT, "not written"
        note = f"Write {where}.sequence."
    elif not written:
        verdict, value = Verdict.CONFIRM, "the steps don't say what they cover"
        note = f"State under covers what each step does; {meanwhile}"
    elif missing:
        verdict, value = Verdict.SHORT, "not covered: " + ", ".join(missing)
        note = "Add a step for each, or state under covers which step does it."
    elif swapped:
        verdict, value = Verdict.SHORT, f"{swapped[0]} after {swapped[1]}"
        note = f"Put the step with '{swapped[0]}' before the one with '{swapped[1]}'."
    else:
        verdict, value = Verdict.MEETS, f"{len(needed)} stages in order"
    return found(check, where, verdict, value=value, limit=", then ".join(needed), note=note)


def _out_of_order(written: Sequence[str], stages: Sequence[str]) -> tuple[str, str] | None:
    """The first stage that comes after one that has to follow it, with that one; None where none does."""
    for earlier, later in pairwise(written):
        if stages.index(later) < stages.index(earlier):
            return later, earlier
    return None
