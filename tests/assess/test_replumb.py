"""What a head's movement does to the sag, and how the guys move the heads."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.assess.replumb import MOVEMENTS
from planforge.calc.at_rest import sag_after_movement
from planforge.calc.cable import Rope
from planforge.units import FOOT, INCH, LBF

from .case import CONFIRM, MEETS
from .jobs import REMOVE, assessed, finding


def test_sags_and_room_are_those_of_the_line() -> None:
    moved = next(m for m in assessed().replumbed if m.line == "L-1")
    rope = Rope(0.24 * LBF / FOOT, 700000 * LBF)
    assert moved.sag == pytest.approx(3.5 * INCH)
    for move, nearer, farther in zip(MOVEMENTS, moved.nearer, moved.farther, strict=True):
        assert nearer == pytest.approx(float(sag_after_movement(36 * FOOT, 0.0, moved.sag, rope, move)))
        assert farther == pytest.approx(float(sag_after_movement(36 * FOOT, 0.0, moved.sag, rope, -move)))
        assert farther < moved.sag < nearer
    card = next(r.card for r in assessed().lines if r.id == "L-1")
    assert card.at_installation is not None and moved.room is not None
    ends = [float(sag_after_movement(36 * FOOT, 0.0, moved.sag, rope, d)) for d in moved.room]
    assert ends[0] == pytest.approx(card.at_installation[1], rel=5e-3)
    least = float(sag_after_movement(36 * FOOT, 0.0, moved.sag, rope, -moved.room[1]))
    assert least == pytest.approx(card.at_installation[0], rel=5e-3)


def test_guys_that_pull_alike_leave_the_head_and_a_stronger_one_draws_it() -> None:
    """P1 has no pretension in the small lot: its head stays; one guy set alone draws it that way."""
    still = next(m for m in assessed().replumbed if m.line == "L-2")
    assert still.tensioning == pytest.approx((0.0, 0.0), abs=1e-4)
    set_to = {"equipment.guys.guy.pretension": {"value": "500 lbf", "source": "Sheet G p. 4 (invented)"}}
    drawn = next(m for m in assessed(set_to).replumbed if m.line == "L-2")
    # P3's guys to both sides balance, the one behind it (to -y) has none against it but the base
    assert not np.isfinite(drawn.tensioning[0]) or drawn.tensioning[0] < 0.0
    assert drawn.tensioning[1] == pytest.approx(0.0, abs=1e-4)  # P2 stands among four alike


def test_a_band_wider_than_the_tolerance_meets_and_an_unstated_tolerance_asks() -> None:
    tight = assessed({"erection.tolerances.plumb": "0.005 deg"})
    assert finding(tight, "line.plumb", "L-1").verdict is MEETS
    unstated = finding(assessed({"erection.tolerances": REMOVE}), "line.plumb", "L-1")
    assert (unstated.verdict, unstated.value) == (CONFIRM, "not reckoned")
    assert unstated.limit == "wanted: erection.tolerances.plumb"
    usual = finding(assessed(), "line.plumb", "L-1")
    assert usual.verdict is CONFIRM
    line = next(m for m in assessed().replumbed if m.line == "L-1")
    most = max(line.nearer[0] - line.sag, line.sag - line.farther[0]) / INCH
    assert f"1/8 in nearer or farther change it by up to {round(most / 0.005) * 0.005:.3f} in" in usual.note
    assert usual.note.endswith("and sign it.")
