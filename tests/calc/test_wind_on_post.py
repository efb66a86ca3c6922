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


#: ASCE 7-16 Figure 29.4-1, round sections, as printed (from memory): Cf at h/D of 1, 7 and 25.
_FIGURE = {
    "moderately smooth": (0.5, 0.6, 0.7),
    "rough": (0.7, 0.8, 0.9),
    "very rough": (0.8, 1.0, 1.2),
}


@pytest.mark.parametrize("surface", _FIGURE)
def test_coefficients_of_a_wide_cylinder(surface: str) -> None:
    """At the figure's own h/D its value, linear between (its note), its last value beyond."""
    at_1, at_7, at_25 = _FIGURE[surface]
    found = force_coefficient(np.array([1.0, 4.0, 7.0, 16.0, 25.0, 100.0]), 1.0, 600.0, surface)
    assert found == pytest.approx([at_1, (at_1 + at_7) / 2, at_7, (at_7 + at_25) / 2, at_25, at_25])
    assert np.all(found <= CAREFUL_FORCE_COEFFICIENT)
    slow = force_coefficient(np.array([0.1, 0.4, 0.7, 1.6, 2.5]), 0.1, 600.0, surface)
    assert slow == pytest.approx([0.7, 0.75, 0.8, 1.0, 1.2])


def test_flow_changes_where_the_figure_says() -> None:
    """D sqrt(qz) of 2.5 in ft and psf, the figure's inch-pound limit, is 5.27 in m and N/m2 (printed 5.3)."""
    limit = 2.5 * 0.3048 * np.sqrt(4.4482216152605 / 0.3048**2)
    pressure = (limit * np.array([0.98, 1.02])) ** 2
    assert force_coefficient(30.0, 1.0, pressure, "moderately smooth") == pytest.approx([1.2, 0.7])


def test_force_on_a_bare_post_as_the_inch_pound_edition_reckons_it() -> None:
    """F/h = qz G Cf D with qz = 0.00256 Kz V^2 in psf and mph, G 0.85 (26.11.1).

    Kd 1.0 for round (Table 26.6-1), 100 mph, Kz 0.85, a 3-1/2 in post, Cf 1.2: 21.76 psf and 6.474 lb/ft.
    ASCE 7-16, its constants from memory.
    """
    psf, lb_per_foot = 4.4482216152605 / 0.3048**2, 4.4482216152605 / 0.3048
    pressure = velocity_pressure(100.0 * 0.44704, 0.85)
    assert float(pressure) / psf == pytest.approx(21.76, rel=1e-3)
    force = force_per_length(pressure, 0.0889, CAREFUL_FORCE_COEFFICIENT)
    assert float(force) / lb_per_foot == pytest.approx(6.474, rel=1e-3)
    moment = float(unguyed_base_moment(force, 12.0 * 0.3048)) / (lb_per_foot * 0.3048**2)
    assert moment == pytest.approx(466.1, rel=1e-3)  # 6.474 lb/ft x 12 ft at half of 12 ft
    capacity = moment * lb_per_foot * 0.3048**2
    speed = speed_at_capacity(capacity, 12.0 * 0.3048, 0.0889, 1.2, velocity_pressure(1.0, 0.85))
    assert float(speed) == pytest.approx(44.704, rel=1e-3)


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
