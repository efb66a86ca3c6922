"""A line at rest whose heads move, or in the wind: the textbook's catenary by scipy, and the parabola."""

from __future__ import annotations

from math import cosh, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from planforge.calc.at_rest import length_at_sag, rest_tension, room_to_move, sag_after_movement
from planforge.calc.cable import Rope
from planforge.units import FOOT, INCH, LBF

WIRE = Rope(weight=0.236 * LBF / FOOT, axial_stiffness=700_000 * LBF)


def by_scipy(span: float, length: float) -> float:
    """H of a level elastic catenary: L0 = 2 s with x(s) = span / 2, from its textbook equations."""
    w, EA = 0.236 * LBF / FOOT, 700_000 * LBF

    def miss(H: float) -> float:
        half = 0.5 * length
        return H * half / EA + H / w * np.arcsinh(w * half / H) - 0.5 * span

    return float(brentq(miss, 1.0, 1e6, xtol=1e-9, rtol=1e-12))


@pytest.mark.parametrize("sag", [1.5, 3.5, 6.0])
@pytest.mark.parametrize("move", [-0.5, -0.125, 0.0, 0.125, 0.5])
def test_tension_and_sag_after_a_movement_are_those_of_the_catenary(sag: float, move: float) -> None:
    span, w = 31.5 * FOOT, 0.236 * LBF / FOOT
    length = float(length_at_sag(span, 0.0, sag * INCH, WIRE))
    moved = span - move * INCH
    H = by_scipy(moved, length)
    assert rest_tension(moved, 0.0, length, WIRE) == pytest.approx(H, rel=1e-6)
    stretched = H / w * (cosh(w * moved / (2 * H)) - 1)  # the shape of an inextensible one
    found = float(sag_after_movement(span, 0.0, sag * INCH, WIRE, move * INCH))
    assert found == pytest.approx(stretched, rel=2e-3)


def test_a_quarter_inch_moves_a_sag_by_inches() -> None:
    """Parabola, rope taken as stiff: f^2 = f0^2 + 3 L d / 8; 3.5 in on 31.5 ft becomes 6.89 in at 1/4 in."""
    span = 31.5 * 12
    expected = sqrt(3.5**2 + 3 * span * 0.25 / 8)
    found = float(sag_after_movement(31.5 * FOOT, 0.0, 3.5 * INCH, WIRE, 0.25 * INCH)) / INCH
    assert expected == pytest.approx(6.91, abs=0.01)
    # the rope was stretched by its own tension and shortens as it slackens: a little less
    assert 0.95 * expected < found < expected


@given(st.floats(10.0, 60.0), st.floats(1.5, 8.0), st.floats(0.5, 2.0), st.floats(-3.0, 3.0))
def test_room_to_move_is_where_the_sag_meets_its_limit(
    span: float, sag: float, times: float, rise: float
) -> None:
    """Moving the heads by the room gives the limit's sag, to the movement over the span."""
    limit = times * sag * INCH
    room = float(room_to_move(span * FOOT, rise * FOOT, sag * INCH, limit, WIRE))
    assert (room > 0.0) == (limit > sag * INCH) or abs(room) < 1e-6
    after = float(sag_after_movement(span * FOOT, rise * FOOT, sag * INCH, WIRE, room))
    assert after == pytest.approx(limit, rel=0.02, abs=2e-4)


def test_heavier_rope_of_the_same_length_is_tauter() -> None:
    length = float(length_at_sag(10.0, 0.0, 0.1, WIRE))
    heavy = Rope(3 * WIRE.weight, WIRE.axial_stiffness)
    assert rest_tension(10.0, 0.0, length, heavy) > rest_tension(10.0, 0.0, length, WIRE)
