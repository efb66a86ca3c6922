"""Reach of a ladder at four to one and rope through a tackle, against the rule and plain geometry."""

from __future__ import annotations

import math

import pytest

from planforge.calc.rescue_reach import ladder_foot, ladder_reach, rope_needed
from planforge.errors import CalculationError
from planforge.units import FOOT


def test_foot_stands_a_quarter_of_the_working_length_out() -> None:
    """29 CFR 1926.1053(b)(5)(i): about one-quarter of the working length, from top support to foot."""
    assert float(ladder_foot(24 * FOOT)) == pytest.approx(6 * FOOT, rel=1e-12)


def test_ladder_leans_at_seventy_five_and_a_half_degrees() -> None:
    """The angle to the ground of a ladder set at 1:4, 75.5 degrees (ANSI ASC A14.2, from memory)."""
    rise = float(ladder_reach(1.0, 0.0, 0.0))
    assert math.degrees(math.asin(rise)) == pytest.approx(75.5, abs=0.05)
    assert rise**2 + float(ladder_foot(1.0)) ** 2 == pytest.approx(1.0, rel=1e-12)


def test_reach_counts_from_the_rung_stood_on() -> None:
    expected = 21 * FOOT * math.sin(math.acos(0.25)) + 4 * FOOT
    assert float(ladder_reach(25 * FOOT, 4 * FOOT, 4 * FOOT)) == pytest.approx(expected, rel=1e-12)


def test_rung_below_the_feet_is_refused() -> None:
    with pytest.raises(CalculationError, match="below the ladder's feet"):
        ladder_reach(10.0, 10.1, 1.2)


def test_rope_of_a_tackle() -> None:
    """Simple machines: with n parts the rope's end moves n times as far as the load."""
    assert float(rope_needed(5.0, 4)) == pytest.approx(20.0)
