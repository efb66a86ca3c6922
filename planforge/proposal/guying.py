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
from planforge.assess.post_cases import LineEnd
from planforge.calc.arrays import Array
from planforge.job.building import Wall
from planforge.job.layout import GuyLine
from planforge.proposal.conflicts import segment_gaps
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

BESIDE = 0.05
"""How much a post's mean capacity, and its least to any side, count beside the least; planforge's own
choice.
"""


@dataclass(frozen=True)
class Plates:
    """Every place for a plate anchor, in order. W places."""

    at: Array  # (W, 2) plan, m
    elevation: Array  # (W,) m
    plate: Array  # (W,) rad
    from_phase: NDArray[np.intp]  # (W,) the first phase, by number, in which the wall stands plumbed


@dataclass(frozen=True)
class Around:
    """The layout that a post is guyed anew for."""

    guys: Array  # (S, 2, 3) m, the other posts' guys, segments in space
    ends: list[tuple[LineEnd, ...]]  # its lines' ends, as they are in use alone or together
    factor: float  # the code's, over the arrest's own loads


def plates(index: Index) -> Plates:
    """Plate anchors along the walls that take guys, evenly from end to end of each straight piece.

    A wall that is raised in a phase takes guys from the next on: bases and guys come after walls are plumbed.
    """
    building = index.job.building
    order = {p: n for n, p in enumerate(index.shared_phases())}
    found: list[tuple[float, float, float, float, int]] = []
    for wall in building.walls if building else []:
        if wall.takes_guys:
            first = 0 if wall.raised is None else order[wall.raised] + 1
            found += [(*at, wall.top, plate, first) for at, plate in _along(index, wall)]
    unique = sorted(set(found))
    table = np.array(unique, dtype=float).reshape(-1, 5)
    return Plates(table[:, :2], table[:, 2], table[:, 3], table[:, 4].astype(np.intp))


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
    index: Index, site: Site, walls: Plates, pulls: Array, around: Around | None = None
) -> tuple[tuple[GuyLine, ...], Failure | None, int]:
    """Guys of a post at a site for its ``pulls`` (P, 2), vectors along its lines, and their first phase.

    Where a layout is known ``around`` it, they keep clear of its guys and are weighed under its own lines.
    Where too few plate anchors lie within the band, the failure says so and there are no guys.
    """
    proposal = proposal_of(index)
    kind = {g.id: g for g in index.job.equipment.guys}[proposal.guying.kind]
    count = index.post_kinds[site.kind].guys
    where = named_place(site.at)
    if kind.least_angle is None or kind.greatest_angle is None:
        return (), Failure(f"guy's angle: the maker's band of {kind.id} is not stated", where), 0
    base = index.job.layout.levels[proposal.stands_on]
    run = walls.at - np.asarray(site.at)
    flat, rise = np.hypot(*run.T), base + proposal.guying.height - walls.elevation
    angle = np.arctan2(flat, rise)
    margin = np.radians(0.1)  # what snapping and printing may turn it
    inside = (angle >= kind.least_angle.value + margin) & (angle <= kind.greatest_angle.value - margin)
    inside &= ~_crossing(index, site, walls)
    if around is not None and len(around.guys) and np.any(inside):
        inside[inside] &= _clear(index, site, walls.at[inside], walls.elevation[inside], around.guys)
    chosen = _per_sector(run, angle, inside)
    if count < 1 or len(chosen) < count:
        need = (
            f"guys: fewer than {max(count, 1)} plate anchors on walls that take guys, within the maker's band"
        )
        return (), Failure(need, where, float(len(chosen)), float(count), ""), 0
    vectors = np.sin(angle[chosen])[:, None] * run[chosen] / flat[chosen, None]
    near = np.linalg.norm(walls.at[chosen][:, None] - walls.at[chosen][None], axis=-1) < proposal.guying.apart
    wanted = _with_across(_wanted(pulls))
    best: tuple[float, tuple[GuyLine, ...]] | None = None
    held = _Held(vectors, wanted)
    for number in range(count, max(count, proposal.guying.most or count) + 1):
        for one in _good_sets(held, near, number):
            guys = tuple(_line(index, walls, n) for n in sorted(int(chosen[p]) for p in one))
            least = _least(index, site, guys, wanted) if around is None else _own(index, site, guys, around)
            if best is None or least > best[0]:
                best = least, guys
        if best is not None and best[0] > 0.0:
            break
    if best is None:
        return (), Failure("guys: no set of plate anchors within the band holds its lines", where), 0
    order = [int(g.id.removeprefix("guy-")) for g in best[1]]
    return best[1], None, int(walls.from_phase[order].max())


