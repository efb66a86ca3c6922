"""Concrete breakout, pullout and pryout of an anchor group after ACI 318-19 chapter 17.

SI outside: m, Pa, N. The code's inch-pound equations are evaluated as printed (in, psi, lb) and converted
by exact factors. Strengths are nominal: multiply by phi. Equations 17.6.2, 17.7.2 and 17.7.3 were read in
a published design guide's worked examples (tests/validation); 17.3.1, 17.6.3, 17.6.2.1.2, 17.6.2.5 and
17.7.2.1.2 are from memory.

Coordinates: anchors (..., n, 2) in m from any origin, x and y along the slab's edges; the slab's edges as
(x least, x greatest, y least, y greatest) in the same frame, infinite where there is none. A hole or an
edge that is not square to the rest: take the nearer straight edge.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.calc.inch_pound import INCH, POUND_FORCE, PSI
from planforge.errors import CalculationError

Edges: TypeAlias = tuple[Values, Values, Values, Values]
"""Numbers, or arrays that broadcast with one coordinate of the anchors, (..., n)."""

GREATEST_STRENGTH = 8000.0 * PSI
"""f'c above this is not used for post-installed anchors (17.3.1)."""


def usable_strength(strength: Values) -> Array:
    """f'c, Pa, that the equations may use: not above :data:`GREATEST_STRENGTH` (17.3.1)."""
    return np.minimum(as_array(strength), GREATEST_STRENGTH)


def edge_distances(anchors: Array, edges: Edges) -> Array:
    """Distance (..., n, 4) of each anchor from each edge, m.

    Raises:
        CalculationError: an anchor at an edge or off the slab.
    """
    x, y = anchors[..., 0], anchors[..., 1]
    distances = np.stack([x - edges[0], edges[1] - x, y - edges[2], edges[3] - y], axis=-1)
    if not np.all(distances > 0.0):
        raise CalculationError("concrete breakout: every anchor must lie within the slab's edges.")
    return distances


def rectangles_area(low: Array, high: Array, counted: Bools) -> Array:
    """Area (...) covered by n rectangles (..., n, 2), overlaps once; exact. m2.

    The rectangles' sides cut the plane into cells; a cell counts where any ``counted`` rectangle covers it.
    """
    lines = np.sort(np.concatenate([low, high], axis=-2), axis=-2)
    sizes, middle = np.diff(lines, axis=-2), 0.5 * (lines[..., 1:, :] + lines[..., :-1, :])
    within = (low[..., :, None, :] < middle[..., None, :, :]) & (
        middle[..., None, :, :] < high[..., :, None, :]
    )
    within = within & counted[..., :, None, None]
    covered = np.any(within[..., :, None, 0] & within[..., None, :, 1], axis=-3)
    return np.asarray(
        np.einsum("...ij,...i,...j->...", covered.astype(np.float64), sizes[..., 0], sizes[..., 1])
    )


def tension_area(anchors: Array, edges: Edges, depth: Values, pulling: Bools | None = None) -> Array:
    """ANc, m2, (...): the union of squares 1.5 hef about each pulling anchor, cut at the edges (17.6.2.1.1).

    For anchors in rows along the edges not over 3 hef apart this is the code's rectangle; for a plate that
    is turned, or anchors farther apart, it is less. Never above n ANco.
    """
    edge_distances(anchors, edges)
    reach = 1.5 * as_array(depth)[..., None, None]
    low_edge, high_edge = (np.stack([edges[n], edges[n + 2]], axis=-1) for n in (0, 1))
    low, high = np.maximum(anchors - reach, low_edge), np.minimum(anchors + reach, high_edge)
    counted = np.ones(anchors.shape[:-1], dtype=bool) if pulling is None else pulling
    return rectangles_area(low, high, counted)


def single_tension_area(depth: Values) -> Array:
    """ANco = 9 hef^2, m2 (17.6.2.1.4)."""
    return 9.0 * as_array(depth) ** 2


