"""Arrest: the energy balance in each of its outcomes, workers together and one after another."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planforge.calc.arrays import stack_records
from planforge.calc.arrest import Arrest, Faller, arrest, arrest_in_sequence, stations
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.cable import Rope
from planforge.calc.capacity import capacity
from planforge.calc.constants import G
from planforge.calc.lifeline import InstalledLine, Line, install
from planforge.calc.point_load import load_line
from planforge.errors import CalculationError

ROPE = Rope(weight=3.5, axial_stiffness=3.567e6, thermal_expansion=11.7e-6)
LINE = Line(18.288, 0.0, 0.1524, ROPE)
ABSORBED = dataclasses.replace(LINE, absorber_force=9000.0, absorber_stroke=0.5)
WORKER = Faller(mass=140.6, free_fall=1.8288, absorber_force=4003.0, absorber_stroke=1.2)
STIFF = dataclasses.replace(WORKER, absorber_force=12000.0)
Pair = tuple[float, float]


def energy_misfit(installed: InstalledLine, found: Arrest, faller: Faller) -> float:
    """m g (h + D + s) - F_slid s - U, over the first: 0 where the balance holds."""
    at = np.array([float(found.position)])
    count = float(faller.count)
    loaded = load_line(installed, at, np.array([float(found.force_per_worker) * count]))
    rest = load_line(installed, at, np.array([0.0]))
    given_up = count * faller.mass * G * float(found.total_fall)
    slid = count * faller.absorber_force * float(found.absorber_stroke)
    return (given_up - slid - float(loaded.stored_energy - rest.stored_energy)) / given_up


@pytest.mark.parametrize("line", [LINE, ABSORBED])
@pytest.mark.parametrize(
    ("change", "opened", "exhausted"),
    [
        ({}, True, False),
        ({"count": 2}, True, False),
        ({"absorber_stroke": 0.3}, True, True),
        ({"absorber_force": 30000.0}, False, False),
        ({"absorber_stroke": 0.0}, True, True),
        ({"absorber_force": 1000.0, "absorber_stroke": 0.2}, True, True),
    ],
)
def test_energy_balances_in_every_outcome(
    line: Line, change: dict[str, float], opened: bool, exhausted: bool
) -> None:
    faller = dataclasses.replace(WORKER, **change)
    installed = install(line)
    found = arrest(installed, 7.0, faller)
    assert bool(found.absorber_opened) is opened
    assert bool(found.absorber_exhausted) is exhausted
    assert energy_misfit(installed, found, faller) == pytest.approx(0.0, abs=1e-6)


def test_force_that_is_not_reached_is_solved_for() -> None:
    """Trap: n x F of the personal absorbers isn't always reached; then the stroke is zero."""
    found = arrest(install(ABSORBED), 9.144, dataclasses.replace(STIFF, free_fall=0.2, count=2))
    assert not found.absorber_opened
    assert found.absorber_stroke == 0.0
    assert found.force_per_worker < STIFF.absorber_force


def test_personal_absorber_out_of_stroke_raises_the_tension() -> None:
    """Trap: a personal absorber that runs out can double the tension."""
    enough = arrest(install(LINE), 9.144, WORKER)
    short = arrest(install(LINE), 9.144, dataclasses.replace(WORKER, absorber_stroke=0.3))
    assert short.force_per_worker > 1.5 * enough.force_per_worker
    assert short.tension_max > 1.5 * enough.tension_max


def test_line_absorber_out_of_stroke_raises_the_tension() -> None:
    """Trap: and so can a line absorber."""
    two = dataclasses.replace(WORKER, count=2)
    line = dataclasses.replace(LINE, absorber_force=12000.0, absorber_stroke=np.array([3.0, 0.1]))
    found = arrest(install(line), 9.144, two)
    assert found.line_absorber_exhausted.tolist() == [False, True]
    assert found.tension_max[1] > 1.8 * found.tension_max[0]


def test_many_falls_with_both_absorbers_at_work() -> None:
    """This test ensures that a batch across all the kinks balances its energy, each case as if alone."""
    places, strokes = np.linspace(1.0, 17.0, 9), np.linspace(0.0, 1.3, 14)
    line = dataclasses.replace(ABSORBED, absorber_stroke=np.array([0.02, 0.2, 3.0])[:, None, None])
    faller = dataclasses.replace(WORKER, absorber_stroke=strokes)
    batch = arrest(install(line), places[:, None], faller)
    assert 0.2 < np.mean(batch.absorber_exhausted) < 0.9
    assert 0.2 < np.mean(batch.line_absorber_exhausted) < 0.9
    for at in ((0, 0, 0), (1, 4, 3), (2, 8, 5), (2, 4, 0), (0, 3, 13)):
        alone_line = install(dataclasses.replace(ABSORBED, absorber_stroke=[0.02, 0.2, 3.0][at[0]]))
        alone_faller = dataclasses.replace(WORKER, absorber_stroke=float(strokes[at[2]]))
        alone = arrest(alone_line, float(places[at[1]]), alone_faller)
        assert batch.tension_max[at] == pytest.approx(float(alone.tension_max), rel=1e-7)
        assert batch.total_fall[at] == pytest.approx(float(alone.total_fall), rel=1e-7)
        assert energy_misfit(alone_line, alone, alone_faller) == pytest.approx(0.0, abs=1e-6)


