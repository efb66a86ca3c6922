"""Means of rescue that can be: measures of their own kind, a rung to stand on above the ladder's feet."""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.units import Display

_KINDS = {"ladder": "ladder", "lift": "lift", "rope": "rope kit"}
"""Which kind of means has which measures."""


def check_rescue(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for measures of another kind, and for a ladder without a rung to stand on."""
    display = Display(job.site.units)
    for number, means in enumerate(job.rescue.means if job.rescue else []):
        path: FieldPath = ("rescue", "means", number)
        for field, kind in _KINDS.items():
            if getattr(means, field) is not None and means.kind != kind:
                yield locator.problem(
                    (*path, field),
                    found=f"measures of a {kind} for a means of kind {means.kind!r}",
                    expected=f"{field} only where kind is {kind!r}",
                    remedy="Correct kind, or delete these measures.",
                )
        ladder = means.ladder
        if ladder is not None and ladder.stands_below_top >= ladder.working_length:
            yield locator.problem(
                (*path, "ladder", "stands_below_top"),
                expected=f"less than the working length of {display.feet(ladder.working_length)}",
                remedy="Measure along the ladder, from the top support down to the highest rung to stand on.",
            )
