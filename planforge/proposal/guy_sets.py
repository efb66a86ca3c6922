"""Which sets of guys hold a post's pulls, by statics, and how good ones are found among many anchors.

With unit vectors u_i from the post to the anchors in plan, angles a_i from the post and a tension of 1 in
each guy at most, the pulls that can be held are the zonogon of the vectors sin(a_i) u_i; its reach against a
pull is its capacity.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array
from planforge.memo import remembered

ALL_ROUND = 8
"""To how many sides a pull all round is tried."""

STARTS = 6
"""From how many pairs of guys a set is built up."""

BREADTH = 200
"""How many sets of each size ways of guying are built up from; planforge's own choice."""

OVERALL, EACH = 20, 3
"""How many ways of one size are kept overall, and with and without each anchor; planforge's own choice."""

BESIDE = 0.05
"""How much a post's mean capacity, and its least to any side, count beside the least; planforge's own
choice.
"""


class Held:
    """What sets of guys hold, with what every set has in common reckoned once; see the module."""

    def __init__(self, vectors: Array, wanted: Array) -> None:
        """Take the guys (N, 2), as vectors in plan at a tension of 1, and the pulls (Q, 2) to be held."""
        around = np.linspace(0.0, 2 * np.pi, ALL_ROUND, endpoint=False)
        pulls = np.concatenate([wanted, np.stack([np.cos(around), np.sin(around)], axis=1)])
        self.count, self.wanted = len(vectors), len(wanted)
        turned = np.stack([-vectors[:, 1], vectors[:, 0]], axis=-1)
        self.beyond = turned @ vectors.T  # (N, N): of each guy, to the left of another's line
        against = -turned @ pulls.T  # (N, P)
        self.left = against > 0.0
        with np.errstate(divide="ignore"):
            self.per_pull = np.where(np.abs(against) > 1e-12, 1.0 / np.abs(against), np.inf)

    def reach(self, sets: NDArray[np.intp]) -> Array:
        """How great a multiple of each pull, and then of a pull all round, sets (M, G) hold, (M, P)."""
        beyond = self.beyond[sets[:, :, None], sets[:, None, :]]
        left, right = np.maximum(beyond, 0.0).sum(axis=-1), np.maximum(-beyond, 0.0).sum(axis=-1)
        support = np.where(self.left[sets], left[..., None], right[..., None])
        with np.errstate(invalid="ignore"):
            # a guy in line with the pull bounds nothing
            return np.asarray(np.fmin.reduce(support * self.per_pull[sets], axis=1, initial=np.inf))

    def holds(self, sets: NDArray[np.intp]) -> Array:
        """The least multiple of the pulls to be held, (M,)."""
        return np.asarray(np.min(self.reach(sets)[:, : self.wanted], axis=1))

    def score(self, sets: NDArray[np.intp]) -> Array:
        """The least multiple, with a little for the mean and for pulls all round, (M,)."""
        every = self.reach(sets)
        own = every[:, : self.wanted]
        # the mean tells sets apart that do not hold every pull yet
        beside = np.mean(own, axis=1) + np.min(every[:, self.wanted :], axis=1)
        return np.asarray(np.min(own, axis=1) + BESIDE * beside)


def rounded(vectors: Array) -> Array:
    """Vectors to nine digits: what lies alike about two posts then is one question, answered once."""
    return np.asarray(np.round(vectors, 9) + 0.0, order="C")


@remembered()
def good_sets(
    vectors: Array, wanted: Array, near: NDArray[np.bool_], count: int
) -> tuple[tuple[int, ...], ...]:
    """Good sets of ``count`` guys that hold every pull, those with the better score first.

    Each is built up from one of the best few pairs, so that of sets that mirror each other neither is missed.

    Args:
        vectors, wanted: as :class:`Held` takes them.
        near: (N, N), which two guys can't go together.
        count: how many guys.
    """
    held = Held(vectors, wanted)
    pairs = np.argwhere(np.triu(~near, 1))
    if not len(pairs):
        return ()
    order = np.argsort(-np.round(held.score(pairs), 9), kind="stable")[:STARTS]
    sets = np.unique(np.sort(_built_up(held, near, count, pairs[order]), axis=1), axis=0)
    if not len(sets):
        return ()
    holds = held.holds(sets) > 1e-9
    ranked = np.argsort(-np.round(held.score(sets), 9), kind="stable")
    return tuple(tuple(sets[n].tolist()) for n in ranked if holds[n])


