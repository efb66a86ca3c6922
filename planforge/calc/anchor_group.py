"""All failure modes of one base's anchors after ACI 318-19 chapter 17, as ratios of demand to strength.

SI; coordinates and edges as in :mod:`planforge.calc.concrete_breakout`, tensions as from
:mod:`planforge.calc.base_plate`. A ratio is required over design strength (phi times nominal) and must not
exceed 1. Choices, each the careful one of those the chapter leaves open:

- shear is shared evenly by the anchors for steel, but all of it is taken by the row nearest to an edge for
  breakout there (Case 3 of Fig. R17.7.2.1b); its parts towards and along an edge are checked each by itself;
- no supplementary reinforcement, psi_c,V = 1: cracked concrete without edge bars.

Splitting is covered by the report's least spacing, edge and thickness; an expansion anchor has no side-face
blowout. Impact is outside the chapter: see :mod:`planforge.calc.base_anchor`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from planforge.calc import concrete_breakout as concrete
from planforge.calc.arrays import Array, Bools, Values
from planforge.calc.base_anchor import StrengthReduction, interaction
from planforge.calc.base_plate import tension_eccentricity
from planforge.memo import remembered

_ByEdge: TypeAlias = tuple[tuple[Values, Values], ...]
"""Breakout strength towards and along each of the four edges, N."""


@dataclass(frozen=True, slots=True)
class AnchorData:
    """One anchor as its evaluation report gives it."""

    diameter: float  # m, da
    effective_depth: float  # m, hef as installed
    kc: float  # inch-pound, for the concrete's state
    report_kc: bool  # True: kc is the report's own for that state
    steel_tension: float  # N, Nsa
    steel_shear: float  # N, Vsa
    pullout: float  # N, Npn at the slab's strength; np.inf where the report says it does not govern
    critical_edge: float  # m, cac
    phi: StrengthReduction


@dataclass(frozen=True, slots=True)
class SlabData:
    """The concrete the anchors sit in."""

    strength: float  # Pa, f'c at the day of use
    thickness: float  # m, ha
    edges: concrete.Edges  # m, in the anchors' frame
    cracked: bool = True
    lightweight: float = 1.0  # lambda_a


@dataclass(frozen=True, slots=True)
class GroupRatios:
    """Required over design strength by mode; each of the batch's shape (...)."""

    steel_tension: Array
    tension_breakout: Array
    pullout: Array
    steel_shear: Array
    shear_breakout: Array
    pryout: Array

    @property
    def tension(self) -> Array:
        """Greatest of the tension modes."""
        return np.maximum(np.maximum(self.steel_tension, self.tension_breakout), self.pullout)

    @property
    def shear(self) -> Array:
        """Greatest of the shear modes."""
        return np.maximum(np.maximum(self.steel_shear, self.shear_breakout), self.pryout)

    @property
    def combined(self) -> Array:
        """Interaction of 17.8."""
        return interaction(self.tension, self.shear)


@remembered()
def group_ratios(
    anchor: AnchorData, slab: SlabData, anchors: Array, tensions: Array, shear: Array
) -> GroupRatios:
    """Ratios of every mode for a batch of base loads.

    Args:
        anchor, slab: as stated.
        anchors: m, (n, 2), holes in the slab's frame.
        tensions: N, (..., n).
        shear: N, (..., 2), of the plate on the anchors, in the slab's frame.
    """
    group = tension_breakout_strength(anchor, slab, anchors, tensions)
    return _ratios(anchor, group, *_whatever_the_load(anchor, slab, anchors), tensions, shear)


def group_ratios_each(
    anchor: AnchorData,
    slabs: Sequence[SlabData],
    anchors: Array,
    of: NDArray[np.intp],
    tensions: Array,
    shear: Array,
) -> GroupRatios:
    """Ratios of every mode for a flat batch of loads on B bases, as :func:`group_ratios` for each by itself.

    Args:
        anchor: of every base.
        slabs: B, alike but for their edges.
        anchors: m, (B, n, 2), each base's holes in its slab's frame.
        of: (C,), the base of each load.
        tensions: N, (C, n).
        shear: N, (C, 2), in the base's own frame.
    """
    every = np.array([s.edges for s in slabs])[of]
    slab = replace(slabs[0], edges=tuple(every[:, side, None] for side in range(4)))  # type: ignore[arg-type]
    group = tension_breakout_strength(anchor, slab, anchors[of], tensions)
    alone = [_whatever_the_load(anchor, s, a) for s, a in zip(slabs, anchors, strict=True)]
    strengths = np.array([edges for _, edges in alone])[of]  # (C, 4, 2)
    edges = tuple((strengths[:, side, 0], strengths[:, side, 1]) for side in range(4))
    return _ratios(anchor, group, np.array([pryout for pryout, _ in alone])[of], edges, tensions, shear)


