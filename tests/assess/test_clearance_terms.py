"""Every clearance of every demo: its terms re-add, and three datums give one answer."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from planforge.assess.printed_stack import TERM_NAMES, stack_rows
from planforge.assess.sides import SideRun
from planforge.units import LENGTH, Display, parse

from .jobs import DEMOS, assessed_demo


def sides(name: str) -> Iterator[SideRun]:
    assessment = assessed_demo(name)
    for line in assessment.lines:
        for run in line.runs:
            yield from run.sides
    for anchored in assessment.anchors:
        yield from anchored.sides


@pytest.mark.parametrize("name", DEMOS)
def test_terms_add_up_to_what_is_required(name: str) -> None:
    for side in sides(name):
        assert [term for term, _ in side.stack] == list(TERM_NAMES)
        assert all(value >= 0 for _, value in side.stack)
        assert sum(value for _, value in side.stack) == pytest.approx(side.required, abs=1e-12)
        assert side.left_over == pytest.approx(side.available - side.required, abs=1e-12)


@pytest.mark.parametrize("name", DEMOS)
def test_three_datums_agree_to_a_hair(name: str) -> None:
    for side in sides(name):
        clearance = side.clearance
        assert np.allclose(clearance.left_over, clearance.left_over_by_surface, rtol=0, atol=1e-12)
        assert np.allclose(clearance.left_over, clearance.left_over_by_anchorage, rtol=0, atol=1e-12)
        assert side.left_over == pytest.approx(float(clearance.left_over.min()))


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("name", DEMOS)
def test_printed_terms_re_add_and_keep_the_sign(name: str, units: str) -> None:
    for side in sides(name):
        stack = stack_rows(side, Display(units))
        printed = [parse(term.text, LENGTH) for term in stack.terms]
        required, available, left = (
            parse(row.text, LENGTH) for row in (stack.required, stack.available, stack.left_over)
        )
        assert sum(printed) == pytest.approx(required, abs=1e-9)
        assert available - required == pytest.approx(left, abs=1e-9)
        assert stack.required.value >= side.required - 1e-9, "required is rounded up"
        assert stack.available.value <= side.available + 1e-9, "available is rounded down"
        assert stack.short == (side.left_over < -1e-9)
        assert (left < 0) == stack.short or stack.short


@pytest.mark.parametrize("name", DEMOS)
def test_findings_state_the_governing_place(name: str) -> None:
    assessment = assessed_demo(name)
    stated = sorted((f.value, f.limit) for f in assessment.findings if f.id == "arrest.clearance")
    assert stated == sorted((side.available, side.required) for side in sides(name))
