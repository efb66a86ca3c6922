"""Sag band and temperature card."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from numpy.typing import NDArray

from planforge.calc.arrest import Faller, arrest
from planforge.calc.cable import Rope
from planforge.calc.lifeline import Line, install
from planforge.calc.sag import SagBand, sag_band
from planforge.errors import CalculationError

LINE = Line(18.288, 0.0, 0.1524, Rope(3.5, 3.567e6, 11.7e-6))
WORKER = Faller(140.6, 1.8288, 4003.0, 1.2)
Floats = NDArray[np.float64]


def band_of(limit: float, fall: float) -> SagBand:
    def margins(sags: Floats) -> Floats:
        found = arrest(install(dataclasses.replace(LINE, installed_sag=sags)), 9.144, WORKER)
        return np.stack([limit - found.tension_max, fall - found.total_fall - found.sag_before])

    return sag_band(margins, 0.05, 0.60)


def test_band_has_both_limits() -> None:
    """This test ensures that tension gives the lower limit and drop the upper, each just met."""
    band = band_of(18500.0, 3.86)
    assert 0.05 < band.lower < band.upper < 0.60
    at_lower = arrest(install(dataclasses.replace(LINE, installed_sag=band.lower)), 9.144, WORKER)
    at_upper = arrest(install(dataclasses.replace(LINE, installed_sag=band.upper)), 9.144, WORKER)
    assert at_lower.tension_max <= 18500.0
    assert at_lower.tension_max == pytest.approx(18500.0, rel=1e-4)
    assert at_upper.total_fall + at_upper.sag_before <= 3.86
    assert at_upper.total_fall + at_upper.sag_before == pytest.approx(3.86, rel=1e-4)
    assert not (band.lower_is_search_limit or band.upper_is_search_limit)


def test_no_sag_meets_both() -> None:
    assert band_of(15000.0, 3.0).empty


def test_search_limits_are_named() -> None:
    band = band_of(1e6, 100.0)
    assert band == SagBand(0.05, 0.60, lower_is_search_limit=True, upper_is_search_limit=True)


def test_not_a_number_never_holds() -> None:
    assert sag_band(lambda s: np.full_like(s, np.nan), 0.1, 0.2).empty


def test_longest_stretch_counts() -> None:
    band = sag_band(lambda s: np.where(s < 0.2, (0.12 - s), np.minimum(s - 0.3, 0.5 - s)), 0.05, 0.6)
    assert band.lower == pytest.approx(0.3, abs=1e-5)
    assert band.upper == pytest.approx(0.5, abs=1e-5)


def test_a_search_without_a_range_is_refused() -> None:
    with pytest.raises(CalculationError, match="no range"):
        sag_band(lambda s: s, 0.3, 0.2)
