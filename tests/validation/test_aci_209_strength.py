"""ACI 209R-92, table 2.2.1: strength at an age as a part of the 28-day strength. All values from memory.

The constants were seen in an open bridge-design library, the printed ratios were not looked up; the
comparison therefore guards against slips in the constants and in the equation, no more.
"""

from __future__ import annotations

import pytest

from planforge.calc.concrete_age import CURVES, strength_ratio

from .cases import Case

CASES = [
    Case(
        "ACI 209R-92 table 2.2.1 (from memory)",
        f"{CURVES[key].name}, {days} days",
        value,
        lambda k=key, t=days: float(strength_ratio(t, CURVES[k])),
        "ratio",
        0.005,
        "two decimals",
        absolute=True,
    )
    for key, days, value in (
        ("I moist", 3, 0.46),
        ("I moist", 7, 0.70),
        ("I moist", 14, 0.88),
        ("I moist", 28, 1.00),
        ("III moist", 3, 0.59),
        ("III moist", 7, 0.80),
        ("III moist", 14, 0.92),
        ("I steam", 3, 0.78),
        ("I steam", 14, 0.98),
        ("III steam", 3, 0.82),
        ("III steam", 7, 0.93),
        ("III steam", 14, 0.97),
    )
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_remembered(case: Case) -> None:
    case.check()
