"""Guys: direction, stiffness of joined lengths, and the split of their pull at a plate."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.guy import (
    anchor_force,
    axial_stiffness,
    guy_run,
    joined_stiffness,
    sag_take_up,
    stretch,
    tension_for_pull,
    uplift_for_pull,
)
from planforge.errors import CalculationError


def test_run_of_a_three_four_five_guy() -> None:
    run = guy_run(np.array([1.0, 1.0, 4.0]), np.array([1.0, 4.0, 0.0]))
    assert run.length == pytest.approx(5.0)
    assert run.azimuth == pytest.approx(np.pi / 2)
    assert np.sin(run.angle) == pytest.approx(0.6)


@pytest.mark.parametrize("anchor", [[0.0, 0.0, 0.0], [3.0, 0.0, 4.0], [3.0, 0.0, 5.0]])
def test_anchor_under_or_above_the_attachment_is_refused(anchor: list[float]) -> None:
    with pytest.raises(CalculationError, match="below its attachment"):
        guy_run(np.array([0.0, 0.0, 4.0]), np.array(anchor))


@pytest.mark.parametrize("angle", [0.0, np.pi / 2, -0.3, 2.0])
def test_angle_out_of_range_is_refused(angle: float) -> None:
    with pytest.raises(CalculationError, match="between 0 and 90"):
        tension_for_pull(1.0, angle)


def test_all_but_flat_guy_is_allowed() -> None:
    """At 88 degrees from the post it pulls its anchor nearly sideways: H / sin 88, H / tan 88."""
    assert tension_for_pull(1000.0, np.radians(88.0)) == pytest.approx(1000.61, abs=0.005)
    assert uplift_for_pull(1000.0, np.radians(88.0)) == pytest.approx(34.921, abs=0.005)


def test_joined_lengths() -> None:
    """Equal lengths in series share the stretch; one length is EA/L."""
    EA = np.array([2e6, 2e6, 1e6])
    lengths = np.array([1.0, 2.0, 0.5])
    k = joined_stiffness(EA, lengths)
    assert stretch(9e3, k) == pytest.approx(np.sum(9e3 * lengths / EA))
    assert joined_stiffness(EA[:1], lengths[:1]) == pytest.approx(axial_stiffness(2e6, 1.0))
    assert k < np.min(EA / lengths)


@pytest.mark.parametrize("plate", [0.0, 0.4, np.pi / 2, 4.0])
def test_split_keeps_the_whole_pull(plate: float) -> None:
    force = anchor_force(5000.0, 0.6, 1.1, plate)
    assert np.hypot(force.uplift, force.shear) == pytest.approx(5000.0)
    assert force.uplift == pytest.approx(5000.0 * np.cos(0.6))


def test_split_by_the_plate() -> None:
    """A guy that runs along x pulls its anchor back along -x: all along a plate in x, all across one in y."""
    along = anchor_force(1000.0, np.pi / 4, 0.0, 0.0)
    across = anchor_force(1000.0, np.pi / 4, 0.0, np.pi / 2)
    share = 1000.0 / np.sqrt(2.0)
    assert (along.along, along.across) == (pytest.approx(-share), pytest.approx(0.0, abs=1e-9))
    assert (across.along, across.across) == (pytest.approx(0.0, abs=1e-9), pytest.approx(share))


def test_length_held_by_a_guys_own_sag() -> None:
    """The elastic catenary's chord against its rope: a 13 ft guy of 0.46 lb/ft, 45 degrees, at 250 lbf."""
    weight, length, angle, tension = 6.71, 3.96, np.pi / 4, 1112.0
    held = float(sag_take_up(weight, length, angle, tension))
    # numerically: excess length of a parabola under the weight square to the chord
    x = np.linspace(0.0, length, 200_001)
    slope = weight * np.sin(angle) * (0.5 * length - x) / tension
    excess = float(np.trapezoid(np.sqrt(1.0 + slope**2) - 1.0, x))
    assert held == pytest.approx(excess, rel=1e-4)
    assert float(sag_take_up(weight, length, angle, 2 * tension)) == pytest.approx(held / 4)
