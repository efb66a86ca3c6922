"""A level line at another temperature and loaded at mid-span, by the textbook's equations and scipy.

The elastic catenary of one half, from the middle to an end: with H, s of unstretched rope and a force V0 at
its lower end, x = H s/EA + H/w (asinh(V1/H) - asinh(V0/H)), z = s (V0 + V1)/(2 EA) + (T1 - T0)/w,
V1 = V0 + w s (Irvine, Cable Structures, from memory). The ends give way by (H - H0)/k each.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, at_temperature, install, mid_sag, rest_place, rest_sag
from planforge.calc.point_load import load_line

W, EA, ALPHA = 3.5, 3.567e6, 11.7e-6


def half(H: float, s: float, V0: float = 0.0) -> tuple[float, float]:
    """Run and drop of one half, m."""
    V1 = V0 + W * s
    x = H * s / EA + H / W * (np.arcsinh(V1 / H) - np.arcsinh(V0 / H))
    return float(x), float(s * (V0 + V1) / (2 * EA) + (np.hypot(H, V1) - np.hypot(H, V0)) / W)


def textbook(
    span: float, sag: float, change: float, compliance: float, load: float
) -> tuple[float, float, float, float]:
    """H0 as installed; then of the warmer line under ``load``: H, its unstretched length and the sag, m."""

    def length_at(H: float) -> float:
        return float(2.0 * brentq(lambda s: half(H, s)[0] - 0.5 * span, 0.4 * span, 0.6 * span, xtol=1e-15))

    H0 = float(brentq(lambda H: half(H, 0.5 * length_at(H))[1] - sag, 50.0, 1e5, xtol=1e-10))
    warm = length_at(H0) * (1.0 + ALPHA * change)

    def misfit(H: float) -> float:
        return half(H, 0.5 * warm, 0.5 * load)[0] - 0.5 * (span - compliance * (H - H0))

    H = float(brentq(misfit, 50.0, 1e6, xtol=1e-10))
    return H0, H, warm, half(H, 0.5 * warm, 0.5 * load)[1]


@pytest.mark.parametrize("change", [-30.0, 25.0])
@pytest.mark.parametrize("stiffness", [np.inf, 4e5])
@pytest.mark.parametrize("sag", [0.1524, 0.4])
def test_warmer_or_colder_line_at_rest_and_loaded(change: float, stiffness: float, sag: float) -> None:
    """Sag, tensions and unstretched length at rest, then tension and sag under 6 kN at mid-span."""
    line = Line(18.288, 0.0, sag, Rope(W, EA, ALPHA), stiffness, 2 * stiffness)
    compliance = 1.0 / stiffness + 0.5 / stiffness
    now = at_temperature(install(line), change)
    H0, H, length, rest = textbook(18.288, sag, change, compliance, 0.0)
    assert float(install(line).horizontal_tension) == pytest.approx(H0, rel=1e-7)
    assert float(now.horizontal_tension) == pytest.approx(H, rel=1e-6)
    assert float(now.unstretched_length) == pytest.approx(length, rel=1e-9)
    assert float(mid_sag(now)) == pytest.approx(rest, rel=1e-4)
    places, _ = rest_place(now, np.array([9.144]))
    assert float(places[0]) == pytest.approx(0.5 * length, rel=2e-4)
    loaded = load_line(now, np.array([9.144]), np.array([6000.0]))
    _, H, _, under = textbook(18.288, sag, change, compliance, 6000.0)
    assert float(loaded.horizontal_tension) == pytest.approx(H, rel=1e-4)
    assert float(loaded.sag[0]) == pytest.approx(under, rel=1e-4)
    assert float(loaded.tension_left) == pytest.approx(np.hypot(H, 0.5 * (6000.0 + W * length)), rel=1e-4)


def test_sag_beside_mid_span_is_the_parabola_s() -> None:
    """4 f (x/L)(1 - x/L) of the chord, sloping lines too, to the order of the slope and the sag."""
    line = Line(20.0, 2.0, 0.2, Rope(W, EA))
    x = np.array([2.0, 5.0, 10.0, 17.0])
    assert rest_sag(install(line), x) == pytest.approx(0.8 * x / 20.0 * (1.0 - x / 20.0), rel=5e-3)
