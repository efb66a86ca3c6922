"""Columns and tubes: ranges, continuity, and the second-order factors. Published values: tests/validation."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc import column
from planforge.calc.column import ASD, LRFD, STEEL_E
from planforge.calc.tube import (
    Tube,
    area,
    elastic_modulus,
    plastic_modulus,
    radius_of_gyration,
    second_moment,
)
from planforge.errors import CalculationError

FY = 317e6  # 46 ksi


def test_tube_against_a_thin_ring() -> None:
    """A thin ring of mean radius R: A = 2 pi R t, I = pi R^3 t, Z/S = 4/pi."""
    tube = Tube(0.2002, 0.0002)
    R, t = 0.1, 0.0002
    assert area(tube) == pytest.approx(2 * np.pi * R * t, rel=1e-9)
    assert second_moment(tube) == pytest.approx(np.pi * R**3 * t, rel=1e-5)
    assert plastic_modulus(tube) / elastic_modulus(tube) == pytest.approx(4.0 / np.pi, rel=2e-3)
    assert radius_of_gyration(tube) == pytest.approx(R / np.sqrt(2.0), rel=1e-5)


def test_solid_bar_is_the_limit() -> None:
    assert area(Tube(0.1, 0.05)) == pytest.approx(np.pi * 0.05**2)


@pytest.mark.parametrize(("diameter", "wall"), [(0.1, 0.0), (0.1, -0.003), (0.1, 0.051)])
def test_impossible_wall_is_refused(diameter: float, wall: float) -> None:
    with pytest.raises(CalculationError, match="wall must be above 0"):
        Tube(diameter, wall)


def test_critical_stress_is_continuous_and_falls() -> None:
    """Both branches meet at Fy/Fe = 2.25 to 0.1 percent, as the specification's constants allow."""
    slenderness = np.linspace(1.0, 250.0, 500)
    stress = column.critical_stress(FY, column.elastic_buckling_stress(slenderness))
    assert np.all(np.diff(stress) < 0.0)
    assert np.all(stress < FY)
    limit = column.critical_stress(FY, FY / np.array([2.25, 2.2500001]))
    assert limit[0] == pytest.approx(limit[1], rel=1.5e-3)


def test_slender_wall_loses_area_and_moment() -> None:
    thin, stout = Tube(0.3, 0.002), Tube(0.3, 0.01)
    assert column.effective_area(thin, FY) < area(thin)
    assert column.effective_area(stout, FY) == area(stout)
    assert column.bending_strength(thin, FY) < FY * plastic_modulus(thin)
    assert column.bending_strength(stout, FY) == pytest.approx(FY * plastic_modulus(stout))


def test_bending_of_a_slender_wall() -> None:
    """D/t over 0.31 E/Fy: 0.33 E/(D/t) S (F8-3, F8-4)."""
    tube = Tube(0.35 * STEEL_E / FY * 0.001, 0.001)
    expected = 0.33 * FY / 0.35 * elastic_modulus(tube)
    assert column.bending_strength(tube, FY) == pytest.approx(expected, rel=1e-9)


def test_wall_between_compact_and_slender() -> None:
    """E7.2 and F8 by hand where D/t is a part of E/Fy, as read off AISC 360-16 (from memory).

    Ae/A at 0.2 E/Fy: 0.038/0.2 + 2/3. Mn/(Fy S) at 0.1: 0.021/0.1 + 1; at 0.30 still so, at 0.32 0.33/0.32.
    """
    part = np.array([0.10, 0.20, 0.30, 0.32])
    tube = Tube(part * STEEL_E / FY * 0.001, 0.001)
    assert column.effective_area(tube, FY)[1] / area(tube)[1] == pytest.approx(0.8567, abs=1e-4)
    found = column.bending_strength(tube, FY) / (FY * elastic_modulus(tube))
    assert found == pytest.approx([1.210, 1.105, 1.070, 1.03125], abs=1e-4)


def test_effective_area_is_that_of_the_cold_formed_specification() -> None:
    """AISI S100 gives a round tube's area as A (0.037 E t/(D Fy) + 0.667) (from memory): its own fit."""
    part = np.linspace(0.15, 0.44, 8)
    tube = Tube(part * STEEL_E / FY * 0.001, 0.001)
    assert column.effective_area(tube, FY) / area(tube) == pytest.approx(0.037 / part + 0.667, rel=0.01)


def test_outside_the_specification_is_refused() -> None:
    with pytest.raises(CalculationError, match=r"0\.45 E/Fy"):
        column.compression_strength(Tube(0.3, 0.001), FY, 60.0)
    with pytest.raises(CalculationError, match="slenderness"):
        column.elastic_buckling_stress(0.0)
    edge = Tube(np.array([0.44, 0.46]) * STEEL_E / FY * 0.001, 0.001)
    assert column.within_specification(edge, FY).tolist() == [True, False]


