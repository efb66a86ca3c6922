"""What can't stand together: bases too near, guys that foul each other, lines that cross or share a span."""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.assess.index import Index
from planforge.calc.arrays import Array
from planforge.proposal.candidate import Candidate
from planforge.proposal.cover import Conflict, cliques
from planforge.proposal.edges import proposal_of
from planforge.proposal.sites import Site, distances

SAME_PLACE = 1e-6  # m


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
    """Whose guys come too near; those that ``known`` bars already are not looked at."""
    keep = proposal_of(index).guying.apart
    at = np.array([s.at for s in sites])
    segments = [guy_segments(index, s) for s in sites]
    reach = [max((float(np.hypot(*(np.asarray(g.to) - s.at))) for g in s.guys), default=0.0) for s in sites]
    together = [set(s.phases) for s in sites]
    bars = np.zeros(known.shape, dtype=bool)
    for i, j in np.argwhere(np.triu(distances(at, at) < np.add.outer(reach, reach) + keep, 1) & ~known):
        own, other = segments[i], segments[j]
        if together[i] & together[j] and len(own) and len(other):
            bars[i, j] = float(np.min(segment_gaps(own, other))) < keep
    return bars


def guy_segments(index: Index, site: Site) -> Array:
    """Each guy in space, from its attachment to its anchor, m, (G, 2, 3)."""
    base = index.job.layout.levels[proposal_of(index).stands_on]
    return np.array([[[*site.at, base + g.height], [*g.to, g.elevation]] for g in site.guys]).reshape(
        -1, 2, 3
    )


def segment_gaps(own: Array, other: Array) -> Array:
    """Least distance between every one of (A, 2, 3) and every one of (B, 2, 3) straight segments, m, (A, B).

    Source: D. Eberly, Robust computation of distance between line segments (from memory).
    """
    p, q = own[:, None, 0], other[None, :, 0]
    d, e = own[:, None, 1] - p, other[None, :, 1] - q
    r = p - q
    a, b, c = (np.sum(x * y, axis=-1) for x, y in ((d, d), (d, e), (e, e)))
    f, g = np.sum(d * r, axis=-1), np.sum(e * r, axis=-1)
    bend = a * c - b * b
    s = np.where(bend > 1e-12, np.clip((b * g - c * f) / np.where(bend > 1e-12, bend, 1.0), 0.0, 1.0), 0.0)
    t = np.clip((b * s + g) / c, 0.0, 1.0)
    s = np.clip((b * t - f) / a, 0.0, 1.0)
    return np.asarray(np.linalg.norm(r + s[..., None] * d - t[..., None] * e, axis=-1))


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