def _ratios(
    anchor: AnchorData, group: Array, pryout: Array, edges: _ByEdge, tensions: Array, shear: Array
) -> GroupRatios:
    total, greatest = np.sum(tensions, axis=-1), np.max(tensions, axis=-1)
    size, count, phi = np.linalg.norm(shear, axis=-1), tensions.shape[-1], anchor.phi
    return GroupRatios(
        steel_tension=greatest / (phi.steel_tension * anchor.steel_tension),
        tension_breakout=np.where(total > 0.0, total / (phi.tension_breakout * group), 0.0 * total),
        pullout=greatest / (phi.tension_breakout * anchor.pullout),
        steel_shear=size / count / (phi.steel_shear * anchor.steel_shear),
        shear_breakout=_worst_edge(phi.shear_breakout, edges, shear),
        pryout=size / (phi.pryout * pryout),
    )


def tension_breakout_strength(anchor: AnchorData, slab: SlabData, anchors: Array, tensions: Array) -> Array:
    """Nominal Ncbg, N, (...), of those anchors (n, 2) that pull; that of all where none does."""
    idle = np.all(tensions <= 0.0, axis=-1, keepdims=True)
    pulling = (tensions > 0.0) | idle
    to_edges = concrete.edge_distances(anchors, slab.edges)
    near = np.min(np.where(pulling[..., None], to_edges, np.inf), axis=-2)
    hef = concrete.limited_depth(anchor.effective_depth, near, _greatest_spacing(anchors, pulling))
    least_edge = np.min(near, axis=-1)
    factors = (
        concrete.tension_eccentricity_factor(tension_eccentricity(tensions, anchors), hef)
        * concrete.tension_edge_factor(least_edge, hef)
        * concrete.tension_cracking_factor(cracked=slab.cracked, report_kc=anchor.report_kc)
        * concrete.splitting_factor(least_edge, anchor.critical_edge, hef, cracked=slab.cracked)
    )
    ratio = concrete.tension_area(anchors, slab.edges, hef, pulling) / concrete.single_tension_area(hef)
    basic = concrete.basic_tension_strength(anchor.kc, slab.strength, hef, slab.lightweight)
    return concrete.group_strength(ratio, factors, basic)


def shear_breakout_strengths(
    anchor: AnchorData, slab: SlabData, anchors: Array, edge: int
) -> tuple[float, float]:
    """Nominal Vcbg, N, of the row nearest to one edge: for shear towards it, and for shear along it.

    ``edge`` is the index into the slab's edges (x least, x greatest, y least, y greatest); infinitely far
    edges give infinite strength.
    """
    distances = concrete.edge_distances(anchors, slab.edges)[:, edge]
    ca1 = float(np.min(distances))
    if np.isinf(ca1):
        return np.inf, np.inf
    along = 1 if edge < 2 else 0
    row = anchors[concrete.front_anchors(distances), along]
    corners = (slab.edges[2 * along], slab.edges[2 * along + 1])
    sides = np.array([np.min(row) - corners[0], corners[1] - np.max(row)])
    gaps = np.diff(np.sort(row))
    used = concrete.limited_edge_distance(ca1, sides, slab.thickness, np.max(gaps, initial=0.0))
    ratio = concrete.shear_area(row, corners, used, slab.thickness) / concrete.single_shear_area(used)
    basic = concrete.basic_shear_strength(
        anchor.diameter, anchor.effective_depth, slab.strength, used, slab.lightweight
    )
    thin = concrete.thickness_factor(used, slab.thickness)
    towards = concrete.shear_edge_factor(np.min(sides), used) * thin
    return (
        float(concrete.group_strength(ratio, towards, basic)),
        float(concrete.group_strength(ratio, concrete.PARALLEL_SHEAR * thin, basic)),
    )


@remembered()
def _whatever_the_load(
    anchor: AnchorData, slab: SlabData, anchors: Array
) -> tuple[Array, tuple[tuple[float, float], ...]]:
    """Nominal pryout, and breakout towards and along each edge, N: what a base has under every load."""
    everyone = np.ones(len(anchors))  # all anchors in shear count for pryout, evenly loaded
    group = tension_breakout_strength(anchor, slab, anchors, everyone)
    return (
        np.asarray(concrete.pryout_strength(anchor.effective_depth, group)),
        tuple(shear_breakout_strengths(anchor, slab, anchors, edge) for edge in range(4)),
    )


def _worst_edge(phi: float, edges: _ByEdge, shear: Array) -> Array:
    worst = np.zeros(shear.shape[:-1])
    sides = ((0, -1.0), (0, 1.0), (1, -1.0), (1, 1.0))
    for (axis, sign), (towards, along) in zip(sides, edges, strict=True):
        direct = np.maximum(sign * shear[..., axis], 0.0) / (phi * towards)
        parallel = np.abs(shear[..., 1 - axis]) / (phi * along)
        worst = np.maximum(worst, np.maximum(direct, parallel))
    return worst


def _greatest_spacing(anchors: Array, pulling: Bools) -> Array:
    """Greatest of the spacings, along x or y, between neighbours among the pulling anchors, m, (...)."""
    pairs = np.abs(anchors[..., :, None, :] - anchors[..., None, :, :])
    both = pulling[..., :, None] & pulling[..., None, :]
    return np.asarray(np.max(np.where(both[..., None], pairs, 0.0), axis=(-3, -2, -1)))
