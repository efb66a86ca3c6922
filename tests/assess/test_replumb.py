"""What a head's movement does to the sag, and how the guys move the heads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planforge.assess.replumb import MOVEMENTS, plumb_text, room_text
from planforge.calc.at_rest import sag_after_movement
from planforge.calc.cable import Rope
from planforge.units import FOOT, INCH, LBF, Display

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


@pytest.mark.parametrize(
    ("inches", "us", "metric"),
    [
        (0.045, '< 1/16"', "1 mm"),
        (0.03, '< 1/16"', "< 1 mm"),
        (0.0625, '1/16"', "1 mm"),
        (0.124, '1/16"', "3 mm"),
        (0.51, '1/2"', "12 mm"),
    ],
)
def test_room_is_printed_as_a_rule_shows_it_and_never_more(inches: float, us: str, metric: str) -> None:
    assert room_text(inches * INCH, Display()) == us
    assert room_text(inches * INCH, Display("metric")) == metric


def test_a_plumb_that_a_level_shows_is_named_where_it_keeps_the_sag() -> None:
    """Two heads of 20 ft that may move 1 in together keep to it within asin(1 / 480) = 0.119 deg each."""
    moved = replace(assessed().replumbed[0], heads=40 * FOOT, tolerance=8 * INCH, room=(2 * INCH, 1 * INCH))
    assert moved.tight
    assert moved.plumb_kept == pytest.approx(np.radians(0.11937), rel=1e-4)
    assert plumb_text(moved.plumb_kept or 0.0) == "0.1°"
    assert replace(moved, room=(0.8 * INCH, 1 * INCH)).plumb_kept is None
    assert not replace(moved, tolerance=1 * INCH).tight


def test_a_band_wider_than_the_tolerance_meets_and_an_unstated_tolerance_asks() -> None:
    tight = assessed({"erection.tolerances.plumb": "0.005 deg"})
    assert finding(tight, "line.plumb", "L-1").verdict is MEETS
    unstated = finding(assessed({"erection.tolerances": REMOVE}), "line.plumb", "L-1")
    assert (unstated.verdict, unstated.value) == (CONFIRM, "not reckoned")
    assert unstated.limit == "wanted: erection.tolerances.plumb"
    coarse = assessed({"erection.tolerances.plumb": "1 deg"})
    assert "Plumb within" not in finding(coarse, "line.plumb", "L-1").note  # no level shows so fine a plumb
    usual = finding(assessed(), "line.plumb", "L-1")
    assert usual.verdict is CONFIRM
    line = next(m for m in assessed().replumbed if m.line == "L-1")
    most = max(line.nearer[0] - line.sag, line.sag - line.farther[0]) / INCH
    assert f"1/8 in nearer or farther change it by up to {Display().inches(most * INCH, 'up')}" in usual.note
    assert usual.note.endswith("and sign it.")
