"""Which of several tension-only bars pull, and how hard, on a body that may also tilt at its base.

Unknown tensions t (G) and tilt p (2). For each bar that pulls

    C t + T' p = s,       and for the body       T t - k p = -m,

with C (G, G) the bars' own and the body's compliance, T (2, G) each bar's righting lever, s what the bar
would be stretched by were it alone slack, k the base's stiffness against tilt, m the tipping moment.
A slack bar has t = 0 and C t + T' p >= s. C is positive definite, so the tensions are unique where any
exist. Source: the optimality conditions of a strictly convex quadratic program (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array, Bools
from planforge.errors import CalculationError

Indexes: TypeAlias = NDArray[np.signedinteger]

MOST_BARS = 12
"""Every set of bars is tried where the quick rounds come to no rest: 2^12 sets at most."""

_TOLERANCE = 1e-9  # of the case's own scale
_BITS = 60  # bars whose set fits one integer
_SINGULAR = 1e-12  # eigenvalues below this part of the greatest count as a free movement


@dataclass(frozen=True, slots=True)
class TensionOnly:
    """One body and its bars, with a flat batch (n) of loads."""

    compliance: Array  # C, m/N, (G, G)
    lever: Array  # T, m, (2, G)
    base_stiffness: float  # k, N m/rad; 0 = free to tilt, np.inf = clamped
    gap: Array  # s, m, (n, G)
    tipping: Array  # m, N m, (n, 2)


@dataclass(frozen=True, slots=True)
class Tensions:
    """Outcome for each case of the batch."""

    tension: Array  # N, (n, G), never below 0
    tilt: Array  # rad, (n, 2); the least one where a movement is free
    stands: Bools  # (n,); False: no set of bars holds the body, and the numbers are NaN


@dataclass(frozen=True, slots=True)
class _Trial:
    tension: Array  # (n, G)
    tilt: Array  # (n, 2)
    missing: Array  # N, (n, G): tension that a slack bar would have were it to pull; 0 for pulling ones
    balanced: Bools  # (n,)


def solve_tension_only(problem: TensionOnly, held: Bools) -> Tensions:
    """Tensions of the bars; ``held`` (n, G) is False where a bar is missing.

    Raises:
        CalculationError: a case that needs the search over all sets has more than :data:`MOST_BARS`.
    """
    n, bars = problem.gap.shape
    pulling = held.copy()
    tension, tilt = np.full((n, bars), np.nan), np.full((n, 2), np.nan)
    pending = np.arange(n)
    for _ in range(2 * bars + 4):
        trial = _try_set(problem, pending, pulling[pending])
        after = _next_set(problem, pending, trial, pulling[pending], held[pending])
        rest = trial.balanced & np.all(after == pulling[pending], axis=-1)
        tension[pending[rest]], tilt[pending[rest]] = trial.tension[rest], trial.tilt[rest]
        pulling[pending] = after
        pending = pending[~rest]
        if not len(pending):
            break
    for case in pending:
        found = _search_all(problem, int(case), held[case])
        if found is not None:
            tension[case], tilt[case] = found
    stands = ~np.isnan(tilt[:, 0])
    return Tensions(np.where(stands[:, None], np.maximum(tension, 0.0), np.nan), tilt, stands)


def _force_scale(problem: TensionOnly, cases: Indexes) -> Array:
    """A force (n, 1) typical of each case: all tolerances are parts of it."""
    stiffness = 1.0 / np.diag(problem.compliance)
    by_gap = np.max(np.abs(problem.gap[cases]) * stiffness, axis=-1, initial=0.0)
    lever = np.max(np.abs(problem.lever), initial=0.0)
    by_moment = np.linalg.norm(problem.tipping[cases], axis=-1) / (lever if lever > 0.0 else 1.0)
    return np.asarray(np.maximum(by_gap, by_moment)[:, None])


def _next_set(problem: TensionOnly, cases: Indexes, trial: _Trial, pulling: Bools, held: Bools) -> Bools:
    slack = _TOLERANCE * _force_scale(problem, cases)
    return np.asarray(held & np.where(pulling, trial.tension >= -slack, trial.missing > slack))


def _try_set(problem: TensionOnly, cases: Indexes, pulling: Bools) -> _Trial:
    """Tensions (n, G) and tilt with just the ``pulling`` (n, G) bars in place, pulling or pushing.

    Rows and columns are scaled to order one. A movement that nothing resists gets its least value by
    the pseudo-inverse; whether something drives it shows in the balance.
    """
    bars = len(problem.compliance)
    d = 1.0 / np.sqrt(np.diag(problem.compliance))
    lever = problem.lever * d
    k, coupling = problem.base_stiffness, float(np.max(np.sum(lever**2, axis=0), initial=0.0))
    clamped = np.isinf(k)
    e = 0.0 if clamped else 1.0 / np.sqrt(k + coupling) if k + coupling > 0.0 else 1.0
    mask = pulling.astype(np.float64)
    # cases in which the same bars pull share one matrix
    code = pulling @ (1 << np.arange(bars)) if bars < _BITS else np.arange(len(cases))
    _, first, which = np.unique(code, return_index=True, return_inverse=True)
    one = mask[first]
    matrix = np.zeros((len(first), bars + 2, bars + 2))
    matrix[:, :bars, :bars] = problem.compliance * np.outer(d, d) * one[:, :, None] * one[:, None, :]
    matrix[:, range(bars), range(bars)] += 1.0 - one
    matrix[:, bars:, :bars] = lever * e * one[:, None, :]
    matrix[:, :bars, bars:] = np.swapaxes(matrix[:, bars:, :bars], -1, -2)
    matrix[:, bars:, bars:] = -np.eye(2) * (1.0 if clamped else k * e * e)
    right = np.concatenate([problem.gap[cases] * d * mask, -problem.tipping[cases] * e], axis=-1)
    inverse = np.linalg.pinv(matrix, rcond=_SINGULAR, hermitian=True)[which]
    scaled = np.einsum("nij,nj->ni", inverse, right)
    left = np.einsum("nij,nj->ni", matrix[which], scaled)
    size = np.linalg.norm(right, axis=-1)
    balanced = np.linalg.norm(left - right, axis=-1) <= _TOLERANCE * size
    tension, tilt = scaled[:, :bars] * d * mask, scaled[:, bars:] * e
    stretch = problem.gap[cases] - tension @ problem.compliance - tilt @ problem.lever
    return _Trial(tension, tilt, np.where(pulling, 0.0, stretch * d**2), balanced)


def _search_all(problem: TensionOnly, case: int, held: Bools) -> tuple[Array, Array] | None:
    """The one set that is in equilibrium with every bar in it pulling and every other slack, or None."""
    present = np.flatnonzero(held)
    if len(present) > MOST_BARS:
        raise CalculationError(
            f"tension-only bars: {len(present)} bars and no rest after the quick rounds; "
            f"at most {MOST_BARS} can be searched. Model fewer guys."
        )
    sets = np.zeros((2 ** len(present), len(held)), dtype=bool)
    sets[:, present] = (np.arange(len(sets))[:, None] >> np.arange(len(present))) & 1
    cases = np.full(len(sets), case)
    trial = _try_set(problem, cases, sets)
    same = np.all(_next_set(problem, cases, trial, sets, np.broadcast_to(held, sets.shape)) == sets, axis=-1)
    fits = np.flatnonzero(trial.balanced & same)
    return (trial.tension[fits[0]], trial.tilt[fits[0]]) if len(fits) else None
