"""Posts guyed anew where the guys of every layout foul each other: all posts of a layout together.

A place is guyed first for all lines that could end there, and knows nothing of the posts around it. Where no
choice keeps all guys apart, the best is made as if guys could not foul each other; its posts are guyed again,
all together (`guying_together`), each for the lines that it carries there. Where that finds room for all of
them, the new posts and their lines join the candidates: nothing that could be chosen before is lost. Else
places that leave each other no room are not tried together again, and the next best layout is made.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from itertools import combinations, product

import numpy as np

from planforge.proposal.candidate import Candidate
from planforge.proposal.choose import Chooser
from planforge.proposal.clock import Clock
from planforge.proposal.conflicts import conflicts, standing_parts
from planforge.proposal.cover import Answer, Conflict
from planforge.proposal.guying import first_phase, plates
from planforge.proposal.guying_together import Beside, Carrying, guyed_together
from planforge.proposal.problem import Problem, chooser_of, extended
from planforge.proposal.sites import Site
from planforge.proposal.standing import wanted_phases, with_guys
from planforge.proposal.under_load import line_end

ROUNDS = 60
"""How often the posts of a layout are guyed anew; planforge's own choice. A problem that needs more is left
without a choice.
"""

SHARE = 0.5
"""What part of the time that is left one such layout may use."""


def reguyed(problem: Problem, before: Chooser, clock: Clock) -> tuple[Problem, Chooser] | None:
    """The problem with the posts of a layout guyed anew so that none is fouled, and what choosing it taught.

    None where there is no such layout even if guys could foul each other, or none was found.

    Args:
        problem: without a choice.
        before: who found none.
        clock: the time for all of it.

    Raises:
        OutOfTimeError: the time ran out first.
    """
    bases = conflicts(problem.index, problem.sites, problem.candidates, guys=False)
    crowded: list[Conflict] = []
    most: float | None = None
    for _ in range(ROUNDS):
        left = clock.left
        chooser = chooser_of(problem, left and SHARE * left, against=[*bases, *crowded])
        chooser.adopt(before)
        before = chooser
        found = chooser.drafted(most)
        if found is None:
            return None
        most, layout = found  # what is excluded on the way only lowers the margin
        clock.check("the posts of a layout were guyed anew")
        anew, clashes = _anew(problem, layout)
        if not clashes:
            return _more(problem, layout, anew), chooser
        crowded += [_at_the_same_places(problem, clash) for clash in clashes]
    return None


def _at_the_same_places(problem: Problem, clash: tuple[int, ...]) -> Conflict:
    """That posts do not all stand where those of a clash do, however they are guyed."""
    places = {problem.sites[s].at for s in clash}
    every = tuple(n for n, site in enumerate(problem.sites) if site.at in places)
    return Conflict(facilities=every, limit=len(places) - 1)


def _lines(problem: Problem, layout: Answer) -> list[Candidate]:
    return [problem.candidates[k] for k in layout.options.tolist() if problem.candidates[k].is_line]


def _more(problem: Problem, layout: Answer, anew: dict[int, Site]) -> Problem:
    """The problem with posts of a layout guyed anew beside the old, and its lines between them."""
    number = {s: len(problem.sites) + n for n, s in enumerate(anew)}
    spans = {
        ends
        for i, j in ((line.sites[0], line.sites[1]) for line in _lines(problem, layout))
        for ends in product({i, number.get(i, i)}, {j, number.get(j, j)})
        if ends != (i, j)
    }
    return extended(problem, list(anew.values()), sorted(spans))


def _anew(problem: Problem, layout: Answer) -> tuple[dict[int, Site], list[tuple[int, ...]]]:
    """The posts of a layout, each guyed anew for what it carries, past all others; and those that clash.

    What is pinned stays as it is.
    """
    carried: dict[int, list[Candidate]] = defaultdict(list)
    for line in _lines(problem, layout):
        for s in line.sites:
            carried[s].append(line)
    index = problem.index
    own = sorted(s for s in carried if problem.sites[s].pinned is None)
    walls, wanted = plates(index, lower=True), wanted_phases(index, problem.edges)
    posts = [_carrying(problem, s, carried[s]) for s in own]
    beside = [Beside(*standing_parts(index, problem.sites[s])) for s in sorted(set(carried) - set(own))]
    factor = problem.profile.limits["line_factor"].value
    together = guyed_together(index, walls, factor, posts, beside)
    built: dict[int, Site] = {}
    clashes = [tuple(own[n] for n in clash) for clash in together.clashes]
    for s, guys in zip(own, together.guys, strict=True):
        if guys is not None:
            bare = replace(problem.sites[s], guys=(), phases=())
            site = with_guys(index, wanted, bare, guys, first_phase(walls, guys))
            if site.failures:
                clashes.append((s,))
            else:
                built[s] = site
    return built, clashes


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
