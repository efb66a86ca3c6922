"""ASCE 7: published velocity pressures and forces.

- A published spreadsheet's sheet for a round chimney by ASCE 7-02 (V 90 mph, exposure B, Kd 0.95, G 1.122,
  3 ft across, 80 ft high): Kz, qz and the force per foot, to two decimals. Kz and qz read alike in 7-16.
- A published answer on tank design (V 120 mph, Kz 1.04, Kd 0.95, G 0.85): 31.0 psf.
- Table of Kz at 0-15 ft and 15-20 ft as quoted in an open repository.
Inch-pound prints use 0.00256 where the metric form's 0.613 corresponds to 0.002559 (0.05 percent).
"""

from __future__ import annotations

import pytest

from planforge.calc.wind_on_post import (
    EXPOSURES,
    exposure_coefficient,
    force_coefficient,
    force_per_length,
    velocity_pressure,
)

from .cases import FOOT, POUND_FORCE, Case

_SHEET, _MPH, _PSF = "ASCE 7-02 chimney sheet", 0.44704, POUND_FORCE / FOOT**2


def kz(feet: float, exposure: str = "B") -> float:
    return float(exposure_coefficient(feet * FOOT, EXPOSURES[exposure]))


def pressure(mph: float, Kz: float) -> float:
    """qz, N/m2, with Kd 0.95."""
    return float(velocity_pressure(mph * _MPH, Kz, Kd=0.95))


def chimney() -> float:
    """Force at 50 ft, lb/ft, with the sheet's flexible gust factor."""
    q = pressure(90.0, kz(50.0))
    Cf = force_coefficient(80.0 * FOOT, 3.0 * FOOT, q, "moderately smooth")
    return float(force_per_length(q, 3.0 * FOOT, Cf, 1.122)) / (POUND_FORCE / FOOT)


CASES = [
    *(
        Case(
            _SHEET,
            f"Kz at {feet:g} ft, exposure B",
            value,
            lambda z=feet: kz(z),
            "ratio",
            0.006,
            "two decimals",
            absolute=True,
        )
        for feet, value in ((50.0, 0.81), (60.0, 0.85), (70.0, 0.89), (100.0, 0.99), (120.0, 1.04))
    ),
    *(
        Case(
            _SHEET,
            f"qz at {feet:g} ft",
            value,
            lambda z=feet: pressure(90.0, kz(z)) / _PSF,
            "psf",
            0.001,
            "0.00256 against 0.613",
        )
        for feet, value in ((50.0, 15.97), (70.0, 17.58), (100.0, 19.47))
    ),
    Case(_SHEET, "force at 50 ft, Cf 0.7", 37.61, chimney, "lb/ft", 0.001, "0.00256 against 0.613"),
    Case(
        "tank design answer",
        "qz G",
        31.0,
        lambda: 0.85 * pressure(120.0, 1.04) / _PSF,
        "psf",
        0.002,
        "three digits",
    ),
    *(
        Case(
            "ASCE 7 Table 29.3-1 as quoted",
            f"Kz below {feet:g} ft, exposure {exposure}",
            value,
            lambda z=feet, e=exposure: kz(z, e),
            "ratio",
            0.006,
            "two decimals",
            absolute=True,
        )
        for feet, exposure, value in (
            (15.0, "B", 0.57),
            (15.0, "C", 0.85),
            (15.0, "D", 1.03),
            (20.0, "B", 0.62),
            (20.0, "C", 0.90),
            (20.0, "D", 1.08),
        )
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_published(case: Case) -> None:
    case.check()
