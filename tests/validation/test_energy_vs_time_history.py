"""The energy balance against the time history, compared apart in drop and in tension.

No outside source: both methods are this project's own. What is expected comes from an
independent study of eleven 20 to 60 ft cases (common practice, no published source): drops agree
within about 1 percent, while the peak tension of the time history stands 8 to 27 percent higher
where no line absorber slides. The reason is the rope's inertia: take its mass away and the
difference goes (``test_difference_is_the_rope_s_mass``).
"""

from __future__ import annotations

import dataclasses
import functools

import numpy as np
import pytest

from planforge.calc.arrest import Arrest, Faller, arrest, arrest_in_sequence
from planforge.calc.cable import Rope
from planforge.calc.lifeline import install
from planforge.calc.time_history import Hanging, TimeHistory, time_history

from .cases import FOOT, INCH, POUND, POUND_FORCE, STEEL, Case, steel_line

_WORKER = Faller(310.0 * POUND, 6.0 * FOOT, 900.0 * POUND_FORCE, 4.0 * FOOT)
# span ft, sag in, workers, place as a part of the span
_CASES = np.array(
    [(s, f, n, x) for s, f in ((20, 3), (40, 6), (60, 6), (60, 12)) for n in (1, 2) for x in (0.5, 0.25)]
).T


@functools.cache
def both() -> tuple[Arrest, TimeHistory]:
    span, sag, count, part = _CASES
    line = install(steel_line(span, sag))
    worker = Faller(_WORKER.mass, _WORKER.free_fall, _WORKER.absorber_force, _WORKER.absorber_stroke, count)
    place = part * span * FOOT
    return arrest(line, place, worker), time_history(line, place, worker)


def drop_ratios() -> np.ndarray:
    """Whole fall by time history over the same by energy."""
    balance, history = both()
    return (history.drop + balance.free_fall) / balance.total_fall


def tension_ratios() -> np.ndarray:
    balance, history = both()
    return history.tension_max / balance.tension_max


def light_rope_ratio() -> float:
    """Tension ratio with the rope's mass cut to a thousandth."""
    rope = Rope(1e-3 * STEEL.weight, STEEL.axial_stiffness)
    line = install(steel_line(60.0, 6.0, rope=rope))
    history = time_history(line, 30.0 * FOOT, _WORKER)
    return float(history.tension_max / arrest(line, 30.0 * FOOT, _WORKER).tension_max)