def _built_up(held: Held, near: NDArray[np.bool_], count: int, picked: NDArray[np.intp]) -> NDArray[np.intp]:
    """Sets (M, ``count``) grown from pairs (M, 2) guy by guy, then exchanged guy by guy while that helps.

    A set that finds no further guy is left out.
    """
    count = max(count, 2)

    def scored(rests: NDArray[np.intp], out: NDArray[np.intp] | None = None) -> Array:
        """What each of (K, size) scores with each guy more, (K, N); -inf where it can't have it."""
        free = np.asarray(~near[rests].any(axis=1), dtype=bool)
        if out is not None:
            free[np.arange(len(rests)), out] = False
        which, more = np.nonzero(free)
        scores = np.full(free.shape, -np.inf)
        if len(which):
            wider = np.column_stack([rests[which], more])
            scores[which, more] = np.round(held.score(wider), 9)
        return scores

    score = np.full(len(picked), -np.inf)
    while picked.shape[1] < count and len(picked):
        scores = scored(picked)
        best = np.argmax(scores, axis=1)
        score = scores[np.arange(len(picked)), best]
        picked = np.column_stack([picked, best])[np.isfinite(score)]
        score = score[np.isfinite(score)]
    turning = np.arange(len(picked))
    keep = np.array([[m for m in range(count) if m != n] for n in range(count)], dtype=np.intp)
    while len(turning):
        rests = picked[turning][:, keep].reshape(-1, count - 1)
        scores = scored(rests, picked[turning].ravel()).reshape(len(turning), -1)
        best = np.argmax(scores, axis=1)
        better = scores[np.arange(len(turning)), best]
        helps = better > score[turning]
        places, more = np.divmod(best[helps], held.count)
        turning = turning[helps]
        picked[turning] = np.column_stack([picked[turning[:, None], keep[places]], more])
        score[turning] = better[helps]
    return picked


@dataclass(frozen=True)
class Kept:
    """M sets among N guys, each with the least multiple of its pulls that it holds."""

    uses: NDArray[np.bool_]  # (M, N), whether a set has a guy
    holds: Array  # (M,)


@remembered(room=16 << 20)
def many_sets(vectors: Array, wanted: Array, near: NDArray[np.bool_], count: int, most: int) -> Kept:
    """Sets of ``count`` up to ``most`` guys that hold every pull, the best few of each number.

    Of each number the best few overall, and with and without each guy. Arguments as of :func:`good_sets`.
    """
    held = Held(vectors, wanted)
    uses = [np.empty((0, held.count), dtype=bool)]
    holds = [np.empty(0)]
    for number, own in enumerate(_broad(held, near, most), start=2):
        if number >= count and len(own):
            multiple = held.holds(own)
            table = np.zeros((len(own), held.count), dtype=bool)
            table[np.arange(len(own))[:, None], own] = True
            kept = _few_of_each(table, multiple)
            uses.append(table[kept])
            holds.append(multiple[kept])
    return Kept(np.concatenate(uses), np.concatenate(holds))


def _broad(held: Held, near: NDArray[np.bool_], most: int) -> list[NDArray[np.intp]]:
    """Sets of 2, 3 and up to ``most`` guys, the best of each size, (M, size) each, their members in order."""
    found = [np.argwhere(np.triu(~near, 1))]
    while found[-1].shape[1] < most and len(found[-1]):
        best = found[-1][np.argsort(-np.round(held.score(found[-1]), 9), kind="stable")[:BREADTH]]
        which, more = np.nonzero(~near[best].any(axis=1))  # (B, N)
        wider = np.sort(np.column_stack([best[which], more]), axis=1)
        wider = wider[np.lexsort(wider.T[::-1])]
        # a set reached from several smaller ones counts once
        found.append(
            wider[np.concatenate([[True], np.any(np.diff(wider, axis=0) != 0, axis=1)])[: len(wider)]]
        )
    return found


def _few_of_each(uses: NDArray[np.bool_], holds: Array) -> NDArray[np.intp]:
    """Which sets are kept: the best that hold every pull, overall and with and without each anchor."""
    order = np.argsort(-np.round(holds, 9), kind="stable")
    order = order[holds[order] > 1e-9]
    ranked = uses[order]
    first = [own & (np.cumsum(own, axis=0) <= EACH) for own in (ranked, ~ranked)]
    kept = np.any(first[0] | first[1], axis=1)
    kept[:OVERALL] = True
    return np.sort(order[kept])
