"""Least distance between straight segments in space, and where they come nearest.

Lengths in m. Source: C. Ericson, Real-Time Collision Detection, section 5.1.9, closest points of two line
segments (from memory); the tests hold it against a bounded least-squares fit and, in a plane, shapely.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array

_PARALLEL = 1e-12


@dataclass(frozen=True, slots=True)
class Nearest:
    """Where segments come nearest to each other; fields have the batch's shape (..., A, B)."""

    gap: Array  # m
    own: Array  # 0 at the own segment's start, 1 at its end
    other: Array  # alike, on the other segment
    at: Array  # (..., A, B, 3) m, midway between the two places


def nearest(own: Array, other: Array) -> Nearest:
    """Where every one of (..., A, 2, 3) segments comes nearest to every one of (..., B, 2, 3).

    Of parallel segments that lie beside each other, one such place. A segment without length is a point.
    """
    p, q = own[..., :, None, 0, :], other[..., None, :, 0, :]
    d, e = own[..., :, None, 1, :] - p, other[..., None, :, 1, :] - q
    r = p - q
    a, b, c = (np.sum(x * y, axis=-1) for x, y in ((d, d), (d, e), (e, e)))
    f, g = np.sum(d * r, axis=-1), np.sum(e * r, axis=-1)
    bend = a * c - b * b
    askew = bend > _PARALLEL * a * c
    s = np.where(askew, np.clip((b * g - c * f) / np.where(askew, bend, 1.0), 0.0, 1.0), 0.0)
    t = np.clip((b * s + g) / np.where(c > 0.0, c, 1.0), 0.0, 1.0)
    s = np.clip((b * t - f) / np.where(a > 0.0, a, 1.0), 0.0, 1.0)
    one, two = p + s[..., None] * d, q + t[..., None] * e
    return Nearest(np.asarray(np.linalg.norm(one - two, axis=-1)), s, t, 0.5 * (one + two))
