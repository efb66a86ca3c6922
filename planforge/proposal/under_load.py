"""Posts under the pulls of candidate lines: guys, plates, tube, joints and base, case by case.

Everything is reckoned by `assess` at the code's factor; here the ratios of every case are kept apart, so
that a line can be weighed alone and together with those that share its post. Posts that are alike but for
where their guys run are reckoned as one batch: by far the most time goes into calls, not into numbers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from planforge.assess.base_checks import base_loads
from planforge.assess.base_model import Base, bases
from planforge.assess.index import Index
from planforge.assess.load_path import post_ratio
from planforge.assess.post_cases import LineEnd, cases_together
from planforge.assess.post_model import CLAMPED, PINNED, PostParts, post_parts
from planforge.calc.anchor_group import group_ratios_each
from planforge.calc.arrays import Array
from planforge.calc.base_plate import anchor_tensions
from planforge.calc.guy import anchor_force
from planforge.calc.guyed_post import Response, solve_posts
from planforge.job.base import Rated
from planforge.proposal.candidate import UNBOUNDED, Candidate, Margin
from planforge.proposal.sites import Site, as_post

Numbers = NDArray[np.intp]


class Loaded:
    """A post at a site, to be asked for the margin it has under any pulls."""

    def __init__(self, index: Index, site: Site, post_id: str, factor: float) -> None:
        """Gather the post's parts and its base on the slab."""
        self.parts: PostParts = post_parts(index, as_post(index, site, post_id))
        on_slab = bases(index, [self.parts])
        self.base: Base | None = on_slab[0] if on_slab and not on_slab[0].missing else None
        self.factor = factor

    def margins(self, pulls: Array) -> list[Margin]:
        """The least margin under each of ``pulls`` (C, 3), N, the arrest's own."""
        return margins_each([self], [pulls])[0]

    def margin_under(self, each: list[tuple[LineEnd, ...]]) -> list[Margin]:
        """For each set of line ends that pull together, the least margin over every way they can."""
        return margins_under([self], [each])[0]

    @property
    def like(self) -> Hashable:
        """What posts have in common that are reckoned together."""
        base = None
        if self.base is not None:
            slab = self.base.slab_data()
            base = (slab.strength, slab.thickness, slab.cracked, slab.lightweight)
        heights = tuple(g.line.height for g in self.parts.guys)
        return self.parts.kind.id, heights, self.factor, base


def margins_under(posts: Sequence[Loaded], each: Sequence[list[tuple[LineEnd, ...]]]) -> list[list[Margin]]:
    """For each post and each set of line ends that pull together on it, the least margin over all ways."""
    cases = [[cases_together(ends) for ends in sets] for sets in each]
    pulls = [np.array([c.force for own in sets for c in own]).reshape(-1, 3) for sets in cases]
    found = []
    for sets, margins in zip(cases, margins_each(posts, pulls), strict=True):
        left = iter(margins)
        found.append([reduce(Margin.least, (next(left) for _ in own)) for own in sets])
    return found


def margins_each(posts: Sequence[Loaded], pulls: Sequence[Array]) -> list[list[Margin]]:
    """For each post the least margin under each of its ``pulls`` (C, 3), N, the arrest's own.

    A post that lacks data has none to weigh: its checks are to be confirmed wherever it stands.
    """
    found: list[list[Margin]] = [[UNBOUNDED] * len(own) for own in pulls]
    groups: dict[Hashable, list[int]] = defaultdict(list)
    for n, post in enumerate(posts):
        if len(pulls[n]) and not post.parts.missing:
            groups[post.like].append(n)
    for group in groups.values():
        margins = iter(_Together([posts[n] for n in group], [pulls[n] for n in group]).margins())
        for n in group:
            found[n] = [next(margins) for _ in pulls[n]]
    return found


