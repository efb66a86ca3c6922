"""Covering with fixed charges, exactly: a mixed-integer programme on HiGHS.

Rows must each be covered by a chosen option; an option needs facilities, which are opened once and shared.

    minimise    sum_k c_k x_k + sum_j f_j y_j
    subject to  sum_{k covers r} x_k >= 1      for each row r
                x_k <= y_j                     for each facility j that option k needs
                sum of a set <= its limit      for each conflict
                x, y in {0, 1}

Set covering is the case without facilities, uncapacitated facility location that in which a row's options are
its pairs with the facilities, and the p-median that with a limit on the facilities opened (Daskin, Network
and Discrete Location, chapters 4 to 7; from memory). Costs are plain numbers of any unit.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from planforge.calc.arrays import Array
from planforge.errors import CalculationError

Indexes = NDArray[np.intp]

_OPTIMAL, _LIMIT, _INFEASIBLE = 0, 1, 2
_WHOLE = 1e-6  # how far from a whole number HiGHS leaves a variable by its own tolerance


class OutOfTimeError(CalculationError):
    """The time ran out before any choice was found; whether there is one is not known."""


@dataclass(frozen=True)
class Conflict:
    """At most ``limit`` of these options and facilities together."""

    options: tuple[int, ...] = ()
    facilities: tuple[int, ...] = ()
    limit: int = 1


@dataclass(frozen=True)
class Cover:
    """A covering problem with R rows, K options and J facilities."""

    covers: Any  # sparse (R, K): 1 where an option covers a row
    needs: Any  # sparse (K, J): 1 where an option needs a facility
    option_cost: Array  # (K,)
    facility_cost: Array  # (J,)
    conflicts: tuple[Conflict, ...] = ()
    fixed_options: tuple[int, ...] = ()
    fixed_facilities: tuple[int, ...] = ()
    barred: tuple[int, ...] = field(default=())  # options that must not be chosen

    @property
    def options(self) -> int:
        """K."""
        return int(self.covers.shape[1])

    @property
    def facilities(self) -> int:
        """J."""
        return int(self.needs.shape[1])


@dataclass(frozen=True)
class Answer:
    """The best choice found. ``gap`` is (objective - bound) / |objective|, 0 where it is proven optimal."""

    options: Indexes
    facilities: Indexes
    objective: float
    bound: float
    proven: bool

    @property
    def gap(self) -> float:
        """How far the objective may lie from the best, as a fraction of it."""
        if self.proven or self.objective == self.bound:
            return 0.0
        return abs(self.objective - self.bound) / max(abs(self.objective), 1e-12)


def solve(cover: Cover, *, time_limit: float | None = None, gap: float = 0.0) -> Answer | None:
    """The cheapest cover; None where there is none.

    Args:
        cover: the problem.
        time_limit: seconds; the best choice found by then is returned with its bound.
        gap: the fraction of the objective by which the choice may miss the best; 0 asks for the best.

    Raises:
        OutOfTimeError: no choice within the time limit.
        CalculationError: HiGHS stopped without a choice, or its choice does not cover every row.
    """
    k, j = cover.options, cover.facilities
    if np.any(_counts(cover.covers, cover.barred) == 0):
        return None
    if k + j == 0:
        return Answer(np.empty(0, np.intp), np.empty(0, np.intp), 0.0, 0.0, True)
    lower, upper = np.zeros(k + j), np.ones(k + j)
    lower[list(cover.fixed_options)] = 1.0
    lower[[k + f for f in cover.fixed_facilities]] = 1.0
    upper[list(cover.barred)] = 0.0
    if np.any(lower > upper):
        return None
    limit = {} if time_limit is None else {"time_limit": max(time_limit, 0.01)}
    with silent():
        result = milp(
            np.concatenate([cover.option_cost, cover.facility_cost]),
            integrality=np.ones(k + j),
            bounds=Bounds(lower, upper),
            constraints=_constraints(cover),
            options={"mip_rel_gap": gap, "presolve": True, **limit},
        )
    if result.status == _INFEASIBLE:
        return None
    if result.x is None and result.status == _LIMIT:
        raise OutOfTimeError("The programme of what covers every edge had no answer when the time ran out.")
    if result.x is None:
        raise CalculationError(f"cover: HiGHS stopped without a choice ({result.message.strip()}).")
    chosen = np.round(result.x)
    if np.max(np.abs(result.x - chosen)) > 10 * _WHOLE:
        raise CalculationError("cover: HiGHS returned a choice that is not whole.")
    options, facilities = np.flatnonzero(chosen[:k]), np.flatnonzero(chosen[k:])
    _verify(cover, options, facilities)
    objective = float(np.sum(cover.option_cost[options]) + np.sum(cover.facility_cost[facilities]))
    proven = result.status == _OPTIMAL and gap == 0.0
    bound = objective if proven else float(result.mip_dual_bound)
    return Answer(options, facilities, objective, bound, proven)


@contextmanager
def silent() -> Iterator[None]:
    """Keep what HiGHS itself writes to standard output, whatever it is told, out of a command's output."""
    try:
        kept = os.dup(1)
    except OSError:
        yield  # no standard output to keep anything out of
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _counts(covers: Any, barred: Sequence[int]) -> Array:
    """How many options are left for each row, (R,)."""
    open_ = np.ones(covers.shape[1])
    open_[list(barred)] = 0.0
    return np.asarray(covers @ open_)


