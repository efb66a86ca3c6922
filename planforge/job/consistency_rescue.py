"""Means of rescue that can be: measures of their own kind, a rung to stand on, a point to tie to."""

from __future__ import annotations

from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.cross_references import entries, ids_read, known_ids
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.rescue import Ladder, Means
from planforge.job.unread import where_read
from planforge.units import Display

_KINDS = {"ladder": "ladder", "lift": "lift", "rope": "rope kit"}
"""Which kind of means has which measures."""


def check_rescue(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for measures of another kind, a ladder without a rung, a point of another kind."""
    for path, means in entries(job, "rescue.means"):
        for field, kind in _KINDS.items():
            yield from _of_kind(locator, path, means, field, kind)
        yield from _tied(job, locator, path, means)
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
def _tied(job: Job, locator: Locator, path: FieldPath, means: Means) -> Iterator[Problem]:
    """What the rescuer is tied to is there for this kind of means, and its points are of that kind."""
    rescuer = means.rescuer
    if rescuer is None:
        return
    if (rescuer.tied_to == "lift" and means.kind != "lift") or (
        rescuer.tied_to == "stays below" and means.kind == "from the deck"
    ):
        yield locator.problem(
            (*path, "rescuer", "tied_to"),
            found=f"{rescuer.tied_to!r} for a means of kind {means.kind!r}",
            expected="what this kind of means can be tied to",
            remedy="Name a post head, an anchorage or the line, or correct kind.",
        )
    homes = {"post head": ("layout.posts", "a post"), "anchorage": ("layout.anchors", "an anchor")}
    home, noun = homes.get(rescuer.tied_to, ("", ""))
    known = known_ids(job, home) if home else {}
    if home and not ids_read(job, home):
        return
    for n, name in enumerate(rescuer.of):
        if name not in known:
            yield locator.problem(
                (*path, "rescuer", "of", n),
                found=f"{name!r}, which is not {noun} of the layout" if home else repr(name),
                expected=f"the id of {noun}" if home else f"nothing beside {rescuer.tied_to!r}",
                remedy="Correct tied_to, or the ids under of.",
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
