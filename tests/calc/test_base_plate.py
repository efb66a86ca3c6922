"""The base plate: holes when turned, and tensions that balance the load."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.base_plate import (
    anchor_tensions,
    elastic_tensions,
    hole_pattern,
    tension_eccentricity,
    toe_tensions,
)
from planforge.errors import CalculationError

SQUARE = hole_pattern(0.2, 0.2, 0.0)
DIAMOND = hole_pattern(0.2, 0.2, np.pi / 4)


def test_turned_holes_keep_their_distances() -> None:
    turned = hole_pattern(0.2, 0.1, np.radians([0.0, 30.0, 90.0]))
    assert turned.shape == (3, 4, 2)
    assert np.linalg.norm(turned, axis=-1) == pytest.approx(np.full((3, 4), np.hypot(0.1, 0.05)))
    assert turned[2, 0] == pytest.approx([-0.05, 0.1])
    with pytest.raises(CalculationError, match="spacing"):
        hole_pattern(0.2, 0.0, 0.0)


def test_moment_along_a_side_pulls_two_anchors() -> None:
    """M / (2 s) in each anchor of the far side: tipping to +x pulls those at -x."""
    found = elastic_tensions(0.0, np.array([1000.0, 0.0]), SQUARE)
    assert found == pytest.approx([0.0, 2500.0, 2500.0, 0.0])


def test_moment_across_the_diagonal_pulls_most_at_one() -> None:
    """M / (sqrt(2) s) in the far anchor of a square turned by 45 degrees."""
    found = elastic_tensions(0.0, np.array([1000.0, 0.0]), DIAMOND)
    assert np.max(found) == pytest.approx(1000.0 / (np.sqrt(2.0) * 0.2))
    assert np.sum(found > 1e-6) == 1


@pytest.mark.parametrize("direction", np.linspace(0.0, 6.0, 7))
def test_pulled_throughout_balances_force_and_moment(direction: float) -> None:
    """With enough uplift no anchor is idle: tensions sum to N and turn back M, off the centre as well."""
    anchors = SQUARE + np.array([0.01, -0.02])
    moment = 100.0 * np.array([np.cos(direction), np.sin(direction)])
    found = elastic_tensions(20e3, moment, anchors)
    assert np.all(found > 0.0)
    assert np.sum(found) == pytest.approx(20e3)
    assert -found @ anchors == pytest.approx(moment)


def test_toe_rule_by_hand() -> None:
    """c = 0.15: d = 0.05 and 0.25 m, two anchors each: T = M d / (2 (0.05^2 + 0.25^2))."""
    found = toe_tensions(0.0, np.array([1000.0, 0.0]), SQUARE, 0.15)
    assert found[1] == pytest.approx(1000.0 * 0.25 / (2.0 * (0.05**2 + 0.25**2)))
    assert found[0] == pytest.approx(found[1] * 0.05 / 0.25)
    assert found @ (0.15 - SQUARE[:, 0]) == pytest.approx(1000.0)


def test_short_toe_pulls_harder_and_press_relieves() -> None:
    moment = np.array([1000.0, 0.0])
    near, far = (np.max(toe_tensions(0.0, moment, SQUARE, c)) for c in (0.05, 0.15))
    assert near > far
    assert np.max(toe_tensions(-2000.0, moment, SQUARE, 0.15)) < far
    assert np.all(toe_tensions(-8000.0, moment, SQUARE, 0.15) == 0.0)
    assert toe_tensions(400.0, np.zeros(2), SQUARE, 0.15) == pytest.approx(np.full(4, 100.0))
    with pytest.raises(CalculationError, match="line of bearing"):
        toe_tensions(0.0, moment, SQUARE, 0.0)


def test_strength_takes_the_greater_rule_at_every_anchor() -> None:
    """With the toe near the centre the toe rule governs, with the toe far out the elastic one."""
    moment = np.array([1000.0, 0.0])
    elastic = elastic_tensions(0.0, moment, SQUARE)
    for toe, governing in ((0.02, toe_tensions(0.0, moment, SQUARE, 0.02)), (0.3, elastic)):
        found = anchor_tensions(0.0, moment, SQUARE, toe)
        assert found[1] == pytest.approx(governing[1])
        assert np.all(found >= elastic)
        assert np.all(found >= toe_tensions(0.0, moment, SQUARE, toe))


def test_batch_over_loads() -> None:
    moments = np.random.default_rng(1).normal(size=(3, 5, 2)) * 500.0
    uplift = np.linspace(-100.0, 900.0, 15).reshape(3, 5)
    for rule in (lambda n, m: elastic_tensions(n, m, SQUARE), lambda n, m: toe_tensions(n, m, SQUARE, 0.12)):
        together = rule(uplift, moments)
        assert together.shape == (3, 5, 4)
        assert together[2, 3] == pytest.approx(rule(uplift[2, 3], moments[2, 3]))


def test_eccentricity_is_from_the_pulling_anchors() -> None:
    """Two of four pull alike: none; three to one on a line 0.2 m apart: 0.05 m; nothing pulls: none."""
    assert tension_eccentricity(np.array([0.0, 5.0, 5.0, 0.0]), SQUARE) == pytest.approx([0.0, 0.0])
    assert tension_eccentricity(np.array([0.0, 3.0, 1.0, 0.0]), SQUARE) == pytest.approx([0.0, 0.05])
    assert tension_eccentricity(np.zeros(4), SQUARE) == pytest.approx([0.0, 0.0])
