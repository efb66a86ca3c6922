"""Why a job has no proposal: which stretch of edge can't be covered, and what relaxing one constraint would
need.

Each kind of constraint is let pass by itself and the cover solved again with the least violation. Those that
alone make it possible are named with the value they would need.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from planforge.proposal.choose import Chooser
from planforge.proposal.clock import NO_LIMIT, Clock
from planforge.proposal.conflicts import conflicts
from planforge.proposal.cover import OutOfTimeError
from planforge.proposal.demand import Row
from planforge.proposal.edges import works_at
from planforge.proposal.problem import Problem, chooser_of, problem_of
from planforge.proposal.sites import Failure
from planforge.units import Display

PLACES = ("slab edge distance", "hoist's reach", "slab contents", "opening", "wall", "edge")
"""Constraints of places for posts that a relaxed problem lets pass, each by itself."""


@dataclass(frozen=True)
class Uncovered:
    """A stretch of an edge in its phases that no choice covers with the rest."""

    edge: str
    phases: tuple[str, ...]
    path: tuple[tuple[float, float], ...]  # its two ends in plan, m
    because: str


@dataclass(frozen=True)
class Relaxation:
    """A constraint that, let pass by itself, makes a proposal possible, with what it would need."""

    constraint: str
    needs: tuple[Failure, ...]


@dataclass(frozen=True)
class Infeasible:
    """Why there is no proposal."""

    uncovered: tuple[Uncovered, ...]
    relaxations: tuple[Relaxation, ...]
    tried: tuple[str, ...]
    untried: tuple[str, ...] = ()  # for which the time did not last


Tried = tuple[str, Callable[[], list[Failure] | None]]
"""A constraint, and what lets it pass and says what that would need; None where it does not do by itself."""


def explain(problem: Problem, clock: Clock = NO_LIMIT) -> Infeasible:
    """Say what stands in the way of a proposal for a problem that has none.

    Args:
        problem: without a choice.
        clock: the time for all of it; what there is no time to try is named.

    Raises:
        OutOfTimeError: the time did not last to say which stretches stay open.
    """
    chooser = chooser_of(problem, clock.left)
    chooser.cheapest(np.ones(len(problem.candidates)), np.ones(len(problem.sites)))
    left = chooser.uncovered()
    problem = replace(problem, candidates=chooser.candidates)  # with what was asked for meanwhile
    relaxed: list[Relaxation] = []
    tried: list[str] = []
    untried: list[str] = []
    for name, relax in (*_checks(problem, clock), *_conflicts(problem, clock), *_places(problem, clock)):
        try:
            found = relax()
        except OutOfTimeError:
            untried.append(name)
            continue
        tried.append(name)
        if found is not None:
            relaxed.append(Relaxation(name, tuple(found)))
    return Infeasible(tuple(_stretches(problem, left)), tuple(relaxed), tuple(tried), tuple(untried))


def _checks(problem: Problem, clock: Clock) -> list[Tried]:
    """Every check that some candidate fails, waived by itself."""
    names = {f.constraint for c in problem.candidates for f in c.failures}
    names |= {c.margin.check for c in problem.candidates if c.margin.value < 0.0}
    return [(name, partial(_without_check, problem, clock, name)) for name in sorted(names)]


def _without_check(problem: Problem, clock: Clock, name: str) -> list[Failure] | None:
    chooser = chooser_of(problem, clock.left, waived=frozenset([name]))
    cost = np.array([_excess(chooser, k, name) for k in range(len(problem.candidates))])
    answer = chooser.cheapest(cost, np.zeros(len(problem.sites)))
    if answer is None:
        return None
    return _worst([f for k in answer.options for f in _failures(chooser, int(k), name)])


def _failures(chooser: Chooser, option: int, name: str) -> list[Failure]:
    candidate = chooser.candidates[option]
    found = [f for f in candidate.failures if f.constraint == name]
    if candidate.margin.value < 0.0 and candidate.margin.check == name:
        found.append(
            Failure(name, candidate.id, candidate.margin.value + 1.0, 1.0, "of the strength asked for")
        )
    return found


def _excess(chooser: Chooser, option: int, name: str) -> float:
    return max((f.excess for f in _failures(chooser, option, name)), default=0.0)


def _worst(failing: list[Failure]) -> list[Failure]:
    """The failure that needs most; an empty list where none is needed after all."""
    return [max(failing, key=lambda f: f.excess)] if failing else []


def _conflicts(problem: Problem, clock: Clock) -> list[Tried]:
    """The distances that bases and guys keep from each other, waived by themselves."""

    def without(*, bases: bool = True, guys: bool = True) -> list[Failure] | None:
        against = conflicts(problem.index, problem.sites, problem.candidates, bases=bases, guys=guys)
        chooser = chooser_of(problem, clock.left, against=against)
        answer = chooser.cheapest(np.ones(len(problem.candidates)), np.ones(len(problem.sites)))
        return None if answer is None else []

    return [("bases apart", partial(without, bases=False)), ("guys apart", partial(without, guys=False))]


def _places(problem: Problem, clock: Clock) -> list[Tried]:
    """The constraints of places that some place fails, waived by themselves; the candidates are made anew."""
    failed = {f.kind for s in problem.refused for f in s.failures}
    return [(name, partial(_without_place, problem, clock, name)) for name in PLACES if name in failed]


def _without_place(problem: Problem, clock: Clock, name: str) -> list[Failure] | None:
    wider = problem_of(problem.index, problem.profile, frozenset([name]), clock)
    chooser = chooser_of(wider, clock.left)
    cost = np.array([max((f.excess for f in s.waived), default=0.0) for s in wider.sites])
    answer = chooser.cheapest(np.zeros(len(wider.candidates)), cost)
    if answer is None:
        return None
    return _worst([f for s in answer.facilities for f in wider.sites[int(s)].waived])


def _stretches(problem: Problem, left: list[Row]) -> list[Uncovered]:
    """Rows put together by edge and phase, with what refused the candidates that could reach them."""
    by_place: dict[tuple[int, int, float, float], list[Row]] = {}
    for row in left:
        key = (row.stretch.edge, row.stretch.piece, row.stretch.start, row.stretch.end)
        by_place.setdefault(key, []).append(row)
    return [_uncovered(problem, own) for own in by_place.values()]


def _uncovered(problem: Problem, own: list[Row]) -> Uncovered:
    stretch = own[0].stretch
    edge = problem.edges[stretch.edge]
    start, end = edge.pieces[stretch.piece]
    unit = (end - start) / np.hypot(*(end - start))
    path = tuple((float(x), float(y)) for x, y in (start + s * unit for s in (stretch.start, stretch.end)))
    phases = tuple(row.phase for row in own)
    return Uncovered(edge.id, phases, path, _because(problem, own[0]))


def _because(problem: Problem, row: Row) -> str:
    edge = problem.edges[row.stretch.edge]
    if not works_at(problem.index, edge, row.phase):
        return f"no work under proposal.work is stated at {edge.id} in phase {row.phase}"
    reaching = [
        (c, t.stretch)
        for c in problem.candidates
        for t in c.stances
        if (t.stretch.edge, t.stretch.piece) == (row.stretch.edge, row.stretch.piece)
        and t.stretch.start <= row.stretch.start + 1e-6
        and t.stretch.end >= row.stretch.end - 1e-6
    ]
    if not reaching:
        reasons = Counter(f.constraint for s in problem.refused for f in s.failures)
        said = "; ".join(f"{n} places: {name}" for name, n in reasons.most_common(4))
        return "no pair of places is near enough" + (f" (refused: {said})" if said else "")
    failing = Counter(
        f.constraint for c, _ in reaching for f in {f.constraint: f for f in c.failures}.values()
    )
    failing.update(c.margin.check for c, _ in reaching if c.margin.value < 0.0)
    if not failing:
        return "those that reach it can't stand beside the rest, or load a post beyond its strength together"
    said = ", ".join(f"{name} ({n})" for name, n in failing.most_common(4))
    return f"of {len({c.id for c, _ in reaching})} lines that reach it, short: {said}"


def lines(display: Display, infeasible: Infeasible) -> list[str]:
    """The explanation, a line a fact."""
    out = ["No layout covers every hazard edge within the part proposal."]
    for u in infeasible.uncovered:
        ends = " to ".join(f"({display.length(x)}, {display.length(y)})" for x, y in u.path)
        out.append(f"not covered: {u.edge}, {', '.join(u.phases)}, from {ends}: {u.because}.")
    for r in infeasible.relaxations:
        needs = "; ".join(_needs(display, f) for f in r.needs) or "it need not be kept everywhere"
        out.append(f"would do by itself: relaxing {r.constraint}: {needs}.")
    if not infeasible.relaxations and infeasible.tried:
        out.append(f"relaxing no one constraint does by itself; tried: {', '.join(infeasible.tried)}.")
    if infeasible.untried:
        named = ", ".join(infeasible.untried)
        out.append(
            "The time ran out (--time-limit gives more): what stays open may be less than this, "
            f"and it was not tried to relax {named}."
        )
    return out


def _needs(display: Display, failure: Failure) -> str:
    if failure.value is None or failure.limit is None:
        return f"{failure.constraint} at {failure.where}"
    value, limit = (
        display.length(v) if failure.unit == "m" else display.value(v, failure.unit)
        for v in (failure.value, failure.limit)
    )
    return f"needs {value} instead of {limit} at {failure.where}"
