"""The printed stack re-adds, and rounds to the careful side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.assess.assessment import Assessment
from planforge.assess.printed_stack import shared_out, stack_rows
from planforge.assess.sides import SideRun
from planforge.calc.clearance import Elevations, reckon
from planforge.units import INCH, LENGTH, Display, parse


def _sides(assessment: Assessment) -> list[SideRun]:
    runs = [run for result in assessment.lines for run in result.runs]
    return [side for run in (*runs, *assessment.anchors) for side in run.sides]


@pytest.mark.parametrize("system", ["us", "metric"])
def test_printed_terms_re_add(lot: Assessment, system: str) -> None:
    step = INCH if system == "us" else 0.01
    for side in _sides(lot):
        stack = stack_rows(side, Display(system))  # type: ignore[arg-type]
        terms = [parse(term.text, LENGTH) for term in stack.terms]
        required, available, left = (
            parse(p.text, LENGTH) for p in (stack.required, stack.available, stack.left_over)
        )
        assert sum(terms) == pytest.approx(required, abs=1e-9)
        assert available - required == pytest.approx(left, abs=1e-9)
        assert 0.0 <= stack.required.value - side.required + 1e-9 < step + 1e-9
        assert 0.0 <= side.available - stack.available.value + 1e-9 < step + 1e-9
        assert stack.short == (side.left_over < -1e-9)
        assert (left < 0) == stack.short
        for printed, (name, value) in zip(stack.terms, side.stack, strict=True):
            assert printed.key == name
            assert abs(printed.value - value) < step


def _with_available(side: SideRun, available: float) -> SideRun:
    """The same side with its lower level ``available`` m below the D-ring."""
    ones = np.ones_like(side.under.elevation)
    lower = replace(side.under, elevation=-available * ones)
    return replace(
        side, under=lower, clearance=reckon(side.terms, Elevations(0.0, 0.0, 0.0, lower.elevation))
    )


@pytest.mark.parametrize("spare", [0.0, 1e-4, 0.003, 0.02, -1e-4, -0.01])
def test_the_sign_is_never_rounded_away(demo: object, spare: float) -> None:
    assessment = demo("wren_lot_7_mended")  # type: ignore[operator]
    side = assessment.lines[0].runs[0].worst_side
    stack = stack_rows(_with_available(side, side.required + spare), Display())
    assert stack.short == (spare < 0)
    assert (stack.left_over.value < 0) == (spare < 0)


@given(st.lists(st.floats(0, 300), min_size=1, max_size=9))
def test_shares_add_up_and_move_less_than_one(values: list[float]) -> None:
    total = int(np.ceil(sum(values) - 1e-6))
    shares = shared_out(values, total)
    assert sum(shares) == total or abs(sum(values) - total) < 1e-5
    assert all(abs(s - v) < 1.0 + 1e-5 for s, v in zip(shares, values, strict=True))
    assert all(s == v for s, v in zip(shares, values, strict=True) if v == int(v))
