"""The guys of several posts chosen together, each for its own lines, so that none fouls another's.

For every post of a layout many ways of guying are kept, by statics. One is chosen for each so that no two
foul each other and the greatest load over strength is as small as it can be: a constraint problem, searched
whole post by post, with what no neighbour leaves room for struck first (Mackworth's arc consistency; from
memory). The ways chosen are then reckoned as `assess` does, and the choice is made again with what that
taught until each way chosen is reckoned and holds. Nothing is said of ways that were not kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components

from planforge.assess.index import Index
from planforge.assess.post_cases import LineEnd
from planforge.calc.arrays import Array
from planforge.job.layout import GuyLine
from planforge.proposal.conflicts import Asked
from planforge.proposal.edges import proposal_of
from planforge.proposal.guying import Plates, Ways, guy_line, ways
from planforge.proposal.sites import Site
from planforge.proposal.under_load import Loaded, margins_under

ROUNDS = 12
"""How often the choice is made again for ways that turn out weaker; planforge's own choice."""

SPREAD = 0.8
"""How much less than statics promises a way not reckoned may be loaded, against the best reckoned;
planforge's own choice. The smaller it is, the more ways are reckoned before one is left out.
"""

STEPS = 3000
"""How many ways are tried in one search, before it counts as without an answer; planforge's own choice."""


@dataclass(frozen=True)
class Carrying:
    """A post of a layout with what it carries there."""

    site: Site
    pulls: Array  # (P, 2) unit vectors along its lines
    ends: tuple[tuple[LineEnd, ...], ...]  # its lines' ends, as they are in use alone or together
    first: int  # the first phase, by number, in which it is needed


@dataclass(frozen=True)
class Beside:
    """Things that stand and are not guyed anew: straight parts with half their thickness."""

    parts: Array  # (S, 2, 3) m, the post first, then its guys
    half: Array  # (S,) m


@dataclass(frozen=True)
class Guyed:
    """Guys for each of several posts; None for one for which none were found.

    For each of those, ``clashes`` names it and the fewest of the others beside which there is no room for it.
    """

    guys: tuple[tuple[GuyLine, ...] | None, ...]
    clashes: tuple[tuple[int, ...], ...]


def guyed_together(
    index: Index, walls: Plates, factor: float, posts: list[Carrying], beside: Iterable[Beside]
) -> Guyed:
    """Guys for several posts that keep clear of each other and of what stands ``beside`` them."""
    around = list(beside)
    return _Together(index, walls, factor, posts, around).chosen()


