"""Inch-pound units for codes whose equations carry units inside, such as ACI 318's square root of psi.

The code's own equation is then evaluated as printed and the result handed back in SI.
Factors are exact by definition (international yard and pound, 1959; standard gravity).
"""

from __future__ import annotations

from planforge.calc.constants import G

INCH = 0.0254  # m
FOOT = 12.0 * INCH  # m
POUND_FORCE = 0.45359237 * G  # N
PSI = POUND_FORCE / INCH**2  # Pa
