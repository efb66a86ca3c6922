"""Strength at an age: grows, stops at the 28-day value, and is nothing before the first day."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.concrete_age import CURVES, EARLIEST_AGE, strength_at_age, strength_ratio
from planforge.errors import CalculationError


@pytest.mark.parametrize("key", CURVES)
def test_grows_and_stops(key: str) -> None:
    ratio = strength_ratio(np.arange(1.0, 400.0), CURVES[key])
    assert np.all(np.diff(ratio) >= 0.0)
    assert np.max(ratio) <= 1.0
    assert ratio[40] == pytest.approx(1.0, abs=0.01)


def test_green_concrete_has_none() -> None:
    assert strength_at_age(20e6, [0.0, 0.99 * EARLIEST_AGE], CURVES["I moist"]) == pytest.approx([0.0, 0.0])


def test_a_day_and_a_week_by_hand() -> None:
    """1/(a + b) and 7/(a + 7 b) with the constants of ACI 209R-92 table 2.2.1 (from memory)."""
    found = [strength_at_age(20e6, [1.0, 7.0], curve).tolist() for curve in CURVES.values()]
    by_hand = [[4.124e6, 14.070e6], [6.211e6, 16.018e6], [10.256e6, 18.301e6], [11.905e6, 18.519e6]]
    assert np.array(found) == pytest.approx(np.array(by_hand), rel=2e-4)
    assert list(CURVES) == ["I moist", "III moist", "I steam", "III steam"]


def test_first_day_begins_to_count_at_its_end() -> None:
    ages = np.array([0.97, 1.03])
    assert np.all((strength_ratio(ages, CURVES["I moist"]) > 0.0) == [False, True])


def test_slab_before_its_pour_is_refused() -> None:
    with pytest.raises(CalculationError, match="precede the pour"):
        strength_ratio(-1.0, CURVES["I moist"])
