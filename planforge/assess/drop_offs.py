"""Drop-offs found from the building's own geometry, phase by phase.

From a job's floors, walls and roofs, its openings, its lot and its dates: every stretch of edge with a
fall beside it, as a :class:`DropOff`. Lengths and elevations in m, x to the right of the sheet, y up it.
A path runs so that the drop lies on its right.

A floor's sides are open from the phase in which it is laid until the one in which it is enclosed; a side that
looks down on another floor or the slab stays open then too, unless a wall raised in an earlier phase
runs along it. Sides that two floors of one level share are no edges. An opening in a floor is
open for as long as the floor is there; what covers or rails it is held against it elsewhere. A wall's top
plate has a drop on both sides in the phases in which someone works on it; a roof's edge likewise.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from planforge.assess.index import Index
from planforge.assess.landing import (
    BESIDE,
    SAME_LEVEL,
    Landing,
    Under,
    crossings,
    openings_at,
    under,
)
from planforge.calc.arrays import Array
from planforge.codes.profile import Profile
from planforge.job.building import Building, Floor, Roof, Wall
from planforge.job.layout import EdgeKind
from planforge.job.site import Phase
from planforge.units import FOOT

STRAIGHT_ON = np.radians(20.0)
"""A path that turns less than this (rad) at a corner is one stretch; planforge's own choice."""

_TINY = 1e-6
_LEAST = 0.01  # m; a shorter piece of edge is drawing noise


@dataclass(frozen=True, eq=False)
class DropOff:
    """A stretch of edge with a drop beside it, in one phase; heights run straight between its points."""

    id: str
    """`F-2.1`: the thing it belongs to and a number, kept in every phase in which the stretch is the same."""
    kind: EdgeKind
    phase: str
    path: Array
    """(N, 2) plan, m; the drop is on the right."""
    top: Array
    """(N,) elevation of the edge, m."""
    below: Array
    """(N,) elevation of what is struck, m."""
    onto: tuple[str, ...]
    """Names of what is struck, in the order along the path."""
    of: str
    """The floor, wall, roof or opening it is the edge of."""
    level: str | None
    """The level of the edge, where it is at one."""

    @property
    def height(self) -> Array:
        """How far one falls, (N,) m."""
        return self.top - self.below

    @property
    def max_height(self) -> float:
        """The greatest fall, m."""
        return float(np.max(self.height))

    @property
    def length(self) -> float:
        """Its length in plan, m."""
        return float(np.hypot(*np.diff(self.path, axis=0).T).sum())

    @property
    def line(self) -> shapely.LineString:
        """Its path in plan."""
        return shapely.linestrings(self.path)


@dataclass(frozen=True)
class Found:
    """Every drop-off of a job."""

    over: tuple[DropOff, ...]  # at or over the trigger height
    under: tuple[DropOff, ...]  # less


@dataclass(frozen=True)
class _Side:
    """A straight side of a thing: where it is, how high, and the way to the spot below it."""

    of: str
    kind: EdgeKind
    ends: Array  # (2, 2)
    top: Array  # (2,)
    beside: Array  # (2,)
    level: str | None
    face_at: float = 0.0  # m from the path to the face over which one falls
    looks_in: bool = False  # only what falls inside the building counts: it is closed to the outside
    face: int = 0  # tells the two faces of a wall apart


@dataclass(frozen=True)
class _Piece:
    side: _Side
    ends: Array
    top: Array
    below: Array
    onto: str
    kind: EdgeKind
    over: bool

    def follows(self, other: _Piece) -> bool:
        """True where this piece carries on the one before it."""
        joined = np.allclose(other.ends[1], self.ends[0], atol=_TINY)
        level = abs(other.top[1] - self.top[0]) < 1e-3 and abs(other.below[1] - self.below[0]) < 1e-3
        same = (self.side.of, self.kind, self.over, self.side.face) == (
            other.side.of,
            other.kind,
            other.over,
            other.side.face,
        )
        return bool(joined and level and same and _turn(other.ends, self.ends) < STRAIGHT_ON)


def drop_offs(index: Index, profile: Profile) -> list[DropOff]:
    """All stretches at or over the profile's trigger height, phase by phase in the order of time."""
    return list(found_drop_offs(index, profile).over)