class _Together:
    """P posts alike but for where their guys run, under C pulls in all."""

    def __init__(self, posts: list[Loaded], pulls: list[Array]) -> None:
        self.posts, self.pulls = posts, np.concatenate(pulls)
        self.of: Numbers = np.repeat(np.arange(len(posts)), [len(own) for own in pulls])
        self.parts, self.factor = posts[0].parts, posts[0].factor
        guys = [p.parts.mechanical_guys(pretensioned=True) for p in posts]
        self.pinned, self.clamped = (
            solve_posts(
                self.parts.mechanical(base), guys, self.factor * self.pulls, self.of, self.parts.own_weight
            )
            for base in (PINNED, CLAMPED)
        )

    @property
    def both(self) -> tuple[Response, Response]:
        """The responses on either bound of the base."""
        return self.pinned, self.clamped

    def margins(self) -> list[Margin]:
        """The least margin under each pull."""
        ratios = self._ratios()
        names = list(ratios)
        table = np.stack([np.broadcast_to(ratios[n], (len(self.pulls),)) for n in names])
        stands = np.asarray(self.pinned.stands) & np.asarray(self.clamped.stands)
        table = np.where(stands, np.nan_to_num(table, nan=0.0, posinf=np.inf), np.inf)
        worst = np.argmax(table, axis=0)
        return [
            Margin(1.0 / ratio - 1.0 if ratio > 0.0 else np.inf, names[w])
            for w, ratio in zip(worst.tolist(), np.max(table, axis=0).tolist(), strict=True)
        ]

    def _ratios(self) -> dict[str, Array]:
        """Load over strength, at the factor, of each check under each case, (C,)."""
        section, force = self.parts.tube, self.factor * self.pulls[:, None, :]
        assert section is not None  # asked for only where nothing is missing
        tube = [post_ratio(self.parts, section, r, force, self.of) for r in self.both]
        ratios: dict[str, Array] = {"post.strength": np.maximum(*tube)}
        tension = np.maximum(np.nan_to_num(self.pinned.tension), np.nan_to_num(self.clamped.tension))
        guys = [p.parts.guys for p in self.posts]
        strength = _strengths([[g.strength for g in own] for own in guys])[self.of]
        ratios["guy.strength"] = np.max(tension / strength, axis=1)
        runs = np.array([[(g.angle, g.azimuth, g.line.plate) for g in own] for own in guys])[self.of]
        angle, azimuth, plate = np.moveaxis(runs, -1, 0)
        pulled = anchor_force(tension, angle, azimuth, plate)
        uplift = _strengths([[g.kind.plate_uplift for g in own] for own in guys])[self.of]
        shear = _strengths([[g.kind.plate_shear for g in own] for own in guys])[self.of]
        ratios["guy.plate"] = np.max(np.maximum(pulled.uplift / uplift, pulled.shear / shear), axis=1)
        joints = [
            np.asarray(r.moment_at(j.height)) / _strengths([[j.moment]])[0, 0]
            for j in self.parts.kind.joints
            if j.height < self.parts.kind.head_height
            for r in self.both
        ]
        if joints:
            ratios["post.joint"] = np.max(joints, axis=0)
        if self.parts.kind.line_strength is not None:
            ratios["line.posts"] = (
                self.factor
                * np.hypot(self.pulls[:, 0], self.pulls[:, 1])
                / self.parts.kind.line_strength.value
            )
        if self.posts[0].base is not None:
            ratios["base.strength"] = self._base_ratio([p.base for p in self.posts if p.base is not None])
        return ratios

    def _base_ratio(self, own: list[Base]) -> Array:
        """Tension and shear together on the base's anchors, the worse of both bounds, (C,)."""
        uplift, moment, shear = base_loads(self.both)
        of = np.concatenate([self.of, self.of])
        holes = np.array([b.holes for b in own])
        centred = holes - np.array([b.parts.post.at for b in own])[:, None, :]
        toe = self.parts.kind.base_toe
        assert toe is not None
        tensions = anchor_tensions(uplift, moment, centred[of], toe)
        turned = np.array([b.in_frame(np.eye(2)) for b in own])[of]
        ratios = group_ratios_each(
            own[0].anchor_data(),
            [b.slab_data() for b in own],
            np.array([b.in_frame(b.holes) for b in own if b.holes is not None]),
            of,
            tensions,
            (shear[:, None, :] @ turned)[:, 0],
        )
        return np.asarray(np.max(np.asarray(ratios.combined).reshape(2, -1), axis=0))


def _strengths(rated: list[list[Rated[float] | None]]) -> Array:
    """Strengths; infinite where none is stated: that check is to be confirmed whatever is chosen."""
    return np.array([[np.inf if r is None else r.value for r in own] for own in rated])


def line_end(sites: list[Site], candidate: Candidate, site: int) -> LineEnd:
    """What a candidate line does to the post at one of its sites."""
    here = candidate.sites.index(site)
    run = np.asarray(sites[candidate.sites[1 - here]].at) - np.asarray(sites[site].at)
    across = candidate.across if here == 0 else candidate.across[::-1]
    azimuth = float(np.arctan2(run[1], run[0]))
    return LineEnd(candidate.id, azimuth, candidate.loads[here], candidate.down, across)
