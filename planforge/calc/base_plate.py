"""How a base plate shares its load among its anchors, and where their holes lie.

SI. Plan coordinates x, y from the plate's centre, azimuth counter-clockwise from x. The moment is a plan
vector that points the way it tips the post, as in :mod:`planforge.calc.guyed_post`: the plate presses on
its far side that way and lifts on the other. Uplift positive upward; tension positive.

Two rules, of which :func:`anchor_tensions` takes the greater tension at every anchor:

- :func:`elastic_tensions`: the plate is rigid and turns about the anchors' centroid, its edge not bearing;
- :func:`toe_tensions`: the plate is rigid and turns about a line of bearing at a stated distance.

Both leave prying out: it asks for a plate stiff enough, which its maker or the engineer must vouch for.
Source: statics of a rigid plate; ACI 318-19 17.5.2 leaves the distribution to elastic analysis (from memory).
"""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.errors import CalculationError


def hole_pattern(spacing_x: Values, spacing_y: Values, azimuth: Values) -> Array:
    """Four holes (..., 4, 2) about the plate's centre, m, the plate turned to ``azimuth``. Broadcasts.

    Order: right front, left front, left back, right back of the plate before it is turned.
    """
    a, b, turn = np.broadcast_arrays(as_array(spacing_x), as_array(spacing_y), as_array(azimuth))
    if not np.all((a > 0.0) & (b > 0.0)):
        raise CalculationError("base plate: the spacing of its holes must be above 0 both ways.")
    x = 0.5 * a[..., None] * np.array([1.0, -1.0, -1.0, 1.0])
    y = 0.5 * b[..., None] * np.array([1.0, 1.0, -1.0, -1.0])
    c, s = np.cos(turn)[..., None], np.sin(turn)[..., None]
    return np.stack([c * x - s * y, s * x + c * y], axis=-1)


def elastic_tensions(uplift: Values, moment: Array, anchors: Array) -> Array:
    """Tension (..., n) of each anchor, N: T = N/n + r' J^-1 M with J = sum r r'; never below 0.

    Where the plane dips below 0 the plate bears there instead and the anchor has none.

    Args:
        uplift: N, (...); negative where the post presses.
        moment: N m, (..., 2), the way it tips the post.
        anchors: m, (..., n, 2) from the plate's centre.
    """
    r = anchors - np.mean(anchors, axis=-2, keepdims=True)
    inertia = np.einsum("...ni,...nj->...ij", r, r)
    M = as_array(moment) + as_array(uplift)[..., None] * np.mean(anchors, axis=-2)
    tilt = np.linalg.solve(inertia, M[..., None])
    by_moment = -np.einsum("...ni,...ij->...nj", r, tilt)[..., 0]
    return np.asarray(np.maximum(as_array(uplift)[..., None] / anchors.shape[-2] + by_moment, 0.0))


def toe_tensions(uplift: Values, moment: Array, anchors: Array, toe: Values) -> Array:
    """Tension (..., n) of each anchor, N, with the plate turning about its toe; never below 0.

    T_i = (|M| + N c) d_i / sum d_i^2 over the anchors with d_i > 0, the distance from the line of bearing,
    which lies ``toe`` = c (m) from the plate's centre the way the moment tips it. A short c, as for a plate
    that bends, gives the greater tensions. Without a moment the uplift is shared evenly.

    Args:
        uplift, moment, anchors: as in :func:`elastic_tensions`, the anchors about the plate's centre.
        toe: m, (...), above 0.
    """
    c, M, N = as_array(toe), as_array(moment), as_array(uplift)
    if not np.all(c > 0.0):
        raise CalculationError(
            "base plate: the line of bearing must lie beyond the plate's centre (toe > 0)."
        )
    size = np.linalg.norm(M, axis=-1)
    tips = size > 0.0
    way = M / np.where(tips, size, 1.0)[..., None]
    distance = np.maximum(c[..., None] - np.einsum("...ni,...i->...n", anchors, way), 0.0)
    turning = np.maximum(size + N * c, 0.0)
    by_toe = turning[..., None] * distance / np.sum(distance**2, axis=-1, keepdims=True)
    even = np.broadcast_to(np.maximum(N, 0.0)[..., None] / anchors.shape[-2], by_toe.shape)
    return np.where(tips[..., None], by_toe, even)


def anchor_tensions(uplift: Values, moment: Array, anchors: Array, toe: Values) -> Array:
    """Tension (..., n) of each anchor for strength checks, N: the greater of both rules at every anchor.

    Their sum may therefore exceed what either rule puts on the group. Arguments as in both.
    """
    return np.maximum(elastic_tensions(uplift, moment, anchors), toe_tensions(uplift, moment, anchors, toe))


def tension_eccentricity(tensions: Array, anchors: Array) -> Array:
    """e'N, m, (..., 2): the resultant's distance from the centroid of the anchors in tension, along x and y.

    ACI 318-19 17.6.2.3: each axis has a psi_ec of its own and the two multiply. 0 where nothing pulls.
    """
    pulls = tensions > 0.0
    count, total = np.sum(pulls, axis=-1), np.sum(tensions, axis=-1)
    centroid = np.sum(anchors * pulls[..., None], axis=-2) / np.maximum(count, 1)[..., None]
    resultant = np.sum(anchors * tensions[..., None], axis=-2) / np.where(total > 0.0, total, 1.0)[..., None]
    return np.where((total > 0.0)[..., None], np.abs(resultant - centroid), 0.0)
