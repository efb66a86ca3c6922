"""Posts guyed anew where the guys of a layout foul each other: each for its own lines, clear of the others.

A place is guyed first for all lines that could end there, and knows nothing of the posts around it. Where no
choice keeps all guys apart, one is made as if guys could not foul each other; its fouled posts are guyed
again, all together (`guying_together`), for the lines that they carry in it and past the guys of all others.
Two places of which one finds no room are not tried together again in the search for a layout. The new posts
and their lines join the candidates: nothing that could be chosen before is lost. What fouled is excluded from
then on, and the choice is made again, until none is fouled.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import combinations, product

import numpy as np

from planforge.proposal.candidate import Candidate
from planforge.proposal.choose import Chooser
from planforge.proposal.clock import Clock
from planforge.proposal.conflicts import conflicts, fouling_guys, standing_parts
from planforge.proposal.cover import Answer, Conflict, cliques
from planforge.proposal.guying import first_phase, plates
from planforge.proposal.guying_together import Beside, Carrying, guyed_together
from planforge.proposal.problem import Problem, chooser_of, extended
from planforge.proposal.sites import Site
from planforge.proposal.standing import wanted_phases, with_guys
from planforge.proposal.under_load import line_end

ROUNDS = 60
"""How often a layout's fouled posts are guyed anew; planforge's own choice. A problem that needs more is left
without a choice.
"""

KEPT = 0.6
"""What a post that was guyed anew counts, where another counts 1; planforge's own choice."""

ROUGH = 0.25
"""By what part of its posts such a layout may miss the fewest: it is only where guying starts from."""


def reguyed(problem: Problem, clock: Clock) -> tuple[Problem, Chooser] | None:
    """The problem with posts guyed anew until a layout has none fouled, and what choosing it taught.

    None where there is no such layout even if guys could foul each other, or none was found.

    Raises:
        OutOfTimeError: the time ran out first.
    """
    bases = conflicts(problem.index, problem.sites, problem.candidates, guys=False)
    fouled: set[tuple[int, int]] = set()
    before: Chooser | None = None
    first = len(problem.sites)
    for _ in range(ROUNDS):
        excluded = [Conflict(facilities=clique) for clique in cliques(sorted(fouled))]
        chooser = chooser_of(problem, clock.left, against=[*bases, *excluded])
        if before is not None:
            chooser.adopt(before)
        before = chooser
        size = len(problem.sites)
        # what was guyed anew is clear of its neighbours in the last layout: the next one keeps what it can
        cost = np.where(np.arange(size) < first, 1.0, KEPT)
        answer = chooser.cheapest(np.zeros(len(problem.candidates)), cost, ROUGH)
        if answer is None:
            return None
        chosen = sorted({s for k in answer.options.tolist() for s in problem.candidates[k].sites})
        pairs = fouling_guys(problem.index, [problem.sites[s] for s in chosen])
        if not pairs:
            return problem, chooser
        new = {(chosen[i], chosen[j]) for i, j in pairs}
        fouled |= new
        clock.check("the fouled posts of a layout were guyed anew")
        anew = _anew_of(problem, answer, {s for pair in new for s in pair})
        # two places that leave no room for both posts' guys are not tried again in any other way of guying
        fouled |= _at_the_same_places(problem, {p for p in new if p[0] not in anew or p[1] not in anew})
        more = _more(problem, answer, anew)
        if more is not None:
            problem = more
            bases = conflicts(problem.index, problem.sites, problem.candidates, guys=False)
    return None


def _at_the_same_places(problem: Problem, pairs: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """Every two sites that stand where two of ``pairs`` do."""
    here: dict[tuple[float, float], list[int]] = defaultdict(list)
    for n, site in enumerate(problem.sites):
        here[site.at].append(n)
    return {
        (min(i, j), max(i, j))
        for one, other in pairs
        for i, j in product(here[problem.sites[one].at], here[problem.sites[other].at])
    }


def _lines(problem: Problem, answer: Answer) -> list[Candidate]:
    return [problem.candidates[k] for k in answer.options.tolist() if problem.candidates[k].is_line]


def _anew_of(problem: Problem, answer: Answer, fouled: set[int]) -> dict[int, Site]:
    """The fouled posts of an answer, guyed anew for what they carry in it."""
    carried: dict[int, list[Candidate]] = defaultdict(list)
    for line in _lines(problem, answer):
        for s in line.sites:
            carried[s].append(line)
    return _anew(problem, sorted(fouled & set(carried)), carried)


def _more(problem: Problem, answer: Answer, anew: dict[int, Site]) -> Problem | None:
    """The problem with posts of an answer guyed anew beside the old; None where none comes out otherwise."""
    known = {_key(s) for s in problem.sites}
    anew = {s: site for s, site in anew.items() if _key(site) not in known}
    if not anew:
        return None
    number = {s: len(problem.sites) + n for n, s in enumerate(anew)}
    spans = {
        ends
        for i, j in ((line.sites[0], line.sites[1]) for line in _lines(problem, answer))
        for ends in product({i, number.get(i, i)}, {j, number.get(j, j)})
        if ends != (i, j)
    }
    return extended(problem, list(anew.values()), sorted(spans))


def _anew(problem: Problem, fouled: list[int], carried: dict[int, list[Candidate]]) -> dict[int, Site]:
    """The fouled posts of a layout with new guys, past all others; without those that find no room."""
    own = [s for s in fouled if problem.sites[s].pinned is None]
    return _together(problem, own, carried)


def _together(problem: Problem, anew: list[int], carried: dict[int, list[Candidate]]) -> dict[int, Site]:
    """Posts guyed anew together, past those of the layout that stay as they are; without those that can't."""
    index = problem.index
    walls, wanted = plates(index, lower=True), wanted_phases(index, problem.edges)
    posts = [_carrying(problem, s, carried[s]) for s in anew]
    beside = [Beside(*standing_parts(index, problem.sites[s])) for s in sorted(set(carried) - set(anew))]
    factor = problem.profile.limits["line_factor"].value
    built: dict[int, Site] = {}
    for s, guys in zip(anew, guyed_together(index, walls, factor, posts, beside), strict=True):
        if guys is not None:
            bare = replace(problem.sites[s], guys=(), phases=())
            site = with_guys(index, wanted, bare, guys, first_phase(walls, guys))
            if not site.failures:
                built[s] = site
    return built


def _carrying(problem: Problem, site: int, lines: list[Candidate]) -> Carrying:
    ends = [line_end(problem.sites, line, site) for line in lines]
    phases = [set(line.thing.phases) for line in lines]
    together = tuple(
        tuple(ends[n] for n in chosen)
        for size in range(1, len(ends) + 1)
        for chosen in combinations(range(len(ends)), size)
        if set.intersection(*(phases[n] for n in chosen))
    )
    pulls = np.array([[np.cos(end.azimuth), np.sin(end.azimuth)] for end in ends])
    order = problem.index.shared_phases()
    return Carrying(problem.sites[site], pulls, together, min(order.index(p) for own in phases for p in own))


def _key(site: Site) -> tuple[object, ...]:
    """What tells two posts apart: place, kind and guys."""
    return (site.at, site.kind, *((*g.to, g.height) for g in site.guys))