def limited_depth(depth: Values, near_edges: Array, spacing: Values) -> Array:
    """hef to use where three or more edges are nearer than 1.5 hef (17.6.2.1.2), m.

    The greater of ca,max/1.5 and s/3, ca,max the farthest of those edges; not above hef.

    Args:
        depth: m, (...).
        near_edges: m, (..., 4), the group's distance from each edge.
        spacing: m, (...), greatest spacing within the group.
    """
    hef = as_array(depth)
    near = near_edges < 1.5 * hef[..., None]
    farthest = np.max(np.where(near, near_edges, 0.0), axis=-1)
    reduced = np.minimum(np.maximum(farthest / 1.5, as_array(spacing) / 3.0), hef)
    return np.where(np.sum(near, axis=-1) >= 3, reduced, hef)


def basic_tension_strength(kc: Values, strength: Values, depth: Values, lightweight: Values = 1.0) -> Array:
    """Nb = kc lambda_a sqrt(f'c) hef^1.5, N (17.6.2.2.1), of one anchor in cracked concrete.

    Args:
        kc: 17 for post-installed anchors, or the report's value, at most 24; inch-pound.
        strength: Pa, f'c at the day of use.
        depth: m, effective depth hef.
        lightweight: lambda_a, 1 for normal weight.
    """
    pounds = as_array(kc) * as_array(lightweight) * np.sqrt(usable_strength(strength) / PSI)
    return pounds * (as_array(depth) / INCH) ** 1.5 * POUND_FORCE


def tension_eccentricity_factor(eccentricity: Array, depth: Values) -> Array:
    """psi_ec,N = 1 / (1 + e'N / (1.5 hef)) (17.6.2.3.1), the product over both axes (..., 2)."""
    return np.asarray(
        np.prod(1.0 / (1.0 + as_array(eccentricity) / (1.5 * as_array(depth)[..., None])), axis=-1)
    )


def tension_edge_factor(least_edge: Values, depth: Values) -> Array:
    """psi_ed,N = 0.7 + 0.3 ca,min/(1.5 hef), at most 1 (17.6.2.4.1)."""
    return _edge_factor(as_array(least_edge), 1.5 * as_array(depth))


def tension_cracking_factor(*, cracked: bool, report_kc: bool) -> float:
    """psi_c,N of a post-installed anchor (17.6.2.5.1): 1.4 uncracked with kc = 17, else 1.

    With the report's own kc for the state of the concrete (``report_kc``) it is 1 in both states.
    """
    return 1.0 if cracked or report_kc else 1.4


def splitting_factor(least_edge: Values, critical_edge: Values, depth: Values, *, cracked: bool) -> Array:
    """psi_cp,N (17.6.2.6): 1 in cracked concrete or where ca,min >= cac, else ca,min/cac.

    Not below 1.5 hef/cac. ``critical_edge`` cac in m from the report; 4 hef for torque-controlled anchors
    where it gives none (17.9.5). For post-installed anchors without supplementary reinforcement.
    """
    edge, critical = as_array(least_edge), as_array(critical_edge)
    if cracked:
        return np.ones(np.broadcast_shapes(edge.shape, critical.shape))
    reduced = np.maximum(edge, 1.5 * as_array(depth)) / critical
    return np.where(edge >= critical, 1.0, np.minimum(reduced, 1.0))


def front_anchors(edge_distance: Array, tolerance: float = 1e-6) -> Bools:
    """Anchors (..., n) of the row nearest to an edge: within ``tolerance`` m of the least distance.

    Taking the whole shear on this row is Case 3 of Fig. R17.7.2.1b: the careful choice for a plate whose
    holes are oversize, and for a turned plate, where the row is a single anchor.
    """
    return np.asarray(edge_distance <= np.min(edge_distance, axis=-1, keepdims=True) + tolerance)


def shear_area(places: Array, sides: tuple[Values, Values], edge: Values, thickness: Values) -> Array:
    """AVc, m2, (...): what the row's breakout covers of the slab's edge face (17.7.2.1.1).

    The union of 1.5 ca1 to both sides of each anchor, cut at the corners, times the lesser of 1.5 ca1 and ha.

    Args:
        places: m, (..., n), the row's places along the edge.
        sides: m, (...) each: places of the corners along the edge, least and greatest; infinite if none.
        edge: m, (...), ca1.
        thickness: m, (...), ha.
    """
    reach = 1.5 * as_array(edge)
    low = np.maximum(places - reach[..., None], as_array(sides[0])[..., None])
    high = np.minimum(places + reach[..., None], as_array(sides[1])[..., None])
    depth = np.minimum(reach, as_array(thickness))
    floor, depths = np.zeros_like(low), np.broadcast_to(depth[..., None], low.shape)
    corners = np.stack([low, floor], axis=-1), np.stack([high, depths], axis=-1)
    return rectangles_area(*corners, np.ones(low.shape, dtype=bool))


