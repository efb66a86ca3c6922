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
_BITS = 60  # of an integer, for the set of bars and the body
_SINGULAR = 1e-12  # eigenvalues below this part of the greatest count as a free movement


@dataclass(frozen=True, slots=True)
class TensionOnly:
    """One body and its bars, with a flat batch (n) of loads; or B bodies with as many bars each."""

    compliance: Array  # C, m/N, (G, G) or (B, G, G)
    lever: Array  # T, m, (2, G) or (B, 2, G)
    base_stiffness: float  # k, N m/rad; 0 = free to tilt, np.inf = clamped
    gap: Array  # s, m, (n, G)
    tipping: Array  # m, N m, (n, 2)
    of: NDArray[np.intp] | None = None  # (n,), the body of each case; None: there is one


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
    of: NDArray[np.intp]  # (n,), the body of each case
    compliance: Array  # (B, G, G)
    lever: Array  # (B, 2, G)
    matrix: Array  # (B, G + 2, G + 2), all bars pulling
    right: Array  # (n, G + 2)
    per_bar: Array  # (B, G), what a scaled tension is multiplied by
    per_tilt: Array  # (B, 1)
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
    of = np.zeros(len(problem.gap), dtype=np.intp) if problem.of is None else problem.of
    compliance, lever = (v if v.ndim == 3 else v[None] for v in (problem.compliance, problem.lever))
    bodies, bars = compliance.shape[:2]
    flexibility = np.diagonal(compliance, axis1=1, axis2=2)
    d = 1.0 / np.sqrt(flexibility)
    turned = lever * d[:, None, :]
    k, coupling = problem.base_stiffness, np.max(np.sum(turned**2, axis=1), axis=-1, initial=0.0)
    clamped = np.isinf(k)
    free = np.zeros(bodies) if clamped else k + coupling
    e = np.where(free > 0.0, 1.0 / np.sqrt(np.where(free > 0.0, free, 1.0)), 0.0 if clamped else 1.0)
    matrix = np.empty((bodies, bars + 2, bars + 2))
    matrix[:, :bars, :bars] = compliance * (d[:, :, None] * d[:, None, :])
    matrix[:, bars:, :bars] = turned * e[:, None, None]
    matrix[:, :bars, bars:] = np.swapaxes(matrix[:, bars:, :bars], 1, 2)
    held = np.ones(bodies) if clamped else k * e * e
    matrix[:, bars:, bars:] = -np.eye(2) * held[:, None, None]
    by_gap = np.max(np.abs(problem.gap) / flexibility[of], axis=-1, initial=0.0)
    longest = np.max(np.abs(lever), axis=(1, 2), initial=0.0)
    by_moment = np.hypot(*problem.tipping.T) / np.where(longest > 0.0, longest, 1.0)[of]
    return _Scaled(
        problem=problem,
        of=of,
        compliance=compliance,
        lever=lever,
        matrix=matrix,
        right=np.concatenate([problem.gap * d[of], -problem.tipping * e[of, None]], axis=-1),
        per_bar=d,
        per_tilt=e[:, None],
        slack=_TOLERANCE * np.maximum(by_gap, by_moment)[:, None],
    )


def each_times(rows: Array, matrices: Array, of: NDArray[np.intp] | None) -> Array:
    """Each of ``rows`` (n, I) times its own of ``matrices`` (B, I, J), (n, J); of one for all, without."""
    if of is None or len(matrices) == 1:
        return np.asarray(rows @ matrices[0])
    return np.asarray((rows[:, None, :] @ matrices[of])[:, 0])


def _next_set(scaled: _Scaled, cases: Indexes, trial: _Trial, pulling: Bools, held: Bools) -> Bools:
    slack = scaled.slack[cases]
    return np.asarray(held & np.where(pulling, trial.tension >= -slack, trial.missing > slack))


def _distinct(pulling: Bools, of: NDArray[np.intp]) -> tuple[Indexes, Indexes]:
    """The first case with each body's set of pulling bars, and with which of them each case shares it."""
    bars = pulling.shape[-1]
    if bars >= _BITS // 2:
        each = np.arange(len(pulling))
        return each, each
    codes = (pulling @ (1 << np.arange(bars)) + (of << bars)).tolist()
    place: dict[int, int] = {}
    first: list[int] = []
    for n, code in enumerate(codes):
        if code not in place:
            place[code] = len(place)
            first.append(n)
    return np.array(first, dtype=np.intp), np.array([place[code] for code in codes], dtype=np.intp)


def _try_set(scaled: _Scaled, cases: Indexes, pulling: Bools) -> _Trial:
    """Tensions (n, G) and tilt with just the ``pulling`` (n, G) bars in place, pulling or pushing.

    A movement that nothing resists gets its least value, by leaving out its eigenvalue; whether something
    drives it shows in the balance.
    """
    bars = pulling.shape[-1]
    kept = np.ones((len(cases), bars + 2))
    kept[:, :bars] = pulling
    of = scaled.of[cases]
    first, which = _distinct(pulling, of)
    one = kept[first]
    matrices = scaled.matrix[of[first]] * one[:, :, None] * one[:, None, :]
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
    per_bar = scaled.per_bar[of]
    tension, tilt = solved[:, :bars] * per_bar * pulling, solved[:, bars:] * scaled.per_tilt[of]
    stretch = scaled.problem.gap[cases] - each_times(tension, scaled.compliance, of)
    stretch -= each_times(tilt, scaled.lever, of)
    missing = np.where(pulling, 0.0, stretch * per_bar**2)
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
