"""Arrest on a single-point anchorage: the closed form, the energy books, the limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planforge.calc.constants import G
from planforge.calc.single_anchorage import AnchorageArrest, arrest_at_anchorage

LB, FOOT = 0.45359237, 0.3048
LBF = LB * G


@pytest.mark.parametrize(
    ("pounds", "feet", "force", "stroke"),
    [
        (310, 6, 900, 3.153),
        (282, 6, 900, 2.738),
        (220, 6, 900, 1.941),
        (310, 2, 1350, 0.596),
        (310, 6, 1350, 1.788),
    ],
)
def test_rigid_anchorage_is_w_h_over_f_less_w(
    pounds: float, feet: float, force: float, stroke: float
) -> None:
    """Closed form x = W h / (F - W), constant force; figures to three decimals."""
    found = arrest_at_anchorage(
        mass=pounds * LB, free_fall=feet * FOOT, absorber_force=force * LBF, absorber_stroke=2.0
    )
    assert float(found.stroke) / FOOT == pytest.approx(stroke, abs=5e-4)
    assert float(found.movement) == 0.0
    assert float(found.load) == pytest.approx(force * LBF)


def test_each_of_two_workers_feels_their_own_absorber() -> None:
    """Two at 900 lbf each ask 1,800 lbf of the anchorage; with the stroke spent each feels half its load."""
    two = {"mass": 100.0, "free_fall": 1.5, "absorber_force": 900 * LBF, "count": 2.0}
    found = arrest_at_anchorage(**two, absorber_stroke=2.0)
    assert float(found.force_per_worker) / LBF == pytest.approx(900.0)
    assert float(found.load) / LBF == pytest.approx(1800.0)
    spent = arrest_at_anchorage(**two, absorber_stroke=0.1, stiffness=2e5)
    assert float(spent.force_per_worker) == pytest.approx(2e5 * float(spent.movement) / 2.0)


def _books(
    found: AnchorageArrest, mass: float, fall: float, force: float, count: float
) -> tuple[float, float]:
    weight, stroke, give = count * mass * G, float(found.stroke), float(found.movement)
    taken = count * force * stroke + 0.5 * float(found.load) * give
    return weight * (fall + stroke + give), taken


@given(
    mass=st.floats(60, 150),
    fall=st.floats(0.05, 3.0),
    force=st.floats(3000, 7000),
    limit=st.floats(0.1, 1.5),
    stiffness=st.floats(2e4, 2e6),
    count=st.integers(1, 3),
)
def test_energy_in_is_energy_taken(
    mass: float, fall: float, force: float, limit: float, stiffness: float, count: int
) -> None:
    found = arrest_at_anchorage(
        mass=mass,
        free_fall=fall,
        absorber_force=force,
        absorber_stroke=limit,
        stiffness=stiffness,
        count=float(count),
    )
    given_up, taken = _books(found, mass, fall, force, float(count))
    assert taken == pytest.approx(given_up, rel=1e-9)
    assert 0 <= float(found.stroke) <= limit
    assert bool(found.stroke_spent) == (float(found.load) > count * force * (1 + 1e-12))


def test_a_spent_stroke_on_a_rigid_anchorage_has_no_finite_force() -> None:
    found = arrest_at_anchorage(mass=140, free_fall=3.0, absorber_force=4000, absorber_stroke=0.3)
    assert bool(found.stroke_spent)
    assert np.isinf(found.load)


def test_a_soft_anchorage_lets_the_worker_fall_farther_and_spares_the_absorber() -> None:
    soft, stiff = (
        arrest_at_anchorage(mass=140, free_fall=1.8, absorber_force=4000, absorber_stroke=1.2, stiffness=k)
        for k in (5e4, np.inf)
    )
    assert float(soft.stroke) + float(soft.movement) > float(stiff.stroke)


def test_an_absorber_weaker_than_the_worker_is_spent() -> None:
    found = arrest_at_anchorage(mass=140, free_fall=1, absorber_force=1000, absorber_stroke=1, stiffness=1e5)
    assert bool(found.stroke_spent)
    given_up, taken = _books(found, 140, 1, 1000, 1)
    assert taken == pytest.approx(given_up, rel=1e-9)
