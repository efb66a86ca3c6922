"""Distances in plan between holes and what lies in the slab, against shapely and by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planforge.calc.base_plate import hole_pattern
from planforge.calc.plan_clearance import (
    area_distance,
    clearance,
    inside_area,
    line_distance,
    segment_distances,
)
from planforge.errors import CalculationError


@pytest.mark.parametrize("seed", range(10))
def test_against_shapely(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform(-1.0, 2.0, (50, 2))
    line = rng.uniform(0.0, 1.0, (6, 2))
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 7))
    outline = 0.5 + rng.uniform(0.2, 0.9, 7)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    polygon, string = shapely.Polygon(outline), shapely.LineString(line)
    at = shapely.points(points)
    assert line_distance(points, line) == pytest.approx(shapely.distance(string, at))
    assert inside_area(points, outline).tolist() == shapely.contains(polygon, at).tolist()
    signed = np.where(shapely.contains(polygon, at), -1.0, 1.0) * shapely.distance(polygon.exterior, at)
    assert area_distance(points, outline) == pytest.approx(signed)


def test_segment_of_no_length_is_a_point() -> None:
    found = segment_distances(np.array([3.0, 4.0]), np.zeros((1, 2, 2)))
    assert found == pytest.approx([5.0])


def test_holes_of_a_turned_base_beside_a_tendon() -> None:
    """A tendon along x, 0.3 m off the base's centre: a hole of the diamond comes nearer than the square's."""
    tendon = np.array([[-5.0, 0.3], [5.0, 0.3]])
    holes = hole_pattern(0.2, 0.2, np.radians([0.0, 45.0]))
    nearest = np.min(line_distance(holes, tendon), axis=-1)
    assert nearest == pytest.approx([0.2, 0.3 - 0.1 * np.sqrt(2.0)])
    left = clearance(nearest, hole_diameter=0.014, half_width=0.008, tolerance=0.05)
    assert left == pytest.approx(nearest - 0.065)


def test_clearance_turns_negative_where_a_hole_may_strike() -> None:
    assert clearance(0.04, hole_diameter=0.014, half_width=0.008, tolerance=0.05) < 0.0
    with pytest.raises(CalculationError, match="0 or more"):
        clearance(0.1, hole_diameter=0.014, half_width=0.0, tolerance=-0.01)


@pytest.mark.parametrize("shape", [(1, 2), (3, 3)])
def test_malformed_lines_are_refused(shape: tuple[int, int]) -> None:
    with pytest.raises(CalculationError, match="at least 2 points"):
        line_distance(np.zeros(2), np.zeros(shape))
    with pytest.raises(CalculationError, match="at least 3 points"):
        area_distance(np.zeros(2), np.zeros((2, 2)))
