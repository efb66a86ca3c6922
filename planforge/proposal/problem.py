"""What a layout is chosen from: edges, posts that can stand, candidates with their margins, rows to cover."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from functools import cache

from planforge.assess.index import Index
from planforge.assess.lines import line_results
from planforge.assess.post_cases import LineEnd
from planforge.codes.profile import Profile
from planforge.proposal.candidate import UNBOUNDED, Candidate
from planforge.proposal.choose import Chooser
from planforge.proposal.clock import NO_LIMIT, Clock
from planforge.proposal.conflicts import conflicts
from planforge.proposal.cover import Conflict
from planforge.proposal.demand import Row, rows
from planforge.proposal.edges import HazardEdge, guardrail_at, hazard_edges
from planforge.proposal.sites import Site, pinned_sites, sites
from planforge.proposal.spans import covering, pairs
from planforge.proposal.standing import standing
from planforge.proposal.trial import Trial, Trials, site_id
from planforge.proposal.under_load import Loaded, line_end, margins_under


@dataclass(frozen=True)
class Problem:
    """Everything a layout is chosen from.

    The candidates are the lines that stay, then those of the trial, then single anchorages.
    """

    index: Index
    profile: Profile
    edges: list[HazardEdge]
    sites: list[Site]  # that can be built on, guyed
    refused: list[Site]  # with what each fails
    trial: Trials
    candidates: list[Candidate]  # none with its second opinion yet
    rows: list[Row]


def problem_of(
    index: Index, profile: Profile, relaxed: frozenset[str] = frozenset(), clock: Clock = NO_LIMIT
) -> Problem:
    """The candidates with their margins, and the rows to cover; ``relaxed`` constraints are not asked for.

    Raises:
        OutOfTimeError: the time ran out first.
    """
    edges = hazard_edges(index, profile)
    every = sites(index, edges, relaxed)
    good = [*pinned_sites(index), *(s for s in every if not s.failures)]
    refused = [s for s in every if s.failures]
    open_ = unguarded(index, edges)
    useful = covering(index, edges, good, pairs(index, edges, good), open_)
    built, spans, out = standing(index, edges, good, useful, clock)
    clock.check(f"lines between {len(built)} guyed posts were about to be reckoned: {len(spans)} pairs")
    trial = Trials([Trial(index, profile, edges, built, spans)])
    clock.check(f"posts were reckoned under {len(trial.candidates)} lines")
    own = under_posts(index, profile, built, trial.candidates)
    candidates = [*_staying(index, profile, built), *own]
    every_row = rows(edges, open_, candidates)
    return Problem(index, profile, edges, built, [*refused, *out], trial, candidates, every_row)


def extended(problem: Problem, more: list[Site], spans: list[tuple[int, int]]) -> Problem:
    """A problem without anchorages yet, with more sites and with lines between pairs of all its sites."""
    index, profile, edges = problem.index, problem.profile, problem.edges
    every_site = [*problem.sites, *more]
    trial = Trial(index, profile, edges, every_site, spans, first=len(problem.trial.candidates))
    candidates = [*problem.candidates, *under_posts(index, profile, every_site, trial.candidates)]
    return replace(
        problem,
        sites=every_site,
        trial=Trials([*problem.trial.batches, trial]),
        candidates=candidates,
        rows=rows(edges, unguarded(index, edges), candidates),
    )


def unguarded(index: Index, edges: list[HazardEdge]) -> dict[tuple[int, str], bool]:
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
    first = sum(c.pinned for c in problem.candidates)
    end = first + len(problem.trial.candidates)
    settled = problem.trial.settled([k - first for k in options if first <= k < end])
    lines = iter(under_posts(problem.index, problem.profile, problem.sites, settled))
    return [next(lines) if first <= k < end else problem.candidates[k] for k in options]


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
    posts = [Loaded(index, built[site], site_id(site, built[site]), factor) for site in ends]
    each = margins_under(posts, [[(end,) for _, end in own] for own in ends.values()])
    out = list(candidates)
    for own, margins in zip(ends.values(), each, strict=True):
        for (k, _), margin in zip(own, margins, strict=True):
            out[k] = replace(out[k], margin=out[k].margin.least(margin))
    return out
