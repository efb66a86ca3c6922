"""Which of several tension-only bars pull, and how hard, on a body that may also tilt at its base.

Unknown tensions t (G) and tilt p (2). For each bar that pulls

    C t + T' p = s,       and for the body       T t - k p = -m,

with C (G, G) the bars' own and the body's compliance, T (2, G) each bar's righting lever, s what the bar
would be stretched by were it alone slack, k the base's stiffness against tilt, m the tipping moment.
A slack bar has t = 0 and C t + T' p >= s. C is positive definite, so the tensions are unique where any
exist. Source: the optimality conditions of a strictly convex quadratic program (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array, Bools
from planforge.errors import CalculationError

Indexes: TypeAlias = NDArray[np.signedinteger]

MOST_BARS = 12
"""Every set of bars is tried where the quick rounds come to no rest: 2^12 sets at most."""

_TRIALS = 1 << MOST_BARS  # sets tried at once, over all cases: a bound on the memory that takes
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
class _Scaled:
    """The problem with its rows and columns scaled to order one."""

    problem: TensionOnly
    matrix: Array  # (G + 2, G + 2), all bars pulling
    right: Array  # (n, G + 2)
    per_bar: Array  # (G,), what a scaled tension is multiplied by
    per_tilt: float
    slack: Array  # N, (n, 1): a tension as small as this is none


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
    scaled = _scaled(problem)
    pulling, before = held.copy(), ~held
    turning: list[int] = []  # cases that go to and fro between two sets
    tension, tilt = np.full((n, bars), np.nan), np.full((n, 2), np.nan)
    pending = np.arange(n)
    for _ in range(2 * bars + 4):
        trial = _try_set(scaled, pending, pulling[pending])
        after = _next_set(scaled, pending, trial, pulling[pending], held[pending])
        rest = trial.balanced & np.all(after == pulling[pending], axis=-1)
        tension[pending[rest]], tilt[pending[rest]] = trial.tension[rest], trial.tilt[rest]
        again = ~rest & np.all(after == before[pending], axis=-1)
        turning += pending[again].tolist()
        before[pending], pulling[pending] = pulling[pending], after
        pending = pending[~(rest | again)]
        if not len(pending):
            break
    for cases in _alike(np.array([*turning, *pending.tolist()], dtype=np.intp), held):
        tension[cases], tilt[cases] = _search_all(scaled, cases, held[cases[0]])
    stands = ~np.isnan(tilt[:, 0])
    return Tensions(np.where(stands[:, None], np.maximum(tension, 0.0), np.nan), tilt, stands)


def _scaled(problem: TensionOnly) -> _Scaled:
    bars = len(problem.compliance)
    flexibility = np.diag(problem.compliance)
    d = 1.0 / np.sqrt(flexibility)
    lever = problem.lever * d
    k, coupling = problem.base_stiffness, float(np.max(np.sum(lever**2, axis=0), initial=0.0))
    clamped = np.isinf(k)
    e = 0.0 if clamped else 1.0 / np.sqrt(k + coupling) if k + coupling > 0.0 else 1.0
    matrix = np.empty((bars + 2, bars + 2))
    matrix[:bars, :bars] = problem.compliance * np.outer(d, d)
    matrix[bars:, :bars] = lever * e
    matrix[:bars, bars:] = matrix[bars:, :bars].T
    matrix[bars:, bars:] = -np.eye(2) * (1.0 if clamped else k * e * e)
    by_gap = np.max(np.abs(problem.gap) / flexibility, axis=-1, initial=0.0)
    longest = np.max(np.abs(problem.lever), initial=0.0)
    by_moment = np.hypot(*problem.tipping.T) / (longest if longest > 0.0 else 1.0)
    return _Scaled(
        problem=problem,
        matrix=matrix,
        right=np.concatenate([problem.gap * d, -problem.tipping * e], axis=-1),
        per_bar=d,
        per_tilt=float(e),
        slack=_TOLERANCE * np.maximum(by_gap, by_moment)[:, None],
    )


def _next_set(scaled: _Scaled, cases: Indexes, trial: _Trial, pulling: Bools, held: Bools) -> Bools:
    slack = scaled.slack[cases]
    return np.asarray(held & np.where(pulling, trial.tension >= -slack, trial.missing > slack))


def _distinct(pulling: Bools) -> tuple[Indexes, Indexes]:
    """The first case of each set of pulling bars, and which of them each case shares its matrix with."""
    if pulling.shape[-1] >= _BITS:
        each = np.arange(len(pulling))
        return each, each
    codes = (pulling @ (1 << np.arange(pulling.shape[-1]))).tolist()
    place: dict[int, int] = {}
    which = np.array([place.setdefault(code, len(place)) for code in codes], dtype=np.intp)
    first = np.array([codes.index(code) for code in place], dtype=np.intp)
    return first, which


def _try_set(scaled: _Scaled, cases: Indexes, pulling: Bools) -> _Trial:
    """Tensions (n, G) and tilt with just the ``pulling`` (n, G) bars in place, pulling or pushing.

    A movement that nothing resists gets its least value, by leaving out its eigenvalue; whether something
    drives it shows in the balance.
    """
    bars = pulling.shape[-1]
    kept = np.ones((len(cases), bars + 2))
    kept[:, :bars] = pulling
    first, which = _distinct(pulling)
    one = kept[first]
    matrices = scaled.matrix * one[:, :, None] * one[:, None, :]
    matrices[:, range(bars), range(bars)] += 1.0 - one[:, :bars]
    right = scaled.right[cases] * kept
    solved_once = np.linalg.eigh(matrices)
    values, vectors, matrix = solved_once.eigenvalues[which], solved_once.eigenvectors[which], matrices[which]
    size = np.abs(values)
    resists = size > _SINGULAR * np.max(size, axis=-1, keepdims=True)
    along = (right[:, None, :] @ vectors)[:, 0] * resists / np.where(resists, values, 1.0)
    solved = (vectors @ along[..., None])[..., 0]
    left = (matrix @ solved[..., None])[..., 0]
    off, whole = (np.sqrt(np.sum(v * v, axis=-1)) for v in (left - right, right))
    tension, tilt = solved[:, :bars] * scaled.per_bar * pulling, solved[:, bars:] * scaled.per_tilt
    problem = scaled.problem
    stretch = problem.gap[cases] - tension @ problem.compliance - tilt @ problem.lever
    missing = np.where(pulling, 0.0, stretch * scaled.per_bar**2)
    return _Trial(tension, tilt, missing, off <= _TOLERANCE * whole)


def _alike(cases: Indexes, held: Bools) -> Iterator[Indexes]:
    """The cases in groups with the same bars, none with more than :data:`_TRIALS` sets to try."""
    groups: dict[bytes, list[int]] = {}
    for case in cases.tolist():
        groups.setdefault(held[case].tobytes(), []).append(case)
    for group in groups.values():
        at_once = max(_TRIALS >> int(np.sum(held[group[0]])), 1)
        for first in range(0, len(group), at_once):
            yield np.array(group[first : first + at_once])


def _search_all(scaled: _Scaled, cases: Indexes, held: Bools) -> tuple[Array, Array]:
    """Tensions (n, G) and tilt of cases with the same bars ``held`` (G,), NaN where no set holds.

    The one set counts that is in equilibrium with every bar in it pulling and every other slack.
    """
    present = np.flatnonzero(held)
    if len(present) > MOST_BARS:
        raise CalculationError(
            f"tension-only bars: {len(present)} bars and no rest after the quick rounds; "
            f"at most {MOST_BARS} can be searched. Model fewer guys."
        )
    sets = np.zeros((2 ** len(present), len(held)), dtype=bool)
    sets[:, present] = (np.arange(len(sets))[:, None] >> np.arange(len(present))) & 1
    each, every = np.repeat(cases, len(sets)), np.tile(sets, (len(cases), 1))
    trial = _try_set(scaled, each, every)
    after = _next_set(scaled, each, trial, every, np.broadcast_to(held, every.shape))
    fits = (trial.balanced & np.all(after == every, axis=-1)).reshape(len(cases), len(sets))
    first = np.argmax(fits, axis=1) + len(sets) * np.arange(len(cases))
    holds = fits.any(axis=1)[:, None]
    return np.where(holds, trial.tension[first], np.nan), np.where(holds, trial.tilt[first], np.nan)
