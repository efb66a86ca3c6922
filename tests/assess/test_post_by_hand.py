"""A post of the small lot by AISC 360 from statics alone: its weight, how its guy runs, how far it is used.

P3 has one guy behind its line, 18 ft up a post of 20 ft, at 45 degrees; equations from memory.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from planforge.assess.load_path import post_ratio
from planforge.units import FOOT, INCH, LBF

from .jobs import assessed
from .small_posts import GUY, LEVER, WEIGHT, down, post, pull

E, FY = 29e6 * LBF / INCH**2, 50e3 * LBF / INCH**2
D, BORE = 5.5 * INCH, 4.75 * INCH
AREA = pi / 4 * (D**2 - BORE**2)
INERTIA = pi / 64 * (D**4 - BORE**4)
PLASTIC = (D**3 - BORE**3) / 6


def test_parts_as_the_lot_states_them() -> None:
    pretension = {f"{GUY}.pretension": {"value": "500 lbf", "source": "Sheet G p. 5 (invented)"}}
    parts = post(assessed(pretension), "P3").parts
    behind = parts.guys[0]
    assert (behind.length, behind.angle, behind.azimuth) == pytest.approx(
        (9 * 2**0.5 * FOOT, pi / 4, -pi / 2)
    )
    assert behind.pretension == pytest.approx(500 * LBF)
    assert parts.own_weight * 20 * FOOT == pytest.approx([0.0, 0.0, -WEIGHT])
    assert np.degrees(parts.directions(24) - behind.azimuth) == pytest.approx(15.0 * np.arange(24))


def test_how_far_the_tube_is_used() -> None:
    """Pinned base. Twice the line's pull H: the guy bends the tube by 2 ft H and presses it by H 20/18.

    H1-1a or H1-1b with phi 0.9, Lc = 18 ft, B1 by Euler's load of it, B2 by RM = 0.85 and the head's sway.
    """
    lot = assessed()
    result = post(lot, "P3")
    H = 2 * pull(lot)
    pressed = H * LEVER + WEIGHT + 2 * down(lot)
    slender = 18 * FOOT / (INERTIA / AREA) ** 0.5
    Fe = pi**2 * E / slender**2
    axial = pressed / (0.9 * 0.658 ** (FY / Fe) * FY * AREA)
    b1 = 1 / (1 - pressed / (pi**2 * E * INERTIA / (18 * FOOT) ** 2))
    sway = np.linalg.norm(result.pinned.head[0, :2])
    b2 = 1 / (1 - pressed / (0.85 * H / sway * 20 * FOOT))
    bending = max(b1, b2) * H * 2 * FOOT / (0.9 * FY * PLASTIC)
    expected = axial + 8 / 9 * bending if axial >= 0.2 else axial / 2 + bending
    section = result.parts.tube
    assert section is not None
    force = 2 * np.stack([c.force for c in result.cases])[:, None, :]
    assert post_ratio(result.parts, section, result.pinned, force)[0] == pytest.approx(expected, rel=1e-3)
    assert result.post_ratio[0] >= expected * (1 - 1e-3)  # the worse of both bounds of the base


def test_sequence_prints_what_both_methods_gave() -> None:
    """Drop: what the falling worker comes down after the connector is taut."""
    second = next(r for r in assessed().lines if r.id == "L-1").second
    for opinion in second.sequences if second else ():
        balance, history = opinion.balance.second, opinion.history
        assert opinion.history_tension == float(history.tension_max)
        assert opinion.balance_tension == float(balance.tension_max)
        assert opinion.history_drop == float(history.drop)
        assert opinion.balance_drop == pytest.approx(float(balance.total_fall - balance.free_fall))
        ratio = float(history.drop) / float(balance.total_fall - balance.free_fall)
        assert opinion.drop_difference == pytest.approx(ratio - 1.0)
    assert second is not None and second.sequences
    balance = float(second.strong_run.strong.tension_max[second.strong_at])
    assert second.tension_ratio == pytest.approx(float(second.strong.tension_max) / balance)
    assert second.energy_drop == pytest.approx(float(second.clear.drop), rel=0.05)
