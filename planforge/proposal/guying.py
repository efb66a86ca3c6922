"""Guys for a post at a place: to which plates, so that they hold every pull its lines may bring.

Plate anchors are tried along the walls that take guys, at angles within the maker's band. Of all sets of as
many as the kind of post needs, one with a great least capacity over the pulls is taken, found by building up
and exchanging. Where the post falls short under nominal pulls with so many, one guy more is tried, up to what
`proposal.guying.most` allows: the fewest that hold are taken. With unit vectors u_i from the post to the
anchors in plan, angles a_i from the post and a tension of 1 in each guy at most, the pulls that can be held
are the zonogon of the vectors sin(a_i) u_i; its reach against a pull is its capacity. Statics only; the
post's mechanics are reckoned afterwards by `assess`.
"""

from __future__ import annotations

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
from planforge.proposal.sites import Failure, Site, even_steps, named_place
from planforge.proposal.under_load import Loaded
from planforge.units import LBF

SECTORS = 24
"""Directions in which anchors are told apart: in each, the flattest few are tried."""

A_SECTOR = 2
ALL_ROUND = 8
NOMINAL_LINE = 3600 * LBF
NOMINAL_FACTOR = 2.0
ACROSS = 0.4
"""The pull of a line, N, the part of it that workers over a side pull across, and the factor under which
ways of guying are compared; planforge's own choice. What is chosen is reckoned with the lines' own loads."""

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
    sets: list[tuple[int, ...]]  # M sets of anchors, by their place in ``anchors``
    holds: Array  # (M,) the least multiple of its pulls that it holds at a tension of 1
    height: Array  # (M,) m, where its guys are attached

    @property
    def uses(self) -> NDArray[np.float32]:
        """1 where a way uses an anchor, (M, N)."""
        table = np.zeros((len(self.sets), len(self.anchors)), dtype=np.float32)
        for k, one in enumerate(self.sets):
            table[k, list(one)] = 1.0
        return table


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


def guyed(
    index: Index, site: Site, walls: Plates, pulls: Array
) -> tuple[tuple[GuyLine, ...], Failure | None, int]:
    """Guys of a post at a site for its ``pulls`` (P, 2), vectors along its lines, and their first phase.

    Where too few plate anchors lie within the band, the failure says so and there are no guys.
    """
    guying = proposal_of(index).guying
    count, where = index.post_kinds[site.kind].guys, named_place(site.at)
    kind = {g.id: g for g in index.job.equipment.guys}[guying.kind]
    if kind.least_angle is None or kind.greatest_angle is None:
        return (), Failure(f"guy's angle: the maker's band of {kind.id} is not stated", where), 0
    anchors = _anchors(index, site, walls)
    if count < 1 or len(anchors) < count:
        need = (
            f"guys: fewer than {max(count, 1)} plate anchors on walls that take guys, within the maker's band"
        )
        return (), Failure(need, where, float(len(anchors)), float(count), ""), 0
    wanted = _with_across(_wanted(pulls))
    best: tuple[float, tuple[GuyLine, ...]] | None = None
    held, near = _Held(_vectors(index, site, walls, anchors), wanted), _too_near(index, walls, anchors)
    for number in range(count, max(count, guying.most or count) + 1):
        for one in _good_sets(held, near, number):
            guys = tuple(guy_line(index, walls, n) for n in sorted(int(anchors[p]) for p in one))
            least = _least(index, site, guys, wanted)
            if best is None or least > best[0]:
                best = least, guys
        if best is not None and best[0] > 0.0:
            break
    if best is None:
        return (), Failure("guys: no set of plate anchors within the band holds its lines", where), 0
    return best[1], None, first_phase(walls, best[1])


def ways(index: Index, site: Site, walls: Plates, pulls: Array, free: NDArray[np.bool_]) -> Ways:
    """Many ways of guying a post for its ``pulls`` (P, 2), to plate anchors that are ``free`` (W,).

    All guys of a way are attached at one height. Sets are built up guy by guy, the best `BREADTH` of each
    size kept. Of those that hold every pull the best few are taken overall, the best few with each anchor and
    the best few without it, so that whichever a neighbour leaves there are some.
    """
    parts = [_ways_at(index, site, walls, pulls, free & (walls.height == h)) for h in np.unique(walls.height)]
    first = np.concatenate([[0], np.cumsum([len(p.anchors) for p in parts])]).astype(int)
    sets = [tuple(a + int(n) for a in one) for n, p in zip(first, parts, strict=False) for one in p.sets]
    holds = np.concatenate([p.holds for p in parts])
    order = np.argsort(-np.round(holds, 9), kind="stable")
    return Ways(
        np.concatenate([p.anchors for p in parts]),
        [sets[n] for n in order],
        holds[order],
        np.concatenate([p.height for p in parts])[order],
    )


