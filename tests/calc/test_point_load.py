"""The loaded line: states of the absorber, ends, energy, mirror and scaling."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planforge.calc.arrays import as_array, flatten_record
from planforge.calc.cable import Rope, parabola_tension, run_and_rise, stretch
from planforge.calc.equilibrium import _bracketed_balance, balance, first_guess, simple_beam_vertical
from planforge.calc.lifeline import (
    InstalledLine,
    Line,
    at_temperature,
    install,
    mid_sag,
    rest_place,
    rest_sag,
)
from planforge.calc.point_load import _segments, grip, load_line, sag_profile
from planforge.errors import CalculationError

ROPE = Rope(weight=3.5, axial_stiffness=3.567e6, thermal_expansion=11.7e-6)
LINE = Line(18.288, 0.0, 0.1524, ROPE)
ABSORBED = dataclasses.replace(LINE, absorber_force=9000.0, absorber_stroke=0.5, end_stiffness_left=4e5)

spans = st.floats(3.0, 20.0)
parts = st.floats(0.03, 0.97)
forces = st.floats(50.0, 15000.0)


@st.composite
def lines(draw: st.DrawFn) -> Line:
    span = draw(spans)
    return Line(
        span,
        draw(st.floats(-0.15, 0.15)) * span,
        draw(st.floats(0.004, 0.08)) * span,
        Rope(draw(st.floats(0.5, 8.0)), draw(st.floats(5e4, 8e6))),
        end_stiffness_left=draw(st.sampled_from([np.inf, 2e5, 2e6])),
        end_stiffness_right=draw(st.sampled_from([np.inf, 3e5])),
        absorber_force=draw(st.sampled_from([np.inf, 6000.0, 12000.0])),
        absorber_stroke=draw(st.floats(0.0, 0.8)),
        absorber_on_right=draw(st.booleans()),
    )


def mirrored(line: Line) -> Line:
    return dataclasses.replace(
        line,
        rise=-line.rise,
        end_stiffness_left=line.end_stiffness_right,
        end_stiffness_right=line.end_stiffness_left,
        absorber_on_right=not line.absorber_on_right,
    )


def test_small_sag_has_negative_slack() -> None:
    """Trap: the rope of a 60 ft line at 6 in is shorter than the span once unloaded."""
    installed = install(LINE)
    assert installed.unstretched_length < LINE.span
    assert mid_sag(installed) == pytest.approx(0.1524, rel=1e-9)
    assert rest_sag(installed, np.array([4.572])) == pytest.approx(0.75 * 0.1524, rel=1e-3)


def test_sag_is_a_parabola_not_a_triangle() -> None:
    """Trap: excess length 8 f²/(3 L) against the triangle's 2 f²/L; H = w L²/(8 f)."""
    installed = install(dataclasses.replace(LINE, rope=Rope(3.5, 1e12)))
    excess = installed.unstretched_length - LINE.span
    assert excess == pytest.approx(8.0 * 0.1524**2 / (3.0 * LINE.span), rel=1e-3)
    assert installed.horizontal_tension == pytest.approx(
        float(parabola_tension(3.5, LINE.span, 0.1524)), rel=1e-3
    )
    assert stretch(1000.0, 20.0, 1e6) == pytest.approx(0.02)


