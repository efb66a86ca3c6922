"""A level line at another temperature and loaded at mid-span, by the textbook's equations and scipy."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, at_temperature, install, mid_sag, rest_place, rest_sag
from planforge.calc.point_load import load_line

from .textbook import Textbook


@pytest.mark.parametrize("change", [-30.0, 25.0])
@pytest.mark.parametrize("stiffness", [np.inf, 4e5])
@pytest.mark.parametrize("sag", [0.1524, 0.4])
def test_warmer_or_colder_line_at_rest_and_loaded(change: float, stiffness: float, sag: float) -> None:
    """Sag, tensions and unstretched length at rest, then tension and sag under 6 kN at mid-span."""
    book = Textbook(18.288, sag, change=change, compliance=1.0 / stiffness + 0.5 / stiffness)
    line = Line(18.288, 0.0, sag, Rope(book.w, book.EA, book.alpha), stiffness, 2 * stiffness)
    now = at_temperature(install(line), change)
    H0, length = book.installed()
    (H, rest, _), (H_loaded, under, end) = book.under(0.0, 6000.0)
    warm = length * (1.0 + 11.7e-6 * change)
    assert float(install(line).horizontal_tension) == pytest.approx(H0, rel=1e-7)
    assert float(now.horizontal_tension) == pytest.approx(H, rel=1e-6)
    assert float(now.unstretched_length) == pytest.approx(warm, rel=1e-9)
    assert float(mid_sag(now)) == pytest.approx(rest, rel=1e-4)
    places, _ = rest_place(now, np.array([9.144]))
    assert float(places[0]) == pytest.approx(0.5 * warm, rel=2e-4)
    loaded = load_line(now, np.array([9.144]), np.array([6000.0]))
    assert float(loaded.horizontal_tension) == pytest.approx(H_loaded, rel=1e-4)
    assert float(loaded.sag[0]) == pytest.approx(under, rel=1e-4)
    assert float(loaded.tension_left) == pytest.approx(end, rel=1e-4)


def test_sag_beside_mid_span_is_the_parabola_s() -> None:
    """4 f (x/L)(1 - x/L) of the chord, sloping lines too, to the order of the slope and the sag."""
    line = Line(20.0, 2.0, 0.2, Rope(3.5, 3.567e6))
    x = np.array([2.0, 5.0, 10.0, 17.0])
    assert rest_sag(install(line), x) == pytest.approx(0.8 * x / 20.0 * (1.0 - x / 20.0), rel=5e-3)
