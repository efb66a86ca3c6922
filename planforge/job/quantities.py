"""Field types that read a quantity with its unit and hold it as an SI float.

A bare number is refused: a job file always states units. Code that rebuilds a job from its
canonical form (SI numbers) passes ``context={"si": True}``.

Every type has the least and the most that is believable on a framing lot: a number beyond them is a slip
of unit or digit, and some would keep the reckoning busy without end. They are planforge's own and wide on
purpose, without a source; they are no ratings and no limits of the code.
"""

from __future__ import annotations

import math
import re
from typing import Annotated

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema

from planforge import units
from planforge.errors import QuantityError
from planforge.job.in_plan import InPlan


def _reads(
    kind: units.Kind, least: float, most: float, *, what: str = "", above_least: bool = False
) -> BeforeValidator:
    """Read a kind of quantity between two bounds (SI); ``above_least``: the lower one is not itself allowed.

    ``what`` names it in messages with its article, where it is more than its kind (``an axial stiffness``).
    """

    def read(value: object, info: ValidationInfo) -> float:
        if isinstance(value, int | float) and not isinstance(value, bool) and (info.context or {}).get("si"):
            number = float(value)
        else:
            number = units.parse(value, kind)
        if above_least and number <= least:
            raise QuantityError(f"{value!r}: must be more than {least:g}; write {kind.expected}")
        if number < least and least == 0.0:
            raise QuantityError(f"{value!r}: must not be negative; write {kind.expected}")
        if least <= number <= most:
            return number
        low, high = (units.beside(value, bound, kind) for bound in (least, most))
        name = what or kind.expected.partition(" such as ")[0]
        side = f"less than {low}, the least" if number < least else f"more than {high}, the most"
        within = f"up to {high}" if least == 0.0 else f"from {low} to {high}"
        raise QuantityError(f"{value!r}: {side} that is believable for {name}; write {name} {within}")

    return BeforeValidator(read)


def _shown(kind: units.Kind) -> WithJsonSchema:
    return WithJsonSchema(
        {"type": ["string", "number"], "description": kind.expected, "examples": [kind.example]}
    )


_LENGTH, _FORCE, _MASS = _shown(units.LENGTH), _shown(units.FORCE), _shown(units.MASS)
_FAR = 1000.0  # m; what any length of a lot stays within

Coordinate = Annotated[float, _reads(units.LENGTH, -math.inf, math.inf), _LENGTH]
"""A plan coordinate; how far a lot reaches is checked on the whole layout."""
Elevation = Annotated[float, _reads(units.LENGTH, -100.0, 100.0, what="an elevation"), _LENGTH]
"""A height above (+) or below (-) the lot's datum, the top of the slab."""
Length = Annotated[float, _reads(units.LENGTH, 0.0, _FAR), _LENGTH]
PositiveLength = Annotated[float, _reads(units.LENGTH, 0.0, _FAR, above_least=True), _LENGTH]
RopeDiameter = Annotated[float, _reads(units.LENGTH, 0.001, 0.1, what="a rope's diameter"), _LENGTH]
Sag = Annotated[float, _reads(units.LENGTH, 0.001, 2.0, what="a sag"), _LENGTH]
Stroke = Annotated[float, _reads(units.LENGTH, 0.001, 3.0, what="an absorber's stroke"), _LENGTH]
ConnectorLength = Annotated[float, _reads(units.LENGTH, 0.01, 30.0, what="a length of a connector"), _LENGTH]
DringHeight = Annotated[float, _reads(units.LENGTH, 0.2, 2.5, what="a D-ring's height"), _LENGTH]

Force = Annotated[float, _reads(units.FORCE, 0.0, 1e7, above_least=True), _FORCE]
AxialStiffness = Annotated[float, _reads(units.FORCE, 1e4, 1e8, what="an axial stiffness"), _FORCE]
ConnectorForce = Annotated[float, _reads(units.FORCE, 200.0, 20e3, what="a connector's force"), _FORCE]
LineAbsorberForce = Annotated[
    float, _reads(units.FORCE, 200.0, 100e3, what="a line absorber's force"), _FORCE
]

