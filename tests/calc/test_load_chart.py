"""The rated load between, at and beyond the points of a load chart."""

from __future__ import annotations

import pytest

from planforge.calc.load_chart import greatest_radius, rated_load_at

CHART = [(9.0, 400.0), (3.0, 1000.0), (6.0, 700.0)]


@pytest.mark.parametrize(
    ("radius", "load"),
    [(1.0, 1000.0), (3.0, 1000.0), (3.001, 700.0), (6.0, 700.0), (6.001, 400.0), (9.0, 400.0), (9.001, None)],
)
def test_a_radius_takes_the_next_larger_one_s_load(radius: float, load: float | None) -> None:
    assert rated_load_at(CHART, radius) == load


def test_where_a_chart_rises_the_lower_neighbour_holds() -> None:
    rising = [(3.0, 500.0), (5.0, 800.0), (8.0, 300.0)]
    assert rated_load_at(rising, 4.0) == 500.0
    assert rated_load_at(rising, 5.0) == 800.0
    assert rated_load_at(rising, 6.0) == 300.0


def test_never_above_a_straight_line_between_the_points() -> None:
    for step in range(61):
        radius = 3.0 + step / 10
        (a, low), (b, high) = next(
            pair for pair in zip(sorted(CHART), sorted(CHART)[1:], strict=False) if radius <= pair[1][0]
        )
        between = low + (high - low) * (radius - a) / (b - a)
        load = rated_load_at(CHART, radius)
        assert load is not None
        assert load <= between + 1e-9


def test_without_points_there_is_no_load() -> None:
    assert rated_load_at([], 3.0) is None


def test_greatest_radius_is_the_farthest_point_that_still_lifts_it() -> None:
    """By brute force over a fine row of radii: within it the load is rated, beyond it never again."""
    chart = [(4.0, 900.0), (6.0, 700.0), (8.0, 400.0)]
    for load in (300.0, 400.0, 401.0, 700.0, 899.0, 900.0):
        far = greatest_radius(chart, load)
        assert far is not None
        rated = [rated_load_at(chart, far + step) for step in (0.01, 0.5, 1.0)]
        assert all(r is None or r < load for r in rated)
        assert (rated_load_at(chart, far) or 0.0) >= load
    assert greatest_radius(chart, 901.0) is None
    assert greatest_radius([], 1.0) is None
