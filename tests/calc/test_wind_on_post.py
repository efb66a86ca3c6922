"""Wind on a standing post: table values and their use. Published figures: tests/validation."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.guyed_post import NO_GUYS, Guys, Loads, Post, solve_post
from planforge.calc.wind_on_post import (
    CAREFUL_FORCE_COEFFICIENT,
    EXPOSURES,
    distributed_force,
    exposure_coefficient,
    force_coefficient,
    force_per_length,
    speed_at_capacity,
    unguyed_base_moment,
    velocity_pressure,
)
from planforge.errors import CalculationError


def test_coefficient_of_a_slender_pole_is_the_careful_one() -> None:
    """D sqrt(q) of a 3.5 in tube stays under 5.3 in any wind a crew sees: Cf 1.2 at h/D of 25 and more."""
    found = force_coefficient(3.6, 0.0889, 1000.0, "moderately smooth")
    assert found == pytest.approx(CAREFUL_FORCE_COEFFICIENT)


@pytest.mark.parametrize(
    ("surface", "ratio", "expected"),
    [("moderately smooth", 25.0, 0.7), ("rough", 7.0, 0.8), ("very rough", 16.0, 1.1), ("rough", 100.0, 0.9)],
)
def test_coefficients_of_a_wide_cylinder(surface: str, ratio: float, expected: float) -> None:
    assert force_coefficient(ratio, 1.0, 600.0, surface) == pytest.approx(expected)
    assert force_coefficient(ratio, 1.0, 600.0, surface) <= CAREFUL_FORCE_COEFFICIENT


def test_unknown_surface_is_refused() -> None:
    with pytest.raises(CalculationError, match="rough"):
        force_coefficient(3.0, 0.1, 300.0, "painted")


def test_no_less_wind_below_fifteen_feet() -> None:
    assert exposure_coefficient(2.0, EXPOSURES["C"]) == exposure_coefficient(4.572, EXPOSURES["C"])


def test_speed_at_capacity_gives_back_the_capacity() -> None:
    q1 = velocity_pressure(1.0, 0.85)
    speed = speed_at_capacity(800.0, 3.6, 0.0889, 1.2, q1)
    moment = unguyed_base_moment(force_per_length(velocity_pressure(speed, 0.85), 0.0889, 1.2), 3.6)
    assert moment == pytest.approx(800.0)
    assert speed_at_capacity(3200.0, 3.6, 0.0889, 1.2, q1) == pytest.approx(2.0 * speed)


def test_wind_in_the_frame() -> None:
    """Unguyed the frame gives w h^2/2; a stiff guy at the head of a clamped post takes 3/8 w h (a prop)."""
    head, w = np.array([3.6]), 60.0
    loads = Loads(head, np.zeros((1, 3)), distributed_force(w, 0.8))
    bare = solve_post(Post(head, 4e5, 3e8, np.inf), NO_GUYS, loads)
    assert np.hypot(*bare.base_moment) == pytest.approx(unguyed_base_moment(w, 3.6))
    stiff = Guys(head, np.array([0.8 + np.pi]), np.array([1.0]), np.array([1e12]))
    propped = solve_post(Post(head, 4e5, 3e11, np.inf), stiff, loads)
    assert propped.tension * np.sin(1.0) == pytest.approx([3.0 / 8.0 * w * 3.6], rel=1e-3)
