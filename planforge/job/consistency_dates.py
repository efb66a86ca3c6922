"""Dates in their order: phases, lower levels, revisions, slab, training, inspections, releases."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from planforge.errors import Problem
from planforge.job.cross_references import entries
from planforge.job.erection import Release
from planforge.job.model import Job
from planforge.job.positions import FieldPath, Locator
from planforge.job.wording import listed, shown

_NOT_BEFORE: tuple[tuple[str, str, str, str], ...] = (
    ("phases", "end", "start", "the phase's first day"),
    ("lower_levels", "end", "start", "the first day it is there"),
    ("people.training", "expires", "on", "the training"),
    ("inspections", "due", "on", "the inspection"),
    ("inspections", "on", "made", "the item was made"),
    ("inspections", "on", "in_service", "the item went into service"),
    ("inspections", "in_service", "made", "the item was made"),
)
"""Under each group, a date that can't lie before another, and that other's name in words."""


def check_dates(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each pair of dates out of order and each revision out of step."""
    for group, later, earlier, name in _NOT_BEFORE:
        for path, holder in entries(job, group):
            first, last = getattr(holder, earlier), getattr(holder, later)
            if first is not None and last is not None and last < first:
                yield locator.problem(
                    (*path, later),
                    expected=f"a date on or after {name}, {shown(first)}",
                    remedy=f"Correct {later}, or the date under {earlier}.",
                )
    yield from _revisions(job, locator)
    yield from _slab(job, locator)
    yield from _releases(job, locator)


def _revisions(job: Job, locator: Locator) -> Iterator[Problem]:
    plan, history = job.plan, job.plan.history
    for index, (before, note) in enumerate(pairwise(history), start=1):
        path: FieldPath = ("plan", "history", index)
        if note.revision <= before.revision:
            yield locator.problem(
                (*path, "revision"),
                expected=f"more than {before.revision}, the revision listed before it",
                remedy="List each revision once, the oldest first.",
            )
        if note.dated < before.dated:
            yield locator.problem(
                (*path, "dated"),
                expected=f"a date on or after that of the revision before it, {shown(before.dated)}",
                remedy="Correct the date, or list the revisions with the oldest first.",
            )
    for index, note in enumerate(history):
        if note.dated > plan.prepared:
            yield locator.problem(
                ("plan", "history", index, "dated"),
                expected=f"a date on or before the plan was prepared, {shown(plan.prepared)}",
                remedy="Correct the date, or set plan.prepared to the day this revision was prepared.",
            )
    if history and history[-1].revision != plan.revision:
        yield locator.problem(
            ("plan", "history", len(history) - 1, "revision"),
            expected=f"{plan.revision}, the plan's present revision, as the last of the history",
            remedy=f"Add a line for revision {plan.revision} at the end, or correct plan.revision.",
        )


def _slab(job: Job, locator: Locator) -> Iterator[Problem]:
    slab = job.slab
    if slab is None or slab.pour_date is None:
        return
    if slab.pour_date > job.plan.prepared:
        yield locator.problem(
            ("slab", "pour_date"),
            expected=f"a date on or before the plan was prepared, {shown(job.plan.prepared)}",
            remedy="State the day this lot's slab was poured; leave it out until it has been.",
        )
    if slab.scan is not None and slab.scan.on < slab.pour_date:
        yield locator.problem(
            ("slab", "scan", "on"),
            expected=f"a date on or after the pour, {shown(slab.pour_date)}",
            remedy="State the scan of the slab as poured, or correct slab.pour_date.",
        )


def _releases(job: Job, locator: Locator) -> Iterator[Problem]:
    lines = {line.id for line in job.layout.lines}
    first: dict[str, int] = {}
    for index, release in enumerate(job.releases):
        path: FieldPath = ("releases", index)
        if release.of in first:
            yield locator.problem(
                (*path, "of"),
                found=f"{shown(release.of)}, whose state releases[{first[release.of]}] gives already",
                expected="one state for each line and anchor",
                remedy="Keep the present state and delete the other.",
            )
        first.setdefault(release.of, index)
        yield from _release_revision(job, locator, path, release)
        if release.state == "released for use":
            yield from _released(locator, path, release, is_line=release.of in lines)


def _released(locator: Locator, path: FieldPath, release: Release, *, is_line: bool) -> Iterator[Problem]:
    needed = ["by", "on", "revision"]
    if is_line:
        needed += ["measured_sag", "temperature", "within_tolerances"]
    missing = [name for name in needed if getattr(release, name) is None]
    if missing:
        what = "a line" if is_line else "an anchor"
        yield locator.problem(
            (*path, "state"),
            found=f"{shown(release.state)} without {listed(missing)}",
            expected=f"{listed(needed, 'and')} beside the state of {what} released for use",
            remedy=f"Add {listed(missing, 'and')}, or correct the state.",
        )
    if release.within_tolerances is False:
        yield locator.problem(
            (*path, "within_tolerances"),
            expected="true where the state is released for use",
            remedy="Put the state to on hold until it is set and measured again.",
        )


def _release_revision(job: Job, locator: Locator, path: FieldPath, release: Release) -> Iterator[Problem]:
    if release.revision is None:
        return
    if release.revision > job.plan.revision:
        yield locator.problem(
            (*path, "revision"),
            expected=f"at most {job.plan.revision}, the plan's present revision",
            remedy="Correct the revision, or plan.revision.",
        )
    elif release.revision == job.plan.revision and release.on is not None and release.on < job.plan.prepared:
        yield locator.problem(
            (*path, "on"),
            expected=f"a date on or after this revision was prepared, {shown(job.plan.prepared)}",
            remedy="Correct the date, the revision it was released under, or plan.prepared.",
        )
