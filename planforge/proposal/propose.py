"""A job to its proposed layout: edges, places, guys, lines, margins, choice."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from planforge.assess.index import Index
from planforge.assess.finding import Verdict
from planforge.assess.overhead import framing_findings
from planforge.assess.post_model import post_parts
from planforge.calc.arrays import Array
from planforge.calc.guyed_post import pull
from planforge.codes.profile import Profile, load_profile
from planforge.errors import RefusedError
from planforge.job.model import Job
from planforge.proposal.candidate import Candidate
from planforge.proposal.choose import Choice, Chooser
from planforge.proposal.conflicts import conflicts
from planforge.proposal.cover import Conflict
from planforge.proposal.demand import Row, rows
from planforge.proposal.edges import HazardEdge, guardrail_at, hazard_edges, proposal_of
from planforge.proposal.guying import Plates, guyed, plates
from planforge.proposal.sites import Failure, Site, as_post, sites, way_out_phases
from planforge.proposal.spans import pairs
from planforge.proposal.trial import Trial, site_id
from planforge.proposal.under_load import Loaded


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
    return Proposed(problem, chooser_of(problem, time_limit).choose())


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
    good = [s for s in every if not s.failures]
    refused = [s for s in every if s.failures]
    built, spans, out = _guyed(index, edges, good, pairs(index, edges, good))
    trial = Trial(index, profile, edges, built, spans)
    candidates = under_posts(index, profile, built, trial.candidates)
    open_ = {
        (e, p): guardrail_at(index, edge.id, p) is None for e, edge in enumerate(edges) for p in edge.phases
    }
    return Problem(
        index, profile, edges, built, [*refused, *out], trial, candidates, rows(edges, open_, candidates)
    )


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
        lambda ks: under_posts(problem.index, problem.profile, problem.sites, problem.trial.settled(ks)),
        time_limit,
        waived,
    )


Pull = tuple[int, int | None]
"""A place, and the way its lines pull by quarter; None for a post that is guyed for all of them."""


def _guyed(
    index: Index, edges: list[HazardEdge], places: list[Site], spans: list[tuple[int, int]]
) -> tuple[list[Site], list[tuple[int, int]], list[Site]]:
    """Posts with their guys and phases, pairs of them, and those that can't be guyed, with what they fail.

    At each place a post is guyed for all its lines; and where they pull to several sides, once for each side by
    itself, which holds more.
    """
    walls = plates(index)
    wanted = tuple(p for p in index.shared_phases() if any(p in e.phases for e in edges))
    pulls: dict[Pull, list[Array]] = defaultdict(list)
    ends: list[tuple[Pull, Pull, Pull, Pull]] = []
    for i, j in spans:
        run = np.asarray(places[j].at) - np.asarray(places[i].at)
        unit = run / np.hypot(*run)
        here, there = (i, _quarter(unit)), (j, _quarter(-unit))
        for pull_, towards in ((here, unit), ((i, None), unit), (there, -unit), ((j, None), -unit)):
            pulls[pull_].append(towards)
        ends.append(((i, None), (j, None), here, there))
    sides: dict[int, int] = defaultdict(int)
    for n, quarter in pulls:
        sides[n] += quarter is not None
    built: dict[Pull, Site] = {}
    out: list[Site] = []
    for (n, quarter), towards in sorted(pulls.items(), key=lambda one: (one[0][0], one[0][1] or -1)):
        if quarter is None or sides[n] > 1:
            site = _standing(index, walls, wanted, places[n], np.array(towards))
            if site.failures:
                out.append(site)
            else:
                built[n, quarter] = site
    number = {pull_: n for n, pull_ in enumerate(built)}
    pairs_ = set()
    for i, j, here, there in ends:
        own = [p if sides[p[0]] > 1 else (p[0], None) for p in (here, there)]
        for one, other in ((i, j), (own[0], own[1])):
            if one in number and other in number:
                pairs_.add((number[one], number[other]))
    return list(built.values()), sorted(pairs_), out


def _quarter(unit: Array) -> int:
    """Which way a pull goes, by quarters about the plan's axes."""
    return int(np.round(np.arctan2(unit[1], unit[0]) / (0.5 * np.pi) + 1e-9)) % 4


def _standing(index: Index, walls: Plates, wanted: tuple[str, ...], place: Site, pulls: Array) -> Site:
    """A place with the guys and phases of a post for its pulls, or with what it fails."""
    order = index.shared_phases()
    guys, failure, first = guyed(index, place, walls, pulls)
    phases = way_out_phases(index, place, tuple(p for p in wanted if order.index(p) >= first))
    site = replace(place, guys=guys, phases=phases)
    site = replace(site, phases=tuple(p for p in phases if not _fouls(index, site, p)))
    if failure is None and not site.phases:
        failure = Failure("way out: trusses or joists over it in every phase", f"{place.at}")
    return site if failure is None else replace(site, failures=(failure,))


def _fouls(index: Index, site: Site, phase: str) -> bool:
    """True where the post or a guy passes through a truss or joist of a phase."""
    if not site.guys or not any(index.shared_phases(f.phases, [phase]) for f in index.job.layout.framing):
        return False
    parts = post_parts(index, as_post(index, replace(site, phases=(phase,)), "site"))
    return any(f.verdict is Verdict.SHORT for f in framing_findings(index, [parts]))


def under_posts(
    index: Index, profile: Profile, built: list[Site], candidates: list[Candidate]
) -> list[Candidate]:
    """The candidates with the margins of their posts under them, each alone."""
    factor = profile.limits["line_factor"].value
    ends: dict[int, list[tuple[int, Array]]] = defaultdict(list)
    for k, candidate in enumerate(candidates):
        if candidate.loads and not candidate.failures:
            for here, site in enumerate(candidate.sites):
                run = np.asarray(built[candidate.sites[1 - here]].at) - np.asarray(built[site].at)
                azimuth = float(np.arctan2(run[1], run[0]))
                ends[site].append((k, pull(candidate.loads[here], azimuth)))
    out = list(candidates)
    for site, own in ends.items():
        post = Loaded(index, built[site], site_id(site, built[site]), factor)
        for (k, _), margin in zip(own, post.margins(np.array([p for _, p in own])), strict=True):
            out[k] = replace(out[k], margin=out[k].margin.least(margin))
    return out
