"""Each post from its head to its base: every combination of its loads, at twice the arrest's.

The factor of two of 29 CFR 1926.502(d)(8) is put on the load; the post is then held to AISC 360's
design strength (LRFD, phi 0.9), guys, plate anchors and joints to their breaking strength. The larger
of the base's two bounds counts, for all guys and for each one missing in turn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.assess.anchors import AnchorRun
from planforge.assess.index import Index
from planforge.assess.lines import LineResult
from planforge.assess.post_cases import Case, post_cases
from planforge.assess.post_model import CLAMPED, PINNED, PostParts, post_parts
from planforge.calc import column, tube
from planforge.calc.arrays import Array
from planforge.calc.guy import anchor_force
from planforge.calc.guyed_post import Loads, Response, one_missing, solve_post
from planforge.calc.tube import Tube

FREE_END, GUYED = 2.1, 1.0
"""Effective length factors: the part above the highest guy as a cantilever, the part below it between its
ends; recommended values of AISC 360 Commentary table C-A-7.1 (from memory)."""


@dataclass(frozen=True)
class PostResult:
    """A post under its cases, at ``factor`` times their loads. C cases, G guys, 1 + G sets of guys."""

    parts: PostParts
    factor: float
    cases: tuple[Case, ...]
    pinned: Response  # (C,): all guys
    clamped: Response  # (C,)
    bereft: Response  # (C, G): pinned, each guy missing in turn
    post_ratio: Array  # (C,): AISC 360 H1, the worse bound of the base; nan without a yield strength
    shear_ratio: float  # AISC 360 G5, the worst case and bound; nan without a yield strength
    joint_moments: Array  # (J,): greatest moment at each joint, N m

    @property
    def id(self) -> str:
        """The post's id."""
        return self.parts.id

    @property
    def tensions(self) -> Array:
        """Greatest tension of each guy over cases and bounds, N, (G,)."""
        both = np.concatenate([self.pinned.tension, self.clamped.tension])
        return np.asarray(np.max(both, axis=0))

    @property
    def governing(self) -> int:
        """The case that loads the post itself most."""
        ratios = np.nan_to_num(self.post_ratio, nan=-1.0, posinf=np.inf)
        return int(np.argmax(ratios))

    @property
    def stands(self) -> bool:
        """True where every case finds equilibrium with all guys."""
        return bool(np.all(self.pinned.stands) and np.all(self.clamped.stands))

    @property
    def stands_bereft(self) -> list[str]:
        """The guys without which a case finds no equilibrium or moves the head out of range."""
        bad = ~np.asarray(self.bereft.stands) | (self._bereft_head > 0.1 * self.parts.kind.head_height)
        return [g.line.id for g, falls in zip(self.parts.guys, np.any(bad, axis=0), strict=True) if falls]

    @property
    def _bereft_head(self) -> Array:
        movement = np.linalg.norm(self.bereft.head[..., :2], axis=-1)
        return np.asarray(np.nan_to_num(movement, nan=np.inf))

    @property
    def head_movement(self) -> float:
        """How far the head moves at the arrest's own load, m (at ``factor`` times it, over the factor)."""
        return float(np.max(np.linalg.norm(self.pinned.head[..., :2], axis=-1))) / self.factor

    def plate_forces(self) -> tuple[Array, Array]:
        """Uplift and shear on each guy's plate anchor at its greatest tension, N, (G,) each."""
        forces = [
            anchor_force(t, g.angle, g.azimuth, g.line.plate)
            for t, g in zip(self.tensions, self.parts.guys, strict=True)
        ]
        return (
            np.array([float(f.uplift) for f in forces]),
            np.array([float(f.shear) for f in forces]),
        )


def post_results(
    index: Index, lines: list[LineResult], anchors: list[AnchorRun], factor: float
) -> tuple[list[PostResult], list[PostParts]]:
    """Every post that can be reckoned and carries something; then all others."""
    solved, open_posts = [], []
    for post in index.job.layout.posts:
        parts = post_parts(index, post)
        cases = post_cases(index, parts, lines, anchors)
        if parts.missing or not cases:
            open_posts.append(parts)
        else:
            solved.append(solved_post(parts, tuple(cases), factor))
    return solved, open_posts


