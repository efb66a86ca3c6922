"""Point-loaded elastic line on end springs against OpenSees' corotational truss (extra ``opensees``).

The rope is a chain of 120 corotational trusses with initial strain, its weight lumped at the nodes;
each end stands on a spring and carries the installed tension H0 as an outward force, so that the
spring's installed load is part of the comparison. 24 random lines, seeded.

OpenSees needs the system's BLAS and LAPACK, so the default tests do without it. What it gave is
recorded in ``opensees_results.json`` by running this file; the default tests hold our numbers
against that record.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.point_load import LoadedLine, load_line, sag_profile

if __package__:
    from .cases import FOOT, INCH, Case
else:
    from cases import FOOT, INCH, Case  # type: ignore[import-not-found,no-redef]

RECORD = Path(__file__).with_name("opensees_results.json")
COUNT = 24
PIECES = 120
_STEPS = 60


def random_lines() -> tuple[Line, np.ndarray, np.ndarray]:
    """Lines on springs, the node each load sits at, and the loads (N)."""
    random = np.random.default_rng(19265021)
    span = random.uniform(20.0, 60.0, COUNT) * FOOT
    line = Line(
        span,
        random.uniform(-0.05, 0.05, COUNT) * span,
        random.uniform(2.0, 15.0, COUNT) * INCH,
        Rope(random.uniform(2.0, 5.0, COUNT), random.uniform(1e6, 6e6, COUNT)),
        end_stiffness_left=10.0 ** random.uniform(5.3, 7.0, COUNT),
        end_stiffness_right=10.0 ** random.uniform(5.3, 7.0, COUNT),
    )
    return line, random.integers(6, PIECES - 5, COUNT), random.uniform(1000.0, 10000.0, COUNT)


def ours() -> LoadedLine:
    line, node, load = random_lines()
    installed = install(line)
    x, _ = sag_profile(installed, _bare(installed), PIECES + 1)
    at = np.take_along_axis(x, node[:, None], axis=-1)
    return load_line(installed, at, load[:, None])


def _bare(installed: Any) -> LoadedLine:
    empty = np.zeros((COUNT, 0))
    return load_line(installed, empty, empty)


def by_opensees() -> list[dict[str, float]]:
    """Tension at both ends (N), the load's drop and both end movements (m), of each line."""
    ops = pytest.importorskip("openseespy.opensees")
    line, node, load = random_lines()
    installed = install(line)
    x, sag = sag_profile(installed, _bare(installed), PIECES + 1)
    z = np.asarray(line.rise)[:, None] * x / np.asarray(line.span)[:, None] - sag
    rows = []
    for i in range(COUNT):
        ends = (float(np.asarray(line.end_stiffness_left)[i]), float(np.asarray(line.end_stiffness_right)[i]))
        rope = (float(np.asarray(line.rope.weight)[i]), float(np.asarray(line.rope.axial_stiffness)[i]))
        length = float(np.asarray(installed.unstretched_length)[i])
        H0 = float(np.asarray(installed.horizontal_tension)[i])
        build_chain(ops, x[i], z[i], ends, rope, length, H0)
        rows.append(hang_load(ops, int(node[i]), float(load[i])))
    return rows


