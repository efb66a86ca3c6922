"""The crew's sag card of a line, by the textbook's catenary (..calc.textbook) from what the lot states.

L-2: 26 ft, 3 in set at 40 F, heads of 1,800 to 4,200 lbf/in, the maker's band 1-1/2 to 5-1/2 in, 25 to 60 F.
"""

from __future__ import annotations

from typing import Any

import pytest
from scipy.optimize import brentq

from planforge.units import FOOT, INCH, LBF

from ..calc.textbook import Textbook
from .jobs import Changes, assessed, finding
from .small_posts import number
from .test_fall_by_hand import fall


def hangs(sag: float, set_at: float, now: float, stiffness: float) -> Textbook:
    """L-2 set to ``sag`` (m) at one temperature, at another, F; its heads so stiff, lbf/in."""
    give = 2.0 * INCH / (stiffness * LBF)
    return Textbook(26 * FOOT, sag, 0.24 * LBF / FOOT, 700_000 * LBF, 6.5e-6, now - set_at, give)


def sag(of: Textbook) -> float:
    return float(of.under(0.0)[0, 1])


def card(changes: Changes | None = None) -> Any:
    return next(line.card for line in assessed(changes).lines if line.id == "L-2")


def test_rows_of_the_card() -> None:
    """From 1-1/2 in on the coldest hour and 5-1/2 in on the warmest, the tighter of both stiffnesses."""
    found = card()
    assert (found.band.lower, found.band.upper) == pytest.approx((1.5 * INCH, 5.5 * INCH))
    heads = (1800.0, 4200.0)
    targets = [
        sag(hangs(3 * INCH, 40.0, 25.0, 4200.0)),
        sum(sag(hangs(3 * INCH, 40.0, 42.5, k)) for k in heads) / 2,
        sag(hangs(3 * INCH, 40.0, 60.0, 1800.0)),
    ]
    for row, now, target in zip(found.rows, (25.0, 42.5, 60.0), targets, strict=True):
        assert row.lower == pytest.approx(max(sag(hangs(1.5 * INCH, 25.0, now, k)) for k in heads), rel=1e-3)
        assert row.upper == pytest.approx(min(sag(hangs(5.5 * INCH, 60.0, now, k)) for k in heads), rel=1e-3)
        assert row.target == pytest.approx(target, rel=1e-3)
    low, high = found.at_installation
    assert low == pytest.approx(max(sag(hangs(1.5 * INCH, 25.0, 40.0, k)) for k in heads), rel=1e-3)
    assert high == pytest.approx(min(sag(hangs(5.5 * INCH, 60.0, 40.0, k)) for k in heads), rel=1e-3)


def test_weaker_rope_lifts_the_lower_sag() -> None:
    """Half of 7,450 lbf is what stiff heads and 1,000 lbf at mid-span make of the coldest hour's sag.

    The time history pulls harder than the balance at the lot's own sag: by so much each trial is raised.
    """
    line = next(row for row in assessed().lines if row.id == "L-2")
    assert line.loads is not None and line.loads.by == "time history"
    _, _, _, own = fall(hangs(3 * INCH, 40.0, 25.0, 4200.0), 1000 * LBF)
    raised = line.loads.tension / own
    assert 1.03 < raised < 1.27

    def over(trial: float) -> float:
        return raised * fall(hangs(trial, 25.0, 25.0, 4200.0), 1000 * LBF)[3] - 3725 * LBF

    expected = brentq(over, 1.5 * INCH, 5.5 * INCH)
    assert 2 * INCH < expected < 4 * INCH
    found = card({"equipment.ropes.rope.breaking_strength.value": "7450 lbf"})
    assert found.band.lower == pytest.approx(expected, rel=5e-3)


def test_rope_short_at_its_own_sag_has_it_outside_the_band() -> None:
    """Twice the line's load is 7,472 lbf, by the time history; by the balance alone 7,040 would do."""
    weak: Changes = {"equipment.ropes.rope.breaking_strength.value": "7300 lbf"}
    assert finding(assessed(weak), "line.rope_strength", "L-2").verdict.value == "short"
    found = card(weak)
    assert found.band is None or found.band.lower > found.coldest_sag


def test_ground_that_rises_lifts_the_lower_sag_too() -> None:
    """What is left over at the lot's own sag is what less sag on the warmest hour may add to the fall.

    A retracting device falls free no farther from a lower line, and a slacker line drops less under it.
    """
    rise: Changes = {"lower_levels.grade.elevation": "2.765 ft"}
    clearance = finding(assessed(rise), "arrest.clearance", "L-2 · T-E/S-E · outward", "walls")
    left = number(clearance.value) - number(clearance.limit)

    def falls(trial: float) -> float:
        _, drop, stroke, _ = fall(hangs(trial, 60.0, 60.0, 1800.0), 700 * LBF)
        return drop + stroke

    own = falls(sag(hangs(3 * INCH, 40.0, 60.0, 1800.0)))
    expected = brentq(lambda trial: falls(trial) - own - left, 1.5 * INCH, 5.5 * INCH)
    assert 3 * INCH < expected < 3.4 * INCH
    assert card(rise).band.lower == pytest.approx(expected, rel=1e-3)
