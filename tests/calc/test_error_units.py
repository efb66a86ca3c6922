"""The errors of calculations carry their values in SI, to be printed in the units of whoever reads them."""

from __future__ import annotations

import pickle
import re
from pathlib import Path

import pytest

import planforge.calc
from planforge.calc.sag import sag_band
from planforge.errors import CalculationError, Quantity
from planforge.units import Display, in_words, words_in

ROOT = Path(planforge.calc.__file__).parent


def test_values_are_worded_in_each_system() -> None:
    error = CalculationError(
        "from {short} and {long} under {pull}: {count}",
        short=Quantity(0.0508, "m"),
        long=Quantity(6.096, "m"),
        pull=Quantity(4448.2216152605, "N"),
        count=Quantity(3.0),
    )
    # exact factors of NIST SP 811: 0.0508 m = 2 in, 6.096 m = 20 ft, 4448.22 N = 1,000 lbf
    assert str(error) == "from 0.0508 m and 6.096 m under 4448.22 N: 3"
    assert str(in_words(error, Display("us"))) == "from 2 in and 20'-0\" under 1,000 lbf: 3"
    assert str(in_words(error, Display("metric"))) == "from 51 mm and 6.10 m under 4.45 kN: 3"


def test_a_real_error_passes_the_door_in_the_jobs_units() -> None:
    with pytest.raises(CalculationError, match=r"^sag band: 8 in to 2 in is no range"), words_in(Display()):
        sag_band(lambda sags: sags, 0.2032, 0.0508)


def test_an_error_without_values_passes_as_it_is() -> None:
    error = CalculationError("as {written}")
    with pytest.raises(CalculationError) as caught, words_in(Display()):
        raise error
    assert caught.value is error and str(error) == "as {written}"


def test_an_error_goes_to_another_process() -> None:
    error = CalculationError("under {pull}", pull=Quantity(1.0, "N"))
    again = pickle.loads(pickle.dumps(error))
    assert str(again) == "under 1 N" and again.quantities == error.quantities


def test_no_message_of_a_calculation_has_a_unit_of_its_own() -> None:
    """Ensures that a value in SI is not printed past the user's units."""
    unit = r"(?:m|mm|N|kN|kg|Pa|MPa|N/m|K|rad)"
    told = re.compile(rf"\}}\"? {unit}\b|\d {unit}\b|\({unit}\)")
    found = [
        f"{path.name}: {raised}"
        for path in ROOT.glob("*.py")
        for raised in re.findall(r"CalculationError\((.*?)\n\s*\)?\n", path.read_text("utf-8"), re.DOTALL)
        if told.search(raised)
    ]
    assert found == []
