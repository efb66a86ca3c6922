"""Means of rescue that can be: measures of their own kind, a rung to stand on above the ladder's feet."""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.cross_references import entries
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.rescue import Ladder, Means
from planforge.job.unread import where_read
from planforge.units import Display

_KINDS = {"ladder": "ladder", "lift": "lift", "rope": "rope kit"}
"""Which kind of means has which measures."""


def check_rescue(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for measures of another kind, and for a ladder without a rung to stand on."""
    for path, means in entries(job, "rescue.means"):
        for field, kind in _KINDS.items():
            yield from _of_kind(locator, path, means, field, kind)
    for path, ladder in entries(job, "rescue.means.ladder"):
        yield from _rung(job, locator, (*path, "stands_below_top"), ladder)


@where_read
def _of_kind(locator: Locator, path: FieldPath, means: Means, field: str, kind: str) -> Iterator[Problem]:
    if getattr(means, field) is not None and means.kind != kind:
        yield locator.problem(
            (*path, field),
            found=f"measures of a {kind} for a means of kind {means.kind!r}",
            expected=f"{field} only where kind is {kind!r}",
            remedy="Correct kind, or delete these measures.",
        )


@where_read
def _rung(job: Job, locator: Locator, path: FieldPath, ladder: Ladder) -> Iterator[Problem]:
    if ladder.stands_below_top >= ladder.working_length:
        length = Display(job.site.units).feet(ladder.working_length)
        yield locator.problem(
            path,
            expected=f"less than the working length of {length}",
            remedy="Measure along the ladder, from the top support down to the highest rung to stand on.",
        )