def build_chain(
    ops: Any, x: Any, z: Any, ends: tuple[float, float], rope: tuple[float, float], length: float, H0: float
) -> None:
    """The line at rest as a chain through the nodes x, z (m); an infinite end stiffness (N/m) is a fixed end.

    ``rope`` is weight (N/m) and EA (N), ``length`` unstretched (m), ``H0`` the installed tension (N).
    """
    ops.wipe()
    ops.model("basic", "-ndm", 2, "-ndf", 2)
    for n, (px, pz) in enumerate(zip(x, z, strict=True)):
        ops.node(n, float(px), float(pz))
    on_springs = [np.isfinite(stiffness) for stiffness in ends]
    for end, at, gives in zip((0, PIECES), (PIECES + 1, PIECES + 2), on_springs, strict=True):
        ops.fix(end, 0 if gives else 1, 1)
        if gives:
            ops.node(at, float(x[end]), float(z[end]))
            ops.fix(at, 1, 1)
    slack = length / PIECES
    for n in range(PIECES):
        piece = float(np.hypot(x[n + 1] - x[n], z[n + 1] - z[n]))
        ops.uniaxialMaterial("Elastic", 2 * n, rope[1] * piece / slack)
        ops.uniaxialMaterial("InitStrainMaterial", 2 * n + 1, 2 * n, (piece - slack) / piece)
        ops.element("corotTruss", n, n, n + 1, 1.0, 2 * n + 1)
    for number, (stiffness, end, at) in enumerate(((ends[0], 0, PIECES + 1), (ends[1], PIECES, PIECES + 2))):
        if not on_springs[number]:
            continue
        ops.uniaxialMaterial("Elastic", 5000 + number, stiffness)
        ops.element("zeroLength", 5000 + number, at, end, "-mat", 5000 + number, "-dir", 1)
    ops.timeSeries("Constant", 1)
    ops.pattern("Plain", 1, 1)
    for n in range(1, PIECES):
        ops.load(n, 0.0, -rope[0] * slack)
    ops.load(0, -H0, 0.0)
    ops.load(PIECES, H0, 0.0)


def hang_load(ops: Any, node: int, load: float) -> dict[str, float]:
    """Hang ``load`` (N) at a node of the built chain, in steps: end tensions (N), drop and movements (m)."""
    ops.timeSeries("Linear", 2)
    ops.pattern("Plain", 2, 2)
    ops.load(node, 0.0, -load)
    ops.constraints("Plain")
    ops.numberer("RCM")
    ops.system("BandGeneral")
    ops.test("NormUnbalance", 1e-5 * load, 200)
    ops.algorithm("NewtonLineSearch")
    ops.integrator("LoadControl", 0.0)
    ops.analysis("Static")
    assert ops.analyze(1) == 0
    rest = ops.nodeDisp(node, 2)
    ops.integrator("LoadControl", 1.0 / _STEPS)
    ops.analysis("Static")
    assert ops.analyze(_STEPS) == 0
    return {
        "tension_left": ops.basicForce(0)[0],
        "tension_right": ops.basicForce(PIECES - 1)[0],
        "drop": rest - ops.nodeDisp(node, 2),
        "end_movement_left": ops.nodeDisp(0, 1),
        "end_movement_right": -ops.nodeDisp(PIECES, 1),
    }


def worst(rows: list[dict[str, float]], name: str) -> float:
    """Greatest relative difference of one quantity between OpenSees and ours."""
    found = ours()
    mine = found.sag_increment[:, 0] if name == "drop" else getattr(found, name)
    theirs = np.array([row[name] for row in rows])
    return float(np.max(np.abs(mine / theirs - 1.0)))


def recorded() -> list[dict[str, float]]:
    rows: list[dict[str, float]] = json.loads(RECORD.read_text(encoding="utf-8"))["lines"]
    return rows


CASES = [
    Case("OpenSees corotational truss, as recorded", f"{COUNT} random lines: worst difference of {name}",
         0.0, lambda name=name: worst(recorded(), name), "part", 0.005,
         "chain of 120 straight pieces against a smooth rope", True)
    for name in ("tension_left", "tension_right", "drop", "end_movement_left", "end_movement_right")
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_against_the_record(case: Case) -> None:
    case.check()


@pytest.mark.opensees
def test_record_is_what_opensees_gives() -> None:
    fresh = by_opensees()
    for row, old in zip(fresh, recorded(), strict=True):
        assert row == pytest.approx(old, rel=1e-5)


if __name__ == "__main__":
    from importlib.metadata import version

    record = {
        "date": sys.argv[1],
        "openseespy": version("openseespy"),
        "numpy": np.__version__,
        "lines": by_opensees(),
    }
    RECORD.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8", newline="\n")
