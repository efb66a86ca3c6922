"""29 CFR 1926 Subpart M, Appendix C section I(h) and Appendix E: how sag multiplies the force on a lifeline.

Published there as round figures: 15 degrees about 2:1, 5 degrees about 6:1 (Appendix C);
2 degrees about 15:1 (Appendix E). The sag angle is that of the loaded line, from the horizontal.
The figures are those of T = F / (2 sin a) rounded, hence 7 percent.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.point_load import load_line

from .cases import Case

_SOURCE = "29 CFR 1926 Subpart M, Appendices C and E"
_LENGTH = 12.0


def amplification(angle: float) -> float:
    """Tension over load of a nearly weightless, nearly inextensible line loaded at mid-span to ``angle``."""
    depth = 0.5 * _LENGTH * math.tan(math.radians(angle))
    sag = depth
    for _ in range(40):
        line = install(Line(_LENGTH, 0.0, sag, Rope(weight=0.01, axial_stiffness=1e12)))
        loaded = load_line(line, np.array([0.5 * _LENGTH]), np.array([4000.0]))
        sag *= depth / float(loaded.drop[0])
    return float(loaded.tension_left) / 4000.0


CASES = [
    Case(_SOURCE, f"tension over load at a sag angle of {a:g} degrees", ratio, lambda a=a: amplification(a),
         "T/F", 0.07, f"printed rounded; exactly {0.5 / math.sin(math.radians(a)):.3f}")
    for a, ratio in ((15.0, 2.0), (5.0, 6.0), (2.0, 15.0))
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_published_figures(case: Case) -> None:
    case.check()


@pytest.mark.parametrize("angle", [30.0, 15.0, 10.0, 5.0, 3.0])
def test_closed_form(angle: float) -> None:
    """T/F = 1/(2 sin a) itself, which the published figures round; the rope weighs a little."""
    assert amplification(angle) == pytest.approx(0.5 / math.sin(math.radians(angle)), rel=3e-5)