def _constraints(cover: Cover) -> list[LinearConstraint]:
    k, j = cover.options, cover.facilities
    rows = sp.hstack([cover.covers, sp.csr_matrix((cover.covers.shape[0], j))], format="csr")
    found = [LinearConstraint(rows, lb=1.0, ub=np.inf)] if rows.shape[0] else []
    pairs = cover.needs.tocoo()
    if pairs.nnz:
        order = np.lexsort((pairs.col, pairs.row))
        option, facility, row = pairs.row[order], pairs.col[order], np.arange(pairs.nnz)
        data = np.concatenate([np.ones(pairs.nnz), -np.ones(pairs.nnz)])
        at = (np.concatenate([row, row]), np.concatenate([option, k + facility]))
        found.append(LinearConstraint(sp.csr_matrix((data, at), shape=(pairs.nnz, k + j)), ub=0.0))
    if cover.conflicts:
        places = [[*c.options, *(k + f for f in c.facilities)] for c in cover.conflicts]
        row = np.repeat(np.arange(len(places)), [len(p) for p in places])
        column = np.array([i for p in places for i in p], dtype=np.intp)
        matrix = sp.csr_matrix((np.ones(len(column)), (row, column)), shape=(len(places), k + j))
        found.append(LinearConstraint(matrix, ub=np.array([float(c.limit) for c in cover.conflicts])))
    return found


def _verify(cover: Cover, options: Indexes, facilities: Indexes) -> None:
    """Hold the choice against the problem itself, whatever the solver says."""
    x, y = np.zeros(cover.options), np.zeros(cover.facilities)
    x[options], y[facilities] = 1.0, 1.0
    covered = np.all(cover.covers @ x >= 1.0)
    open_ = np.all(cover.needs.T @ x <= cover.options * y)
    apart = all(x[list(c.options)].sum() + y[list(c.facilities)].sum() <= c.limit for c in cover.conflicts)
    if not (covered and open_ and apart):
        raise CalculationError("cover: the solver's choice breaks a constraint; nothing is proposed.")


def essential_rows(covers: Any) -> Indexes:
    """Rows that are left once each that another implies is struck: covering these covers all.

    A row is implied where another's options are all among its own. Of equal rows the first stays.
    """
    dense = np.asarray(covers.toarray() if sp.issparse(covers) else covers, dtype=bool)
    if not len(dense):
        return np.empty(0, dtype=np.intp)
    _, first = np.unique(dense, axis=0, return_index=True)
    kept = np.sort(first)
    some = dense[kept].astype(np.float32)
    sizes = some.sum(axis=1)
    shared = some @ some.T
    within = (shared >= sizes[:, None]) & (
        sizes[:, None] < sizes[None, :]
    )  # row i within row j: j is implied
    return np.asarray(kept[~within.any(axis=0)], dtype=np.intp)


def greatest_level(
    levels: Array,
    works: Callable[[float], Answer | None],
    reached: Callable[[Answer], float] = lambda _: -np.inf,
    *,
    near_the_top: bool = False,
) -> tuple[float, Answer] | None:
    """The greatest of ``levels`` that works, with its answer, by bisection; None where none does.

    Args:
        levels: (L,) distinct or not, in any order.
        works: a cover using nothing below a level, or None. What works at a level works at every lower one.
        reached: a level at which an answer would do as well, where that is known.
        near_the_top: the greatest level is tried first, and then lower ones in steps that double.
    """
    ordered = np.unique(levels)
    best: tuple[float, Answer] | None = None
    low, high, step = 0, len(ordered) - 1, 1
    while low <= high:
        middle = (low + high + 1) // 2
        if near_the_top and best is None:
            middle, step = max(high - step + 1, low), 2 * step
        answer = works(float(ordered[middle]))
        if answer is None:
            high = middle - 1
        else:
            middle = max(middle, int(np.searchsorted(ordered, reached(answer), side="right")) - 1)
            best = (float(ordered[middle]), answer)
            low = middle + 1
    return best


def least_uncovered(cover: Cover, weights: Array, *, time_limit: float | None = None) -> Indexes:
    """The rows that stay uncovered where as much as can be is covered: least sum of their ``weights``
    (R,).
    """
    rows = cover.covers.shape[0]
    padded = replace(
        cover,
        covers=sp.hstack([cover.covers, sp.identity(rows)], format="csr"),
        needs=sp.vstack([cover.needs, sp.csr_matrix((rows, cover.facilities))], format="csr"),
        option_cost=np.concatenate([np.zeros(cover.options), weights]),
        facility_cost=np.zeros(cover.facilities),
    )
    answer = solve(padded, time_limit=time_limit)
    if answer is None:
        return np.arange(rows)
    left = answer.options[answer.options >= cover.options] - cover.options
    covered = np.asarray(cover.covers @ np.isin(np.arange(cover.options), answer.options)) >= 1.0
    return np.asarray(left[~covered[left]], dtype=np.intp)


def cliques(pairs: Sequence[tuple[int, int]]) -> list[tuple[int, ...]]:
    """Sets of which every two exclude each other, that together hold every one of ``pairs``.

    One bound on a whole set is as strict on whole numbers as all its pairs, and stricter on the fractions by
    which a programme is bounded. Found greedily, in order; nothing is lost or added.
    """
    beside: dict[int, set[int]] = {}
    for i, j in pairs:
        beside.setdefault(i, set()).add(j)
        beside.setdefault(j, set()).add(i)
    left = {(min(p), max(p)) for p in pairs}
    found = []
    for pair in sorted(left):
        if pair in left:
            clique = list(pair)
            for other in sorted(beside[pair[0]] & beside[pair[1]], key=lambda n: (-len(beside[n]), n)):
                if all(other in beside[member] for member in clique):
                    clique.append(other)
            left -= {(min(a, b), max(a, b)) for a in clique for b in clique}
            found.append(tuple(sorted(clique)))
    return found
