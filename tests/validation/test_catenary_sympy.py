"""Elastic catenary against SymPy's high-precision root of its equations, and against pycatenary.

SymPy (nsolve, 30 digits) solves x(s) and z(s) of H. M. Irvine, *Cable Structures*, 1981, section
1.4, in the two unknowns; pycatenary is an independent package for mooring lines.
"""

from __future__ import annotations

import functools
import math

import pytest
import sympy as sp
from pycatenary.catenary import CatenaryElastic

from planforge.calc.cable import Rope, catenary, catenary_sag, catenary_unstretched_length, tension_from_sag

from .cases import Case

# span m, rise m, H N, w N/m, EA N: slack to taut, level and inclined
_LINES = [
    (18.288, 0.0, 960.0, 3.5, 3.6e6),
    (18.288, 2.0, 960.0, 3.5, 3.6e6),
    (6.0, -1.5, 40.0, 5.0, 1e5),
    (12.0, 0.5, 15000.0, 2.0, 4e5),
    (10.0, 3.0, 30.0, 8.0, 5e4),
]


@functools.cache
def by_sympy(span: float, rise: float, H: float, w: float, EA: float) -> float:
    """Unstretched length by SymPy."""
    V, s = sp.symbols("V s")
    V1 = V + w * s
    x = H * s / EA + H / w * (sp.asinh(V1 / H) - sp.asinh(V / H))
    z = (V1**2 - V**2) / (2 * EA * w) + (sp.sqrt(H**2 + V1**2) - sp.sqrt(H**2 + V**2)) / w
    s0 = math.hypot(span, rise)
    V0 = H * rise / span - 0.5 * w * s0
    found = sp.nsolve((x - span, z - rise), (V, s), (V0, s0), prec=30)
    return float(found[1])


def by_pycatenary(span: float, w: float, EA: float, length: float) -> float:
    """Horizontal tension of a level line by pycatenary."""
    line = CatenaryElastic(L=[length], w=[w], EA=[EA], floor=False)
    line.compute_solution(d=span, h=0.0)
    return float(line.a * w)


def ours(span: float, rise: float, H: float, w: float, EA: float) -> float:
    return float(catenary_unstretched_length(span, rise, H, Rope(w, EA)))


CASES = [
    Case("SymPy nsolve, 30 digits", f"unstretched length, span {c[0]:g} m, rise {c[1]:g} m, H {c[2]:g} N",
         by_sympy(*c), lambda c=c: ours(*c), "m", 1e-10, "same equations, other solver")
    for c in _LINES
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_unstretched_length(case: Case) -> None:
    case.check()


def test_level_slack_line_against_pycatenary() -> None:
    """pycatenary ignores how stretch thins the rope's weight: 0.5 %."""
    length = ours(10.0, 0.0, 30.0, 8.0, 5e4)
    assert by_pycatenary(10.0, 8.0, 5e4, length) == pytest.approx(30.0, rel=0.005)


@pytest.mark.parametrize("line", _LINES)
def test_tension_from_sag_inverts_sag(line: tuple[float, ...]) -> None:
    span, rise, H, w, EA = line
    sag = catenary_sag(span, rise, H, Rope(w, EA))
    assert tension_from_sag(span, rise, sag, Rope(w, EA)) == pytest.approx(H, rel=1e-9)
    assert catenary(span, rise, H, Rope(w, EA)).unstretched_length > 0.9 * span