def _least(index: Index, site: Site, guys: tuple[GuyLine, ...], wanted: Array) -> float:
    """The least margin of the post with these guys under nominal pulls, as `assess` reckons it."""
    post = Loaded(index, replace(site, guys=guys), "site", NOMINAL_FACTOR)
    pulls = np.concatenate([wanted, np.zeros((len(wanted), 1))], axis=1) * NOMINAL_LINE
    # to a hundredth: guys that mirror each other are the same, whatever rounding says
    return round(min(m.value for m in post.margins(pulls)), 2)


def _own(index: Index, site: Site, guys: tuple[GuyLine, ...], around: Around) -> float:
    """The least margin of the post with these guys under the lines it carries, in use alone or together."""
    post = Loaded(index, replace(site, guys=guys), "site", around.factor)
    return round(min((m.value for m in post.margin_under(around.ends)), default=np.inf), 2)


def _line(index: Index, walls: Plates, n: int) -> GuyLine:
    guying = proposal_of(index).guying
    return GuyLine.model_construct(
        id=f"guy-{n}",
        kind=guying.kind,
        height=guying.height,
        to=(float(walls.at[n, 0]), float(walls.at[n, 1])),
        elevation=float(walls.elevation[n]),
        plate=float(walls.plate[n]),
    )


def _clear(index: Index, site: Site, at: Array, elevation: Array, others: Array) -> NDArray[np.bool_]:
    """Which guys to plate anchors (W, 2) keep clear of other posts' guys, (W,)."""
    guying = proposal_of(index).guying
    head = np.array([*site.at, index.job.layout.levels[proposal_of(index).stands_on] + guying.height])
    low = np.column_stack([at, elevation])
    own = np.stack([np.broadcast_to(head, low.shape), low], axis=1)
    return np.asarray(segment_gaps(own, others).min(axis=1) >= guying.apart)


def _crossing(index: Index, site: Site, walls: Plates) -> NDArray[np.bool_]:
    """Which guys would cross an opening in plan that is no wall opening, (W,)."""
    ends = np.stack([np.broadcast_to(site.at, walls.at.shape), walls.at], axis=1)
    runs = shapely.linestrings(ends) if len(ends) else np.empty(0, dtype=object)
    crossing = np.zeros(len(walls.at), dtype=bool)
    for opening in index.job.layout.openings:
        if opening.kind in ("floor hole", "stair opening", "shaft"):
            crossing |= shapely.intersects(runs, shapely.polygons(np.asarray(opening.outline)))
    return crossing


def _per_sector(run: Array, angle: Array, inside: NDArray[np.bool_]) -> NDArray[np.intp]:
    """The flattest few anchors in each direction: they are loaded least."""
    sector = np.round(np.arctan2(run[:, 1], run[:, 0]) / (2 * np.pi / SECTORS)).astype(int) % SECTORS
    order = np.lexsort((run[:, 1], run[:, 0], -np.round(angle, 6)))
    taken: list[int] = []
    count = np.zeros(SECTORS, dtype=int)
    for n in order:
        if inside[n] and count[sector[n]] < A_SECTOR:
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
