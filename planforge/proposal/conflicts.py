"""What can't stand together: bases too near, guys that foul each other, lines that cross or share a span."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.assess.index import Index
from planforge.assess.post_model import post_parts
from planforge.assess.strands import apart, post_strands
from planforge.calc.arrays import Array
from planforge.calc.segment_gap import nearest
from planforge.proposal.candidate import Candidate
from planforge.proposal.cover import Conflict, cliques
from planforge.proposal.edges import proposal_of
from planforge.proposal.sites import Failure, Site, as_post, distances, named_place

SAME_PLACE = 1e-6  # m

AT_ONCE = 2000
"""How many pairs of sites are reckoned in one go; it bounds the memory, not what is looked at."""


def conflicts(
    index: Index,
    sites: list[Site],
    candidates: list[Candidate],
    *,
    bases: bool = True,
    guys: bool = True,
) -> list[Conflict]:
    """Every conflict among sites, and among candidates of one span or post; of crossings see below.

    ``bases``, ``guys``: False lets the distance between bases, or between guys, pass. No two posts stand at
    one place all the same.
    """
    return [*_places(index, sites, bases=bases, guys=guys), *_one_span(candidates)]


def _places(index: Index, sites: list[Site], *, bases: bool, guys: bool) -> list[Conflict]:
    """Two sites of which one post at most can stand: bases, plate anchors or guys too near to each other."""
    if len(sites) < 2:
        return []
    bars = _bases_bar(index, sites, bases=bases)
    if guys:
        bars |= _guys_bar(index, sites, bars)
    return [Conflict(facilities=clique) for clique in cliques(_barred_pairs(sites, bars))]


def fouling_guys(index: Index, sites: list[Site]) -> list[tuple[int, int]]:
    """Every two sites whose bases are far enough apart but whose guys are not."""
    if len(sites) < 2:
        return []
    return _barred_pairs(sites, _guys_bar(index, sites, _bases_bar(index, sites, bases=True)))


def _barred_pairs(sites: list[Site], bars: NDArray[np.bool_]) -> list[tuple[int, int]]:
    # what the coordinator has pinned side by side is theirs to judge
    return [
        (int(i), int(j))
        for i, j in np.argwhere(np.triu(bars, 1))
        if not (sites[i].pinned and sites[j].pinned)
    ]


def _bases_bar(index: Index, sites: list[Site], *, bases: bool) -> NDArray[np.bool_]:
    at = np.array([s.at for s in sites])
    apart = distances(at, at)
    return np.asarray(apart < (proposal_of(index).bases_apart - 1e-9 if bases else SAME_PLACE))


def _guys_bar(index: Index, sites: list[Site], known: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Whose guys or posts come too near; those that ``known`` bars already are not looked at."""
    at = np.array([s.at for s in sites])
    standing = [standing_parts(index, s) for s in sites]
    reach = np.array([float(np.max(np.hypot(*(p[:, 1, :2] - p[0, 0, :2]).T))) for p, _ in standing])
    order = index.shared_phases()
    in_phase = np.array([[p in s.phases for p in order] for s in sites], dtype=int)
    asked = Asked(index)
    most = max(len(p) for p, _ in standing)
    # a post with fewer guys has its last part several times: that changes no least distance
    parts = np.stack([p[np.minimum(np.arange(most), len(p) - 1)] for p, _ in standing])
    half = np.stack([h[np.minimum(np.arange(most), len(h) - 1)] for _, h in standing])
    is_guy = np.minimum(np.arange(most), np.array([[len(p) - 1] for p, _ in standing])) > 0
    near = distances(at, at) < np.add.outer(reach, reach) + asked.most + 2.0 * float(np.max(half))
    bars = np.zeros(known.shape, dtype=bool)
    pairs = np.argwhere(np.triu(near & (in_phase @ in_phase.T > 0), 1) & ~known)
    for some in np.array_split(pairs, max(len(pairs) // AT_ONCE, 1)):
        i, j = some.T
        fouled = asked.fouled(parts[i], half[i], is_guy[i], parts[j], half[j], is_guy[j])
        bars[i, j] = fouled.any(axis=(1, 2))
    return bars


class Asked:
    """What guys and posts of neighbours keep clear of each other: what `guy.clear` asks, or the proposal's
    own distance where that is more.
    """

    def __init__(self, index: Index) -> None:
        """Take both from the job."""
        self.apart, self.own = apart(index), proposal_of(index).guying.apart
        self.most = max(float(self.apart.asked(np.array(2.0))), self.own)

    def fouled(
        self,
        own: Array,
        own_half: Array,
        own_guys: NDArray[np.bool_],
        other: Array,
        other_half: Array,
        other_guys: NDArray[np.bool_],
    ) -> NDArray[np.bool_]:
        """Which of (..., A, 2, 3) and (..., B, 2, 3) parts come too near, (..., A, B).

        Beside each its half thickness, m, and whether it is a guy, from its attachment to its anchor.
        """
        clear, asked = self.gaps(own, own_half, own_guys, other, other_half, other_guys)
        return np.asarray(clear < asked - 1e-9)

    def gaps(
        self,
        own: Array,
        own_half: Array,
        own_guys: NDArray[np.bool_],
        other: Array,
        other_half: Array,
        other_guys: NDArray[np.bool_],
    ) -> tuple[Array, Array]:
        """How far parts are clear of each other and how far they have to be, m, (..., A, B) each.

        Arguments as of :meth:`fouled`.
        """
        near = nearest(own, other)
        moves = np.where(own_guys[..., :, None], 1.0 - near.own, 1.0)
        moves = moves + np.where(other_guys[..., None, :], 1.0 - near.other, 1.0)
        clear = near.gap - own_half[..., :, None] - other_half[..., None, :]
        return np.asarray(clear), np.maximum(self.apart.asked(moves), self.own)


def too_near(index: Index, sites: list[Site], chosen: list[int], *, bases: bool, guys: bool) -> list[Failure]:
    """For every two ``chosen`` sites nearer than they may be: what is clear between them, and what is asked.

    ``bases``: between their bases; ``guys``: between their posts and guys.
    """
    asked, least = Asked(index), proposal_of(index).bases_apart
    standing = {s: standing_parts(index, sites[s]) for s in chosen}
    found = []
    for i, j in combinations(chosen, 2):
        where = f"{named_place(sites[i].at)} and {named_place(sites[j].at)}"
        off = float(np.hypot(*np.subtract(sites[i].at, sites[j].at)))
        if bases and off < least - 1e-9:
            found.append(Failure("bases apart", where, off, least))
        if guys and set(sites[i].phases) & set(sites[j].phases):
            parts, half = zip(standing[i], standing[j], strict=True)
            clear, need = asked.gaps(
                parts[0], half[0], np.arange(len(half[0])) > 0, parts[1], half[1], np.arange(len(half[1])) > 0
            )
            worst = int(np.argmin(clear - need))
            gap, limit = float(clear.flat[worst]), float(need.flat[worst])
            if gap < limit - 1e-9:
                found.append(Failure("guys apart", where, max(gap, 0.0), limit))
    return found


def standing_parts(index: Index, site: Site) -> tuple[Array, Array]:
    """A site's post and guys in space, the post first, m, (1 + G, 2, 3), and half their thicknesses, m."""
    strands = post_strands(index, post_parts(index, as_post(index, site, "site")))
    half = np.array([0.5 * (s.thickness or 0.0) for s in strands])
    return np.concatenate([s.parts for s in strands]), half


def _one_span(candidates: list[Candidate]) -> list[Conflict]:
    """One line a span, and one anchorage a post."""
    by_sites: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for k, candidate in enumerate(candidates):
        by_sites[tuple(sorted(candidate.sites))].append(k)
    return [Conflict(options=tuple(group)) for group in by_sites.values() if len(group) > 1]


def crossings(sites: list[Site], candidates: list[Candidate], chosen: list[int]) -> list[tuple[int, int]]:
    """Which of the chosen lines cross in plan, or lie over each other, in a phase they share.

    They hang as high, so that one would foul the other; a post at which both end is no crossing.
    """
    lines = [k for k in chosen if candidates[k].is_line]
    if len(lines) < 2:
        return []
    runs = shapely.linestrings([[sites[s].at for s in candidates[k].sites] for k in lines])
    found = []
    for i, j in combinations(range(len(lines)), 2):
        one, two = candidates[lines[i]], candidates[lines[j]]
        if set(one.thing.phases) & set(two.thing.phases) and shapely.intersects(runs[i], runs[j]):
            shared = set(one.sites) & set(two.sites)
            if not shared or shapely.length(shapely.intersection(runs[i], runs[j])) > 1e-6:
                found.append((lines[i], lines[j]))
    return found
