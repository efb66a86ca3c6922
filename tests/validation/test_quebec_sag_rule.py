"""Quebec, Safety Code for the construction industry (S-2.1, r. 4), section 2.10.15: sag of 1:12 or 5 degrees.

The rule asks of a 12 m line a sag angle of at least 1:12 or 5 degrees. Read as 0.50 m at mid-span of
12 m: tan a = 0.5/6, a = 4.764 degrees, T/F = 6.02 (computed here from the rule, not printed in it).
"""

from __future__ import annotations

import math

import pytest

from .cases import Case
from .test_subpart_m_appendix_c import amplification

_SOURCE = "Quebec S-2.1, r. 4, s. 2.10.15"
_ANGLE = math.degrees(math.atan(0.5 / 6.0))

CASES = [
    Case(_SOURCE, "angle of 0.50 m in 12 m", 4.764, lambda: _ANGLE, "degrees", 5e-4, "three decimals", True),
    Case(_SOURCE, "tension over load at that angle", 6.02, lambda: amplification(_ANGLE), "T/F", 0.001,
         "two decimals"),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_rule(case: Case) -> None:
    case.check()