def found_drop_offs(index: Index, profile: Profile) -> Found:
    """All stretches with a drop, those under the trigger height apart."""
    trigger = profile.limits["trigger_height"].value
    stretches: list[tuple[str, list[_Piece]]] = []
    building = index.job.building
    if building is not None:
        for phase_id in index.shared_phases([]):
            phase = index.phases[phase_id]
            pieces = list(_pieces(index, building, phase, trigger))
            stretches += [(phase_id, chain) for chain in _chains(pieces)]
    named = _named(stretches)
    return Found(
        tuple(d for d, over in named if over),
        tuple(d for d, over in named if not over),
    )


def _pieces(index: Index, building: Building, phase: Phase, trigger: float) -> Iterator[_Piece]:
    known: dict[float, Under] = {}
    for side in _sides(index, building, phase):
        lowest = float(side.top.min())
        if lowest not in known:
            known[lowest] = under(index, phase, lowest, trigger)
        face = side.ends + side.beside * (side.face_at / BESIDE)
        for landing in known[lowest].along(face, side.top, side.beside):
            if landing.inside or not side.looks_in:
                yield from _by_trigger(side, landing, trigger)


def _by_trigger(side: _Side, landing: Landing, trigger: float) -> Iterator[_Piece]:
    """A landing's piece, cut where its height passes the trigger."""
    shares = np.array([landing.start, landing.end])
    top = side.top[0] + shares * (side.top[1] - side.top[0])
    below = np.array(landing.below)
    first, last = (float(h) for h in top - below - trigger)
    cuts = [0.0, 1.0]
    if first * last < 0 and min(abs(first), abs(last)) > _TINY:
        cuts.insert(1, first / (first - last))
    kind = "open-to-below" if landing.inside and side.kind == "perimeter" else side.kind
    for u, v in pairwise(cuts):
        at = shares[0] + np.array([u, v]) * (shares[1] - shares[0])
        ends = side.ends[0] + at[:, None] * (side.ends[1] - side.ends[0])
        if np.hypot(*(ends[1] - ends[0])) < _TINY:
            continue
        over = first + (u + v) / 2 * (last - first) > -_TINY
        pair = np.array([[u], [v]])
        tops = (top[0] + pair * (top[1] - top[0]))[:, 0]
        yield _Piece(
            side, ends, tops, (below[0] + pair * (below[1] - below[0]))[:, 0], landing.onto, kind, over
        )


def _sides(index: Index, building: Building, phase: Phase) -> Iterator[_Side]:
    """Every side of everything that is there, or worked on, in a phase."""
    yield from _floor_sides(index, building, phase)
    yield from _opening_sides(index, building, phase)
    for wall in building.walls:
        if phase.id in wall.worked:
            yield from _plate_sides(index, wall)
    for roof in building.roofs:
        if phase.id in roof.worked:
            yield from _roof_sides(index, building, roof)


def started(index: Index, named: str | None, phase: Phase) -> bool:
    """True where a named phase has begun by the time of another; a thing that names none was always there."""
    order = index.shared_phases([])
    return named is None or order.index(named) <= order.index(phase.id)


def _floor_sides(index: Index, building: Building, phase: Phase) -> Iterator[_Side]:
    levels = index.job.layout.levels
    there = [f for f in building.floors if started(index, f.laid, phase)]
    for floor in there:
        closed = floor.enclosed is not None and started(index, floor.enclosed, phase)
        height = levels[floor.level]
        holes = shapely.union_all([shapely.Polygon(o.outline) for o in openings_at(index, height)])
        others = [
            shapely.Polygon(f.outline)
            for f in there
            if f is not floor and abs(levels[f.level] - height) < SAME_LEVEL
        ]
        beyond = shapely.union_all([*others, holes])
        walled = _walled(index, building, floor, phase) if closed else None
        lines = [shapely.boundary(beyond), *([shapely.boundary(walled)] if walled is not None else [])]
        for ends in ring(floor.outline):
            out = outward(ends)
            for piece in _cut(ends, lines, out):
                middle = piece.mean(axis=0)
                shared = shapely.contains_xy(beyond, *(middle + out))
                hollow = shapely.contains_xy(holes, *(middle - out))
                behind = walled is not None and shapely.contains_xy(walled, *middle)
                if not (shared or hollow or behind):
                    top = np.full(2, height)
                    yield _Side(floor.id, "perimeter", piece, top, out, floor.level, looks_in=closed)