class _Together:
    """The posts with the ways of guying each, and what is known of these."""

    def __init__(
        self, index: Index, walls: Plates, factor: float, posts: list[Carrying], beside: list[Beside]
    ) -> None:
        self.index, self.walls, self.factor, self.posts = index, walls, factor, posts
        self.asked = Asked(index)
        guy = {g.id: g for g in index.job.equipment.guys}[proposal_of(index).guying.kind]
        self.half = 0.5 * (guy.diameter or 0.0)
        self.ways: list[Ways] = [self._ways(n, beside) for n in range(len(posts))]
        self.beside = self._beside()
        # load over strength: by statics until it is reckoned, in proportion to the best way reckoned so far
        self.reckoned: list[dict[int, float]] = [{} for _ in posts]
        self.clashes: list[tuple[int, ...]] = []

    def _ways(self, n: int, beside: list[Beside]) -> Ways:
        post = self.posts[n]
        masts = [self._mast(p.site) for p in self.posts if p is not post]
        free = self.walls.from_phase <= post.first
        runs = self._runs(post.site, np.arange(len(self.walls.at)))
        for other in [*beside, *masts]:
            free &= ~self._fouled(runs, other.parts, other.half, np.arange(len(other.parts)) > 0).any(axis=1)
        return ways(self.index, post.site, self.walls, post.pulls, free)

    def _fouled(self, runs: Array, other: Array, half: Array, guys: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Which guys (N, 2, 3) and other parts (S, 2, 3) come too near each other, (N, S)."""
        count = len(runs)
        return self.asked.fouled(runs, np.full(count, self.half), np.full(count, True), other, half, guys)

    def _mast(self, site: Site) -> Beside:
        base = self.index.job.layout.levels[proposal_of(self.index).stands_on]
        top = base + self.index.post_kinds[site.kind].head_height
        half = 0.5 * (self.index.post_kinds[site.kind].outer_diameter or 0.0)
        return Beside(np.array([[[*site.at, base], [*site.at, top]]]), np.array([half]))

    def _runs(self, site: Site, anchors: NDArray[np.intp]) -> Array:
        """Guys from a site to plate anchors by number, (N, 2, 3)."""
        base = self.index.job.layout.levels[proposal_of(self.index).stands_on]
        high = np.column_stack(
            [np.broadcast_to(site.at, (len(anchors), 2)), base + self.walls.height[anchors]]
        )
        low = np.column_stack([self.walls.at[anchors], self.walls.elevation[anchors]])
        return np.stack([high, low], axis=1)

    def _beside(self) -> dict[tuple[int, int], NDArray[np.bool_]]:
        """For every two posts that foul each other in some ways, which of their ways go together."""
        runs = [self._runs(p.site, w.anchors) for p, w in zip(self.posts, self.ways, strict=True)]
        uses = [w.uses.astype(np.float32) for w in self.ways]
        found = {}
        for i, j in combinations(range(len(self.posts)), 2):
            if set(self.posts[i].site.phases) & set(self.posts[j].site.phases):
                count = len(runs[j])
                near = self._fouled(runs[i], runs[j], np.full(count, self.half), np.full(count, True))
                fouled = uses[i] @ near.astype(np.float32) @ uses[j].T > 0.0
                if fouled.any():
                    found[i, j], found[j, i] = ~fouled, ~fouled.T
        return found

    def chosen(self) -> Guyed:
        """The ways chosen, once each of them is reckoned and holds."""
        self._reckon(
            [
                (n, int(np.argmax(own.height == height)))
                for n, own in enumerate(self.ways)
                for height in np.unique(own.height)
            ]
        )
        for _ in range(ROUNDS):
            picked = self._pick()
            if self.clashes:
                break  # by statics already; what is reckoned leaves no more room
            new = [(n, k) for n, k in enumerate(picked) if k is not None and k not in self.reckoned[n]]
            if not new:
                break
            self._reckon(new)
        else:
            picked = self._pick(reckoned_only=True)
        guys = tuple(None if k is None else self._guys(n, k) for n, k in enumerate(picked))
        return Guyed(guys, tuple(self.clashes))

    def _guys(self, n: int, k: int) -> tuple[GuyLine, ...]:
        own = self.ways[n]
        return tuple(guy_line(self.index, self.walls, a) for a in sorted(own.anchors[own.uses[k]].tolist()))

    def _reckon(self, every: list[tuple[int, int]]) -> None:
        """Load over strength of posts each guyed one way, under their lines alone and together."""
        loaded = [
            Loaded(self.index, replace(self.posts[n].site, guys=self._guys(n, k)), "site", self.factor)
            for n, k in every
        ]
        found = margins_under(loaded, [list(self.posts[n].ends) for n, _ in every])
        for (n, k), margins in zip(every, found, strict=True):
            self.reckoned[n][k] = 1.0 / (1.0 + min((m.value for m in margins), default=np.inf))

    def _loads(self, n: int, reckoned_only: bool) -> Array:
        """Load over strength of each way of a post, as reckoned or, unless ``reckoned_only``, by statics."""
        own, known = self.ways[n], self.reckoned[n]
        if not len(own.holds):
            return np.empty(0)
        load = 1.0 / own.holds
        for height in np.unique(own.height):
            # the post bends above its guys: ways are told apart by their height
            here = own.height == height
            load[here] *= SPREAD * min(u * own.holds[k] for k, u in known.items() if here[k])
        if reckoned_only:
            load[:] = np.inf
        for k, u in known.items():
            load[k] = u
        return np.asarray(load)

    def _pick(self, *, reckoned_only: bool = False) -> list[int | None]:
        """A way for each post, none fouling another, with the least greatest load of each group.

        None for a post for which those with fewer ways leave no room.
        """
        loads = [self._loads(n, reckoned_only) for n in range(len(self.posts))]
        picked: list[int | None] = [None] * len(self.posts)
        self.clashes = []
        for group in self._groups():
            for n, k in self._pick_of(group, loads).items():
                picked[n] = k
        return picked

    def _groups(self) -> list[list[int]]:
        """Posts that foul each other in some ways, directly or by others between them."""
        pairs = np.array(list(self.beside), dtype=np.intp).reshape(-1, 2)
        count = len(self.posts)
        graph = sp.coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(count, count))
        number, labels = connected_components(graph, directed=False)
        return [np.flatnonzero(labels == g).tolist() for g in range(number)]

    def _pick_of(self, group: list[int], loads: list[Array]) -> dict[int, int]:
        """The ways of one group, without posts for which those before them leave no room."""
        left: list[int] = []
        best: dict[int, int] = {}
        whole = self._at(group, loads, 1.0)
        if whole is not None:
            left, best = group, whole
        else:
            for n in sorted(group, key=lambda n: (int(np.sum(loads[n] <= 1.0)), n)):
                wider = self._at([*left, n], loads, 1.0)
                if wider is not None:
                    left, best = [*left, n], wider
                else:
                    self.clashes.append(self._clash(n, left, loads))
        levels = np.unique(np.concatenate([np.empty(0), *(loads[n] for n in left)]).round(2))
        levels = levels[levels <= 1.0]
        low, high = 0, len(levels) - 1
        while low <= high:
            middle = (low + high) // 2
            better = self._at(left, loads, float(levels[middle]))
            if better is None:
                low = middle + 1
            else:
                best, high = better, middle - 1
        return best

    def _clash(self, n: int, others: list[int], loads: list[Array]) -> tuple[int, ...]:
        """A post and as few as can be of the ``others`` beside all of which there is no room for it."""
        kept = list(others)
        for m in others:
            fewer = [k for k in kept if k != m]
            if self._at([*fewer, n], loads, 1.0) is None:
                kept = fewer
        return (n, *kept) if kept else self._alone(n)

    def _alone(self, n: int) -> tuple[int, ...]:
        """A post that has no way of its own, and the nearest other where the others' masts may be why."""
        post = self.posts[n]
        others = [m for m in range(len(self.posts)) if m != n]
        free = self.walls.from_phase <= post.first
        if len(self.ways[n].holds) or not others:
            return (n,)
        if not len(ways(self.index, post.site, self.walls, post.pulls, free).holds):
            return (n,)
        return n, min(
            others, key=lambda m: float(np.hypot(*np.subtract(self.posts[m].site.at, post.site.at)))
        )

    def _at(self, left: list[int], loads: list[Array], level: float) -> dict[int, int] | None:
        """A way for each of some posts at a load of at most ``level``; None where there is none."""
        open_ = {n: loads[n] <= level + 1e-9 for n in left}
        search = _Search(self.beside, loads)
        return search.found(search.consistent(open_), {})


class _Search:
    """A search for ways that go together, the post with the fewest ways left first."""

    def __init__(self, beside: dict[tuple[int, int], NDArray[np.bool_]], loads: list[Array]) -> None:
        self.beside, self.loads, self.steps = beside, loads, 0

    def found(self, open_: dict[int, NDArray[np.bool_]], chosen: dict[int, int]) -> dict[int, int] | None:
        """The rest of a choice: ``open_`` says which ways of each post are left; None where there is none."""
        if any(not ways_.any() for ways_ in open_.values()):
            return None
        if not open_:
            return chosen
        n = min(open_, key=lambda m: (int(open_[m].sum()), m))
        for k in sorted(np.flatnonzero(open_[n]).tolist(), key=lambda k: (self.loads[n][k], k)):
            self.steps += 1
            if self.steps > STEPS:
                return None
            rest = {
                m: ways_ & self.beside[n, m][k] if (n, m) in self.beside else ways_
                for m, ways_ in open_.items()
                if m != n
            }
            answer = self.found(rest, chosen | {n: k})
            if answer is not None:
                return answer
        return None

    def consistent(self, open_: dict[int, NDArray[np.bool_]]) -> dict[int, NDArray[np.bool_]]:
        """Without ways that leave a neighbour none."""
        open_ = dict(open_)
        changed = set(open_)
        while changed:
            m = changed.pop()
            for n in open_:
                if (n, m) in self.beside:
                    kept = open_[n] & self.beside[n, m][:, open_[m]].any(axis=1)
                    if kept.sum() < open_[n].sum():
                        open_[n] = kept
                        changed.add(n)
        return open_
