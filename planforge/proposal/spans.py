"""Pairs of places between which a line could hang, and the stretches of edge within reach of each.

A stretch is an interval of a straight piece of a hazard edge, by the distance from the piece's start, m.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.index import Index
from planforge.calc.arrays import Array
from planforge.codes.profile import common_practice
from planforge.job.equipment import LifelineSystem
from planforge.proposal.edges import HazardEdge, proposal_of
from planforge.proposal.sites import Site
from planforge.units import INCH

ALONG = 0.6
"""A line is tried at an edge where it covers at least this part of its own span there; planforge's own
choice.
"""

PARALLEL = 1.5 * INCH
"""How far a line's ends may differ in their distance from the edge, m: what snapping to the inch leaves."""

SEVERAL = 1e-6


@dataclass(frozen=True)
class Stretch:
    """An interval of a straight piece of an edge."""

    edge: int  # in the list of hazard edges
    piece: int
    start: float  # m along the piece
    end: float

    @property
    def length(self) -> float:
        """m."""
        return self.end - self.start


def overlap(one: Stretch, other: Stretch) -> bool:
    """True where two stretches share some of an edge."""
    same = (one.edge, one.piece) == (other.edge, other.piece)
    return same and max(one.start, other.start) < min(one.end, other.end)


def span_limits(system: LifelineSystem) -> tuple[float, float]:
    """Least and greatest span of a system, m: its maker's, and common practice where that is less."""
    practice = common_practice()["span"].value
    longest = min(system.longest_span.value, practice) if system.longest_span else practice
    shortest = system.shortest_span.value if system.shortest_span else 0.0
    return shortest, longest


def pairs(index: Index, edges: list[HazardEdge], sites: list[Site]) -> list[tuple[int, int]]:
    """Pairs of sites of one kind that lie beside one edge within the insets, at a span some system allows."""
    proposal = proposal_of(index)
    limits = [span_limits(index.systems[s]) for s in proposal.lifelines]
    least, most = min(low for low, _ in limits), max(high for _, high in limits)
    at = np.array([s.at for s in sites]).reshape(-1, 2)
    kinds = np.array([s.kind for s in sites])
    found: set[tuple[int, int]] = set()
    for edge in edges:
        for piece in edge.pieces:
            aside, along, length = _beside(piece, at)
            width = max(proposal.insets) + 1e-6
            near = np.flatnonzero((np.abs(aside) <= width) & (along >= -width) & (along <= length + width))
            for n, i in enumerate(near):
                others = near[n + 1 :]
                apart = np.linalg.norm(at[others] - at[i], axis=-1)
                good = (apart >= least - 1e-9) & (apart <= most + 1e-9) & (kinds[others] == kinds[i])
                good &= np.abs(aside[others] - aside[i]) <= PARALLEL  # so both on one side of the edge
                found.update((int(i), int(j)) for j in others[good])
    return sorted(found)


def covering(
    index: Index,
    edges: list[HazardEdge],
    sites: list[Site],
    spans: list[tuple[int, int]],
    open_: dict[tuple[int, str], bool],
) -> list[tuple[int, int]]:
    """Those of ``spans`` between sites whose line would cover something that a line has to cover.

    ``open_`` says which edges in which phases those are. What is left out could be part of no better choice:
    nothing asks for it.
    """
    if not spans:
        return []
    at, own = np.array([s.at for s in sites]), np.array(spans)
    wanted = {e for (e, _), asked in open_.items() if asked}
    covered = stretches(edges, at[own[:, 0]], at[own[:, 1]], proposal_of(index).reach, along=True)
    return [span for span, found in zip(spans, covered, strict=True) if wanted & {s.edge for s in found}]


def _beside(piece: Array, at: Array) -> tuple[Array, Array, float]:
    """Offset to the left and distance along a piece (2, 2) of places (S, 2), and the piece's length."""
    run = piece[1] - piece[0]
    length = float(np.hypot(*run))
    along = run / length
    off = at - piece[0]
    return off @ np.array([-along[1], along[0]]), off @ along, length


