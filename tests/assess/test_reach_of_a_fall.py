"""What lies within reach of a fall: the quick ways against the plain ones on every spot."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import shapely

from planforge.assess.below import FALL_RADIUS, _within_reach
from planforge.assess.sloping_ground import sloping_ground

OUTLINE = np.array([[0.0, 0.0], [12.0, 1.0], [11.0, 9.0], [6.0, 3.0], [1.0, 8.0]])


def test_spots_within_reach_of_an_area_are_those_near_enough_to_it() -> None:
    """On its outline, inside, in its notch, just within the radius, just beyond, and far from its box."""
    rng = np.random.default_rng(1)
    beside = np.array(
        [[-FALL_RADIUS, 0.0], [-1.0001 * FALL_RADIUS, 0.0], [6.0, 3.0 + FALL_RADIUS], [6.0, 0.5]]
    )
    spots = np.concatenate([rng.uniform(-6.0, 18.0, (2000, 2)), OUTLINE, beside])
    plain = shapely.distance(shapely.polygons(OUTLINE), shapely.points(spots)) <= FALL_RADIUS
    assert _within_reach(OUTLINE, spots).tolist() == plain.tolist()
    assert 200 < plain.sum() < 1500


def test_the_highest_near_a_spot_is_that_of_every_triangle_cut_with_the_disc() -> None:
    rng = np.random.default_rng(2)
    spots = [
        SimpleNamespace(at=(float(x), float(y)), elevation=float(z))
        for x, y, z in np.column_stack([rng.uniform(0.0, 20.0, (12, 2)), rng.uniform(-3.0, 0.0, 12)])
    ]
    ground = sloping_ground(spots)  # type: ignore[arg-type]
    discs = shapely.buffer(shapely.points(rng.uniform(2.0, 18.0, (300, 2))), 0.8, quad_segs=8)
    found = ground.highest_near(discs, beyond=1.0)
    for disc, value in zip(discs, found, strict=True):
        heights = [1.0] if shapely.area(shapely.difference(disc, ground.hull)) > 1e-9 else []
        for triangle, (a, b, c) in zip(shapely.polygons(ground.triangles), ground.planes, strict=True):
            corners = shapely.get_coordinates(shapely.intersection(disc, triangle))
            heights += (a * corners[:, 0] + b * corners[:, 1] + c).tolist()
        assert value == max(heights)
    assert 50 < np.sum(found == 1.0) < 250