def _walled(index: Index, building: Building, floor: Floor, phase: Phase) -> shapely.Geometry:
    """Where walls raised in an earlier phase run along a floor's sides."""
    order = index.shared_phases([])
    levels = index.job.layout.levels
    strips = [
        shapely.buffer(shapely.LineString(w.path), w.thickness + FOOT, cap_style="flat", join_style="mitre")
        for w in building.walls
        if abs(levels[w.level] - levels[floor.level]) < SAME_LEVEL
        and (w.raised is None or order.index(w.raised) < order.index(phase.id))
    ]
    return shapely.union_all(strips)


def _opening_sides(index: Index, building: Building, phase: Phase) -> Iterator[_Side]:
    """The sides of holes and wells along which a floor at their level is there."""
    levels = index.job.layout.levels
    for opening in index.job.layout.openings:
        if opening.kind == "wall opening":
            continue
        height = levels[opening.level]
        others = [shapely.Polygon(o.outline) for o in openings_at(index, height) if o is not opening]
        floors = [
            shapely.Polygon(f.outline)
            for f in building.floors
            if started(index, f.laid, phase) and abs(levels[f.level] - height) < SAME_LEVEL
        ]
        deck = shapely.difference(shapely.union_all(floors), shapely.union_all(others))
        for ends in ring(opening.outline):
            out = outward(ends)
            for piece in _cut(ends, [shapely.boundary(deck)], out):
                if shapely.contains_xy(deck, *(piece.mean(axis=0) + out)):
                    yield _Side(
                        opening.id, "open-to-below", piece[::-1], np.full(2, height), -out, opening.level
                    )


def _plate_sides(index: Index, wall: Wall) -> Iterator[_Side]:
    """Both faces of a top plate; the path is the centre line, the spots lie beside the framing."""
    level = next((n for n, h in index.job.layout.levels.items() if abs(h - wall.top) < SAME_LEVEL), None)
    for face, path in enumerate((wall.path, wall.path[::-1])):
        for start, end in pairwise(path):
            ends = np.array([start, end], dtype=float)
            yield _Side(
                wall.id,
                "perimeter",
                ends,
                np.full(2, wall.top),
                outward(ends),
                level,
                face_at=wall.thickness / 2,
                face=face,
            )


def _roof_sides(index: Index, building: Building, roof: Roof) -> Iterator[_Side]:
    """A roof's edge: an eave where a side is level, a rake where it rises."""
    corners = np.array(roof.outline, dtype=float)
    heights = np.array(roof.heights, dtype=float)
    if not shapely.is_ccw(shapely.linearrings(corners)):
        corners, heights = corners[::-1], heights[::-1]
    following = np.roll(corners, -1, axis=0), np.roll(heights, -1)
    for ends, top in zip(
        np.stack([corners, following[0]], axis=1), np.stack([heights, following[1]], axis=1), strict=True
    ):
        kind: EdgeKind = "eave" if abs(top[1] - top[0]) < SAME_LEVEL else "rake"
        out = outward(ends)
        level = next(
            (n for n, h in index.job.layout.levels.items() if np.all(np.abs(top - h) < SAME_LEVEL)), None
        )
        others = [shapely.Polygon(r.outline) for r in building.roofs if r is not roof]
        for piece, part in _cut_with(ends, top, [shapely.boundary(o) for o in others], out):
            if not _ridge(building, roof, piece, part, out):
                yield _Side(roof.id, kind, piece, part, out, level)