def solved_post(
    parts: PostParts, cases: tuple[Case, ...], factor: float, *, one_by_one: bool = True
) -> PostResult:
    """A post that can be reckoned under its cases, one or more, at ``factor`` times their loads.

    ``one_by_one``: False leaves out each guy missing in turn; ``bereft`` is then all guys, as ``pinned``.
    """
    force = factor * np.stack([c.force for c in cases])[:, None, :]
    head = np.array([parts.kind.head_height])
    loads = Loads(head, force, parts.own_weight)
    guys = parts.mechanical_guys(pretensioned=True)
    pinned = solve_post(parts.mechanical(PINNED), guys, loads)
    clamped = solve_post(parts.mechanical(CLAMPED), guys, loads)
    each = one_missing(len(parts.guys))[1:]
    bereft = pinned
    if one_by_one:
        bereft = solve_post(
            parts.mechanical(PINNED), guys, Loads(head, force[:, None], parts.own_weight), each[None]
        )
    section = parts.tube
    assert section is not None  # asked for only where nothing is missing
    ratios = [post_ratio(parts, section, r, force) for r in (pinned, clamped)]
    inner = [j.height for j in parts.kind.joints if j.height < parts.kind.head_height]
    moments = [max(float(np.max(r.moment_at(h))) for r in (pinned, clamped)) for h in inner]
    return PostResult(
        parts,
        factor,
        cases,
        pinned,
        clamped,
        bereft,
        np.maximum(*ratios),
        max(_shear_ratio(parts, section, r) for r in (pinned, clamped)),
        np.asarray(moments, dtype=float),
    )


def _shear_ratio(parts: PostParts, section: Tube, response: Response) -> float:
    """Greatest shear over the tube's design strength, Lv its whole height; inf where the post falls."""
    if parts.kind.steel_yield is None:
        return float("nan")
    nominal = column.shear_strength(
        section, parts.kind.steel_yield.value, parts.kind.head_height, parts.modulus
    )
    shear = np.nan_to_num(np.linalg.norm(response.shear, axis=-1), nan=np.inf)
    return float(np.max(shear)) / (column.LRFD.shear * float(nominal))


def slenderness(parts: PostParts, section: Tube) -> float:
    """Lc/r, the worse of the part below the highest guy and the cantilever above it."""
    top = max(g.line.height for g in parts.guys)
    lengths = (GUYED * top, FREE_END * (parts.kind.head_height - top))
    return max(lengths) / float(tube.radius_of_gyration(section))


def post_ratio(
    parts: PostParts, section: Tube, response: Response, force: Array, of: NDArray[np.intp] | None = None
) -> Array:
    """AISC 360 H1 with Appendix 8's amplification, (C,); inf where the post does not stand.

    Not a number where the yield strength is not stated.

    Args:
        parts: the post; where ``of`` is given, any of several alike but for where their guys run.
        section: its tube.
        response: under each case.
        force: N, (C, 1, 3), at the head.
        of: (C,), in order, the post of each case; None: there is one.
    """
    if parts.kind.steel_yield is None:
        return np.full(len(force), np.nan)
    Fy = parts.kind.steel_yield.value
    E, method = parts.modulus, column.LRFD
    compression = np.nan_to_num(response.largest_compression, nan=np.inf)
    moment = np.nan_to_num(response.largest_moment, nan=np.inf)
    top = max(g.line.height for g in parts.guys)
    euler = column.euler_load(E * tube.second_moment(section), GUYED * top)
    of = np.zeros(len(force), dtype=np.intp) if of is None else of
    sway = _sway_stiffness(np.linalg.norm(force[:, 0, :2], axis=-1), response, of)
    amplified = np.maximum(
        column.b1_factor(compression, euler, method),
        column.b2_factor(compression, sway, parts.kind.head_height, method),
    )
    axial = compression / (
        method.compression * column.compression_strength(section, Fy, slenderness(parts, section), E)
    )
    bending = amplified * moment / (method.bending * column.bending_strength(section, Fy, E))
    good = np.isfinite(axial) & np.isfinite(bending)
    return np.where(
        good, column.interaction(np.where(good, axial, 1.0), np.where(good, bending, 1.0)), np.inf
    )


def _sway_stiffness(load: Array, response: Response, of: NDArray[np.intp]) -> Array:
    """Horizontal load over the head's movement, N/m, (C,).

    Lines that cancel at a post leave none: there the softest of its other cases speaks.
    """
    movement = np.linalg.norm(response.head[..., :2], axis=-1)
    stiffness = np.nan_to_num(load / np.maximum(movement, 1e-9), nan=1e-9)
    _, first, which = np.unique(of, return_index=True, return_inverse=True)
    cancelled = load <= 1e-6 * np.maximum.reduceat(load, first)[which]
    softest = np.minimum.reduceat(np.where(cancelled, np.inf, stiffness), first)[which]
    return np.asarray(np.where(cancelled, softest, stiffness))
