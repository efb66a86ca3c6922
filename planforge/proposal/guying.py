"""Guys for a post at a place: to which plates, so that they hold every pull its lines may bring.

Plate anchors are tried along the walls that take guys, at angles within the maker's band. Of all sets of as
many as the kind of post needs, one with a great least capacity over the pulls is taken, found by building up
and exchanging (`guy_sets`). Where the post falls short under nominal pulls with so many, one guy more is
tried, up to what `proposal.guying.most` allows: the fewest that hold are taken. Statics only; the post's
mechanics are reckoned afterwards by `assess`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.assess.index import Index
from planforge.calc.arrays import Array
from planforge.job.building import Wall
from planforge.job.layout import GuyLine
from planforge.proposal.edges import proposal_of
from planforge.proposal.guy_sets import Kept, good_sets, many_sets, rounded
from planforge.proposal.sites import Failure, Site, even_steps, named_place
from planforge.proposal.under_load import Loaded, margins_each
from planforge.units import LBF

SECTORS = 24
"""Directions in which anchors are told apart: in each, the flattest few are tried."""

A_SECTOR = 2
NOMINAL_LINE = 3600 * LBF
NOMINAL_FACTOR = 2.0
ACROSS = 0.4
"""The pull of a line, N, the part of it that workers over a side pull across, and the factor under which
ways of guying are compared; planforge's own choice. What is chosen is reckoned with the lines' own loads."""


@dataclass(frozen=True)
class Plates:
    """Every place for a plate anchor, in order; where guys may be attached at several heights, once for each.
    W places.
    """

    at: Array  # (W, 2) plan, m
    elevation: Array  # (W,) m
    plate: Array  # (W,) rad
    from_phase: NDArray[np.intp]  # (W,) the first phase, by number, in which the wall stands plumbed
    height: Array  # (W,) m, where a guy to it is attached, above the underside of the post's base


@dataclass(frozen=True)
class Ways:
    """Ways of guying a post that hold its pulls, by statics, the best first. M ways among N anchors."""

    anchors: NDArray[np.intp]  # (N,) of the plates' places
    uses: NDArray[np.bool_]  # (M, N), whether a way uses an anchor
    holds: Array  # (M,) the least multiple of its pulls that it holds at a tension of 1
    height: Array  # (M,) m, where its guys are attached


def plates(index: Index, *, lower: bool = False) -> Plates:
    """Plate anchors along the walls that take guys, evenly from end to end of each straight piece.

    With ``lower``, each for guys at every height that `proposal.guying` allows, else at the highest. A wall
    that is raised in a phase takes guys from the next on: bases and guys come after walls are plumbed.
    """
    building = index.job.building
    order = {p: n for n, p in enumerate(index.shared_phases())}
    found: list[tuple[float, float, float, float, int]] = []
    for wall in building.walls if building else []:
        if wall.takes_guys:
            first = 0 if wall.raised is None else order[wall.raised] + 1
            found += [(*at, wall.top, plate, first) for at, plate in _along(index, wall)]
    unique = sorted(set(found))
    guying = proposal_of(index).guying
    heights = np.array([guying.height, *(guying.lower if lower else [])])
    table = np.tile(np.array(unique, dtype=float).reshape(-1, 5), (len(heights), 1))
    height = np.repeat(heights, len(unique))
    return Plates(table[:, :2], table[:, 2], table[:, 3], table[:, 4].astype(np.intp), height)


def _along(index: Index, wall: Wall) -> list[tuple[tuple[float, float], float]]:
    guying = proposal_of(index).guying
    out = []
    for start, end in pairwise(np.asarray(wall.path)):
        run = end - start
        length = float(np.hypot(*run))
        plate = float(np.arctan2(run[1], run[0]) % np.pi)
        # a plate anchor keeps off the plate's ends, where walls lap
        for step in even_steps(length, 0.5 * guying.spacing, guying.spacing):
            x, y = start + step / length * run
            out.append(((round(float(x), 6), round(float(y), 6)), round(plate, 9)))
    return out


Guyed = tuple[tuple[GuyLine, ...], Failure | None, int]
"""A post's guys, what it fails where it has none, and its first phase by number."""


def guyed_each(index: Index, walls: Plates, posts: Sequence[tuple[Site, Array]]) -> list[Guyed]:
    """Guys of posts, each at a site for its pulls (P, 2), vectors along its lines; reckoned as one batch.

    Where too few plate anchors lie within the band, the failure says so and there are no guys.
    """
    found: list[Guyed | _Guying] = [_Guying.begun(index, walls, site, pulls) for site, pulls in posts]
    open_ = [one for one in found if isinstance(one, _Guying)]
    while open_:
        _try_next_number(index, walls, open_)
        open_ = [one for one in open_ if not one.done]
    return [one.outcome(walls) if isinstance(one, _Guying) else one for one in found]