def test_interaction_meets_at_a_fifth() -> None:
    """H1-1a and H1-1b give 1 with the same moment at Pr/Pc = 0.2; both pass through 1 at the corners."""
    assert column.interaction(0.2, 0.9) == pytest.approx(1.0)
    assert column.interaction(0.2 - 1e-12, 0.9) == pytest.approx(1.0)
    assert column.interaction([1.0, 0.0], [0.0, 1.0]) == pytest.approx([1.0, 1.0])
    assert column.interaction([0.205, 0.195], 0.5) == pytest.approx([0.205 + 4.0 / 9.0, 0.5975])
    with pytest.raises(CalculationError, match="magnitudes"):
        column.interaction(-0.1, 0.5)


def test_second_order_factors() -> None:
    """1 at no load and in tension, growing, and infinite at the limit; ASD counts 1.6 of the load."""
    euler = column.euler_load(4e5, 3.6)
    assert euler == pytest.approx(np.pi**2 * 4e5 / 3.6**2)
    loads = np.array([-1.0, 0.0, 0.25, 0.5, 1.0]) * euler
    assert column.b1_factor(loads, euler, LRFD) == pytest.approx([1.0, 1.0, 4.0 / 3.0, 2.0, np.inf])
    assert column.b1_factor(loads[3], euler, ASD) == pytest.approx(1.0 / (1.0 - 0.8))
    assert column.b1_factor(0.1 * euler, euler, LRFD, 0.2) == 1.0
    assert column.b2_factor(1e4, 1e6, 3.6, LRFD) == pytest.approx(1.0 / (1.0 - 1e4 / (0.85 * 3.6e6)))
    assert column.b2_factor(1e4, 0.0, 3.6, LRFD) == np.inf


def test_amplification_matches_the_exact_beam_column() -> None:
    """Cm = 1 bounds sec(u) of a beam-column in uniform moment from below by under 30 percent of what it adds.

    Timoshenko, Theory of Elastic Stability (from memory): M = M0 sec(pi/2 sqrt(P/Pe)).
    """
    ratio = np.linspace(0.05, 0.6, 12)
    exact = 1.0 / np.cos(0.5 * np.pi * np.sqrt(ratio))
    found = column.b1_factor(ratio, 1.0, LRFD)
    assert np.all(found < exact)
    assert np.all((exact - found) / (exact - 1.0) < 0.30)


# ---------------------------------------------------------------- shear (G5)


def test_thick_tube_yields_in_shear() -> None:
    """0.6 Fy A / 2: HSS16.000x0.375 at 46 ksi, Lv 16 ft; 237 kips (AISC design example G.5, from memory)."""
    inch, kip = 0.0254, 4448.2216152605
    tube = Tube(16.0 * inch, 0.349 * inch)
    Vn = float(column.shear_strength(tube, 46e3 * 6894.757, 192.0 * inch))
    assert Vn == pytest.approx(0.5 * 0.6 * 46e3 * 6894.757 * float(area(tube)))
    assert Vn / kip == pytest.approx(237.0, rel=5e-3)


def test_long_tube_in_shear_is_the_theory_of_a_twisted_one() -> None:
    """A long cylinder buckles in torsion at E/(3 sqrt 2 (1 - nu^2)^(3/4)) (t/R)^(3/2) (Schwerin, Donnell).

    AISC 360's commentary takes 0.85 of it for imperfections and 1.3 of that for shear that falls along the
    length (both from memory). G5-2a is H3-2a's 1.23 by the same 1.3.
    """
    ratio = np.array([80.0, 120.0, 200.0])
    theory = STEEL_E / (3.0 * np.sqrt(2.0) * (1.0 - 0.3**2) ** 0.75) * (2.0 / ratio) ** 1.5
    tube = Tube(1.0, 1.0 / ratio)
    long = column.shear_strength(tube, 690e6, 400.0) / (0.5 * area(tube))
    assert long == pytest.approx(1.3 * 0.85 * theory, rel=0.015)
    short = column.shear_strength(tube, 2000e6, 4.0) / (0.5 * area(tube))
    assert short == pytest.approx(1.3 * 1.23 * STEEL_E / (2.0 * ratio**1.25), rel=0.002)


@pytest.mark.parametrize(("ratio", "slender"), [(100.0, 4.0), (200.0, 4.0), (100.0, 100.0)])
def test_thin_tube_buckles_in_shear(ratio: float, slender: float) -> None:
    """The larger of G5-2a and G5-2b by hand, where it is below 0.6 Fy."""
    tube = Tube(1.0, 1.0 / ratio)
    long = 1.60 * STEEL_E / (slender**0.5 * ratio**1.25)
    local = 0.78 * STEEL_E / ratio**1.5
    expected = min(max(long, local), 0.6 * 690e6) * float(area(tube)) / 2
    assert float(column.shear_strength(tube, 690e6, slender)) == pytest.approx(expected)
