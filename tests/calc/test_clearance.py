"""Clearance from three datums, free fall, swing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.calc.clearance import ClearanceTerms, Elevations, reckon
from planforge.calc.free_fall import anchorage_height, greatest, lanyard_free_fall, retracting_free_fall
from planforge.calc.swing import lateral_reach, swing

lengths = st.floats(0.0, 5.0)
heights = st.floats(-10.0, 30.0)


@given(terms=st.tuples(*[lengths] * 7), at=st.tuples(*[heights] * 4))
def test_three_datums_agree(terms: tuple[float, ...], at: tuple[float, ...]) -> None:
    """This test ensures that anchorage, surface and D-ring give one answer to 1e-9 m."""
    found = reckon(ClearanceTerms(*terms), Elevations(*at))
    assert found.left_over_by_surface == pytest.approx(float(found.left_over), abs=1e-9)
    assert found.left_over_by_anchorage == pytest.approx(float(found.left_over), abs=1e-9)


@given(terms=st.tuples(*[lengths] * 7), more=st.floats(0.01, 2.0), which=st.integers(0, 6))
def test_each_term_adds_its_own_length(terms: tuple[float, ...], more: float, which: int) -> None:
    grown = list(terms)
    grown[which] += more
    before, after = ClearanceTerms(*terms), ClearanceTerms(*grown)
    assert after.required_below_dring == pytest.approx(float(before.required_below_dring) + more)


def test_terms_stack_in_order_and_re_add() -> None:
    """Line drop is a term of its own: 1926.500(b) keeps lifeline elongation out of deceleration distance."""
    terms = ClearanceTerms(1.8, 0.8, 1.0, 0.3, 1.5, 0.0, 0.6)
    assert [name for name, _ in terms.ordered] == [
        "free_fall", "line_drop", "deceleration", "dring_shift", "dring_height", "swing_drop", "margin",
    ]  # fmt: skip
    assert sum(value for _, value in terms.ordered) == pytest.approx(float(terms.total))
    assert terms.required_below_surface(1.5) == pytest.approx(float(terms.total) - 1.5)
    assert terms.required_below_anchorage(-0.5) == pytest.approx(float(terms.total) - 0.5)


@given(length=st.floats(0.3, 2.0), height=st.floats(-2.0, 3.0))
def test_lanyard_free_fall(length: float, height: float) -> None:
    fall = float(lanyard_free_fall(length, height))
    assert fall == max(length - height, 0.0)
    assert lanyard_free_fall(length, height - 0.1) >= fall


def test_dring_above_the_line_falls_farther() -> None:
    """A worker on a top plate whose D-ring is above the line: the height between them adds."""
    assert lanyard_free_fall(1.8288, -0.5) == pytest.approx(2.3288)
    assert retracting_free_fall(0.6, -0.5) == pytest.approx(1.1)
    assert retracting_free_fall(0.6, 0.5) == pytest.approx(0.6)


def test_greatest_free_fall_comes_where_the_line_hangs_lowest() -> None:
    sag = np.array([0.02, 0.10, 0.15, 0.10, 0.02])
    falls = lanyard_free_fall(1.8, anchorage_height(4.0, sag) - 3.0)
    fall, where = greatest(falls)
    assert (fall, where) == (pytest.approx(0.95), 2)


def test_swing_closed_form() -> None:
    """3-4-5 triangle: R = 5, drop 1, speed sqrt(2 g)."""
    found = swing(4.0, 3.0)
    assert found.radius == pytest.approx(5.0)
    assert found.drop == pytest.approx(2.0)
    assert found.speed == pytest.approx(math.sqrt(2.0 * 9.80665 * 2.0))
    assert found.angle == pytest.approx(math.atan2(4.0, 3.0))
    assert swing(-4.0, 3.0).drop == pytest.approx(2.0)


@given(drop=st.floats(0.01, 2.0), below=st.floats(0.0, 5.0))
def test_reach_inverts_drop(drop: float, below: float) -> None:
    assert swing(lateral_reach(drop, below), below).drop == pytest.approx(drop, rel=1e-9)


def test_reach_is_nothing_from_above_the_anchorage() -> None:
    assert lateral_reach(0.5, -1.0) == 0.0
