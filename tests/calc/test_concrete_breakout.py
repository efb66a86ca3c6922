"""Breakout areas and factors: edges, limits and turned plates. Published numbers: tests/validation."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planforge.calc import concrete_breakout as concrete
from planforge.calc.base_plate import hole_pattern
from planforge.calc.inch_pound import INCH, PSI
from planforge.errors import CalculationError

FREE = (-np.inf, np.inf, -np.inf, np.inf)


@pytest.mark.parametrize("seed", range(20))
def test_union_of_rectangles_against_shapely(seed: int) -> None:
    """Shapely's union of boxes, some not counted."""
    rng = np.random.default_rng(seed)
    low = rng.uniform(0.0, 1.0, (6, 2))
    high = low + rng.uniform(0.05, 0.6, (6, 2))
    counted = rng.uniform(size=6) > 0.2
    boxes = [shapely.box(*a, *b) for a, b, use in zip(low, high, counted, strict=True) if use]
    assert concrete.rectangles_area(low, high, counted) == pytest.approx(
        shapely.union_all(boxes).area, rel=1e-12
    )


def test_area_of_one_and_of_many_far_apart() -> None:
    """Apart: n ANco and never more; one anchor at a corner keeps (c1 + 1.5 hef)(c2 + 1.5 hef)."""
    hef = 0.06
    apart = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    assert concrete.tension_area(apart, FREE, hef) == pytest.approx(3.0 * concrete.single_tension_area(hef))
    corner = concrete.tension_area(apart[:1], (-0.05, np.inf, np.inf * -1, 0.03), hef)
    assert corner == pytest.approx((0.05 + 0.09) * (0.03 + 0.09))


def test_turned_plate_has_less_area_than_its_box() -> None:
    """The union for a diamond lies between the square plate's and the box around it."""
    hef = 0.06
    square, diamond = (
        concrete.tension_area(hole_pattern(0.15, 0.15, a), FREE, hef) for a in (0.0, np.pi / 4)
    )
    assert square == pytest.approx((0.15 + 0.18) ** 2)
    assert diamond < (0.15 * np.sqrt(2.0) + 0.18) ** 2


def test_only_pulling_anchors_count() -> None:
    pattern = hole_pattern(0.15, 0.15, 0.0)
    pulling = np.array([[True, True, True, True], [False, True, True, False]])
    both, half = concrete.tension_area(pattern, FREE, 0.06, pulling)
    assert both == pytest.approx(0.33**2)
    assert half == pytest.approx(0.33 * 0.18)


def test_anchor_off_the_slab_is_refused() -> None:
    with pytest.raises(CalculationError, match="within the slab"):
        concrete.tension_area(hole_pattern(0.2, 0.2, 0.0), (-0.1, 1.0, -1.0, 1.0), 0.06)


def test_depth_is_limited_by_three_edges() -> None:
    """Three edges at 0.06, 0.05 and 0.04 m of hef 0.08 m: 0.06/1.5 = 0.04, or a third of the spacing."""
    near = np.array([0.06, 0.05, 0.04, 1.0])
    assert concrete.limited_depth(0.08, near, 0.03) == pytest.approx(0.04)
    assert concrete.limited_depth(0.08, near, 0.15) == pytest.approx(0.05)
    assert concrete.limited_depth(0.08, near, 0.60) == pytest.approx(0.08)
    assert concrete.limited_depth(0.08, np.array([0.06, 0.05, 1.0, 1.0]), 0.03) == pytest.approx(0.08)
    # 1.5 hef is 0.12 m: an edge at 0.117 is near, one at 0.124 is not and leaves the other three to govern
    assert concrete.limited_depth(0.08, np.array([0.117, 0.05, 0.04, 1.0]), 0.03) == pytest.approx(0.078)
    assert concrete.limited_depth(0.08, np.array([0.124, 0.06, 0.05, 0.04]), 0.03) == pytest.approx(0.04)


