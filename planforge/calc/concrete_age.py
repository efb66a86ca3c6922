"""Compressive strength of concrete at an age, from its strength at 28 days.

    f(t) = t / (a + b t) f28        ACI 209R-92, equation 2-1, t in days

The constants of its table 2.2.1 stand in :data:`CURVES`; read second hand, in an open bridge-design
library that cites the equation, and from memory; not in the report itself.

The fit describes the mean of moist- or steam-cured laboratory specimens near 73 F (23 C). Cold weather,
slag or fly ash and other mixes gain strength later; a strength measured on field-cured cylinders or by
maturity (ASTM C1074) stands above it. A value from here is therefore an estimate that a named person
confirms, never a measured strength. Strength beyond the 28-day value is not credited.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Values, as_array
from planforge.errors import CalculationError

EARLIEST_AGE = 1.0
"""Days; the curves say nothing of the first hours, so no strength is credited before this age."""


@dataclass(frozen=True, slots=True)
class GainCurve:
    """How strength grows under one cement and curing."""

    name: str
    a: float  # days
    b: float  # ratio


CURVES = {
    "I moist": GainCurve("type I cement, moist cured", 4.0, 0.85),
    "III moist": GainCurve("type III cement, moist cured", 2.3, 0.92),
    "I steam": GainCurve("type I cement, steam cured", 1.0, 0.95),
    "III steam": GainCurve("type III cement, steam cured", 0.70, 0.98),
}
"""ACI 209R-92 table 2.2.1, by cement type and curing."""


def strength_ratio(age: Values, curve: GainCurve) -> Array:
    """f(t)/f28 at ``age`` in days: 0 before :data:`EARLIEST_AGE`, never above 1.

    Raises:
        CalculationError: an age below 0: the slab is not poured yet.
    """
    t = as_array(age)
    if not np.all(t >= 0.0):
        raise CalculationError(f"concrete age is {np.min(t):.4g} days; the day must not precede the pour.")
    return np.where(t < EARLIEST_AGE, 0.0, np.minimum(t / (curve.a + curve.b * t), 1.0))


def strength_at_age(strength_28: Values, age: Values, curve: GainCurve) -> Array:
    """Compressive strength, Pa, at ``age`` (days) from ``strength_28`` (Pa). Broadcasts."""
    return as_array(strength_28) * strength_ratio(age, curve)
