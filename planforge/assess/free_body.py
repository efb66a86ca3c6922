"""A post as a free body under one case: every force on it, for drawing and for tables.

Signs as in :mod:`planforge.calc.guyed_post`: forces on the post along x, y, z (up); azimuths in radians
counter-clockwise from the plan's x; tension positive; a moment points the way it tips the head.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.load_path import PostResult
from planforge.assess.post_model import GuyParts
from planforge.calc.arrays import Array
from planforge.calc.guy import anchor_force
from planforge.calc.guyed_post import Loads, solve_post


@dataclass(frozen=True)
class GuyForces:
    """A guy's tension and its pull on its plate anchor, N."""

    id: str
    azimuth: float  # rad, from the post to the anchor
    angle: float  # rad, from the post
    height: float  # m, attachment over the underside of the base
    length: float  # m
    tension: float
    uplift: float
    shear: float  # resultant of both horizontal parts

    @property
    def on_post(self) -> Array:
        """Its force on the post, N, (3,)."""
        horizontal = self.tension * np.sin(self.angle)
        return np.array(
            [
                horizontal * np.cos(self.azimuth),
                horizontal * np.sin(self.azimuth),
                -self.tension * np.cos(self.angle),
            ]
        )


@dataclass(frozen=True)
class FreeBody:
    """A post at ``factor`` times a case's own load, on a base of one stiffness."""

    factor: float
    pull: Array  # N, (3,), on the head
    guys: tuple[GuyForces, ...]
    weight: Array  # N, (3,), its own
    base_force: Array  # N, (3,), of the base on the post
    base_moment: float  # N m, resultant tipping moment on the base
    joints: tuple[tuple[float, float], ...]  # height (m) and moment (N m), from the base up
    stands: bool  # False: no equilibrium, the numbers are NaN

    @property
    def unbalanced(self) -> Array:
        """What is left of all forces, N, (3,): zero in equilibrium."""
        forces = [self.pull, self.weight, self.base_force, *(g.on_post for g in self.guys)]
        return np.asarray(np.sum(forces, axis=0))


def governing_case(result: PostResult) -> int:
    """The case that loads the post most; its guys, where the post itself can't be reckoned."""
    if np.all(np.isnan(result.post_ratio)):
        both = np.fmax(result.pinned.tension, result.clamped.tension)
        return int(np.argmax(np.nan_to_num(np.max(both, axis=-1), nan=np.inf)))
    return int(np.nanargmax(result.post_ratio))


def free_bodies(
    result: PostResult, case: int, factors: Sequence[float], base_stiffness: float
) -> tuple[FreeBody, ...]:
    """The post under one of its cases at each of ``factors`` times its own load.

    Solved anew, not scaled: pretension and guys that slacken are not proportional to the load.

    Args:
        result: the post.
        case: which of its cases.
        factors: 1 for the arrest's own load.
        base_stiffness: N m/rad, 0 pinned to np.inf clamped.
    """
    parts = result.parts
    forces = np.outer(factors, result.cases[case].force)
    response = solve_post(
        parts.mechanical(base_stiffness),
        parts.mechanical_guys(pretensioned=True),
        Loads(np.array([parts.kind.head_height]), forces[:, None, :], parts.own_weight),
    )
    inner = [j.height for j in parts.kind.joints if j.height < parts.kind.head_height]
    moments = [(h, response.moment_at(h)) for h in inner]
    return tuple(
        FreeBody(
            factor=factor,
            pull=forces[n],
            guys=tuple(
                _guy_forces(g, float(t)) for g, t in zip(parts.guys, response.tension[n], strict=True)
            ),
            weight=parts.own_weight * parts.kind.head_height,
            base_force=response.base_force[n],
            base_moment=float(np.linalg.norm(response.base_moment[n])),
            joints=tuple((h, float(moment[n])) for h, moment in moments),
            stands=bool(response.stands[n]),
        )
        for n, factor in enumerate(factors)
    )


def _guy_forces(guy: GuyParts, tension: float) -> GuyForces:
    at_plate = anchor_force(tension, guy.angle, guy.azimuth, guy.line.plate)
    return GuyForces(
        guy.line.id,
        guy.azimuth,
        guy.angle,
        guy.line.height,
        guy.length,
        tension,
        float(at_plate.uplift),
        float(at_plate.shear),
    )
