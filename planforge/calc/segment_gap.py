"""Least distance between straight segments in space, and where they come nearest.

Lengths in m. Source: C. Ericson, Real-Time Collision Detection, section 5.1.9, closest points of two line
segments (from memory); the tests hold it against a bounded least-squares fit and, in a plane, shapely.
"""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array

_PARALLEL = 1e-12


def segment_gaps(own: Array, other: Array) -> Array:
    """Least distance between every one of (A, 2, 3) and every one of (B, 2, 3) segments, m, (A, B)."""
    one, two = nearest_points(own, other)
    return np.asarray(np.linalg.norm(one - two, axis=-1))


def nearest_points(own: Array, other: Array) -> tuple[Array, Array]:
    """Where every one of (A, 2, 3) comes nearest to every one of (B, 2, 3), and where that one does.

    Of parallel segments that lie beside each other, one such place. A segment without length is a point.

    Returns:
        The places on the own and on the other segments, m, each (A, B, 3).
    """
    p, q = own[:, None, 0], other[None, :, 0]
    d, e = own[:, None, 1] - p, other[None, :, 1] - q
    r = p - q
    a, b, c = (np.sum(x * y, axis=-1) for x, y in ((d, d), (d, e), (e, e)))
    f, g = np.sum(d * r, axis=-1), np.sum(e * r, axis=-1)
    bend = a * c - b * b
    askew = bend > _PARALLEL * a * c
    s = np.where(askew, np.clip((b * g - c * f) / np.where(askew, bend, 1.0), 0.0, 1.0), 0.0)
    t = np.clip((b * s + g) / np.where(c > 0.0, c, 1.0), 0.0, 1.0)
    s = np.clip((b * t - f) / np.where(a > 0.0, a, 1.0), 0.0, 1.0)
    return p + s[..., None] * d, q + t[..., None] * e