def single_shear_area(edge: Values) -> Array:
    """AVco = 4.5 ca1^2, m2 (17.7.2.1.3)."""
    return 4.5 * as_array(edge) ** 2


def limited_edge_distance(edge: Values, side_edges: Array, thickness: Values, spacing: Values) -> Array:
    """ca1 to use, m, in a narrow thin member (17.7.2.1.2).

    Where both side edges ca2 and the thickness ha are under 1.5 ca1: the greatest of ca2,max/1.5, ha/1.5
    and s/3; not above ca1.

    Args:
        edge: m, (...), ca1.
        side_edges: m, (..., 2).
        thickness: m, (...).
        spacing: m, (...), greatest spacing along the edge.
    """
    ca1, h = as_array(edge), as_array(thickness)
    narrow = np.all(side_edges < 1.5 * ca1[..., None], axis=-1) & (h < 1.5 * ca1)
    greatest = np.maximum(np.maximum(np.max(side_edges, axis=-1), h) / 1.5, as_array(spacing) / 3.0)
    return np.where(narrow, np.minimum(greatest, ca1), ca1)


def basic_shear_strength(
    diameter: Values, bearing_length: Values, strength: Values, edge: Values, lightweight: Values = 1.0
) -> Array:
    """Vb, N, of one anchor in cracked concrete: the lesser of 17.7.2.2.1a and 17.7.2.2.1b.

    7 (le/da)^0.2 sqrt(da) lambda_a sqrt(f'c) ca1^1.5 and 9 lambda_a sqrt(f'c) ca1^1.5, in, psi, lb.

    Args:
        diameter: m, da.
        bearing_length: m, le = hef, not taken above 8 da; 2 da for a torque-controlled anchor with a
            distance sleeve.
        strength: Pa, f'c.
        edge: m, ca1.
        lightweight: lambda_a.
    """
    da = as_array(diameter) / INCH
    le = np.minimum(as_array(bearing_length) / INCH, 8.0 * da)
    common = as_array(lightweight) * np.sqrt(usable_strength(strength) / PSI) * (as_array(edge) / INCH) ** 1.5
    return np.minimum(7.0 * (le / da) ** 0.2 * np.sqrt(da), 9.0) * common * POUND_FORCE


def shear_edge_factor(side_edge: Values, edge: Values) -> Array:
    """psi_ed,V = 0.7 + 0.3 ca2/(1.5 ca1), at most 1 (17.7.2.4.1); 1 for shear along the edge."""
    return _edge_factor(as_array(side_edge), 1.5 * as_array(edge))


def thickness_factor(edge: Values, thickness: Values) -> Array:
    """psi_h,V = sqrt(1.5 ca1 / ha), at least 1 (17.7.2.6.1)."""
    return np.maximum(np.sqrt(1.5 * as_array(edge) / as_array(thickness)), 1.0)


PARALLEL_SHEAR = 2.0
"""Vcb for shear along the edge is twice that towards it, with psi_ed,V = 1 (17.7.2.1 c)."""


def group_strength(area_ratio: Values, factors: Values, basic: Values) -> Array:
    """Ncbg or Vcbg, N: (A/Ao) psi ... x basic strength (17.6.2.1b, 17.7.2.1b); ``factors`` their product."""
    return as_array(area_ratio) * as_array(factors) * as_array(basic)


def pryout_strength(depth: Values, tension_breakout: Values) -> Array:
    """Vcp or Vcpg = kcp Ncb(g), N (17.7.3.1): kcp = 1 where hef < 2.5 in, else 2.

    ``tension_breakout`` is that of all anchors in shear, whether or not they are in tension.
    """
    kcp = np.where(as_array(depth) < 2.5 * INCH * (1.0 - 1e-12), 1.0, 2.0)
    return kcp * as_array(tension_breakout)


def _edge_factor(distance: Array, reach: Array) -> Array:
    return 0.7 + 0.3 * np.minimum(distance / reach, 1.0)
