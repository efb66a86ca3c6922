"""The time history beside the energy balance: the drops agree, the larger tension governs strength."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planforge.assess.lines import LineResult, line_findings
from planforge.units import LBF

from .case import CONFIRM, MEETS
from .jobs import Changes, assessed


def line(changes: Changes | None = None, line_id: str = "L-1") -> LineResult:
    return next(r for r in assessed(changes).lines if r.id == line_id)


@pytest.mark.parametrize(
    ("times", "verdict"), [(1.0, MEETS), (1.035, MEETS), (1.06, CONFIRM), (0.93, CONFIRM)]
)
def test_drops_that_differ_ask_the_qualified_person(times: float, verdict: object) -> None:
    assessment, result = assessed(), line()
    assert result.second is not None
    moved = replace(result.second, clear=replace(result.second.clear, drop=result.second.clear.drop * times))
    findings = line_findings(assessment.index, replace(result, second=moved), assessment.profile)
    (found,) = [f for f in findings if f.id == "line.second_opinion"]
    assert found.verdict is verdict
    assert found.value == pytest.approx((1 + result.second.drop_difference) * times - 1)
    assert found.limit == 0.05
    assert found.decides == "qualified person"


def test_larger_tension_of_the_two_methods_governs() -> None:
    # with the personal absorber working, the rope's inertia lifts the peak over the balance's
    usual = line()
    assert usual.second is not None and usual.loads is not None
    assert usual.loads.by == "time history"
    assert usual.loads.tension == pytest.approx(float(usual.second.strong.tension_max))
    assert usual.loads.tension > max(run.tension for run in usual.runs)
    # with the personal absorber spent at once, the balance's bound is the larger one
    spent = line({"equipment.connectors.srl.stroke.value": "2 in"})
    assert spent.second is not None and spent.loads is not None
    assert spent.loads.by == "energy balance"
    assert spent.loads.tension == pytest.approx(max(run.tension for run in spent.runs))
    assert spent.loads.tension > float(spent.second.strong.tension_max)


def test_end_opposite_the_line_absorber_sees_more_than_its_force() -> None:
    loads = line().loads
    assert loads is not None
    assert loads.start == pytest.approx(3600 * LBF, rel=1e-3)  # the absorber slides at L-1's start
    assert 1.02 < loads.end / loads.start < 1.25
