"""The pendulum's sideways pull against its own motion, stepped in time."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from planforge.calc.constants import G
from planforge.calc.swing import sideways_pull


@pytest.mark.parametrize("degrees", [10.0, 30.0, 53.0, 75.0, 90.0])
def test_sideways_pull_is_that_of_a_stepped_pendulum(degrees: float) -> None:
    """theta'' = -g/R sin theta from rest; T = m (g cos theta + R theta'^2), its part across the greatest."""
    start, radius, mass = np.radians(degrees), 1.7, 120.0
    motion = solve_ivp(
        lambda _, y: [y[1], -G / radius * np.sin(y[0])], (0.0, 1.5), [start, 0.0], max_step=1e-3, rtol=1e-9
    )
    theta, rate = motion.y
    across = mass * (G * np.cos(theta) + radius * rate**2) * np.abs(np.sin(theta))
    assert float(sideways_pull(mass, start)) == pytest.approx(float(np.max(across)), rel=1e-4)


def test_hanging_still_pulls_nothing_sideways() -> None:
    assert float(sideways_pull(120.0, 0.0)) == pytest.approx(0.0, abs=1e-9)
