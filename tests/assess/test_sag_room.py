"""A target sag keeps 1/8 in from either end of the card's band: planforge's own allowance, no source."""

from __future__ import annotations

import pytest

from planforge.assess.finding import Verdict
from planforge.assess.sag_card import ROOM_TO_SET
from planforge.units import INCH

from .case import MEETS, SHORT
from .jobs import assessed, finding

TARGET = 3.5 * INCH


def band() -> tuple[float, float]:
    card = next(line.card for line in assessed().lines if line.id == "L-1")
    assert card.at_installation is not None
    return card.at_installation


def test_room_is_an_eighth_of_an_inch() -> None:
    assert pytest.approx(0.125 * INCH) == ROOM_TO_SET


@pytest.mark.parametrize(("room", "verdict"), [(0.05, SHORT), (0.11, SHORT), (0.14, MEETS), (0.3, MEETS)])
@pytest.mark.parametrize("end", [0, 1])
def test_target_keeps_off_the_ends_of_the_band(end: int, room: float, verdict: Verdict) -> None:
    sag = band()[end] + (1, -1)[end] * room * INCH
    found = finding(assessed({"layout.lines.L-1.sag": f"{sag!r} m"}), "line.sag_band", "L-1")
    assert found.verdict is verdict
    assert found.sense == ("at least", "at most")[end]
    # the band moves a little with the target: the reckoning starts from it
    assert found.limit == pytest.approx(band()[end] + (1, -1)[end] * ROOM_TO_SET, abs=0.01 * INCH)
    assert ("nearer the middle" in found.note) == (verdict is SHORT)