def test_absorber_shut_sliding_locked() -> None:
    """This test ensures that the line absorber opens at its force, holds it, and locks at its stroke."""
    forces = np.array([[300.0], [4000.0], [30000.0]])
    loaded = load_line(install(ABSORBED), np.array([9.0]), forces)
    assert loaded.absorber_extension[0] == 0.0
    assert 0.0 < loaded.absorber_extension[1] < 0.5
    assert loaded.absorber_extension[2] == 0.5
    assert loaded.tension_left[0] < 9000.0
    assert loaded.tension_left[1] == pytest.approx(9000.0, rel=1e-7)
    assert loaded.tension_left[2] > 9000.0
    assert loaded.absorber_locked.tolist() == [False, False, True]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_absorber_obeys_its_law_in_any_state(seed: int) -> None:
    """This test ensures that any line, steep ones too, is shut below F, sliding at F or locked above it."""
    draw, cases = np.random.default_rng(seed), 400
    span = draw.uniform(1.0, 40.0, cases)
    line = Line(
        span=span,
        rise=draw.uniform(-0.3, 0.3, cases) * span,
        installed_sag=draw.uniform(0.002, 0.06, cases) * span,
        rope=Rope(10 ** draw.uniform(-0.5, 1.5, cases), 10 ** draw.uniform(4.5, 7.5, cases)),
        end_stiffness_left=10 ** draw.uniform(4.0, 8.0, cases),
        end_stiffness_right=10 ** draw.uniform(4.0, 8.0, cases),
        absorber_force=10 ** draw.uniform(2.5, 4.8, cases),
        absorber_stroke=10 ** draw.uniform(-2.0, 1.5, cases),
        absorber_on_right=draw.uniform(size=cases) < 0.5,
    )
    places = np.sort(draw.uniform(0.01, 0.99, (cases, 2)), axis=-1) * span[:, None]
    spent = np.where(draw.uniform(size=cases) < 0.5, 0.0, draw.uniform(0.0, 0.5, cases))
    forces = 10 ** draw.uniform(0.0, 4.7, (cases, 2))
    installed = install(line)
    loaded = load_line(installed, places, forces, spent)
    over = np.where(line.absorber_on_right, loaded.tension_right, loaded.tension_left) / line.absorber_force
    locked = loaded.absorber_locked
    sliding = ~locked & (loaded.absorber_extension > spent)
    shut = ~locked & ~sliding
    assert min(locked.sum(), sliding.sum(), shut.sum()) > 20
    assert np.all(over[shut] <= 1.0)
    assert over[sliding] == pytest.approx(np.ones(int(sliding.sum())), rel=1e-9)
    assert np.all(over[locked] >= 1.0 - 1e-9)
    assert np.all(loaded.absorber_extension >= spent)
    assert np.all(loaded.absorber_extension <= np.maximum(line.absorber_stroke, spent) + 1e-9)
    # walked from the left, piece by piece and with the absorber's link, the rope comes out at the right end
    H, V, pieces = loaded.horizontal_tension, loaded.left_vertical, _pieces_of(installed, places)
    w, flexibility = as_array(line.rope.weight), 1.0 / as_array(line.rope.axial_stiffness)
    x, z = np.zeros(cases), np.zeros(cases)
    for n, piece in enumerate(pieces):
        run, climb = run_and_rise(V, H, piece, w, flexibility)
        x, z, V = x + run, z + climb, V + w * piece + (forces[:, n] if n < 2 else 0.0)
    at_link = np.where(line.absorber_on_right, V, loaded.left_vertical)
    link = loaded.absorber_extension / np.hypot(H, at_link)
    reach = span - loaded.end_movement_left - loaded.end_movement_right
    assert np.max(np.abs(x + link * H - reach) / span) < 1e-9
    assert np.max(np.abs(z + link * at_link - line.rise) / span) < 1e-9


def _pieces_of(installed: InstalledLine, places: np.ndarray) -> list[np.ndarray]:
    """Unstretched rope before, between and behind two places, m."""
    lengths, _ = rest_place(installed, places)
    return [lengths[:, 0], lengths[:, 1] - lengths[:, 0], installed.unstretched_length - lengths[:, 1]]


def test_far_end_sees_more_than_the_absorber_near_it() -> None:
    """Trap: with a load near the far end that end is steeper and its tension above the force."""
    loaded = load_line(install(ABSORBED), np.array([15.0]), np.array([5000.0]))
    assert loaded.tension_left == pytest.approx(9000.0, rel=1e-7)
    assert loaded.tension_right > 1.01 * loaded.tension_left


