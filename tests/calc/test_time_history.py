"""The time history's own behaviour; its comparison with the energy balance is in tests/validation."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planforge.calc.arrest import Faller
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.time_history import Hanging, time_history
from planforge.errors import CalculationError

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
