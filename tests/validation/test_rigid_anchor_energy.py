"""Rigid anchor, constant force: stroke x = W h / (F - W). Closed form of the energy balance.

Derived, not published; 29 CFR 1926.502(d)(16)(iv) allows 3.5 ft of deceleration distance.
Our arrest runs the whole lifeline solve on a line so short and stiff that it hardly gives.
"""

from __future__ import annotations

import pytest

from planforge.calc.arrest import Faller, arrest
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install

from .cases import FOOT, POUND, POUND_FORCE, Case

_SOURCE = "closed form x = W h/(F - W)"
_RIGID = Line(0.02, 0.0, 0.001, Rope(weight=0.01, axial_stiffness=1e12))


def stroke(weight: float, fall: float, force: float) -> float:
    """Stroke (ft) for pounds, feet and pounds-force."""
    faller = Faller(weight * POUND, fall * FOOT, force * POUND_FORCE, 10.0 * FOOT)
    return float(arrest(install(_RIGID), 0.01, faller).absorber_stroke) / FOOT


CASES = [
    Case(_SOURCE, f"{w:g} lb, {h:g} ft, {f:g} lbf", x, lambda w=w, h=h, f=f: stroke(w, h, f), "ft", 0.001,
         "printed to 1/1000 ft; the line itself gives 1/1000 ft")
    for w, h, f, x in ((310, 6, 900, 3.153), (282, 6, 900, 2.738), (220, 6, 900, 1.941),
                       (310, 2, 1350, 0.596), (310, 6, 1350, 1.788))
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_stroke(case: Case) -> None:
    case.check()
