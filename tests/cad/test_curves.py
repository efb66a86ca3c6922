"""Curves as chords, against the geometry of circle and ellipse, and splines against scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from planforge.cad import curves
from planforge.errors import CalculationError

RADII = st.floats(0.05, 100.0)
COORDINATES = st.integers(-20_000, 20_000).map(lambda n: n / 1000.0)  # a drawing's, to a millimetre
TOLERANCES = st.floats(1e-4, 0.05)


@settings(deadline=None)
@given(RADII, st.floats(-6.0, 6.0), st.floats(0.01, 2 * math.pi), TOLERANCES)
def test_an_arc_lies_on_its_circle_and_its_chords_within_the_tolerance(
    radius: float, start: float, sweep: float, tolerance: float
) -> None:
    points, off = curves.arc((3.0, -2.0), radius, start, sweep, tolerance)
    away = np.hypot(points[:, 0] - 3.0, points[:, 1] + 2.0)
    assert away == pytest.approx(radius, abs=1e-9)
    middles = 0.5 * (points[1:] + points[:-1])
    sagitta = radius - np.hypot(middles[:, 0] - 3.0, middles[:, 1] + 2.0)
    assert sagitta.max() == pytest.approx(off, abs=1e-9)
    assert off <= tolerance * (1 + 1e-9)


@settings(deadline=None)
@given(RADII, TOLERANCES)
def test_a_circle_s_area_and_length_are_those_of_a_regular_polygon(radius: float, tolerance: float) -> None:
    """n sides: area n r² sin(2π/n) / 2, length 2 n r sin(π/n) (geometry)."""
    points, _ = curves.arc((0.0, 0.0), radius, 0.0, 2 * math.pi, tolerance)
    n = len(points) - 1
    polygon = shapely.Polygon(points)
    assert polygon.area == pytest.approx(0.5 * n * radius**2 * math.sin(2 * math.pi / n), rel=1e-9)
    assert polygon.length == pytest.approx(2 * n * radius * math.sin(math.pi / n), rel=1e-9)
    assert abs(polygon.area - math.pi * radius**2) <= 2 * math.pi * radius * tolerance


def test_more_chords_only_where_they_are_needed() -> None:
    """8 chords make a whole turn at the least; the sagitta of one is r (1 - cos(pi/8))."""
    assert curves.pieces(2 * math.pi, 1.0, 5.0) == 8
    assert curves.pieces(2 * math.pi, 1.0, 1.0 - math.cos(math.pi / 8)) == 8
    assert curves.pieces(2 * math.pi, 1.0, 0.99 * (1.0 - math.cos(math.pi / 8))) == 9


@settings(deadline=None)
@given(st.floats(-3.0, 3.0).filter(lambda b: abs(b) > 1e-3), TOLERANCES)
def test_a_bulge_is_the_arc_whose_quarter_sweep_it_is_the_tangent_of(value: float, tolerance: float) -> None:
    """Height of the arc over its chord = bulge x half chord (DXF reference, group code 42)."""
    start, end = np.array([1.0, 2.0]), np.array([5.0, 5.0])
    points, off = curves.bulge(start, end, value, tolerance)
    assert points[0].tolist() == start.tolist()
    assert points[-1].tolist() == end.tolist()
    right = np.array([3.0, -4.0]) / 5.0
    heights = (points - start) @ right
    crown = value * 2.5
    extreme = heights.max() if value > 0 else heights.min()
    assert abs(extreme) <= abs(crown) + 1e-9
    assert extreme == pytest.approx(crown, abs=off + 1e-9)


def test_a_half_circle_by_its_bulge() -> None:
    points, off = curves.bulge(np.array([0.0, 0.0]), np.array([2.0, 0.0]), 1.0, 1e-5)
    assert points[:, 1].min() == pytest.approx(-1.0, abs=off)  # counter-clockwise: to the right of its chord
    assert shapely.Polygon(points).area == pytest.approx(math.pi / 2, abs=1e-4)


@pytest.mark.parametrize("ratio", [1.0, 0.5, 0.05])
def test_an_ellipse_lies_within_the_tolerance(ratio: float) -> None:
    major, minor = np.array([3.0, 4.0, 0.0]), ratio * np.array([-4.0, 3.0, 0.0])
    points, off = curves.ellipse(np.zeros(3), major, minor, 0.0, 2 * math.pi, 1e-3)
    dense = np.linspace(0, 2 * math.pi, 20_001)
    true = np.outer(np.cos(dense), major) + np.outer(np.sin(dense), minor)
    chords = shapely.LineString(points[:, :2])
    away = shapely.distance(shapely.points(true[:, :2]), chords).max()
    assert away <= off + 1e-12 <= 1e-3 + 1e-9
    area = shapely.Polygon(points[:, :2]).area
    assert area == pytest.approx(math.pi * 25 * ratio, abs=off * chords.length)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(COORDINATES, COORDINATES), min_size=4, max_size=9), TOLERANCES)
def test_a_spline_lies_within_the_tolerance(control: list[tuple[float, float]], tolerance: float) -> None:
    knots = np.concatenate([[0.0] * 3, np.linspace(0.0, 1.0, len(control) - 2), [1.0] * 3])
    spline = BSpline(knots, np.column_stack([np.array(control), np.zeros(len(control))]), 3)
    points, _ = curves.free_curve(spline, np.unique(knots), tolerance)
    true = spline(np.linspace(0.0, 1.0, 5000))
    away = shapely.distance(shapely.points(true[:, :2]), shapely.LineString(points[:, :2])).max()
    assert away <= tolerance


def test_a_curve_that_needs_too_many_points_is_refused() -> None:
    with pytest.raises(CalculationError, match="points"):
        curves.arc((0.0, 0.0), 1e9, 0.0, 6.0, 1e-6)
    with pytest.raises(CalculationError, match="points"):
        curves.free_curve(
            lambda t: np.column_stack([1e9 * np.cos(t), 1e9 * np.sin(t), 0 * t]), np.array([0.0, 6.0]), 1e-6
        )