def test_factors_at_and_beyond_their_limits() -> None:
    assert concrete.tension_edge_factor(np.array([0.0, 0.045, 0.09, 0.5]), 0.06) == pytest.approx(
        [0.7, 0.85, 1, 1]
    )
    assert concrete.tension_eccentricity_factor(np.array([0.0, 0.09]), 0.06) == pytest.approx(0.5)
    assert concrete.splitting_factor(0.1, 0.2, 0.06, cracked=False) == pytest.approx(0.5)
    assert concrete.splitting_factor(0.01, 0.2, 0.06, cracked=False) == pytest.approx(0.45)
    assert concrete.splitting_factor(0.2, 0.2, 0.06, cracked=False) == 1.0
    assert concrete.splitting_factor(0.05, 0.08, 0.06, cracked=False) == 1.0  # 1.5 hef beyond cac
    assert concrete.splitting_factor(0.01, 0.2, 0.06, cracked=True) == 1.0
    assert concrete.tension_cracking_factor(cracked=False, report_kc=False) == 1.4
    assert concrete.tension_cracking_factor(cracked=False, report_kc=True) == 1.0
    assert concrete.thickness_factor(0.1, 0.3) == 1.0
    assert concrete.pryout_strength(np.array([2.49, 2.5]) * INCH, 1000.0) == pytest.approx([1000.0, 2000.0])


def test_strength_beyond_8000_psi_is_not_used() -> None:
    low, high = concrete.basic_tension_strength(17.0, np.array([8000.0, 12_000.0]) * PSI, 0.06)
    assert high == low
    assert concrete.usable_strength(np.array([7900.0, 8100.0]) * PSI) == pytest.approx(
        np.array([7900.0, 8000.0]) * PSI
    )


def test_front_row_of_a_square_and_of_a_diamond() -> None:
    for turn, count in ((0.0, 2), (np.pi / 4, 1)):
        x = hole_pattern(0.2, 0.2, turn)[:, 0]
        assert np.sum(concrete.front_anchors(1.0 - x)) == count


def test_edge_distance_is_limited_in_a_narrow_thin_slab() -> None:
    """Side edges 0.2 and 0.1, thickness 0.1, ca1 0.3: 0.2/1.5; a wide slab keeps ca1."""
    assert concrete.limited_edge_distance(0.3, np.array([0.2, 0.1]), 0.1, 0.1) == pytest.approx(0.2 / 1.5)
    assert concrete.limited_edge_distance(0.3, np.array([0.2, 0.6]), 0.1, 0.1) == pytest.approx(0.3)
    # 1.5 ca1 is 0.45 m, for either side edge and for the thickness; a third of the spacing may govern
    assert concrete.limited_edge_distance(0.3, np.array([0.44, 0.1]), 0.1, 0.1) == pytest.approx(0.44 / 1.5)
    assert concrete.limited_edge_distance(0.3, np.array([0.1, 0.1]), 0.44, 0.1) == pytest.approx(0.44 / 1.5)
    assert concrete.limited_edge_distance(0.3, np.array([0.2, 0.1]), 0.1, 0.6) == pytest.approx(0.2)
    far = np.array([[0.46, 0.46], [0.1, 0.1]])
    assert concrete.limited_edge_distance(0.3, far, np.array([0.1, 0.46]), 0.1) == pytest.approx([0.3, 0.3])


def test_shear_strength_grows_with_the_edge_in_a_thin_slab() -> None:
    """Vcb of one anchor rises with ca1 though the slab stays 0.1 m thick."""
    ca1 = np.linspace(0.05, 0.6, 12)
    area = concrete.shear_area(np.zeros((12, 1)), (np.full(12, -np.inf), np.full(12, np.inf)), ca1, 0.1)
    strength = area / concrete.single_shear_area(ca1) * concrete.thickness_factor(ca1, 0.1)
    strength = strength * concrete.basic_shear_strength(0.0127, 0.06, 25e6, ca1)
    assert np.all(np.diff(strength) > 0.0)
