"""Dates in their order: phases, lower levels, revisions, slab, training, inspections, releases."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from itertools import pairwise
from typing import Any

from planforge.errors import Problem
from planforge.job.cross_references import entries, known_ids
from planforge.job.erection import Release
from planforge.job.model import Job
from planforge.job.plan import PlanIdentity, RevisionNote
from planforge.job.positions import FieldPath, Locator
from planforge.job.slab import Voiding
from planforge.job.unread import where_read
from planforge.job.wording import listed, shown

_NOT_BEFORE: tuple[tuple[str, str, str, str], ...] = (
    ("phases", "end", "start", "the phase's first day"),
    ("lower_levels", "end", "start", "the first day it is there"),
    ("people.training", "expires", "on", "the training"),
    ("slab.scan", "holds_until", "on", "the scan"),
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
            yield from _not_before(locator, path, holder, later, earlier, name)
    yield from _revisions(job, locator)
    yield from _slab(job, locator)
    for path, thing in entries(job, "slab.scan.voided_by"):
        yield from _since_scan(job, locator, (*path, "happened"), thing)
    yield from _releases(job, locator)


@where_read
def _not_before(
    locator: Locator, path: FieldPath, holder: Any, later: str, earlier: str, name: str
) -> Iterator[Problem]:
    first, last = getattr(holder, earlier), getattr(holder, later)
    if first is not None and last is not None and last < first:
        yield locator.problem(
            (*path, later),
            expected=f"a date on or after {name}, {shown(first)}",
            remedy=f"Correct {later}, or the date under {earlier}.",
        )


@where_read
def _revisions(job: Job, locator: Locator) -> Iterator[Problem]:
    history = job.plan.history
    for index, (before, note) in enumerate(pairwise(history), start=1):
        yield from _follows(locator, ("plan", "history", index), before, note)
    for index, note in enumerate(history):
        yield from _dated(locator, ("plan", "history", index, "dated"), job.plan, note)
    yield from _present(locator, job.plan)


@where_read
def _follows(
    locator: Locator, path: FieldPath, before: RevisionNote, note: RevisionNote
) -> Iterator[Problem]:
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


@where_read
def _dated(locator: Locator, path: FieldPath, plan: PlanIdentity, note: RevisionNote) -> Iterator[Problem]:
    if note.dated > plan.prepared:
        yield locator.problem(
            path,
            expected=f"a date on or before the plan was prepared, {shown(plan.prepared)}",
            remedy="Correct the date, or set plan.prepared to the day this revision was prepared.",
        )


@where_read
def _present(locator: Locator, plan: PlanIdentity) -> Iterator[Problem]:
    history = plan.history
    if history and history[-1].revision != plan.revision:
        yield locator.problem(
            ("plan", "history", len(history) - 1, "revision"),
            expected=f"{plan.revision}, the plan's present revision, as the last of the history",
            remedy=f"Add a line for revision {plan.revision} at the end, or correct plan.revision.",
        )


@where_read
def _slab(job: Job, locator: Locator) -> Iterator[Problem]:
    slab = job.slab
    if slab is None or slab.pour_date is None:
        return
    yield from _poured(locator, slab.pour_date, job.plan)
    if slab.scan is not None and slab.scan.on < slab.pour_date:
        yield locator.problem(
            ("slab", "scan", "on"),
            expected=f"a date on or after the pour, {shown(slab.pour_date)}",
            remedy="State the scan of the slab as poured, or correct slab.pour_date.",
        )


@where_read
def _since_scan(job: Job, locator: Locator, path: FieldPath, thing: Voiding) -> Iterator[Problem]:
    scan = job.slab.scan if job.slab else None
    if scan is not None and thing.happened is not None and thing.happened < scan.on:
        yield locator.problem(
            path,
            expected=f"a date on or after the scan, {shown(scan.on)}: what was there before shows on it",
            remedy="Correct the date, or state the scan that was made after it.",
        )


@where_read
def _poured(locator: Locator, poured: date, plan: PlanIdentity) -> Iterator[Problem]:
    if poured > plan.prepared:
        yield locator.problem(
            ("slab", "pour_date"),
            expected=f"a date on or before the plan was prepared, {shown(plan.prepared)}",
            remedy="State the day this lot's slab was poured; leave it out until it has been.",
        )


@where_read
def _releases(job: Job, locator: Locator) -> Iterator[Problem]:
    first: dict[str, FieldPath] = {}
    lines = known_ids(job, "layout.lines")
    for index, release in enumerate(job.releases):
        path: FieldPath = ("releases", index)
        yield from _state_once(locator, path, first, release)
        yield from _release_revision(job, locator, path, release)
        yield from _released(locator, path, release, lines)


@where_read
def _state_once(
    locator: Locator, path: FieldPath, first: dict[str, FieldPath], release: Release
) -> Iterator[Problem]:
    other = first.setdefault(release.of, path)
    if other != path:
        yield locator.problem(
            (*path, "of"),
            found=f"{shown(release.of)}, whose state releases[{other[-1]}] gives already",
            expected="one state for each line and anchor",
            remedy="Keep the present state and delete the other.",
        )


@where_read
def _released(
    locator: Locator, path: FieldPath, release: Release, lines: Collection[str]
) -> Iterator[Problem]:
    if release.state != "released for use":
        return
    is_line = release.of in lines
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


@where_read
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
