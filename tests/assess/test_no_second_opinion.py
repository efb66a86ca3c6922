"""A line that the time history, or either method, can't answer for: in words, others untouched."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest

from planforge.assess import assessment, stances
from planforge.assess.assessment import Assessment, assess
from planforge.assess.lines import LineResult
from planforge.calc.arrest import arrest
from planforge.errors import CalculationError, Quantity

from .case import CONFIRM
from .jobs import Changes, assessed, finding, small

TIGHT: Changes = {"layout.lines.L-1.sag": "1/8 in"}
"""So taut on the coldest day that the line absorber slides before anyone falls."""


def _line(assessment: Assessment, line_id: str) -> LineResult:
    return next(r for r in assessment.lines if r.id == line_id)


def test_line_without_a_second_opinion_asks_and_raises_its_loads() -> None:
    whole = assessed(TIGHT)
    found, result = finding(whole, "line.second_opinion", "L-1"), _line(whole, "L-1")
    assert result.second is None and result.loads is not None
    assert found.verdict is CONFIRM
    assert found.value == "the second method gives no trustworthy answer for this line"
    assert "gives way before the fall" in found.note and "times 1.27" in found.note
    assert result.loads.tension == pytest.approx(1.27 * max(run.tension for run in result.runs))
    assert result.loads.start == pytest.approx(1.27 * max(run.end_load[0] for run in result.runs))
    assert result.loads.end == pytest.approx(1.27 * max(run.end_load[1] for run in result.runs))
    assert finding(whole, "line.rope_strength", "L-1").value == pytest.approx(
        result.parts.rope.breaking_strength.value / result.loads.tension
        if result.parts.rope.breaking_strength
        else None
    )


@pytest.mark.parametrize(
    ("units", "tension"), [("us", r"under [\d,]+ lbf\."), ("metric", r"under [\d.]+ kN\.")]
)
def test_why_is_told_in_the_jobs_units(units: str, tension: str) -> None:
    note = finding(assessed({**TIGHT, "site.units": units}), "line.second_opinion", "L-1").note
    assert re.search(tension, note), note
    assert " N" not in note


def test_other_lines_keep_theirs() -> None:
    others = [r for r in assessed().lines if r.id != "L-1"]
    assert others
    for other in others:
        same = _line(assessed(TIGHT), other.id)
        assert same.second is not None and other.second is not None and same.loads and other.loads
        # alone or in one batch: the chain's waves scatter by a hair only
        assert same.loads.tension == pytest.approx(other.loads.tension, rel=1e-6)


def test_failed_calculation_names_line_stance_and_fields(monkeypatch: pytest.MonkeyPatch) -> None:
    solve, job = arrest, small()
    bad = next(r for r in assessed().lines if r.id == "L-1").parts.span

    def refuses(installed: Any, position: Any, faller: Any) -> Any:
        if np.any(np.isclose(installed.line.span, bad)):
            raise CalculationError(
                "arrest force: no trustworthy solution from {low} on.", low=Quantity(10_000.0, "N")
            )
        return solve(installed, position, faller)

    monkeypatch.setattr(stances, "arrest", refuses)
    with pytest.raises(CalculationError) as failed:
        assess(job)
    message = str(failed.value)
    assert message.startswith("line L-1, stance ")
    assert "no trustworthy solution from 2,250 lbf on." in message  # 10 kN in lbf, to 10
    assert "layout.lines[0].sag" in message and "equipment.ropes[0].axial_stiffness" in message


def test_any_calculation_that_fails_is_told_in_the_jobs_units(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ensures that what fails off the lines, as at a base, is worded too."""

    def refuses(*_: Any) -> Any:
        raise CalculationError("base anchor: {depth} is left.", depth=Quantity(0.0508, "m"))

    monkeypatch.setattr(assessment, "bases", refuses)
    with pytest.raises(CalculationError, match=r"^base anchor: 2 in is left\.$"):
        assess(small())
