"""A job to its proposed layout: edges, places, guys, lines, margins, choice."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.index import Index
from planforge.codes.profile import load_profile
from planforge.errors import RefusedError
from planforge.job.model import Job
from planforge.proposal.anchorages import anchor_candidates, under_anchorages
from planforge.proposal.choice import Choice
from planforge.proposal.clock import NO_LIMIT, Clock
from planforge.proposal.demand import Row, rows
from planforge.proposal.edges import proposal_of
from planforge.proposal.problem import Problem, chooser_of, problem_of, unguarded
from planforge.proposal.reguying import reguyed
from planforge.proposal.sites import Site, sites
from planforge.proposal.spans import overlap, stretches
from planforge.proposal.standing import standing_alone
from planforge.units import Display, words_in


@dataclass(frozen=True)
class Proposed:
    """A problem with its choice; None where it has none."""

    problem: Problem
    choice: Choice | None


def propose(job: Job, *, clock: Clock = NO_LIMIT) -> Proposed:
    """Choose a layout for a job.

    Args:
        job: with its part ``proposal``.
        clock: the time for all of it, making the candidates as well as choosing; the best choice found by
            then is returned with its bound.

    Raises:
        OutOfTimeError: the time ran out before there was any choice; the message says where.
        RefusedError: the job has no part ``proposal``, or its layout holds what is not pinned.
        CalculationError: a solve without a trustworthy answer.
    """
    index = Index(job)
    with words_in(Display(job.site.units)):
        return _propose(index, clock)


def _propose(index: Index, clock: Clock) -> Proposed:
    profile = load_profile(index.job.site.code_profile)
    refuse_unready(index)
    problem = problem_of(index, profile, clock=clock)
    chooser = chooser_of(problem, clock.left)
    choice = chooser.choose()
    if choice is None and (found := reguyed(problem, chooser, clock)) is not None:
        before, (problem, learnt) = len(problem.candidates), found
        chooser = chooser_of(problem, clock.left)
        chooser.adopt(learnt)
        chooser.start_from(range(before, len(problem.candidates)))
        choice = chooser.choose()
    if choice is None and proposal_of(index).anchorages:
        problem = with_anchorages(problem, chooser.uncovered())
        choice = chooser_of(problem, clock.left).choose()
    return Proposed(problem, choice)


def refuse_unready(index: Index) -> None:
    """Refuse a job from which nothing can be proposed."""
    job = index.job
    if job.proposal is None:
        raise RefusedError(
            "the job has no part proposal: state what a proposed layout may be made of "
            "(planforge explain proposal)."
        )
    held = [thing.id for group in (job.layout.posts, job.layout.lines, job.layout.anchors) for thing in group]
    loose = [name for name in held if name not in job.proposal.pinned]
    if loose:
        raise RefusedError(
            f"the layout already holds {', '.join(loose)}: pin what stays under proposal.pinned, "
            "and take the rest out of layout, hazards, tasks and rescue."
        )


def with_anchorages(problem: Problem, left: list[Row]) -> Problem:
    """The problem with single anchorages for the stretches that lines can't cover, and for those alone.

    A lifeline ranks over a single anchorage in the hierarchy of controls: what lines can cover, they do.
    """
    index = problem.index
    places = [s for s in sites(index, problem.edges) if not s.failures and _within_reach(problem, s, left)]
    every_site = [*problem.sites, *standing_alone(index, problem.edges, places)]
    anchors = anchor_candidates(index, problem.profile, problem.edges, every_site, left)
    candidates = [*problem.candidates, *under_anchorages(index, problem.profile, every_site, anchors)]
    every = rows(problem.edges, unguarded(index, problem.edges), candidates)
    first = len(problem.candidates)
    own = [_lines_only(r, left, first) for r in every]
    return replace(problem, sites=every_site, candidates=candidates, rows=own)


def _within_reach(problem: Problem, site: Site, left: list[Row]) -> bool:
    """True where some of what is left lies within reach of a site."""
    at = np.array([site.at])
    near = stretches(problem.edges, at, at + 1e-9, proposal_of(problem.index).reach, along=False)[0]
    return any(overlap(s, row.stretch) for s in near for row in left)


def _lines_only(row: Row, left: list[Row], first_anchor: int) -> Row:
    """A row without its anchorages, unless it lies in a stretch that lines leave."""
    middle = 0.5 * (row.stretch.start + row.stretch.end)
    if any(
        (o.stretch.edge, o.stretch.piece, o.phase) == (row.stretch.edge, row.stretch.piece, row.phase)
        and o.stretch.start <= middle <= o.stretch.end
        for o in left
    ):
        return row
    lines = row.options < first_anchor
    return replace(row, options=row.options[lines], margins=row.margins[lines])
