"""Whole-number programmes: objectives in order, no answer, and what is left when the time runs out."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from planforge.errors import CalculationError
from planforge.kits import programme as module
from planforge.kits.programme import OutOfTimeError, Programme


def _knapsack() -> tuple[Programme, list[int]]:
    """At least 7 from pieces of 2 and 3: (2, 1) costs 3 pieces, as does (1, 2) and (0, 3)."""
    programme = Programme()
    two, three = programme.variable(9.0), programme.variable(9.0)
    programme.row({two: 2.0, three: 3.0}, low=7.0)
    return programme, [two, three]


def test_a_later_objective_decides_among_the_best_of_the_first() -> None:
    programme, (two, three) = _knapsack()
    pieces = ("pieces", {two: 1.0, three: 1.0})
    answer = programme.solve([pieces, ("threes", {three: 1.0})])
    assert answer is not None
    assert answer.values.tolist() == [2, 1]
    assert [(s.name, s.objective, s.bound) for s in answer.steps] == [("pieces", 3, 3), ("threes", 1, 1)]
    assert answer.proven
    other = programme.solve([pieces, ("twos", {two: 1.0})])
    assert other is not None
    assert other.values.tolist() == [0, 3]


def test_what_can_t_be_is_none() -> None:
    programme, (two, three) = _knapsack()
    programme.row({two: 1.0, three: 1.0}, high=2.0)
    assert programme.solve([("pieces", {two: 1.0})]) is None


def test_nothing_to_choose_is_an_answer() -> None:
    answer = Programme().solve([("nothing", {})])
    assert answer is not None
    assert answer.steps[0].proven


def _solver(*results: dict[str, Any]) -> Any:
    given = iter(results)
    return lambda *_args, **_more: SimpleNamespace(message="", mip_dual_bound=None, **next(given))


def test_without_a_choice_in_time_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    programme, (two, _) = _knapsack()
    monkeypatch.setattr(module, "milp", _solver({"status": 1, "x": None}))
    with pytest.raises(OutOfTimeError):
        programme.solve([("pieces", {two: 1.0})], time_limit=1.0)


def test_a_choice_in_time_comes_with_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    programme, (two, three) = _knapsack()
    late = SimpleNamespace(status=1, x=np.array([2.0, 1.0]), mip_dual_bound=2.4, message="")
    monkeypatch.setattr(module, "milp", lambda *_args, **_more: late)
    answer = programme.solve([("pieces", {two: 1.0, three: 1.0})], time_limit=1.0)
    assert answer is not None
    (step,) = answer.steps
    assert (step.objective, step.bound, step.proven) == (3.0, 2.4, False)
    assert not answer.proven


def test_where_a_later_step_runs_out_the_choice_before_it_stands(monkeypatch: pytest.MonkeyPatch) -> None:
    programme, (two, three) = _knapsack()
    first = {"status": 0, "x": np.array([2.0, 1.0])}
    monkeypatch.setattr(module, "milp", _solver(first, {"status": 1, "x": None}))
    answer = programme.solve([("pieces", {two: 1.0, three: 1.0}), ("threes", {three: 1.0})], time_limit=1.0)
    assert answer is not None
    assert answer.values.tolist() == [2, 1]
    assert [(s.proven, s.bound) for s in answer.steps] == [(True, 3.0), (False, 0.0)]


def test_a_solver_s_choice_that_breaks_a_row_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    programme, (two, three) = _knapsack()
    monkeypatch.setattr(module, "milp", _solver({"status": 0, "x": np.array([1.0, 1.0])}))
    with pytest.raises(CalculationError, match="breaks a row"):
        programme.solve([("pieces", {two: 1.0, three: 1.0})])