def test_workers_do_not_superpose() -> None:
    """Trap: twice the force gives well under twice the tension, and more drop."""
    one, two = (arrest(install(LINE), 9.144, dataclasses.replace(WORKER, count=n)) for n in (1, 2))
    assert 1.5 < two.tension_max / one.tension_max < 1.7
    assert two.sag_increment > one.sag_increment


def test_second_fall_starts_lower_and_finds_the_absorber_spent() -> None:
    """Trap: the first hangs as dead load while the second falls."""
    sequence = arrest_in_sequence(install(ABSORBED), 6.0, WORKER, np.array([6.0, 9.0, 12.0]), WORKER)
    assert np.all(sequence.first.line_absorber_extension > 0.05)
    assert np.all(sequence.added_free_fall > 0.2)
    assert np.allclose(sequence.second.free_fall, WORKER.free_fall + sequence.added_free_fall)
    assert np.all(sequence.second.line_absorber_extension >= sequence.first.line_absorber_extension)
    assert np.all(sequence.second.total_fall > sequence.first.total_fall)


def test_sequence_with_a_weightless_first_is_the_plain_arrest() -> None:
    """This test ensures that a first worker of next to no mass leaves the second alone on the line."""
    ghost = Faller(mass=1e-2, free_fall=0.0, absorber_force=4000.0, absorber_stroke=1.0)
    sequence = arrest_in_sequence(install(LINE), 6.0, ghost, 11.0, WORKER)
    alone = arrest(install(LINE), 11.0, WORKER)
    assert sequence.second.tension_max == pytest.approx(float(alone.tension_max), rel=1e-3)
    assert sequence.second.total_fall == pytest.approx(float(alone.total_fall), rel=1e-3)


def test_line_hangs_low_afterwards() -> None:
    """Trap: after an arrest the static sag with the absorber pulled out is the rescue's height."""
    found = arrest(install(ABSORBED), 9.144, WORKER)
    static = load_line(install(ABSORBED), np.array([9.144]), np.array([WORKER.mass * G]))
    assert found.hanging_sag > float(static.sag[0]) + 0.2
    assert found.hanging_sag < found.sag
    assert found.hanging_increment == pytest.approx(float(found.hanging_sag - found.sag_before), abs=1e-6)


def both_bounds(line: Line, stiffness: Pair, absorber: Pair | None = None) -> Line:
    """A line as strength and clearance case: (high, low) end stiffness, N/m, and line absorber's force, N."""
    force = absorber or (float(line.absorber_force),) * 2
    cases = [
        dataclasses.replace(line, end_stiffness_left=k, end_stiffness_right=k, absorber_force=f)
        for k, f in zip(stiffness, force, strict=True)
    ]
    return stack_records(cases, 1)


def both_forces(faller: Faller, forces: Pair) -> Faller:
    """A faller with the (high, low) deployment force, N, of the personal absorber."""
    return dataclasses.replace(faller, absorber_force=np.array(forces).reshape(2, 1))


def test_bounds_run_in_one_batch() -> None:
    """Trap: stiff ends and high force for strength, soft ends and low force for clearance and stroke."""
    rigid, soft = float("inf"), 3.5e5
    ample = dataclasses.replace(WORKER, absorber_stroke=2.5)
    lines = both_bounds(ABSORBED, (rigid, soft), (11000.0, 8000.0))
    found = arrest(install(lines), stations(18.288), both_forces(ample, (4400.0, 3200.0)))
    assert found.tension_max.shape == (2, stations(18.288).size)
    assert found.tension_max[STRENGTH].max() > found.tension_max[CLEARANCE].max()
    assert found.total_fall[CLEARANCE].max() > found.total_fall[STRENGTH].max()
    assert found.absorber_stroke[CLEARANCE].max() > found.absorber_stroke[STRENGTH].max()


def test_low_force_can_give_the_greater_tension() -> None:
    """This test ensures that it is on record: a stroke that runs out under the low force beats the other."""
    faller = both_forces(WORKER, (4400.0, 2200.0))
    found = arrest(install(both_bounds(LINE, (3.5e5, 3.5e5))), 9.144, faller)
    assert found.absorber_exhausted[:, 0].tolist() == [False, True]
    assert found.tension_max[CLEARANCE, 0] > found.tension_max[STRENGTH, 0]


