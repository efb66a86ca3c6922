"""Numbers that no framing lot has are refused with field, bound, the unit written, and what to do."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import TypeAdapter, ValidationError

from planforge.errors import JobFileError
from planforge.job.loading import load
from planforge.job.quantities import Factor

HERE = Path(__file__).parent
JOB = (HERE / "sound_job.yaml").read_text(encoding="utf-8")


def refused(folder: Path, field: str, value: str) -> list[str]:
    """The job's problems with the first field of this name changed."""
    text, changes = re.subn(
        rf"\b{field}: ({{value: )?.*?(?=, [a-z_]+:|}}|\n)", rf"{field}: \g<1>{value}", JOB, count=1
    )
    assert changes == 1
    path = folder / "job.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JobFileError) as caught:
        load(path)
    return [f"{problem.field}: {problem}" for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("field", "value", "bound"),
    [
        ("axial_stiffness", "1e11 lbf", "22,500,000 lbf"),
        ("axial_stiffness", "'690,000 kip'", "22,500 kip"),
        ("weight_per_length", "1e-9 lb/ft", "0.00343 lb/ft"),
        ("weight_per_length", "1e-9 kg/m", "0.0051 kg/m"),
        ("diameter", "5 in", "3.94 in"),
        ("mass", "2000 lb", "661 lb"),
        ("dring_height", "30 ft", "8.2 ft"),
        ("sag", "3 m", "2 m"),
        ("floor2", "-120 m", "-100 m"),
    ],
)
def test_unbelievable_number(tmp_path: Path, field: str, value: str, bound: str) -> None:
    every = refused(tmp_path, field, value)
    (own,) = [text for text in every if text.partition(": ")[0].removesuffix(".value").endswith(field)]
    assert f"than {bound}, the " in own and "believable for" in own and "expected " in own


@pytest.mark.parametrize("text", ["1e999 ft", "1e999 in", "1e999'-6\"", "1e999 m"])
def test_number_beyond_all_floats(tmp_path: Path, text: str) -> None:
    (problem,) = refused(tmp_path, "floor2", f"'{text.replace(chr(39), 2 * chr(39))}'")
    assert "too large" in problem and "floor2" in problem


@pytest.mark.parametrize(("text", "value"), [("17", 17.0), ("1.7", 1.7), ("1,700", 1700.0), (" 2 ", 2.0)])
def test_factor(text: str, value: float) -> None:
    assert TypeAdapter(Factor).validate_python(text) == value


@pytest.mark.parametrize("text", ["1,7", "0,125", "17,00"])
def test_a_factors_decimals_take_a_point(text: str) -> None:
    """Ensures that 1,7 is never read as 17."""
    with pytest.raises(ValidationError, match="a comma parts thousands only; decimals take a point"):
        TypeAdapter(Factor).validate_python(text)