def _ways_at(index: Index, site: Site, walls: Plates, pulls: Array, free: NDArray[np.bool_]) -> Ways:
    """The ways with guys at one height, to the anchors that are ``free``."""
    guying = proposal_of(index).guying
    count = index.post_kinds[site.kind].guys
    anchors = _anchors(index, site, walls, free, a_sector=A_SECTOR + 1)
    sets: list[tuple[int, ...]] = []
    holds: list[Array] = []
    if 1 <= count <= len(anchors):
        held = _Held(_vectors(index, site, walls, anchors), _with_across(_wanted(pulls)))
        near = _too_near(index, walls, anchors)
        for number, own in enumerate(_broad(held, near, max(count, guying.most or count)), start=2):
            if number >= count and len(own):
                multiple = held.holds(own)
                kept = _few_of_each(own, multiple, held.count)
                sets += [tuple(s) for s in own[kept].tolist()]
                holds.append(multiple[kept])
    height = walls.height[anchors][:1]
    return Ways(anchors, sets, np.concatenate([np.empty(0), *holds]), np.repeat(height, len(sets)))


def _broad(held: _Held, near: NDArray[np.bool_], most: int) -> list[NDArray[np.intp]]:
    """Sets of 2, 3 and up to ``most`` guys, the best of each size, (M, size) each, their members in order."""
    pairs = np.array([p for p in combinations(range(held.count), 2) if not near[p]], dtype=np.intp).reshape(
        -1, 2
    )
    found = [pairs]
    while found[-1].shape[1] < most and len(found[-1]):
        best = found[-1][np.argsort(-np.round(held.score(found[-1]), 9), kind="stable")[:BREADTH]]
        free = ~near[best].any(axis=1)  # (B, N)
        which, more = np.nonzero(free)
        wider = np.sort(np.column_stack([best[which], more]), axis=1)
        found.append(np.unique(wider, axis=0).astype(np.intp))
    return found


def _few_of_each(sets: NDArray[np.intp], holds: Array, count: int) -> NDArray[np.intp]:
    """Which sets are kept: the best that hold every pull, overall and with and without each anchor."""
    order = np.argsort(-np.round(holds, 9), kind="stable")
    order = order[holds[order] > 1e-9]
    ranked = sets[order]
    kept = set(order[:OVERALL].tolist())
    for anchor in range(count):
        has = (ranked == anchor).any(axis=1)
        kept.update(order[has][:EACH].tolist())
        kept.update(order[~has][:EACH].tolist())
    return np.array(sorted(kept), dtype=np.intp)


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


def _least(index: Index, site: Site, guys: tuple[GuyLine, ...], wanted: Array) -> float:
    """The least margin of the post with these guys under nominal pulls, as `assess` reckons it."""
    post = Loaded(index, replace(site, guys=guys), "site", NOMINAL_FACTOR)
    pulls = np.concatenate([wanted, np.zeros((len(wanted), 1))], axis=1) * NOMINAL_LINE
    # to a hundredth: guys that mirror each other are the same, whatever rounding says
    return round(min(m.value for m in post.margins(pulls)), 2)


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


class _Held:
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


def _good_sets(held: _Held, near: NDArray[np.bool_], count: int) -> list[list[int]]:
    """Good sets of ``count`` guys that hold every pull, those with the better score first.

    Each is built up from one of the best few pairs, so that of sets that mirror each other neither is missed.
    """
    everything = range(held.count)
    pairs = np.array([[a, b] for a, b in combinations(everything, 2) if not near[a, b]], dtype=np.intp)
    if not len(pairs):
        return []
    order = np.argsort(-np.round(held.score(pairs), 9), kind="stable")[:STARTS]
    found = [_built_up(held, near, count, pairs[n].tolist()) for n in order]
    unique = sorted({tuple(sorted(f)) for f in found if f is not None})
    if not unique:
        return []
    sets = np.array(unique, dtype=np.intp)
    holds = held.holds(sets) > 1e-9
    ranked = np.argsort(-np.round(held.score(sets), 9), kind="stable")
    return [sets[n].tolist() for n in ranked if holds[n]]


def _built_up(held: _Held, near: NDArray[np.bool_], count: int, picked: list[int]) -> list[int] | None:
    """A set grown from a pair guy by guy, then exchanged guy by guy while that helps."""

    def best(options: list[list[int]]) -> tuple[float, list[int]]:
        scores = np.round(held.score(np.array(options, dtype=np.intp)), 9)
        n = int(np.argmax(scores))
        return float(scores[n]), options[n]

    def free(others: list[int]) -> list[int]:
        return np.flatnonzero(~near[others].any(axis=0)).tolist()

    score = -np.inf
    while len(picked) < count:
        options = [[*picked, n] for n in free(picked)]
        if not options:
            return None
        score, picked = best(options)
    while True:
        options = [
            [*rest, n]
            for out in picked
            for rest in [[p for p in picked if p != out]]
            for n in free(rest)
            if n != out
        ]
        if not options:
            return picked
        better, changed = best(options)
        if better <= score:
            return picked
        score, picked = better, changed