def test_capacity_counts_from_one() -> None:
    found = capacity(install(LINE), stations(18.288), WORKER, 4)
    assert found.workers.tolist() == [1.0, 2.0, 3.0, 4.0]
    assert np.all(np.diff(found.tension_max) > 0.0)
    alone = arrest(install(LINE), 9.144, WORKER)
    assert found.tension_max[0] == pytest.approx(float(alone.tension_max), rel=1e-9)
    assert found.position_of_tension[0] == pytest.approx(9.144)


def test_capacity_is_the_worst_of_single_arrests() -> None:
    """Each number of workers at each place by itself, on a sloping line with unlike ends."""
    line = dataclasses.replace(ABSORBED, rise=1.2, end_stiffness_right=9e5, absorber_stroke=0.2)
    places = np.array([2.0, 6.0, 9.144, 13.0, 17.0])
    found = capacity(install(line), places, WORKER, 3)
    for n in range(3):
        alone = [
            arrest(install(line), float(x), dataclasses.replace(WORKER, count=float(n + 1))) for x in places
        ]
        worst_tension = max(range(5), key=lambda i: float(alone[i].tension_max))
        worst_fall = max(range(5), key=lambda i: float(alone[i].total_fall))
        assert found.position_of_tension[n] == places[worst_tension]
        assert found.position_of_fall[n] == places[worst_fall]
        for field, own in (
            ("tension_max", "tension_max"),
            ("end_load_left", "tension_left"),
            ("end_load_right", "tension_right"),
            ("force_per_worker", "force_per_worker"),
            ("total_fall", "total_fall"),
        ):
            expected = max(float(getattr(one, own)) for one in alone)
            assert getattr(found, field)[n] == pytest.approx(expected, rel=1e-6), field


def test_stations_hold_both_near_ends_and_the_middle() -> None:
    places = stations(18.4)
    assert places[0] == pytest.approx(0.3048)
    assert places[-1] == pytest.approx(18.4 - 0.3048)
    assert np.any(np.isclose(places, 9.2))
    assert np.all(np.diff(places) > 0.0)
    assert np.max(np.diff(places)) <= 0.3048 + 1e-9
    assert stations(0.5).tolist() == [0.25]


def test_batch_equals_its_members() -> None:
    """This test ensures that solving together changes no number."""
    fallers = dataclasses.replace(
        WORKER, count=np.array([[1.0], [2.0]]), absorber_stroke=np.array([[1.2], [0.4]])
    )
    places = np.array([2.0, 9.0, 15.0])
    together = arrest(install(ABSORBED), places, fallers)
    for i, (n, s) in enumerate(((1, 1.2), (2, 0.4))):
        for j, x in enumerate(places):
            alone = arrest(install(ABSORBED), x, dataclasses.replace(WORKER, count=n, absorber_stroke=s))
            assert together.tension_max[i, j] == pytest.approx(float(alone.tension_max), rel=1e-6)
            assert together.total_fall[i, j] == pytest.approx(float(alone.total_fall), rel=1e-6)


@pytest.mark.parametrize(
    "change",
    [{"mass": 0.0}, {"count": 0}, {"free_fall": -0.1}, {"absorber_stroke": -1.0}, {"absorber_force": 0.0}],
)
def test_impossible_fallers_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(CalculationError, match="must"):
        dataclasses.replace(WORKER, **change)


@settings(max_examples=40, deadline=None)
@given(
    part=st.floats(0.05, 0.95),
    fall=st.floats(0.0, 2.0),
    count=st.integers(1, 3),
    stroke=st.floats(0.1, 1.5),
    absorber=st.sampled_from([np.inf, 7000.0, 11000.0]),
)
def test_more_free_fall_more_of_everything(
    part: float, fall: float, count: int, stroke: float, absorber: float
) -> None:
    line = install(dataclasses.replace(LINE, absorber_force=absorber, absorber_stroke=0.4))
    falls = np.array([fall, fall + 0.2])
    faller = Faller(120.0, falls, 4000.0, stroke, count)
    found = arrest(line, part * 18.288, faller)
    assert found.total_fall[1] > found.total_fall[0]
    assert found.tension_max[1] >= found.tension_max[0] * (1.0 - 1e-6)
    assert np.all(found.absorber_stroke >= 0.0)
    assert np.all(found.absorber_stroke <= stroke + 1e-12)
    assert np.all(found.sag_increment >= 0.0)
    assert np.all(found.force_per_worker > 0.0)


@settings(max_examples=40, deadline=None)
@given(part=st.floats(0.05, 0.95), sag=st.floats(0.05, 0.6), count=st.integers(1, 3))
def test_tension_falls_as_sag_grows(part: float, sag: float, count: int) -> None:
    lines = install(dataclasses.replace(LINE, installed_sag=np.array([sag, 1.1 * sag])))
    found = arrest(lines, part * 18.288, dataclasses.replace(WORKER, count=count))
    assert found.tension_max[1] < found.tension_max[0]