def test_ends_move_by_the_added_tension_over_their_stiffness() -> None:
    """Trap: the springs already carry H0; they move by (H - H0)/k and store H0 d + k d²/2."""
    installed = install(ABSORBED)
    loaded = load_line(installed, np.array([9.0]), np.array([2000.0]))
    grown = loaded.horizontal_tension - installed.reference_tension
    d = grown / 4e5
    assert loaded.end_movement_left == pytest.approx(float(d))
    assert loaded.end_movement_right == 0.0
    stored = float(installed.reference_tension * d + 0.5 * 4e5 * d * d)
    assert loaded.spring_energy == pytest.approx(stored)


@pytest.mark.parametrize("rise", [0.0, 1.0, -0.7])
@pytest.mark.parametrize("line", [LINE, ABSORBED, dataclasses.replace(ABSORBED, absorber_on_right=True)])
def test_stored_energy_is_the_work_of_the_load(line: Line, rise: float) -> None:
    """Energy since installation = integral of P over the drop, through all three absorber states."""
    installed = install(dataclasses.replace(line, rise=rise))
    P = np.concatenate([np.linspace(0.0, 100.0, 400)[:-1], np.geomspace(100.0, 30000.0, 4000)])[:, None]
    loaded = load_line(installed, np.array([4.0]), P)
    drop = loaded.drop[:, 0]
    work = np.sum(0.5 * (P[1:, 0] + P[:-1, 0]) * np.diff(drop))
    assert loaded.stored_energy[-1] - loaded.stored_energy[0] == pytest.approx(float(work), rel=2e-5)


def test_below_300_lbf_the_rope_s_own_weight_counts() -> None:
    """Trap: straight weightless segments are a fair check above about 300 lbf and low below it."""
    P = np.array([[100.0], [20000.0]])
    loaded = load_line(install(LINE), np.array([9.144]), P)
    straight = P[:, 0] / 2.0 / np.sin(np.arctan(loaded.sag[:, 0] / 9.144))
    ratio = straight / loaded.tension_left
    assert ratio[0] < 0.8
    assert ratio[1] == pytest.approx(1.0, abs=0.02)


def test_light_load_on_a_rope_at_rest_changes_nothing() -> None:
    installed = install(LINE)
    loaded = load_line(installed, np.array([5.0, 9.0]), np.array([0.0, 0.0]))
    assert loaded.sag_increment == pytest.approx([0.0, 0.0], abs=1e-9)
    assert loaded.horizontal_tension == pytest.approx(float(installed.horizontal_tension), rel=1e-8)


@pytest.mark.parametrize("shape", [(), (3,)])
def test_no_loads_at_all(shape: tuple[int, ...]) -> None:
    empty = np.zeros((*shape, 0))
    loaded = load_line(install(LINE), empty, empty)
    assert loaded.horizontal_tension.shape == shape
    assert loaded.sag.shape == (*shape, 0)
    _, sag = sag_profile(install(LINE), loaded)
    assert np.max(sag, axis=-1) == pytest.approx(np.full(shape, 0.1524), rel=1e-6)


def test_spent_extension_stays_out() -> None:
    """After an arrest the line hangs low: its absorber does not go back."""
    installed = install(ABSORBED)
    fresh = load_line(installed, np.array([9.0]), np.array([1000.0]))
    after = load_line(installed, np.array([9.0]), np.array([1000.0]), 0.3)
    assert after.absorber_extension == pytest.approx(0.3)
    assert after.sag > fresh.sag + 0.5


def test_profile_passes_through_the_loads() -> None:
    installed = install(dataclasses.replace(ABSORBED, rise=0.5))
    loaded = load_line(installed, np.array([4.0, 12.0]), np.array([3000.0, 1000.0]))
    x, sag = sag_profile(installed, loaded)
    for place, depth in zip(loaded.places, loaded.sag, strict=True):
        at = int(np.argmin(np.abs(x - place)))
        assert x[at] == pytest.approx(place, abs=1e-9)
        assert sag[at] == pytest.approx(depth, abs=1e-9)
    assert sag[0] == 0.0
    assert sag[-1] == 0.0
    assert np.all(np.diff(x) > 0.0)


