"""Distances in plan between drilled holes and what lies in the slab.

Plan coordinates in m. An object is a polyline (tendon, pipe, conduit, bar) with a half width, or an
area (a mat of tubing, a closed outline). What is left between them,

    clearance = distance - hole radius - half width - locating tolerance,

is negative where a hole may strike. Source: plane geometry.
"""

from __future__ import annotations

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.errors import CalculationError


def segment_distances(points: Array, segments: Array) -> Array:
    """Distance (..., S) from points (..., 2) to segments (S, 2, 2): start and end. m."""
    start, end = segments[:, 0], segments[:, 1]
    run = end - start
    squared = np.sum(run**2, axis=-1)
    offset = points[..., None, :] - start
    # A segment without length is a point: its fraction stays 0.
    along = np.sum(offset * run, axis=-1) / np.where(squared > 0.0, squared, 1.0)
    nearest = start + np.clip(along, 0.0, 1.0)[..., None] * run
    return np.asarray(np.linalg.norm(points[..., None, :] - nearest, axis=-1))


def line_distance(points: Array, line: Array) -> Array:
    """Distance (...) from points (..., 2) to a polyline (V, 2), V >= 2. m."""
    return np.asarray(np.min(segment_distances(points, _segments(line, closed=False)), axis=-1))


def inside_area(points: Array, outline: Array) -> Bools:
    """Whether points (..., 2) lie within the closed outline (V, 2); even-odd rule."""
    start, end = np.moveaxis(_segments(outline, closed=True), 1, 0)
    x, y = points[..., None, 0], points[..., None, 1]
    crosses = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(crosses, end[:, 1] - start[:, 1], 1.0)
    at = start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / rise
    return np.asarray(np.sum(crosses & (x < at), axis=-1) % 2 == 1)


def area_distance(points: Array, outline: Array) -> Array:
    """Signed distance (...) from points (..., 2) to an area (V, 2), V >= 3: negative within it. m."""
    distance = np.min(segment_distances(points, _segments(outline, closed=True)), axis=-1)
    return np.asarray(np.where(inside_area(points, outline), -distance, distance))


def clearance(distance: Values, *, hole_diameter: Values, half_width: Values, tolerance: Values) -> Array:
    """What is left between hole and object, m: see the module. Broadcasts.

    Args:
        distance: m from the hole's centre to the object's centre line or outline.
        hole_diameter: m.
        half_width: m, half the object's width; 0 for an area, whose outline is its edge.
        tolerance: m, how far the object may lie from where it was located, 0 or more.
    """
    radius = 0.5 * as_array(hole_diameter)
    lost = np.stack(np.broadcast_arrays(radius, as_array(half_width), as_array(tolerance)))
    if not np.all(lost >= 0.0):
        raise CalculationError("plan clearance: hole diameter, half width and tolerance must be 0 or more.")
    return np.asarray(as_array(distance) - np.sum(lost, axis=0))


def _segments(line: Array, *, closed: bool) -> Array:
    vertices = as_array(line)
    least = 3 if closed else 2
    if vertices.ndim != 2 or vertices.shape[-1] != 2 or len(vertices) < least:
        kind = "an area" if closed else "a line"
        raise CalculationError(f"plan clearance: {kind} needs at least {least} points with x and y.")
    after = np.roll(vertices, -1, axis=0)
    pairs = np.stack([vertices, after], axis=1)
    return pairs if closed else pairs[:-1]
