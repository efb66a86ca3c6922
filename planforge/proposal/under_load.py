"""Posts under the pulls of candidate lines: guys, plates, tube, joints and base, case by case.

Everything is reckoned by `assess` at the code's factor; here the ratios of every case are kept apart, so
that a line can be weighed alone and together with those that share its post.
"""

from __future__ import annotations

from functools import reduce

import numpy as np

from planforge.assess.base_checks import base_ratios
from planforge.assess.base_model import Base, bases
from planforge.assess.index import Index
from planforge.assess.load_path import PostResult, solved_post
from planforge.assess.post_cases import Case, LineEnd, cases_together
from planforge.assess.post_model import PostParts, post_parts
from planforge.calc.arrays import Array
from planforge.calc.guy import anchor_force
from planforge.job.base import Rated
from planforge.proposal.candidate import UNBOUNDED, Candidate, Margin
from planforge.proposal.sites import Site, as_post


class Loaded:
    """A post at a site, to be asked for the margin it has under any pulls."""

    def __init__(self, index: Index, site: Site, post_id: str, factor: float) -> None:
        """Gather the post's parts and its base on the slab."""
        self.parts: PostParts = post_parts(index, as_post(index, site, post_id))
        on_slab = bases(index, [self.parts])
        self.base: Base | None = on_slab[0] if on_slab else None
        self.factor = factor

    def margins(self, pulls: Array) -> list[Margin]:
        """The least margin under each of ``pulls`` (C, 3), N, the arrest's own.

        A post that lacks data has none to weigh: its checks are to be confirmed wherever it stands.
        """
        if self.parts.missing or not len(pulls):
            return [UNBOUNDED] * len(pulls)
        cases = tuple(Case(str(n), (("", p),)) for n, p in enumerate(pulls))
        result = solved_post(self.parts, cases, self.factor, one_by_one=False)
        ratios = self._ratios(result, pulls)
        names = list(ratios)
        table = np.stack([np.broadcast_to(ratios[n], (len(pulls),)) for n in names])
        stands = np.asarray(result.pinned.stands) & np.asarray(result.clamped.stands)
        table = np.where(stands, np.nan_to_num(table, nan=0.0, posinf=np.inf), np.inf)
        worst = np.argmax(table, axis=0)
        return [
            Margin(float(1.0 / table[w, n] - 1.0) if table[w, n] > 0.0 else np.inf, names[w])
            for n, w in enumerate(worst)
        ]

    def margin_under(self, each: list[tuple[LineEnd, ...]]) -> list[Margin]:
        """For each set of line ends that pull together, the least margin over every way they can."""
        cases = [cases_together(ends) for ends in each]
        margins = iter(self.margins(np.array([case.force for own in cases for case in own])))
        return [reduce(Margin.least, (next(margins) for _ in own)) for own in cases]

    def _ratios(self, result: PostResult, pulls: Array) -> dict[str, Array]:
        """Load over strength, at the factor, of each check under each case, (C,)."""
        tension = np.maximum(np.nan_to_num(result.pinned.tension), np.nan_to_num(result.clamped.tension))
        ratios: dict[str, Array] = {"post.strength": result.post_ratio}
        guys = [_over(tension[:, n], g.strength) for n, g in enumerate(self.parts.guys)]
        ratios["guy.strength"] = np.max(guys, axis=0)
        plates = []
        for n, guy in enumerate(self.parts.guys):
            force = anchor_force(tension[:, n], guy.angle, guy.azimuth, guy.line.plate)
            plates += [_over(force.uplift, guy.kind.plate_uplift), _over(force.shear, guy.kind.plate_shear)]
        ratios["guy.plate"] = np.max(plates, axis=0)
        inner = [j for j in self.parts.kind.joints if j.height < self.parts.kind.head_height]
        joints = [
            _over(np.asarray(r.moment_at(j.height)), j.moment)
            for j in inner
            for r in (result.pinned, result.clamped)
        ]
        if joints:
            ratios["post.joint"] = np.max(joints, axis=0)
        if self.parts.kind.line_strength is not None:
            ratios["line.posts"] = (
                self.factor * np.hypot(pulls[:, 0], pulls[:, 1]) / self.parts.kind.line_strength.value
            )
        if self.base is not None and not self.base.missing:
            combined = np.asarray(base_ratios(self.base, result).combined)
            ratios["base.strength"] = np.max(combined.reshape(2, -1), axis=0)
        return ratios


def _over(load: Array, strength: Rated[float] | None) -> Array:
    """Load over strength; 0 where none is stated: that check is to be confirmed whatever is chosen."""
    return np.zeros_like(load) if strength is None else np.asarray(load / strength.value)


def line_end(sites: list[Site], candidate: Candidate, site: int) -> LineEnd:
    """What a candidate line does to the post at one of its sites."""
    here = candidate.sites.index(site)
    run = np.asarray(sites[candidate.sites[1 - here]].at) - np.asarray(sites[site].at)
    across = candidate.across if here == 0 else candidate.across[::-1]
    azimuth = float(np.arctan2(run[1], run[0]))
    return LineEnd(candidate.id, azimuth, candidate.loads[here], candidate.down, across)