@dataclass
class _Guying:
    """A post on its way to its guys: ``number`` of them are tried next, up to ``most``."""

    site: Site
    anchors: NDArray[np.intp]
    near: NDArray[np.bool_]
    vectors: Array
    wanted: Array
    number: int
    most: int
    best: tuple[float, tuple[GuyLine, ...]] | None = None  # the least margin, and the guys

    @staticmethod
    def begun(index: Index, walls: Plates, site: Site, pulls: Array) -> _Guying | Guyed:
        """The post with its plate anchors to try; or why it can't be guyed."""
        guying = proposal_of(index).guying
        count, where = index.post_kinds[site.kind].guys, named_place(site.at)
        kind = {g.id: g for g in index.job.equipment.guys}[guying.kind]
        if kind.least_angle is None or kind.greatest_angle is None:
            return (), Failure(f"guy's angle: the maker's band of {kind.id} is not stated", where), 0
        anchors = _anchors(index, site, walls)
        if count < 1 or len(anchors) < count:
            need = (
                f"guys: fewer than {max(count, 1)} plate anchors on walls that take guys, "
                "within the maker's band"
            )
            return (), Failure(need, where, float(len(anchors)), float(count), ""), 0
        vectors, near = rounded(_vectors(index, site, walls, anchors)), _too_near(index, walls, anchors)
        wanted, most = rounded(_with_across(_wanted(pulls))), max(count, guying.most or count)
        return _Guying(site, anchors, near, vectors, wanted, count, most)

    @property
    def done(self) -> bool:
        """True where it holds, or no more guys are allowed."""
        return (self.best is not None and self.best[0] > 0.0) or self.number > self.most

    def outcome(self, walls: Plates) -> Guyed:
        """The guys found."""
        if self.best is None:
            where = named_place(self.site.at)
            return (), Failure("guys: no set of plate anchors within the band holds its lines", where), 0
        return self.best[1], None, first_phase(walls, self.best[1])


def _try_next_number(index: Index, walls: Plates, posts: list[_Guying]) -> None:
    """Reckon the good sets of each post's number of guys, and keep the best."""
    tried = [
        (post, tuple(guy_line(index, walls, n) for n in sorted(post.anchors[list(one)].tolist())))
        for post in posts
        for one in good_sets(post.vectors, post.wanted, post.near, post.number)
    ]
    for (post, guys), least in zip(tried, _least_each(index, tried), strict=True):
        if post.best is None or least > post.best[0]:
            post.best = least, guys
    for post in posts:
        post.number += 1


def _least_each(index: Index, tried: list[tuple[_Guying, tuple[GuyLine, ...]]]) -> list[float]:
    """The least margin of each post with its guys under nominal pulls, as `assess` reckons it."""
    loaded = [Loaded(index, replace(p.site, guys=guys), "site", NOMINAL_FACTOR) for p, guys in tried]
    pulls = [np.column_stack([p.wanted, np.zeros(len(p.wanted))]) * NOMINAL_LINE for p, _ in tried]
    # to a hundredth: guys that mirror each other are the same, whatever rounding says
    return [round(min(m.value for m in own), 2) for own in margins_each(loaded, pulls)]


def ways(index: Index, site: Site, walls: Plates, pulls: Array, free: NDArray[np.bool_]) -> Ways:
    """Many ways of guying a post for its ``pulls`` (P, 2), to plate anchors that are ``free`` (W,).

    All guys of a way are attached at one height. Sets are built up guy by guy, the best `BREADTH` of each
    size kept. Of those that hold every pull the best few are taken overall, the best few with each anchor and
    the best few without it, so that whichever a neighbour leaves there are some.
    """
    parts = [_ways_at(index, site, walls, pulls, free & (walls.height == h)) for h in np.unique(walls.height)]
    holds = np.concatenate([p.holds for p in parts])
    uses = np.zeros((len(holds), sum(len(p.anchors) for p in parts)), dtype=bool)
    row = column = 0
    for p in parts:
        uses[row : row + len(p.holds), column : column + len(p.anchors)] = p.uses
        row, column = row + len(p.holds), column + len(p.anchors)
    order = np.argsort(-np.round(holds, 9), kind="stable")
    return Ways(
        np.concatenate([p.anchors for p in parts]),
        uses[order],
        holds[order],
        np.concatenate([p.height for p in parts])[order],
    )


def _ways_at(index: Index, site: Site, walls: Plates, pulls: Array, free: NDArray[np.bool_]) -> Ways:
    """The ways with guys at one height, to the anchors that are ``free``."""
    guying = proposal_of(index).guying
    count = index.post_kinds[site.kind].guys
    anchors = _anchors(index, site, walls, free, a_sector=A_SECTOR + 1)
    kept = Kept(np.empty((0, len(anchors)), dtype=bool), np.empty(0))
    if 1 <= count <= len(anchors):
        vectors = rounded(_vectors(index, site, walls, anchors))
        wanted, near = rounded(_with_across(_wanted(pulls))), _too_near(index, walls, anchors)
        kept = many_sets(vectors, wanted, near, count, max(count, guying.most or count))
    height = walls.height[anchors][:1]
    return Ways(anchors, kept.uses, kept.holds, np.repeat(height, len(kept.holds)))


