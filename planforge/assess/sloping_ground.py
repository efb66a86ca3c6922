"""Ground between measured spots: a plane over each triangle of their Delaunay triangulation.

Plan coordinates and heights in m, heights up positive from the top of the slab. Between its spots the
ground is reckoned straight; beyond them nothing is known of it, so each caller takes what asks more of
it: the lowest spot for the height of a fall, the stated elevation (the highest) for clearance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.calc.arrays import Array, Bools
from planforge.job.site import Spot
from planforge.memo import answers_with, remembered

answers_with(shapely.Geometry, lambda shape: 16 * int(shapely.get_num_coordinates(shape)))

_ON_THE_RIM = 1e-9
"""A point this far outside the hull, as a share of its triangle, is on its rim."""


@dataclass(frozen=True, eq=False)
class SlopingGround:
    """A triangulated surface; build it with :func:`sloping_ground`."""

    triangles: Array  # (T, 3, 2) plan
    planes: Array  # (T, 3): height = a x + b y + c
    lowest: float  # m, of all spots
    highest: float  # m

    @cached_property
    def hull(self) -> shapely.Polygon:
        """The part of the plan that lies between spots."""
        hull = shapely.union_all(shapely.polygons(self.triangles))
        shapely.prepare(hull)
        return hull

    @property
    def creases(self) -> shapely.MultiLineString:
        """The sides of all triangles, along which the slope may change."""
        rings = np.concatenate([self.triangles, self.triangles[:, :1]], axis=1)
        return shapely.multilinestrings(shapely.linestrings(rings))

    def triangle_of(self, points: Array) -> NDArray[np.intp]:
        """The triangle each of ``points`` (N, 2) lies in; -1 beyond the spots."""
        corner, one, two = self.triangles[:, 0], self.triangles[:, 1], self.triangles[:, 2]
        u, v = one - corner, two - corner
        w = points[:, None, :] - corner[None]
        det = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        s = (w[..., 0] * v[:, 1] - w[..., 1] * v[:, 0]) / det
        t = (u[:, 0] * w[..., 1] - u[:, 1] * w[..., 0]) / det
        inside = np.minimum(np.minimum(s, t), 1.0 - s - t)
        best = np.argmax(inside, axis=1)
        rim = inside[np.arange(len(points)), best] < -_ON_THE_RIM
        return np.where(rim, -1, best)

    def heights(self, points: Array, *, beyond: float) -> Array:
        """Heights (N,) at ``points`` (N, 2), m; ``beyond`` is what holds outside the spots."""
        at = self.triangle_of(points)
        a, b, c = self.planes[at].T
        return np.where(at < 0, beyond, a * points[:, 0] + b * points[:, 1] + c)

    def highest_near(self, discs: NDArray[np.object_], *, beyond: float) -> Array:
        """The highest ground (N,) within each of ``discs``, m; ``beyond`` where one leaves the spots."""
        triangles = shapely.polygons(self.triangles)
        shapely.prepare(triangles)
        disc, triangle = np.nonzero(_boxes_meet(shapely.bounds(discs), shapely.bounds(triangles)))
        meets = shapely.intersects(triangles[triangle], discs[disc])
        disc, triangle = disc[meets], triangle[meets]
        parts = discs[disc]
        cut = ~shapely.contains_properly(triangles[triangle], parts)
        parts[cut] = shapely.intersection(parts[cut], triangles[triangle[cut]])
        corners, of = shapely.get_coordinates(parts, return_index=True)
        a, b, c = self.planes[triangle[of]].T
        out = np.full(len(discs), -np.inf)
        leaves = ~shapely.covers(self.hull, discs)
        outside = shapely.area(shapely.difference(discs[leaves], self.hull)) > _ON_THE_RIM
        out[leaves] = np.where(outside, beyond, -np.inf)
        np.maximum.at(out, disc[of], a * corners[:, 0] + b * corners[:, 1] + c)
        return out

    def lowest_over(self, area: shapely.Geometry) -> float:
        """The lowest ground in an area, m; the lowest spot where it leaves the spots, or is empty."""
        if shapely.is_empty(area) or shapely.area(shapely.difference(area, self.hull)) > _ON_THE_RIM:
            return self.lowest
        parts = shapely.intersection(area, shapely.polygons(self.triangles))
        corners, of = shapely.get_coordinates(parts, return_index=True)
        a, b, c = self.planes[of].T
        return float(np.min(a * corners[:, 0] + b * corners[:, 1] + c))


def sloping_ground(spots: Sequence[Spot]) -> SlopingGround:
    """Triangulate three or more spots, not all in one line (the reader made sure)."""
    places = np.array([spot.at for spot in spots], dtype=float)
    return _triangulated(places, np.array([spot.elevation for spot in spots], dtype=float))


@remembered()
def _triangulated(places: Array, heights: Array) -> SlopingGround:
    collection = shapely.delaunay_triangles(shapely.multipoints(places))
    triangles = shapely.get_coordinates(collection).reshape(-1, 4, 2)[:, :3]
    # the corners are the spots themselves, to the last digit
    corners = np.argmax(np.all(triangles[:, :, None] == places, axis=-1), axis=-1)
    matrix = np.concatenate([triangles, np.ones((*triangles.shape[:2], 1))], axis=2)
    planes = np.linalg.solve(matrix, heights[corners][..., None])[..., 0]
    return SlopingGround(triangles, planes, float(heights.min()), float(heights.max()))


def _boxes_meet(one: Array, other: Array) -> Bools:
    """Whether each of N boxes meets each of T others, (N, T); a box is least x, least y, greatest x and y."""
    a, b = one[:, None], other[None]
    return np.asarray(np.all((a[..., :2] <= b[..., 2:]) & (b[..., :2] <= a[..., 2:]), axis=-1))
