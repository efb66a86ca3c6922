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
from planforge.calc.guyed_post import pull
from planforge.codes.profile import Profile, load_profile
from planforge.errors import RefusedError
from planforge.job.model import Job
from planforge.proposal.candidate import Candidate
from planforge.proposal.choose import Choice, Chooser
from planforge.proposal.conflicts import conflicts
from planforge.proposal.demand import Row, rows
from planforge.proposal.edges import HazardEdge, guardrail_at, hazard_edges, proposal_of
from planforge.proposal.guying import guyed, plates
from planforge.proposal.sites import Failure, Site, as_post, sites, way_out_phases
from planforge.proposal.spans import pairs
from planforge.proposal.trial import line_candidates, site_id
from planforge.proposal.under_load import Loaded


@dataclass(frozen=True)
class Problem:
    """Everything a layout is chosen from."""

    index: Index
    profile: Profile
    edges: list[HazardEdge]
    sites: list[Site]  # that can be built on, guyed
    refused: list[Site]  # with what each fails
    candidates: list[Candidate]
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
    return Proposed(problem, choice_of(problem, time_limit))


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
    spans = pairs(index, edges, good)
    standing, out = _guyed(index, edges, good, spans)
    kept = [n for n, s in enumerate(standing) if s is not None]
    place = {n: i for i, n in enumerate(kept)}
    built = [s for s in standing if s is not None]
    spans = [(place[i], place[j]) for i, j in spans if i in place and j in place]
    candidates = line_candidates(index, profile, edges, built, spans)
    candidates = _with_posts(index, profile, built, candidates)
    open_ = {(e, p): guardrail_at(index, edge.id, p) is None for e, edge in enumerate(edges) for p in edge.phases}
    return Problem(
        index, profile, edges, built, [*refused, *out], candidates, rows(edges, open_, candidates)
    )


def choice_of(problem: Problem, time_limit: float | None) -> Choice | None:
    """The choice of a problem."""
    factor = problem.profile.limits["line_factor"].value

    @cache
    def posts(site: int) -> Loaded:
        return Loaded(problem.index, problem.sites[site], site_id(site, problem.sites[site]), factor)

    chooser = Chooser(
        problem.sites,
        problem.candidates,
        problem.rows,
        conflicts(problem.index, problem.sites, problem.candidates),
        posts,
        time_limit,
    )
    return chooser.choose()


def _guyed(
    index: Index, edges: list[HazardEdge], places: list[Site], spans: list[tuple[int, int]]
) -> tuple[list[Site | None], list[Site]]:
    """Each place with its guys and phases, None where it has none; and those, with what they fail."""
    walls = plates(index)
    order = index.shared_phases()
    wanted = tuple(p for p in order if any(p in e.phases for e in edges))
    pulls: dict[int, list[np.ndarray]] = defaultdict(list)
    for i, j in spans:
        run = np.asarray(places[j].at) - np.asarray(places[i].at)
        pulls[i].append(run / np.hypot(*run))
        pulls[j].append(-run / np.hypot(*run))
    standing: list[Site | None] = []
    out: list[Site] = []
    for n, site in enumerate(places):
        if n not in pulls:
            standing.append(None)
            continue
        guys, failure, first = guyed(index, site, walls, np.array(pulls[n]))
        phases = way_out_phases(index, site, tuple(p for p in wanted if order.index(p) >= first))
        done = replace(site, guys=guys, phases=phases)
        phases = tuple(p for p in phases if not _fouls(index, done, p))
        done = replace(done, phases=phases)
        if failure is None and not phases:
            failure = Failure("way out: trusses or joists over it in every phase", f"{site.at}")
        standing.append(done if failure is None else None)
        if failure is not None:
            out.append(replace(done, failures=(failure,)))
    return standing, out


def _fouls(index: Index, site: Site, phase: str) -> bool:
    """True where the post or a guy passes through a truss or joist of a phase."""
    if not site.guys or not any(index.shared_phases(f.phases, [phase]) for f in index.job.layout.framing):
        return False
    parts = post_parts(index, as_post(index, replace(site, phases=(phase,)), "site"))
    return any(f.verdict is Verdict.SHORT for f in framing_findings(index, [parts]))


def _with_posts(
    index: Index, profile: Profile, built: list[Site], candidates: list[Candidate]
) -> list[Candidate]:
    """The candidates with the margins of their posts under them, each alone."""
    factor = profile.limits["line_factor"].value
    ends: dict[int, list[tuple[int, np.ndarray]]] = defaultdict(list)
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
