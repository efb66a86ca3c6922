"""Field types that read a quantity with its unit and hold it as an SI float.

A bare number is refused: a job file always states units. Code that rebuilds a job from its
canonical form (SI numbers) passes ``context={"si": True}``.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema

from planforge import units
from planforge.errors import QuantityError


def _reads(kind: units.Kind, *, least: float | None = None, above: float | None = None) -> BeforeValidator:
    def read(value: object, info: ValidationInfo) -> float:
        if isinstance(value, int | float) and not isinstance(value, bool) and (info.context or {}).get("si"):
            number = float(value)
        else:
            number = units.parse(value, kind)
        if above is not None and number <= above:
            raise QuantityError(f"{value!r}: must be more than {above:g}; write {kind.expected}")
        if least is not None and number < least:
            raise QuantityError(f"{value!r}: must not be negative; write {kind.expected}")
        return number

    return BeforeValidator(read)


def _shown(kind: units.Kind) -> WithJsonSchema:
    return WithJsonSchema(
        {"type": ["string", "number"], "description": kind.expected, "examples": [kind.example]}
    )


Elevation = Annotated[float, _reads(units.LENGTH), _shown(units.LENGTH)]
"""A height above (+) or below (-) the lot's datum, the top of the slab."""
Length = Annotated[float, _reads(units.LENGTH, least=0.0), _shown(units.LENGTH)]
PositiveLength = Annotated[float, _reads(units.LENGTH, above=0.0), _shown(units.LENGTH)]
Force = Annotated[float, _reads(units.FORCE, above=0.0), _shown(units.FORCE)]
Mass = Annotated[float, _reads(units.MASS, above=0.0), _shown(units.MASS)]
LineWeight = Annotated[float, _reads(units.LINE_WEIGHT, above=0.0), _shown(units.LINE_WEIGHT)]
Stiffness = Annotated[float, _reads(units.STIFFNESS, above=0.0), _shown(units.STIFFNESS)]
Pressure = Annotated[float, _reads(units.PRESSURE, above=0.0), _shown(units.PRESSURE)]
Speed = Annotated[float, _reads(units.SPEED, above=0.0), _shown(units.SPEED)]
Torque = Annotated[float, _reads(units.TORQUE, above=0.0), _shown(units.TORQUE)]
Moment = Annotated[float, _reads(units.MOMENT, above=0.0), _shown(units.MOMENT)]
Voltage = Annotated[float, _reads(units.VOLTAGE, above=0.0), _shown(units.VOLTAGE)]
Angle = Annotated[float, _reads(units.ANGLE), _shown(units.ANGLE)]
Duration = Annotated[float, _reads(units.DURATION, above=0.0), _shown(units.DURATION)]
Expansion = Annotated[float, _reads(units.EXPANSION, above=0.0), _shown(units.EXPANSION)]
Temperature = Annotated[float, _reads(units.TEMPERATURE), _shown(units.TEMPERATURE)]


def _number(value: object, info: ValidationInfo) -> float:
    try:
        number = float(str(value).replace(",", ""))
    except ValueError:
        number = float("nan")
    if not 0.0 < number < 1e6:
        raise QuantityError(f"{value!r}: not a number above 0; write a number such as 17")
    return number


FACTOR = "a number such as 17"
"""The phrase used where a plain factor is wanted."""

Factor = Annotated[
    float,
    BeforeValidator(_number),
    WithJsonSchema({"type": ["string", "number"], "description": FACTOR, "examples": ["17"]}),
]
"""A plain factor without a unit."""
