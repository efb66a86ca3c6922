"""A job to its proposed layout: edges, places, guys, lines, margins, choice."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from planforge.assess.index import Index
from planforge.assess.lines import line_results
from planforge.assess.post_cases import LineEnd
from planforge.codes.profile import Profile, load_profile
from planforge.errors import RefusedError
from planforge.job.model import Job
from planforge.proposal.anchorages import anchor_candidates, under_anchorages
from planforge.proposal.candidate import UNBOUNDED, Candidate
from planforge.proposal.choose import Choice, Chooser
from planforge.proposal.conflicts import conflicts
from planforge.proposal.cover import Conflict
from planforge.proposal.demand import Row, rows
from planforge.proposal.edges import HazardEdge, guardrail_at, hazard_edges, proposal_of
from planforge.proposal.sites import Site, pinned_sites, sites
from planforge.proposal.spans import overlap, pairs, stretches
from planforge.proposal.standing import standing, standing_alone
from planforge.proposal.trial import Trial, site_id
from planforge.proposal.under_load import Loaded, line_end


@dataclass(frozen=True)
class Problem:
    """Everything a layout is chosen from."""

    index: Index
    profile: Profile
    edges: list[HazardEdge]
    sites: list[Site]  # that can be built on, guyed
    refused: list[Site]  # with what each fails
    trial: Trial
    candidates: list[Candidate]  # none with its second opinion yet
    rows: list[Row]


@dataclass(frozen=True)
class Proposed:
    """A problem with its choice; None where it has none."""

    problem: Problem
    choice: Choice | None


def propose(job: Job, *, time_limit: float | None = None) -> Proposed:
    """Choose a layout for a job.

    Args:
        job: with its part ``proposal``.
        time_limit: seconds for the choice itself; the best found by then is returned with its bound.

    Raises:
        RefusedError: the job has no part ``proposal``, or its layout holds what is not pinned.
        CalculationError: a solve without a trustworthy answer.
    """
    index, profile = Index(job), load_profile(job.site.code_profile)
    refuse_unready(index)
    problem = problem_of(index, profile)
    chooser = chooser_of(problem, time_limit)
    choice = chooser.choose()
    if choice is None and proposal_of(index).anchorages:
        problem = with_anchorages(problem, chooser.uncovered())
        choice = chooser_of(problem, time_limit).choose()
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


def problem_of(index: Index, profile: Profile, relaxed: frozenset[str] = frozenset()) -> Problem:
    """The candidates with their margins, and the rows to cover; ``relaxed`` constraints are not asked for."""
    edges = hazard_edges(index, profile)
    every = sites(index, edges, relaxed)
    good = [*pinned_sites(index), *(s for s in every if not s.failures)]
    refused = [s for s in every if s.failures]
    built, spans, out = standing(index, edges, good, pairs(index, edges, good))
    trial = Trial(index, profile, edges, built, spans)
    own = under_posts(index, profile, built, trial.candidates)
    candidates = [*own, *_staying(index, profile, built)]
    every_row = rows(edges, _open(index, edges), candidates)
    return Problem(index, profile, edges, built, [*refused, *out], trial, candidates, every_row)


def _open(index: Index, edges: list[HazardEdge]) -> dict[tuple[int, str], bool]:
    """Which edges, in which phases, no guardrail may guard."""
    return {(e, p): guardrail_at(index, edge, p) is None for e, edge in enumerate(edges) for p in edge.phases}


def _staying(index: Index, profile: Profile, built: list[Site]) -> list[Candidate]:
    """The layout's own lines, which load their posts beside what is chosen."""
    place = {s.pinned: n for n, s in enumerate(built) if s.pinned is not None}
    return [
        Candidate(
            result.parts.line,
            (place[result.parts.line.start], place[result.parts.line.end]),
            UNBOUNDED,
            (),
            loads=(result.loads.start, result.loads.end) if result.loads else (0.0, 0.0),
            down=result.workers_force,
            across=result.across_forces,
            pinned=True,
        )
        for result in line_results(index, profile)
    ]


def with_anchorages(problem: Problem, left: list[Row]) -> Problem:
    """The problem with single anchorages for the stretches that lines can't cover, and for those alone.

    A lifeline ranks over a single anchorage in the hierarchy of controls: what lines can cover, they do.
    """
    index = problem.index
    places = [s for s in sites(index, problem.edges) if not s.failures and _within_reach(problem, s, left)]
    every_site = [*problem.sites, *standing_alone(index, problem.edges, places)]
    anchors = anchor_candidates(index, problem.profile, problem.edges, every_site, left)
    candidates = [*problem.candidates, *under_anchorages(index, problem.profile, every_site, anchors)]
    every = rows(problem.edges, _open(index, problem.edges), candidates)
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


def chooser_of(
    problem: Problem,
    time_limit: float | None,
    *,
    waived: frozenset[str] = frozenset(),
    against: list[Conflict] | None = None,
) -> Chooser:
    """The choice of a problem, ready to be made; with some checks waived, or other conflicts."""
    factor = problem.profile.limits["line_factor"].value

    @cache
    def posts(site: int) -> Loaded:
        return Loaded(problem.index, problem.sites[site], site_id(site, problem.sites[site]), factor)

    return Chooser(
        problem.sites,
        problem.candidates,
        problem.rows,
        conflicts(problem.index, problem.sites, problem.candidates) if against is None else against,
        posts,
        lambda options: _settled(problem, options),
        time_limit,
        waived,
    )


def _settled(problem: Problem, options: list[int]) -> list[Candidate]:
    """Candidates with their second opinion; an anchorage has none to ask for."""
    tried = len(problem.trial.candidates)
    settled = problem.trial.settled([k for k in options if k < tried])
    lines = iter(under_posts(problem.index, problem.profile, problem.sites, settled))
    return [next(lines) if k < tried else problem.candidates[k] for k in options]


def under_posts(
    index: Index, profile: Profile, built: list[Site], candidates: list[Candidate]
) -> list[Candidate]:
    """The candidates with the margins of their posts under them, each alone."""
    factor = profile.limits["line_factor"].value
    ends: dict[int, list[tuple[int, LineEnd]]] = defaultdict(list)
    for k, candidate in enumerate(candidates):
        if candidate.loads and not candidate.failures:
            for site in candidate.sites:
                ends[site].append((k, line_end(built, candidate, site)))
    out = list(candidates)
    for site, own in ends.items():
        post = Loaded(index, built[site], site_id(site, built[site]), factor)
        for (k, _), margin in zip(own, post.margin_under([(end,) for _, end in own]), strict=True):
            out[k] = replace(out[k], margin=out[k].margin.least(margin))
    return out