_OURS = "energy balance against time history (both ours)"
CASES = [
    Case(_OURS, "16 falls without line absorber: greatest difference of the whole fall", 0.0,
         lambda: float(np.max(np.abs(drop_ratios() - 1.0))), "part", 0.015, "study: about 1 %", True),
    Case(_OURS, "the same: least ratio of peak tensions", 1.08, lambda: float(np.min(tension_ratios())),
         "ratio", 0.06, "study's least; chain's waves scatter 5 %"),
    Case(_OURS, "the same: greatest ratio of peak tensions", 1.27, lambda: float(np.max(tension_ratios())),
         "ratio", 0.12, "study's greatest was at other places and spans; chain's waves scatter 5 %"),
    Case(_OURS, "ratio with a rope of a thousandth of the mass", 1.0, light_rope_ratio, "ratio", 0.02,
         "without inertia both are one theory"),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_drop_and_tension_apart(case: Case) -> None:
    case.check()


def test_difference_is_the_rope_s_mass() -> None:
    """This test ensures that the difference in tension shrinks steadily as the rope gets lighter."""
    factor = np.array([1.0, 0.1, 0.01, 0.001])
    line = install(steel_line(60.0, 6.0, rope=Rope(factor * STEEL.weight, STEEL.axial_stiffness)))
    history = time_history(line, 30.0 * FOOT, _WORKER)
    excess = history.tension_max / arrest(line, 30.0 * FOOT, _WORKER).tension_max - 1.0
    assert np.all(np.diff(excess) < 0.0)
    assert excess[-1] < 0.02


def test_agreement_in_drop_proves_nothing_about_tension() -> None:
    """This test ensures that one case is on record whose drops agree while its tensions don't."""
    drop, tension = drop_ratios(), tension_ratios()
    assert np.any((np.abs(drop - 1.0) < 0.005) & (tension > 1.2))


def test_far_end_sees_more_than_the_line_absorber_s_force() -> None:
    """One absorber at one end, a connector that grips: the far end is above its force (study: 5-9 %)."""
    line = install(
        steel_line(60.0, 6.0, absorber_force=2000.0 * POUND_FORCE, absorber_stroke=1.0, rope=STEEL)
    )
    history = time_history(line, 30.0 * FOOT, _WORKER)
    assert history.tension_left == pytest.approx(2000.0 * POUND_FORCE, rel=1e-9)
    assert 1.03 < history.tension_right / history.tension_left < 1.35


def test_more_nodes_change_little() -> None:
    """Node count: drop within 0.3 %, peak tension within 10 % from 16 pieces on (undamped waves scatter)."""
    line = install(steel_line())
    runs = [time_history(line, 30.0 * FOOT, _WORKER, segments=n) for n in (16, 32, 48)]
    drops = np.array([float(r.drop) for r in runs])
    tensions = np.array([float(r.tension_max) for r in runs])
    assert np.ptp(drops) < 0.003 * drops[-1]
    assert np.ptp(tensions) < 0.10 * tensions[-1]


@pytest.mark.parametrize("absorber", [np.inf, 2000.0 * POUND_FORCE])
def test_energy_is_accounted_for(absorber: float) -> None:
    """This test ensures that the integration loses or gains less than 0.5 % of the energy put in."""
    line = install(
        steel_line(40.0, 6.0, absorber_force=absorber, absorber_stroke=0.3, end_stiffness_left=4e5)
    )
    history = time_history(line, 12.0 * FOOT, _WORKER)
    assert abs(history.energy_misfit) < 0.005


def test_second_fall_with_the_first_hanging() -> None:
    """This test ensures that the sequence rule has its second opinion: drops as near, tension above."""
    line = install(steel_line(60.0, 6.0, absorber_force=2500.0 * POUND_FORCE, absorber_stroke=0.6))
    places = np.array([10.0, 20.0, 35.0]) * FOOT
    balance = arrest_in_sequence(line, 20.0 * FOOT, _WORKER, places, _WORKER)
    first = balance.first
    left = _WORKER.absorber_stroke - first.absorber_stroke
    hanging = Hanging(20.0 * FOOT, _WORKER.mass, first.line_absorber_extension, _WORKER.absorber_force, left)
    falling = dataclasses.replace(_WORKER, free_fall=balance.second.free_fall)
    history = time_history(line, places, falling, hanging=hanging)
    whole = (history.drop + balance.second.free_fall) / balance.second.total_fall
    assert np.max(np.abs(whole - 1.0)) < 0.05
    assert np.all(history.tension_max > 0.98 * balance.second.tension_max)
    assert np.all(history.line_absorber_extension >= first.line_absorber_extension)


def test_mirror() -> None:
    """This test ensures that left and right are only names."""
    values = {"absorber_force": 2000.0 * POUND_FORCE, "absorber_stroke": 0.4, "end_stiffness_left": 4e5}
    here = time_history(install(steel_line(rise=4 * INCH, **values)), 20.0 * FOOT, _WORKER)
    values["end_stiffness_right"] = values.pop("end_stiffness_left")
    there = time_history(
        install(steel_line(rise=-4 * INCH, absorber_on_right=True, **values)), 40.0 * FOOT, _WORKER
    )
    assert here.tension_left == pytest.approx(float(there.tension_right), rel=1e-9)
    assert here.tension_right == pytest.approx(float(there.tension_left), rel=1e-9)
    assert here.drop == pytest.approx(float(there.drop), rel=1e-9)
