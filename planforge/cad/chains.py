"""Strands joined end to end: lines and arcs drawn piece by piece become outlines and paths.

Points (n, 3) in m, on the plan. Two ends nearer than the stated distance are one point; the end that comes
first in the drawing stays where it is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from planforge.calc.arrays import Array

_SLACK = 1e-9
"""What the last digits of a sum may differ by (m): ends just as far apart as allowed are joined."""


@dataclass(frozen=True)
class Chain:
    """A path or outline on the plan, with what it was drawn as."""

    points: Array  # (n, 3), m; a closed one does not repeat its first
    closed: bool
    handles: tuple[str, ...]
    deviation: float = 0.0  # how far a curve may lie from its chords, m
    moved: float = 0.0  # how far an end was moved to meet another, m

    @property
    def handle(self) -> str:
        """The handle by which it is named: the lowest of those it is drawn with."""
        return min(self.handles, key=lambda h: (len(h.partition(".")[0]), h))

    @property
    def length(self) -> float:
        """Its length in plan, m."""
        points = np.concatenate([self.points, self.points[:1]]) if self.closed else self.points
        return float(np.sum(np.hypot(*np.diff(points[:, :2], axis=0).T)))


@dataclass(frozen=True)
class Fork:
    """A place where more than two ends meet."""

    at: Array  # (3,)
    handles: tuple[str, ...]


@dataclass(frozen=True)
class Joined:
    """Chains with what was noticed on the way."""

    chains: tuple[Chain, ...]
    forks: tuple[Fork, ...]
    twice: tuple[Chain, ...]  # drawn a second time, left out
    empty: tuple[Chain, ...]  # without length, left out


def join(pieces: Sequence[Chain], distance: float) -> Joined:
    """Join pieces whose ends meet within ``distance``, except where more than two meet."""
    distance += _SLACK
    kept, twice, empty = sorted_out(pieces, distance)
    whole = [_closed(p, distance) for p in kept]
    open_ones = [p for p in whole if not p.closed]
    nodes = _nodes(open_ones, distance)
    meeting: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for number, (start, end) in enumerate(nodes):
        meeting[start].append((number, 0))
        meeting[end].append((number, 1))
    forks = tuple(
        Fork(open_ones[ends[0][0]].points[-ends[0][1]], tuple(open_ones[n].handle for n, _ in ends))
        for ends in meeting.values()
        if len(ends) > 2
    )
    walked = _walk(open_ones, nodes, meeting)
    chains = sorted([*(p for p in whole if p.closed), *walked], key=lambda c: _order(c.handle))
    return Joined(tuple(chains), forks, tuple(twice), tuple(empty))


def apart(pieces: Sequence[Chain], distance: float) -> Joined:
    """Pieces as they are drawn, none joined to another."""
    kept, twice, empty = sorted_out(pieces, distance + _SLACK)
    return Joined(tuple(_closed(p, distance + _SLACK) for p in kept), (), tuple(twice), tuple(empty))


def sorted_out(pieces: Sequence[Chain], distance: float) -> tuple[list[Chain], list[Chain], list[Chain]]:
    """Pieces to keep, those that are drawn twice, and those without length."""
    empty = [p for p in pieces if _without_length(p, distance)]
    kept, twice = _without_repeats([p for p in pieces if not _without_length(p, distance)], distance)
    return kept, twice, empty


def _order(handle: str) -> tuple[int, str]:
    return len(handle.partition(".")[0]), handle


def _without_length(piece: Chain, distance: float) -> bool:
    spread = piece.points.max(axis=0) - piece.points.min(axis=0)
    return len(piece.points) < 2 or float(np.hypot(spread[0], spread[1])) <= distance


def _closed(piece: Chain, distance: float) -> Chain:
    """A piece whose own two ends meet is closed."""
    if piece.closed or len(piece.points) < 4:
        return piece
    gap = float(np.linalg.norm(piece.points[0] - piece.points[-1]))
    return piece if gap > distance else replace(piece, points=piece.points[:-1], closed=True, moved=gap)


def _without_repeats(pieces: list[Chain], distance: float) -> tuple[list[Chain], list[Chain]]:
    """Leave out what is drawn twice: the same points within ``distance``, either way round."""
    if not pieces:
        return [], []
    near: dict[int, list[int]] = defaultdict(list)
    middles = np.array([p.points.mean(axis=0) for p in pieces])
    for one, other in cKDTree(middles).query_pairs(2.0 * distance):
        near[max(one, other)].append(min(one, other))
    twice: set[int] = set()
    for number in sorted(near):
        before = (pieces[n] for n in near[number] if n not in twice)
        if any(_same(pieces[number], other, distance) for other in before):
            twice.add(number)
    kept = [p for n, p in enumerate(pieces) if n not in twice]
    return kept, [pieces[n] for n in sorted(twice)]


def _same(one: Chain, other: Chain, distance: float) -> bool:
    a, b = one.points, other.points
    if one.closed != other.closed or len(a) != len(b):
        return False
    for way in (b, b[::-1]):
        shift = int(np.argmin(np.linalg.norm(way - a[0], axis=1))) if one.closed else 0
        if float(np.abs(a - np.roll(way, -shift, axis=0)).max()) <= distance:
            return True
    return False


def _nodes(pieces: list[Chain], distance: float) -> list[tuple[int, int]]:
    """The number of the place where each piece starts and ends."""
    if not pieces:
        return []
    ends = np.array([p.points[i] for p in pieces for i in (0, -1)])
    group = list(range(len(ends)))

    def root(n: int) -> int:
        while group[n] != n:
            group[n] = group[group[n]]
            n = group[n]
        return n

    for a, b in sorted(cKDTree(ends).query_pairs(distance)):
        group[max(root(a), root(b))] = min(root(a), root(b))
    return [(root(2 * n), root(2 * n + 1)) for n in range(len(pieces))]


def _walk(
    pieces: list[Chain], nodes: list[tuple[int, int]], meeting: dict[int, list[tuple[int, int]]]
) -> list[Chain]:
    used: set[int] = set()
    chains = []
    # first from where a chain can only start, then around what is left: closed rings
    starts = [(n, end) for ends in meeting.values() if len(ends) != 2 for n, end in ends]
    for number, end in [*starts, *((n, 0) for n in range(len(pieces)))]:
        if number in used:
            continue
        run = [(number, end)]
        used.add(number)
        place = nodes[number][1 - end]
        while len(meeting[place]) == 2:
            following = [item for item in meeting[place] if item[0] not in used]
            if not following:
                break
            run.append(following[0])
            used.add(following[0][0])
            place = nodes[following[0][0]][1 - following[0][1]]
        closed = place == nodes[number][end] and len(meeting[place]) == 2
        chains.append(_linked([(pieces[n], e) for n, e in run], closed=closed))
    return chains


def _linked(run: list[tuple[Chain, int]], *, closed: bool) -> Chain:
    parts: list[Array] = []
    moved = 0.0
    for piece, end in run:
        points = piece.points if end == 0 else piece.points[::-1]
        if parts:
            moved = max(moved, float(np.linalg.norm(parts[-1][-1] - points[0])))
            points = points[1:]
        parts.append(points)
    points = np.concatenate(parts)
    if closed:
        moved = max(moved, float(np.linalg.norm(points[0] - points[-1])))
        points = points[:-1]
    return Chain(
        points,
        closed,
        tuple(h for piece, _ in run for h in piece.handles),
        max(piece.deviation for piece, _ in run),
        max(moved, *(piece.moved for piece, _ in run)),
    )
