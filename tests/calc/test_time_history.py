"""The time history's own behaviour; its comparison with the energy balance is in tests/validation."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planforge.calc import time_history as solver
from planforge.calc.arrest import Faller, arrest
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.time_history import Hanging, time_history
from planforge.errors import CalculationError
from planforge.units import FOOT, INCH

LINE = Line(12.0, 0.0, 0.15, Rope(3.5, 3.567e6))
WORKER = Faller(140.6, 1.8288, 4003.0, 1.2)


def test_batch_equals_its_members() -> None:
    """This test ensures that cases run together, each with its own step, change no number."""
    lines = dataclasses.replace(LINE, absorber_force=np.array([np.inf, 8000.0]), absorber_stroke=0.4)
    together = time_history(install(lines), np.array([6.0, 3.0]), WORKER)
    for i, (force, x) in enumerate(((np.inf, 6.0), (8000.0, 3.0))):
        alone = dataclasses.replace(LINE, absorber_force=force, absorber_stroke=0.4)
        one = time_history(install(alone), x, WORKER)
        assert together.drop[i] == pytest.approx(float(one.drop), rel=1e-6)
        assert together.line_absorber_extension[i] == pytest.approx(
            float(one.line_absorber_extension), abs=1e-6
        )


def test_nobody_hanging_in_a_mixed_batch() -> None:
    mixed = time_history(install(LINE), 6.0, WORKER, hanging=Hanging(6.0, np.array([0.0, 140.6])))
    alone = time_history(install(LINE), 6.0, WORKER)
    assert mixed.drop[0] == pytest.approx(float(alone.drop), rel=1e-6)
    assert mixed.tension_max[0] == pytest.approx(float(alone.tension_max), rel=1e-4)
    assert mixed.drop[1] != pytest.approx(float(alone.drop), rel=1e-3)


def test_stops_hold() -> None:
    """This test ensures that neither absorber gives more than its stroke, and that the stop shows."""
    short = dataclasses.replace(WORKER, absorber_stroke=0.3)
    line = install(dataclasses.replace(LINE, absorber_force=5000.0, absorber_stroke=0.1))
    history = time_history(line, 6.0, short)
    assert history.absorber_stroke == pytest.approx(0.3)
    assert history.line_absorber_extension == pytest.approx(0.1)
    assert history.force_per_worker > WORKER.absorber_force
    assert history.tension_left > 5000.0


def test_force_too_small_to_stop_the_fall() -> None:
    with pytest.raises(CalculationError, match="has not turned"):
        time_history(install(LINE), 6.0, Faller(140.6, 1.0, 1000.0, 1e3))


@pytest.mark.parametrize("x", [0.0, 12.0, 13.0])
def test_place_off_the_line_is_refused(x: float) -> None:
    with pytest.raises(CalculationError, match="between the ends"):
        time_history(install(LINE), x, WORKER)


@pytest.mark.parametrize("span", [3.0, 6.0, 11.0, 26.0, 60.0])
def test_energy_closes_from_short_spans_to_long_ones(span: float) -> None:
    """This test ensures that a rope that goes slack and snaps taut again keeps its energy.

    Spans of 3 to 60 ft, sags of 1 to 24 in, at mid-span and near an end, with and without a line absorber.
    """
    L, places = span * FOOT, np.array([0.1, 0.5])
    line = Line(
        L,
        0.0,
        INCH * np.array([1.0, 5.0, 24.0])[:, None, None],
        Rope(3.5, 3.07e6),
        absorber_force=np.array([[np.inf], [14e3]]),
        absorber_stroke=np.array([[0.0], [0.75]]),
    )
    installed, worker = install(line), Faller(120.2, 0.46, 4003.0, 1.02, 2)
    history, balance = time_history(installed, L * places, worker), arrest(installed, L * places, worker)
    assert np.max(np.abs(history.energy_misfit)) < 0.003
    drop = balance.sag_increment + balance.absorber_stroke
    # within 5 % on a taut line; where the rope starts out slack, the two part by a few per cent more
    assert history.drop == pytest.approx(drop, rel=0.09)
    assert np.all(history.tension_max > 0.99 * balance.tension_max)


def test_weak_line_absorber_keeps_its_energy() -> None:
    line = install(dataclasses.replace(LINE, absorber_force=700.0, absorber_stroke=0.75))
    history = time_history(line, 6.0, WORKER)
    assert abs(float(history.energy_misfit)) < 0.003
    assert history.line_absorber_extension == pytest.approx(0.75)


def test_absorber_that_opens_before_the_fall_is_refused() -> None:
    tight = install(
        dataclasses.replace(LINE, installed_sag=0.02, absorber_force=2500.0, absorber_stroke=0.75)
    )
    with pytest.raises(CalculationError, match="gives way before the fall"):
        time_history(tight, 6.0, WORKER)


def test_steps_have_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """This test ensures that a rope that asks for endless small steps ends in words at its limit."""
    monkeypatch.setattr(solver, "_MOST_STEPS", 20_000)
    with pytest.raises(CalculationError, match="20,000 steps in 1 of 1 cases"):
        time_history(install(Line(1.0, 0.0, 0.01, Rope(1e-3, 1e9))), 0.5, WORKER)
