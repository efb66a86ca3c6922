"""Curves as points, near enough: how far the chords lie from the curve is bounded and returned.

Pure functions. Lengths are the drawing's own, angles in radians, counter-clockwise positive. Every function
returns the points, both ends included, and the greatest distance of the curve from its chords (the sagitta),
which is at most ``tolerance``.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np

from planforge.calc.arrays import Array
from planforge.errors import CalculationError

Flattened = tuple[Array, float]

_LEAST_PER_TURN = 8
_MOST_POINTS = 20_000
_DENSE = 8
"""Points tried on each piece of a free curve between its ends."""


def pieces(sweep: float, radius: float, tolerance: float) -> int:
    """How many chords keep within ``tolerance`` of an arc: sagitta = r (1 - cos(step / 2)).

    Source: geometry of the circle.
    """
    step = np.pi if tolerance >= radius else 2.0 * float(np.arccos(1.0 - tolerance / radius))
    least = abs(sweep) * _LEAST_PER_TURN / (2.0 * np.pi)
    count = int(np.ceil(max(abs(sweep) / step, least, 1.0) - 1e-12))
    if count > _MOST_POINTS:
        raise CalculationError(f"a curve needs {count:,} points to keep within the tolerance")
    return count


def arc(
    centre: tuple[float, float], radius: float, start: float, sweep: float, tolerance: float
) -> Flattened:
    """An arc of a circle, (n, 2)."""
    count = pieces(sweep, radius, tolerance)
    angles = start + np.linspace(0.0, sweep, count + 1)
    points = np.asarray(centre) + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    return points, radius * (1.0 - float(np.cos(0.5 * sweep / count)))


def bulge(start: Array, end: Array, value: float, tolerance: float) -> Flattened:
    """The arc of a polyline from ``start`` to ``end``, (2,) each; ``value`` is tan(sweep / 4).

    Source: the DXF reference's meaning of group code 42: negative runs clockwise.
    """
    chord = end - start
    length = float(np.hypot(*chord))
    if abs(value) < 1e-12 or length == 0.0:
        return np.array([start, end]), 0.0
    sweep = 4.0 * float(np.arctan(value))
    radius = 0.5 * length / abs(float(np.sin(0.5 * sweep)))
    left = np.array([-chord[1], chord[0]]) / length
    centre = 0.5 * (start + end) + left * 0.5 * length / np.tan(0.5 * sweep)
    first = float(np.arctan2(*(start - centre)[::-1]))
    points, off = arc((float(centre[0]), float(centre[1])), radius, first, sweep, tolerance)
    points[0], points[-1] = start, end
    return points, off


def ellipse(
    centre: Array, major: Array, minor: Array, start: float, sweep: float, tolerance: float
) -> Flattened:
    """An arc of an ellipse with half axes ``major`` and ``minor`` as vectors (3,); (n, 3).

    It is the image of a circle of radius 1, whose sagitta the map stretches at most by the longer half axis.
    """
    longest = max(float(np.linalg.norm(major)), float(np.linalg.norm(minor)))
    count = pieces(sweep, longest, tolerance)
    angles = start + np.linspace(0.0, sweep, count + 1)
    points = centre + np.outer(np.cos(angles), major) + np.outer(np.sin(angles), minor)
    return points, longest * (1.0 - float(np.cos(0.5 * sweep / count)))


def free_curve(at: Callable[[Array], Array], knots: Array, tolerance: float) -> Flattened:
    """A curve ``at(t)`` -> (n, 3), smooth between its ``knots``.

    Each piece between two knots is halved until seven points within each part lie within half the tolerance
    of its chord; the other half is left for what lies between them.
    """
    spans = [np.linspace(a, b, 3)[:-1] for a, b in pairwise(knots)]
    places = np.concatenate([*spans, knots[-1:]])
    steps = np.arange(_DENSE) / _DENSE
    while True:
        dense = at((places[:-1, None] + np.diff(places)[:, None] * steps).ravel())
        ends = at(places)
        off = _farthest(dense.reshape(len(places) - 1, _DENSE, 3), ends[:-1], ends[1:])
        far = off > 0.5 * tolerance
        if not far.any():
            return ends, 2.0 * float(off.max())
        places = np.sort(np.concatenate([places, 0.5 * (places[:-1] + places[1:])[far]]))
        if len(places) > _MOST_POINTS:
            raise CalculationError(f"a curve needs more than {_MOST_POINTS:,} points to keep the tolerance")


def _farthest(dense: Array, starts: Array, ends: Array) -> Array:
    """Greatest distance of the points (n, k, 3) on each of n pieces from its chord."""
    run = ends - starts
    square = np.maximum(np.sum(run * run, axis=-1), 1e-300)
    from_start = dense - starts[:, None]
    along = np.clip(np.sum(from_start * run[:, None], axis=-1) / square[:, None], 0.0, 1.0)
    away = from_start - along[..., None] * run[:, None]
    return np.asarray(np.sqrt(np.max(np.sum(away * away, axis=-1), axis=-1)))
