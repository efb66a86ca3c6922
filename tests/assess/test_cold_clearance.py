"""Clearance on the warmest and on the coldest day: the worse of both counts at every place."""

from __future__ import annotations

import numpy as np

from planforge.assess.line_model import COLD_CLEARANCE
from planforge.calc.bounds import CLEARANCE

from .jobs import assessed_demo


def test_a_cold_line_gives_way_farther_and_its_fall_is_the_one_reckoned() -> None:
    """A device's fall does not depend on the line's height, so the tighter, colder line is worse."""
    runs = [r for result in assessed_demo("quartz_court_building_2").lines for r in result.runs]
    cold = [r for r in runs if (r.clear_cases == COLD_CLEARANCE).any()]
    assert cold
    for run in cold:
        assert set(np.unique(run.clear_cases)) <= {CLEARANCE, COLD_CLEARANCE}
    worst = max(cold, key=lambda r: float(r.clear.sag_increment.max()))
    at = int(np.argmax(worst.clear.sag_increment))
    assert worst.clear_cases[at] == COLD_CLEARANCE
    assert worst.clear.sag_before[at] < worst.rig.parts.line.sag * 1.2
