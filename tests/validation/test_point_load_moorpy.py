"""Point-loaded elastic line against MoorPy's catenary solver (NREL, quasi-static mooring lines).

Two MoorPy catenaries share the loaded point; its place is moved by Newton's method with MoorPy's
own stiffness matrices until the forces there balance the load. 240 random lines, seeded: spans 20
to 60 ft, sag 1 to 18 in, level and inclined, steel and fibre, loads from 0.2 to 12 kN anywhere.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest
from moorpy.Catenary import catenary
from numpy.typing import NDArray

from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.point_load import LoadedLine, grip, load_line

from .cases import FOOT, INCH, Case

COUNT = 240
Floats = NDArray[np.float64]


def random_lines() -> tuple[Line, Floats, Floats]:
    """Lines, positions and loads."""
    random = np.random.default_rng(1926502)
    span = random.uniform(20.0, 60.0, COUNT) * FOOT
    steel = random.random(COUNT) < 0.6
    stiffness = np.where(steel, random.uniform(2e6, 7e6, COUNT), random.uniform(1e5, 5e5, COUNT))
    rope = Rope(np.where(steel, random.uniform(2.0, 6.0, COUNT), random.uniform(0.8, 2.0, COUNT)), stiffness)
    rise = np.where(random.random(COUNT) < 0.5, 0.0, random.uniform(-0.1, 0.1, COUNT) * span)
    line = Line(span, rise, random.uniform(1.0, 18.0, COUNT) * INCH, rope)
    return line, span * random.uniform(0.03, 0.97, COUNT), random.uniform(200.0, 12000.0, COUNT)


def _end_forces(dx: float, dz: float, length: float, EA: float, w: float) -> tuple[Floats, Floats, float]:
    """MoorPy's force on the far end, its stiffness matrix, and the near end's tension."""
    H1, V1, H2, V2, info = catenary(dx, dz, length, EA, w, CB=-100.0)
    return np.array([H2, V2]), np.asarray(info["stiffnessB"]), float(np.hypot(H1, V1))


def by_moorpy(
    span: float, rise: float, length: float, at: float, rope: tuple[float, float], load: float
) -> Floats:
    """Tension at both ends (N) and the loaded point's place (m): (left, right, x, z).

    ``at`` is the load's point of the rope, m of unstretched rope from the left end; ``rope`` w (N/m), EA (N).
    """
    w, EA = rope
    point = np.array([at / length * span, -0.05 * span])
    for _ in range(200):
        force_a, stiff_a, left = _end_forces(point[0], point[1], at, EA, w)
        force_b, stiff_b, right = _end_forces(span - point[0], point[1] - rise, length - at, EA, w)
        total = force_a + np.array([-force_b[0], force_b[1]]) - np.array([0.0, load])
        if np.hypot(*total) < 1e-6 * load:
            return np.array([left, right, *point])
        flip = np.array([[1.0, -1.0], [-1.0, 1.0]])
        step = np.linalg.solve(stiff_a + flip * stiff_b, total)
        size = np.hypot(*step)
        point = point + step * min(1.0, 0.02 * span / size)
    raise AssertionError("MoorPy's point found no balance")


@functools.cache
def compared() -> tuple[LoadedLine, Floats]:
    line, x, P = random_lines()
    installed = install(line)
    loaded = load_line(installed, x[:, None], P[:, None])
    marks = grip(installed, x[:, None]).lengths[:, 0]
    rope = zip(np.asarray(line.rope.weight), np.asarray(line.rope.axial_stiffness), strict=True)
    rows = zip(np.asarray(line.span), np.asarray(line.rise), np.asarray(installed.unstretched_length),
               marks, rope, P, strict=True)  # fmt: skip
    return loaded, np.array([by_moorpy(*row) for row in rows])


def worst_tension() -> float:
    loaded, theirs = compared()
    found = np.stack([loaded.tension_left, loaded.tension_right], axis=-1)
    return float(np.max(np.abs(found / theirs[:, :2] - 1.0)))


def worst_drop() -> float:
    loaded, theirs = compared()
    return float(np.max(np.abs(loaded.drop[:, 0] / -theirs[:, 3] - 1.0)))


CASES = [
    Case("MoorPy", f"{COUNT} random lines under a point load: worst difference of end tension", 0.0,
         worst_tension, "part", 0.005, "0.5 % is the limit set; same theory, other solver", True),
    Case("MoorPy", f"{COUNT} random lines under a point load: worst difference of the load's drop", 0.0,
         worst_drop, "part", 0.005, "0.5 % is the limit set; same theory, other solver", True),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_within_half_a_percent(case: Case) -> None:
    case.check()