def test_temperature_moves_the_sag_both_ways() -> None:
    sags = mid_sag(at_temperature(install(LINE), np.array([-15.0, 0.0, 15.0])))
    assert sags[0] < sags[1] < sags[2]


@settings(max_examples=60, deadline=None)
@given(line=lines(), part=parts, force=forces)
def test_nothing_negative_and_forces_balance(line: Line, part: float, force: float) -> None:
    installed = install(line)
    loaded = load_line(installed, np.array([part * line.span]), np.array([force]))
    H = float(loaded.horizontal_tension)
    assert H > 0.0
    assert loaded.sag[0] > 0.0
    assert loaded.sag_increment[0] > 0.0
    assert 0.0 <= loaded.absorber_extension <= line.absorber_stroke + 1e-9
    weight = line.rope.weight * float(installed.unstretched_length)
    right = float(loaded.left_vertical) + weight + force
    assert loaded.tension_right == pytest.approx(np.hypot(H, right), rel=1e-9)
    assert loaded.tension_max <= max(float(loaded.tension_left), float(loaded.tension_right))


@settings(max_examples=60, deadline=None)
@given(line=lines(), part=parts, force=forces)
def test_mirror_swaps_the_ends(line: Line, part: float, force: float) -> None:
    here = load_line(install(line), np.array([part * line.span]), np.array([force]))
    there = load_line(install(mirrored(line)), np.array([(1.0 - part) * line.span]), np.array([force]))
    assert here.tension_left == pytest.approx(float(there.tension_right), rel=1e-6)
    assert here.tension_right == pytest.approx(float(there.tension_left), rel=1e-6)
    assert here.sag[0] == pytest.approx(float(there.sag[0]), rel=1e-6)


# The absorber slides at the low end, near the load; as that leg steepens, the far end pulls less.
PULLS_LESS_LATER = Line(
    4.97,
    0.7455,
    0.1905,
    Rope(3.56, 6.098e6),
    end_stiffness_left=2e5,
    end_stiffness_right=3e5,
    absorber_force=6000.0,
    absorber_stroke=0.15,
)


@settings(max_examples=40, deadline=None)
@given(line=lines(), part=parts, force=forces)
@example(line=PULLS_LESS_LATER, part=0.2371, force=2864.0)
def test_more_load_more_tension_and_more_sag(line: Line, part: float, force: float) -> None:
    """While the absorber slides, the tension at its own end is what is held; the far end's may fall."""
    loaded = load_line(install(line), np.array([part * line.span]), np.array([[force], [1.2 * force]]))
    assert loaded.sag[1, 0] > loaded.sag[0, 0]
    slid = loaded.absorber_extension[1] > loaded.absorber_extension[0]
    at_absorber = loaded.tension_right if line.absorber_on_right else loaded.tension_left
    tension = at_absorber if slid else loaded.tension_max
    assert tension[1] >= tension[0] * (1.0 - 1e-9)


@pytest.mark.parametrize("force", [2864.0, 3437.0])
def test_far_end_pulls_by_the_angles_of_the_two_legs(force: float) -> None:
    """Triangle of forces at the load of a weightless rope: F cos a = T cos b, angles from the geometry."""
    light = dataclasses.replace(PULLS_LESS_LATER, rope=Rope(1e-3, 6.098e6))
    loaded = load_line(install(light), np.array([0.2371 * light.span]), np.array([force]))
    assert loaded.absorber_extension > 0.0
    assert not loaded.absorber_locked
    near = loaded.places[0] - loaded.end_movement_left
    far = light.span - loaded.end_movement_right - loaded.places[0]
    cos_near = near / np.hypot(near, loaded.drop[0])
    cos_far = far / np.hypot(far, light.rise + loaded.drop[0])
    assert loaded.tension_right == pytest.approx(6000.0 * cos_near / cos_far, rel=1e-5)