def within_reach(starts: Array, ends: Array, piece: Array, reach: float) -> Array:
    """The interval (L, 2) of a piece (2, 2) within ``reach`` of segments from (L, 2) to (L, 2), m; nan: none.

    The places within reach of a segment are convex, so that they meet a straight piece in one interval: from
    the two ends' circles and the band between them.
    """
    run = piece[1] - piece[0]
    length = float(np.hypot(*run))
    along = run / length
    intervals = [_circle(c, piece[0], along, reach) for c in (starts, ends)]
    intervals.append(_band(starts, ends, piece[0], along, reach))
    low = np.nanmin(np.stack([np.nan_to_num(i[:, 0], nan=np.inf) for i in intervals]), axis=0)
    high = np.nanmax(np.stack([np.nan_to_num(i[:, 1], nan=-np.inf) for i in intervals]), axis=0)
    low, high = np.maximum(low, 0.0), np.minimum(high, length)
    return np.where((high - low > SEVERAL)[:, None], np.stack([low, high], axis=1), np.nan)


def _circle(centre: Array, origin: Array, along: Array, reach: float) -> Array:
    """The interval of a line within ``reach`` of points (L, 2)."""
    off = centre - origin
    foot = off @ along
    aside = off @ np.array([-along[1], along[0]])
    with np.errstate(invalid="ignore"):
        half = np.sqrt(reach**2 - aside**2)
    return np.stack([foot - half, foot + half], axis=1)


def _band(starts: Array, ends: Array, origin: Array, along: Array, reach: float) -> Array:
    """The interval of a line that lies beside segments, within ``reach`` of their own lines."""
    run = ends - starts
    length = np.linalg.norm(run, axis=-1)
    unit = run / length[:, None]
    # along the segment: 0 <= (o + s a - start) . u <= length; across it: |(o + s a - start) x u| <= reach
    off = origin - starts
    base, rate = np.sum(off * unit, axis=-1), unit @ along
    cross = off[:, 0] * unit[:, 1] - off[:, 1] * unit[:, 0]
    turn = along[0] * unit[:, 1] - along[1] * unit[:, 0]
    low = np.full(len(run), -np.inf)
    high = np.full(len(run), np.inf)
    for constant, slope, least, most in (
        (base, rate, np.zeros(len(run)), length),
        (cross, turn, np.full(len(run), -reach), np.full(len(run), reach)),
    ):
        flat = np.abs(slope) < 1e-12
        with np.errstate(divide="ignore", invalid="ignore"):
            one, two = (least - constant) / slope, (most - constant) / slope
        outside = flat & ((constant < least - 1e-12) | (constant > most + 1e-12))
        low = np.where(flat, np.where(outside, np.inf, low), np.maximum(low, np.minimum(one, two)))
        high = np.where(flat, high, np.minimum(high, np.maximum(one, two)))
    empty = ~(high > low)
    return np.stack([np.where(empty, np.nan, low), np.where(empty, np.nan, high)], axis=1)


def stretches(
    edges: list[HazardEdge], starts: Array, ends: Array, reach: float, *, along: bool
) -> list[list[Stretch]]:
    """For each of L segments, the stretches of edge within reach; with ``along``, only where it runs beside
    one.
    """
    found: list[list[Stretch]] = [[] for _ in range(len(starts))]
    spans = np.linalg.norm(ends - starts, axis=-1)
    for e, edge in enumerate(edges):
        for p, piece in enumerate(edge.pieces):
            intervals = within_reach(starts, ends, piece, reach)
            lengths = intervals[:, 1] - intervals[:, 0]
            total = float(np.hypot(*(piece[1] - piece[0])))
            wanted = np.minimum(ALONG * spans, 0.95 * total) if along else np.zeros(len(starts))
            with np.errstate(invalid="ignore"):
                chosen = np.flatnonzero(lengths >= wanted)
            for n in chosen:
                found[n].append(Stretch(e, p, float(intervals[n, 0]), float(intervals[n, 1])))
    return found