def _anchors(
    index: Index,
    site: Site,
    walls: Plates,
    free: NDArray[np.bool_] | None = None,
    a_sector: int = A_SECTOR,
) -> NDArray[np.intp]:
    """The plate anchors to try for a post: within the maker's band, the flattest few in each direction."""
    guying = proposal_of(index).guying
    kind = {g.id: g for g in index.job.equipment.guys}[guying.kind]
    assert kind.least_angle is not None and kind.greatest_angle is not None  # looked at before
    run = walls.at - np.asarray(site.at)
    rise = index.job.layout.levels[proposal_of(index).stands_on] + walls.height - walls.elevation
    angle = np.arctan2(np.hypot(*run.T), rise)
    margin = np.radians(0.1)  # what snapping and printing may turn it
    inside = (angle >= kind.least_angle.value + margin) & (angle <= kind.greatest_angle.value - margin)
    inside &= ~_crossing(index, site, walls)
    if free is not None:
        inside &= free
    each = [_per_sector(run, angle, inside & (walls.height == h), a_sector) for h in np.unique(walls.height)]
    return np.sort(np.concatenate([np.empty(0, dtype=np.intp), *each]))


def _vectors(index: Index, site: Site, walls: Plates, anchors: NDArray[np.intp]) -> Array:
    """What each guy holds of a pull at the head, at a tension of 1: the less the lower it is, (N, 2)."""
    run = walls.at[anchors] - np.asarray(site.at)
    base = index.job.layout.levels[proposal_of(index).stands_on]
    rise = base + walls.height[anchors] - walls.elevation[anchors]
    lever = walls.height[anchors] / index.post_kinds[site.kind].head_height
    return np.asarray(lever[:, None] * run / np.hypot(np.hypot(*run.T), rise)[:, None])


def _too_near(index: Index, walls: Plates, anchors: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which two plate anchors stand nearer to each other than they may, (N, N)."""
    at = walls.at[anchors]
    return np.asarray(np.linalg.norm(at[:, None] - at[None], axis=-1) < proposal_of(index).guying.apart)


def first_phase(walls: Plates, guys: tuple[GuyLine, ...]) -> int:
    """The first phase, by number, in which every wall that these guys are anchored to stands plumbed."""
    order = [int(g.id.removeprefix("guy-")) for g in guys]
    return int(walls.from_phase[order].max())


def guy_line(index: Index, walls: Plates, n: int) -> GuyLine:
    """A guy to a plate anchor, by the anchor's number."""
    return GuyLine.model_construct(
        id=f"guy-{n}",
        kind=proposal_of(index).guying.kind,
        height=float(walls.height[n]),
        to=(float(walls.at[n, 0]), float(walls.at[n, 1])),
        elevation=float(walls.elevation[n]),
        plate=float(walls.plate[n]),
    )


def _crossing(index: Index, site: Site, walls: Plates) -> NDArray[np.bool_]:
    """Which guys would cross an opening in plan that is no wall opening, (W,)."""
    ends = np.stack([np.broadcast_to(site.at, walls.at.shape), walls.at], axis=1)
    runs = shapely.linestrings(ends) if len(ends) else np.empty(0, dtype=object)
    crossing = np.zeros(len(walls.at), dtype=bool)
    for opening in index.job.layout.openings:
        if opening.kind in ("floor hole", "stair opening", "shaft"):
            crossing |= shapely.intersects(runs, shapely.polygons(np.asarray(opening.outline)))
    return crossing


def _per_sector(run: Array, angle: Array, inside: NDArray[np.bool_], a_sector: int) -> NDArray[np.intp]:
    """The flattest few anchors in each direction: they are loaded least."""
    sector = np.round(np.arctan2(run[:, 1], run[:, 0]) / (2 * np.pi / SECTORS)).astype(int) % SECTORS
    order = np.lexsort((run[:, 1], run[:, 0], -np.round(angle, 6)))
    taken: list[int] = []
    count = np.zeros(SECTORS, dtype=int)
    for n in order:
        if inside[n] and count[sector[n]] < a_sector:
            taken.append(int(n))
            count[sector[n]] += 1
    return np.array(sorted(taken), dtype=np.intp)


def _wanted(pulls: Array) -> Array:
    """Pulls (Q, 2) to be held: each direction once, and every two of them together."""
    coarse = np.round(np.arctan2(pulls[:, 1], pulls[:, 0]) / np.radians(15.0)).astype(int) % 24
    single = [pulls[coarse == c].mean(axis=0) for c in np.unique(coarse)]
    both = [a + b for a, b in combinations(single, 2) if np.hypot(*(a + b)) > 0.7]
    return np.array([*single, *both]).reshape(-1, 2)


def _with_across(wanted: Array) -> Array:
    """Each pull straight, with the workers over either side, and what they pull across alone, (5Q, 2)."""
    aside = ACROSS * np.stack([-wanted[:, 1], wanted[:, 0]], axis=1)
    return np.concatenate([wanted, wanted + aside, wanted - aside, aside, -aside])