@settings(max_examples=25, deadline=None)
@given(line=lines(), force=forces, step=st.floats(0.05, 0.95))
@example(line=PULLS_LESS_LATER, force=3437.0, step=0.8333)
def test_no_tension_on_the_way_exceeds_the_greatest_of_all_places(
    line: Line, force: float, step: float
) -> None:
    """This test ensures that the rope's strength is held against all that an arrest passes through.

    At one place the tension may be greater on the way; the greatest of all places along the line is not.
    """
    places = line.span * np.linspace(0.05, 0.95, 19)[:, None]
    at_end = load_line(install(line), places, np.array([force]))
    on_the_way = load_line(install(line), places, np.array([step * force]))
    assert on_the_way.tension_max.max() <= at_end.tension_max.max() * (1.0 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(part=parts, force=forces, sag=st.floats(0.02, 1.0))
def test_tension_falls_as_the_installed_sag_grows(part: float, force: float, sag: float) -> None:
    line = dataclasses.replace(LINE, installed_sag=np.array([sag, 1.1 * sag]))
    loaded = load_line(install(line), np.array([part * 18.288]), np.array([force]))
    assert loaded.tension_max[1] < loaded.tension_max[0]


@settings(max_examples=30, deadline=None)
@given(line=lines(), part=parts, force=forces, scale=st.floats(0.5, 3.0))
def test_scaling_lengths_and_forces(line: Line, part: float, force: float, scale: float) -> None:
    """Lengths times c, weight per length over c, forces as they were: same tensions, sags times c."""
    larger = dataclasses.replace(
        line,
        span=line.span * scale,
        rise=line.rise * scale,
        installed_sag=line.installed_sag * scale,
        rope=Rope(line.rope.weight / scale, line.rope.axial_stiffness),
        end_stiffness_left=line.end_stiffness_left / scale,
        end_stiffness_right=line.end_stiffness_right / scale,
        absorber_stroke=line.absorber_stroke * scale,
    )
    here = load_line(install(line), np.array([part * line.span]), np.array([force]))
    there = load_line(install(larger), np.array([part * larger.span]), np.array([force]))
    assert there.tension_max == pytest.approx(float(here.tension_max), rel=1e-6)
    assert there.sag[0] == pytest.approx(scale * float(here.sag[0]), rel=1e-6)


@settings(max_examples=30, deadline=None)
@given(line=lines(), part=parts, force=forces)
def test_bracketed_search_and_newton_agree(line: Line, part: float, force: float) -> None:
    """This test ensures that the slow road that takes over where Newton fails leads to the same place."""
    installed = flatten_record(install(line), (1,))
    P = np.array([[force]])
    marks = grip(installed, np.array([[part]]) * line.span)
    full = _segments(installed, marks.lengths, P)
    e = np.array([0.1])
    level = simple_beam_vertical(full, P, marks.lengths / full.length[:, None])
    quick = balance(full, e, first_guess(full, level, e))
    sure = _bracketed_balance(full, e)
    assert pytest.approx(quick.H, rel=1e-6) == sure.H
    assert pytest.approx(quick.V, rel=1e-5, abs=1e-3) == sure.V


@pytest.mark.parametrize(
    ("positions", "loads", "message"),
    [
        ([19.0], [100.0], "every place must lie strictly between the two ends"),
        ([9.0, 3.0], [100.0, 100.0], "in order from left to right"),
        ([9.0], [-1.0], "forces must be 0 or more"),
    ],
)
def test_impossible_loads_are_refused(positions: list[float], loads: list[float], message: str) -> None:
    with pytest.raises(CalculationError, match=message):
        load_line(install(LINE), np.array(positions), np.array(loads))


@pytest.mark.parametrize("field", ["span", "installed_sag", "end_stiffness_left", "absorber_force"])
def test_impossible_lines_are_refused(field: str) -> None:
    with pytest.raises(CalculationError, match="must be above 0"):
        dataclasses.replace(LINE, **{field: 0.0})