def _ridge(building: Building, roof: Roof, ends: Array, top: Array, out: Array) -> bool:
    """True where another roof's edge runs along this one no lower than it: a ridge, a valley, a seam."""
    middle = ends.mean(axis=0)
    for other in building.roofs:
        if other is roof or not shapely.contains_xy(shapely.Polygon(other.outline), *(middle + out)):
            continue
        rim = np.array([*other.outline, other.outline[0]], dtype=float)
        heights = np.array([*other.heights, other.heights[0]], dtype=float)
        line = shapely.linestrings(rim)
        if shapely.distance(line, shapely.points(middle)) < BESIDE:
            at = shapely.line_locate_point(line, shapely.points(middle))
            along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(rim, axis=0).T))])
            if float(np.interp(at, along, heights)) > float(top.mean()) - SAME_LEVEL:
                return True
    return False


def ring(outline: Iterable[tuple[float, float]]) -> Array:
    """The sides (N, 2, 2) of an outline, counter-clockwise, so that its outside lies on their right."""
    corners = np.array(list(outline), dtype=float)
    if not shapely.is_ccw(shapely.linearrings(corners)):
        corners = corners[::-1]
    return np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)


def outward(ends: Array) -> Array:
    """The way to the right of a side, :data:`BESIDE` long."""
    run = ends[1] - ends[0]
    right: Array = np.array([run[1], -run[0]]) * (BESIDE / np.hypot(*run))
    return right


def _cut(ends: Array, lines: list[shapely.Geometry], beside: Array) -> Iterator[Array]:
    for piece, _ in _cut_with(ends, np.zeros(2), lines, beside):
        yield piece


def _cut_with(
    ends: Array, top: Array, lines: list[shapely.Geometry], beside: Array
) -> Iterator[tuple[Array, Array]]:
    """A side and its elevations, cut where other outlines cross it."""
    for pair in pairwise(crossings(ends, lines, beside)):
        at = np.array(pair)
        yield ends[0] + at[:, None] * (ends[1] - ends[0]), top[0] + at * (top[1] - top[0])


def _turn(before: Array, after: Array) -> float:
    one, two = before[1] - before[0], after[1] - after[0]
    return float(abs(np.arctan2(one[0] * two[1] - one[1] * two[0], one @ two)))


def _chains(pieces: list[_Piece]) -> list[list[_Piece]]:
    """Pieces put together where one carries on the other, past the corner an outline begins at too."""
    chains: list[list[_Piece]] = []
    for piece in pieces:
        if chains and piece.follows(chains[-1][-1]):
            chains[-1].append(piece)
        else:
            chains.append([piece])
    first: dict[str, int] = {}
    for n, chain in enumerate(chains):
        start = first.setdefault(chain[0].side.of, n)
        if start != n and chains[start][0].follows(chain[-1]):
            chains[start] = [*chain, *chains[start]]
            chains[n] = []
    return [c for c in chains if sum(np.hypot(*(p.ends[1] - p.ends[0])) for p in c) >= _LEAST]


def _named(stretches: list[tuple[str, list[_Piece]]]) -> list[tuple[DropOff, bool]]:
    """Each chain as a drop-off; the same stretch of the same thing keeps its number through the phases."""
    numbers: dict[tuple[object, ...], str] = {}
    counts: dict[str, int] = {}
    out = []
    for phase, chain in stretches:
        side, path, top, below = chain[0].side, *_points(chain)
        key = (side.of, side.face, path.round(4).tobytes(), top.round(4).tobytes())
        if key not in numbers:
            counts[side.of] = counts.get(side.of, 0) + 1
            numbers[key] = f"{side.of}.{counts[side.of]}"
        onto = tuple(dict.fromkeys(p.onto for p in chain))
        found = DropOff(numbers[key], chain[0].kind, phase, path, top, below, onto, side.of, side.level)
        out.append((found, chain[0].over))
    return out


def _points(chain: list[_Piece]) -> tuple[Array, Array, Array]:
    """Path, top and below of a chain, without points at which nothing turns."""
    path = np.array([chain[0].ends[0], *(p.ends[1] for p in chain)])
    top = np.array([chain[0].top[0], *(p.top[1] for p in chain)])
    below = np.array([chain[0].below[0], *(p.below[1] for p in chain)])
    whole = np.column_stack([path, top, below])
    steps = np.diff(whole, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])[:, None]
    rates = steps / lengths
    turns = np.abs(np.diff(rates, axis=0)).max(axis=1) > _TINY
    kept = np.concatenate([[True], turns, [True]])
    return path[kept], top[kept], below[kept]