Mass = Annotated[float, _reads(units.MASS, 0.0, 1e5, above_least=True), _MASS]
MassOrNone = Annotated[float, _reads(units.MASS, 0.0, 1e5), _MASS]
"""A mass that may be nothing, such as what a load chart asks to be taken off."""
UserMass = Annotated[float, _reads(units.MASS, 30.0, 300.0, what="a worker's mass with tools"), _MASS]

LineWeight = Annotated[
    float, _reads(units.LINE_WEIGHT, 0.05, 50.0, what="a rope's weight"), _shown(units.LINE_WEIGHT)
]
Stiffness = Annotated[float, _reads(units.STIFFNESS, 1e3, 1e9), _shown(units.STIFFNESS)]
Pressure = Annotated[float, _reads(units.PRESSURE, 0.0, 2e8, above_least=True), _shown(units.PRESSURE)]
Speed = Annotated[float, _reads(units.SPEED, 0.0, 500.0, above_least=True), _shown(units.SPEED)]
Torque = Annotated[float, _reads(units.TORQUE, 0.0, 1e5, above_least=True), _shown(units.TORQUE)]
Voltage = Annotated[float, _reads(units.VOLTAGE, 0.0, 1.5e6, above_least=True), _shown(units.VOLTAGE)]
_TURN, _ANGLE = _reads(units.ANGLE, -2.0 * math.pi, 2.0 * math.pi), _shown(units.ANGLE)
PlanAngle = Annotated[float, _TURN, _ANGLE, InPlan.DIRECTION]
"""A direction in plan, counter-clockwise from x; it follows its house."""
BaseTurn = Annotated[float, _TURN, _ANGLE, InPlan.BASE]
"""How far a base is turned in plan, counter-clockwise; a base itself can't be mirrored with its house."""
OwnAngle = Annotated[float, _TURN, _ANGLE, InPlan.OWN]
"""An angle between a thing's own parts or from the plumb line; it has no direction in plan."""
LotAngle = Annotated[float, _TURN, _ANGLE, InPlan.LOT]
"""An angle that only the lot states."""
Duration = Annotated[float, _reads(units.DURATION, 0.0, 86400.0, above_least=True), _shown(units.DURATION)]
ServiceLife = Annotated[
    float, _reads(units.AGE, 0.0, 50 * units.YEAR, above_least=True, what="a service life"), _shown(units.AGE)
]
RopeLength = Annotated[
    float, _reads(units.LENGTH, 0.0, 2.0, above_least=True, what="a length of rope looked over"), _LENGTH
]
Bow = Annotated[float, _reads(units.LENGTH, 0.0, 0.1, what="a bow or a dent"), _LENGTH]
Expansion = Annotated[float, _reads(units.EXPANSION, 0.0, 1e-3, above_least=True), _shown(units.EXPANSION)]
Temperature = Annotated[float, _reads(units.TEMPERATURE, 200.0, 350.0), _shown(units.TEMPERATURE)]
SteelYield = Annotated[
    float, _reads(units.PRESSURE, 1e8, 2e9, what="a steel's yield strength"), _shown(units.PRESSURE)
]
SteelModulus = Annotated[
    float, _reads(units.PRESSURE, 5e10, 3e11, what="a steel's modulus"), _shown(units.PRESSURE)
]
Moment = Annotated[float, _reads(units.MOMENT, 0.0, 1e7, above_least=True), _shown(units.MOMENT)]


_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?")


def _number(value: object, info: ValidationInfo) -> float:
    text = str(value).strip()
    try:
        number = float(text.replace(",", "") if _THOUSANDS.fullmatch(text) else text)
    except ValueError:
        number = math.nan
    if not 0.0 < number < 1e6:
        comma = ", for a comma parts thousands only; decimals take a point" if "," in text else ""
        raise QuantityError(f"{value!r}: not a number above 0{comma}; write a number such as 17")
    return number


FACTOR = "a number such as 17"
"""The phrase used where a plain factor is wanted."""

Factor = Annotated[
    float,
    BeforeValidator(_number),
    WithJsonSchema({"type": ["string", "number"], "description": FACTOR, "examples": ["17"]}),
]
"""A plain factor without a unit."""
