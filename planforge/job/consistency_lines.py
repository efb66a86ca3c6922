"""Lifelines that can hang: two posts apart, heads above the work, a sag less than the span allows."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planforge.errors import Problem
from planforge.job.cross_references import entries
from planforge.job.equipment import PostKind
from planforge.job.layout import Lifeline, Post
from planforge.job.model import Job
from planforge.job.named import Named
from planforge.job.positions import FieldPath, Locator
from planforge.job.unread import where_read
from planforge.job.wording import listed, shown
from planforge.units import FOOT, Display

LEAST_SPAN = FOOT
"""Two bases can't stand closer than this (m)."""
GREATEST_HEAD = 50 * FOOT
"""No post that a crew erects is taller than this (m); beyond it a unit is mistaken."""
GREATEST_SAG = 1 / 3
"""A sag of this part of the span or more is no lifeline's; a unit is mistaken."""


def check_lines(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each line that can't exist, and each kind of post that is no post."""
    for path, kind in entries(job, "equipment.posts"):
        yield from _no_post(job, locator, (*path, "head_height"), kind)
    named = Named(job)
    seen: set[str] = set()
    for path, line in entries(job, "layout.lines"):
        yield from _absorber(named, locator, (*path, "absorber_at"), line)
        yield from _absorber_of_system(named, locator, (*path, "absorber_at"), line)
        yield from _beside(named, locator, (*path, "beside"), line, seen)
        yield from _ends(named, locator, path, line)


@where_read
def _no_post(job: Job, locator: Locator, path: FieldPath, kind: PostKind) -> Iterator[Problem]:
    if kind.head_height > GREATEST_HEAD:
        yield locator.problem(
            path,
            expected=f"at most {Display(job.site.units).feet(GREATEST_HEAD)} from base to head",
            remedy="Correct the length or its unit.",
        )


@where_read
def _ends(named: Named, locator: Locator, path: FieldPath, line: Lifeline) -> Iterator[Problem]:
    posts = named.posts
    if line.start == line.end:
        yield locator.problem(
            (*path, "end"),
            expected=f"another post than the line's start, {shown(line.start)}",
            remedy="Name the post at the other end.",
        )
    elif line.start in posts and line.end in posts:
        ends = posts[line.start], posts[line.end]
        yield from _span(named, locator, path, line, ends)


@where_read
def _span(
    named: Named, locator: Locator, path: FieldPath, line: Lifeline, ends: tuple[Post, Post]
) -> Iterator[Problem]:
    job = named.job
    display = Display(job.site.units)
    span = math.dist(ends[0].at, ends[1].at)
    if span < LEAST_SPAN:
        yield locator.problem(
            (*path, "end"),
            found=f"{shown(line.end)}, {display.length(span)} from {shown(line.start)}",
            expected=f"a post at least {display.length(LEAST_SPAN)} from the line's other end",
            remedy="Correct the posts' coordinates under layout.posts.",
        )
        return
    yield from _sag(job, locator, (*path, "sag"), line, span)
    for name, post in zip(("start", "end"), ends, strict=True):
        yield from _above_work(named, locator, (*path, name), line, post)
    heads = [_head(named, post) for post in ends]
    if heads[0] is not None and heads[1] is not None and abs(heads[0] - heads[1]) > span:
        difference = display.feet(abs(heads[0] - heads[1]))
        yield locator.problem(
            (*path, "end"),
            found=f"{shown(line.end)}, whose head stands {difference} higher or lower than the other end's",
            expected=f"heads whose heights differ by less than the span of {display.feet(span)}",
            remedy="Correct the posts' kind or stands_on.",
        )


@where_read
def _sag(job: Job, locator: Locator, path: FieldPath, line: Lifeline, span: float) -> Iterator[Problem]:
    if line.sag >= GREATEST_SAG * span:
        yield locator.problem(
            path,
            expected=f"less than a third of the span of {Display(job.site.units).feet(span)}",
            remedy="Correct the length or its unit; the sag is measured at mid-span below the chord.",
        )


def _head(named: Named, post: Post) -> float | None:
    """Return the head's elevation (m) above the top of the slab; None where it can't be told."""
    kind = named.post_kinds.get(post.kind)
    base = named.job.layout.levels.get(post.stands_on)
    if kind is None or base is None or kind.head_height > GREATEST_HEAD:
        return None
    return base + kind.head_height


@where_read
def _above_work(
    named: Named, locator: Locator, path: FieldPath, line: Lifeline, post: Post
) -> Iterator[Problem]:
    job, head = named.job, _head(named, post)
    if head is None:
        return
    phases = [phase for phase in job.phases if not line.phases or phase.id in line.phases]
    levels = {phase.working_level for phase in phases if phase.working_level in job.layout.levels}
    if not levels or any(job.layout.levels[level] < head for level in levels):
        return
    display = Display(job.site.units)
    heights = listed(
        (f"{level} at {display.length(job.layout.levels[level])}" for level in sorted(levels)), "and"
    )
    yield locator.problem(
        path,
        found=f"{shown(post.id)}, whose head stands at {display.length(head)}",
        expected=f"a head above the level worked on while the line is used ({heights})",
        remedy="Correct the post's kind or stands_on, its kind's head_height, or the line's phases.",
    )


@where_read
def _absorber(named: Named, locator: Locator, path: FieldPath, line: Lifeline) -> Iterator[Problem]:
    posts = named.posts
    if line.absorber_at is None or line.start not in posts or line.end not in posts:
        return
    if line.absorber_at not in (line.start, line.end):
        yield locator.problem(
            path,
            expected=f"one of the line's two ends, {shown(line.start)} or {shown(line.end)}",
            remedy="Name the end at which the line absorber stands.",
        )


@where_read
def _absorber_of_system(named: Named, locator: Locator, path: FieldPath, line: Lifeline) -> Iterator[Problem]:
    system = named.systems.get(line.system)
    if line.absorber_at is not None and system is not None and system.absorber is None:
        yield locator.problem(
            path,
            expected=f"no absorber, since the system {shown(line.system)} lists none",
            remedy=f"Delete absorber_at, or add absorber to {shown(line.system)} under equipment.lifelines.",
        )


@where_read
def _beside(
    named: Named, locator: Locator, path: FieldPath, line: Lifeline, seen: set[str]
) -> Iterator[Problem]:
    """``seen`` are the lines before this one, which join it: of two the second is not told again."""
    seen.add(line.id)
    other = named.lines.get(line.beside) if line.beside else None
    if other is None:
        return
    if other is line:
        yield locator.problem(
            path, expected="another line", remedy="Name the line that runs beside this one."
        )
        return
    if other.beside != line.id:
        yield locator.problem(
            path,
            found=f"{shown(other.id)}, whose own beside is {shown(other.beside)}",
            expected="two lines that name each other",
            remedy=f"Write beside: {line.id} at the line {shown(other.id)}, or delete beside here.",
        )
    ends = {line.start, line.end}
    reported = other.beside == line.id and other.id in seen
    between_posts = len(ends) == 2 and ends <= named.posts.keys()
    if between_posts and not reported and {other.start, other.end} != ends:
        yield locator.problem(
            path,
            found=f"{shown(other.id)}, which runs from {shown(other.start)} to {shown(other.end)}",
            expected=f"a line between the same posts, {shown(line.start)} and {shown(line.end)}",
            remedy="Correct beside, or the posts of one of the two lines.",
        )
