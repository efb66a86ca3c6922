"""From the job to the mechanics of a post: its tube, its guys, and how far its head gives way.

A post can be reckoned where its kind states tube and wall and every guy its stiffness. Two bounds of
the base run through everything: pinned, which loads guys and head most, and clamped, which loads the
base anchors most. Azimuths in radians counter-clockwise from the plan's x.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planforge.assess.index import Index
from planforge.calc import guyed_post, tube
from planforge.calc.arrays import Array, Values
from planforge.calc.column import STEEL_E
from planforge.calc.guy import GuyRun, guy_run, joined_stiffness
from planforge.job.base import Rated
from planforge.job.equipment import Guy, PostKind
from planforge.job.layout import GuyLine, Post
from planforge.units import INCH, LBF

NOMINAL_PULL = 2000 * LBF
"""The pull for which a head's secant stiffness is taken, N; planforge's own choice, no source."""

ASSUMED_SOFT_END = 2000 * LBF / INCH
"""N/m; stands in for an end whose least stiffness nobody stated. planforge's own assumption, no source."""

PINNED, CLAMPED = 0.0, np.inf
"""The base's two bounds, N m/rad."""


@dataclass(frozen=True)
class GuyParts:
    """A guy as laid out."""

    line: GuyLine
    kind: Guy
    pieces: tuple[tuple[Guy, float], ...]  # every length with its kind, m
    run: GuyRun

    @property
    def azimuth(self) -> float:
        """In plan from the post to its anchor, rad."""
        return float(self.run.azimuth)

    @property
    def angle(self) -> float:
        """From the post, rad."""
        return float(self.run.angle)

    @property
    def length(self) -> float:
        """From attachment to anchor, m."""
        return float(self.run.length)

    @cached_property
    def stiffness(self) -> float | None:
        """Along the guy, N/m; None where a piece's EA is not stated."""
        given = [kind.axial_stiffness for kind, _ in self.pieces]
        if any(g is None for g in given):
            return None
        values = np.array([g.value for g in given if g is not None])
        return float(joined_stiffness(values, np.array([length for _, length in self.pieces])))

    @property
    def strength(self) -> Rated[float] | None:
        """Breaking strength of its weakest piece; None where one is not stated."""
        given = [kind.strength for kind, _ in self.pieces]
        stated = [g for g in given if g is not None]
        return min(stated, key=lambda g: g.value) if len(stated) == len(given) else None

    @property
    def pretension(self) -> float:
        """The tension it is set to, N; 0 where none is stated."""
        return self.kind.pretension.value if self.kind.pretension else 0.0


@dataclass(frozen=True)
class PostParts:
    """A post with its kind and guys."""

    post: Post
    kind: PostKind
    base: float  # m, elevation of the underside of its base
    guys: tuple[GuyParts, ...]

    @property
    def id(self) -> str:
        """The post's id."""
        return self.post.id

    @cached_property
    def tube(self) -> tube.Tube | None:
        """Its tube; None where it is not stated."""
        if self.kind.outer_diameter is None or self.kind.wall is None:
            return None
        return tube.Tube(self.kind.outer_diameter, self.kind.wall)

    @property
    def modulus(self) -> float:
        """Modulus of elasticity, Pa."""
        return self.kind.steel_modulus.value if self.kind.steel_modulus else STEEL_E

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """What must be stated before the post can be reckoned, by name."""
        wanted = []
        if self.tube is None:
            wanted.append("the tube's outer diameter and wall")
        if not self.guys:
            wanted.append("its guys")
        wanted += [f"guy {g.line.id}: axial stiffness" for g in self.guys if g.stiffness is None]
        return tuple(wanted)

    def directions(self, count: int) -> Array:
        """Azimuths all around, rad, (count,), from its first guy on."""
        start = self.guys[0].azimuth if self.guys else 0.0
        return np.asarray(start + np.linspace(0.0, 2 * np.pi, count, endpoint=False))

    def mechanical(self, base_stiffness: float) -> guyed_post.Post:
        """The post for the solver, with a pinned or clamped base; made once for each."""
        if base_stiffness not in self._mechanical:
            self._mechanical[base_stiffness] = self._post_on(base_stiffness)
        return self._mechanical[base_stiffness]

    def _post_on(self, base_stiffness: float) -> guyed_post.Post:
        section = self.tube
        assert section is not None  # asked for only where nothing is missing
        heights = [j.height for j in self.kind.joints if j.height < self.kind.head_height]
        return guyed_post.Post(
            heights=np.array([*heights, self.kind.head_height]),
            bending_stiffness=self.modulus * tube.second_moment(section),
            axial_stiffness=self.modulus * tube.area(section),
            base_stiffness=base_stiffness,
        )

    def mechanical_guys(self, *, pretensioned: bool) -> guyed_post.Guys:
        """The guys for the solver; made once for each."""
        if pretensioned not in self._guys:
            self._guys[pretensioned] = self._guys_set(pretensioned=pretensioned)
        return self._guys[pretensioned]

    @cached_property
    def _mechanical(self) -> dict[float, guyed_post.Post]:
        return {}

    @cached_property
    def _guys(self) -> dict[bool, guyed_post.Guys]:
        return {}

    def _guys_set(self, *, pretensioned: bool) -> guyed_post.Guys:
        return guyed_post.Guys(
            height=np.array([g.line.height for g in self.guys]),
            azimuth=np.array([g.azimuth for g in self.guys]),
            angle=np.array([g.angle for g in self.guys]),
            stiffness=np.array([g.stiffness for g in self.guys], dtype=float),
            pretension=np.array([g.pretension if pretensioned else 0.0 for g in self.guys]),
        )

    @cached_property
    def own_weight(self) -> Array:
        """Its weight over its height, N/m, (3,)."""
        weight = self.kind.weight or 0.0
        return np.array([0.0, 0.0, -weight * 9.80665 / self.kind.head_height])


def post_parts(index: Index, post: Post) -> PostParts:
    """What a post is made of and where its guys run; gathered once for a post of the job's own."""
    if index.posts.get(post.id) is not post:
        return _gathered(index, post)
    if post.id not in index.gathered:
        index.gathered[post.id] = _gathered(index, post)
    parts: PostParts = index.gathered[post.id]
    return parts


def _gathered(index: Index, post: Post) -> PostParts:
    kinds = {g.id: g for g in index.job.equipment.guys}
    base = index.job.layout.levels[post.stands_on]
    guys = []
    for line in post.guys:
        start = np.array([*post.at, base + line.height])
        run = guy_run(start, np.array([*line.to, line.elevation]))
        joined = [(kinds[p.kind], p.length) for p in line.pieces]
        rest = float(run.length) - sum(length for _, length in joined)
        guys.append(GuyParts(line, kinds[line.kind], ((kinds[line.kind], rest), *joined), run))
    return PostParts(post, index.kind_of(post), base, tuple(guys))


@dataclass(frozen=True)
class HeadStiffness:
    """How a post's head gives way along a line, N/m; the more demanding of what is stated and reckoned."""

    low: float  # the clearance case
    high: float  # the strength case
    assumed: bool  # nobody stated the low one and it can't be reckoned
    reckoned: tuple[float, float] | None  # from tube and guys
    rests_on: tuple[Rated[float], ...]


def head_bounds(index: Index, post: str, azimuth: Values) -> HeadStiffness:
    """Both bounds for a pull on a post's head to ``azimuth``, or the worst of several."""
    parts = post_parts(index, index.posts[post])
    return _bounds(parts, reckoned_stiffness(parts, azimuth))


def head_bounds_each(posts: Sequence[PostParts], azimuths: Sequence[Array]) -> list[list[HeadStiffness]]:
    """Both bounds for each of several pulls (A,) on each post's head, as :func:`head_bounds` one by one.

    Posts alike but for where their guys run are reckoned as one batch.
    """
    found = [[_bounds(parts, None) for _ in own] for parts, own in zip(posts, azimuths, strict=True)]
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for n, parts in enumerate(posts):
        if not parts.missing and len(azimuths[n]):
            groups[parts.kind.id, *(g.line.height for g in parts.guys)].append(n)
    for group in groups.values():
        alike = [posts[n] for n in group]
        ends = np.cumsum([len(azimuths[n]) for n in group])[:-1]
        low, high = (np.split(k, ends) for k in _stiffnesses_each(alike, [azimuths[n] for n in group]))
        for n, a, b in zip(group, low, high, strict=True):
            reckoned = zip(a.tolist(), b.tolist(), strict=True)
            found[n] = [_bounds(posts[n], both if both[0] > 0.0 else None) for both in reckoned]
    return found


def _stiffnesses_each(posts: Sequence[PostParts], azimuths: Sequence[Array]) -> tuple[Array, Array]:
    """Least and greatest stiffness along every pull, N/m, one row each, of posts alike but for their guys."""
    of = np.repeat(np.arange(len(posts)), [len(own) for own in azimuths])
    low, high = (
        guyed_post.head_stiffness_each(
            posts[0].mechanical(base),
            [parts.mechanical_guys(pretensioned=pretensioned) for parts in posts],
            np.concatenate(azimuths),
            of,
            NOMINAL_PULL,
        )
        for base, pretensioned in ((PINNED, False), (CLAMPED, True))
    )
    return low, high


def _bounds(parts: PostParts, reckoned: tuple[float, float] | None) -> HeadStiffness:
    kind = parts.kind
    lows = [kind.stiffness_low.value] if kind.stiffness_low else []
    highs = [kind.stiffness_high.value] if kind.stiffness_high else []
    if reckoned:
        lows.append(reckoned[0])
        highs.append(reckoned[1])
    rated: list[Rated[float] | None] = [kind.stiffness_low, kind.stiffness_high]
    if reckoned:
        rated += [piece.axial_stiffness for g in parts.guys for piece, _ in g.pieces]
    return HeadStiffness(
        low=min(lows, default=ASSUMED_SOFT_END),
        high=max(highs, default=np.inf),
        assumed=not lows,
        reckoned=reckoned,
        rests_on=tuple(r for r in rated if r is not None),
    )


def reckoned_stiffness(parts: PostParts, azimuth: Values) -> tuple[float, float] | None:
    """Least and greatest stiffness of the head along a pull, N/m; None where it can't be reckoned.

    Least: pinned base, guys without pretension. Greatest: clamped base, guys as set.
    """
    if parts.missing:
        return None
    low, high = _stiffnesses(parts, azimuth)
    least, greatest = float(np.min(low)), float(np.max(high))
    return (least, greatest) if least > 0.0 else None


def _stiffnesses(parts: PostParts, azimuth: Values) -> tuple[Array, Array]:
    low = guyed_post.head_stiffness(
        parts.mechanical(PINNED), parts.mechanical_guys(pretensioned=False), azimuth, NOMINAL_PULL
    )
    high = guyed_post.head_stiffness(
        parts.mechanical(CLAMPED), parts.mechanical_guys(pretensioned=True), azimuth, NOMINAL_PULL
    )
    return low, high
