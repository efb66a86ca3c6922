"""Quantities as the trade writes them, read to SI floats and printed back.

``12'-6 1/2"``, ``6 in``, ``60 ft``, ``3.8 m``, ``1,800 lbf``, ``8 kN``, ``12 mph``, ``95 F``.
A quantity without a unit is an error, never a guess; only ``0`` needs none (but a
temperature always does). Inside planforge every float is SI: m, N, kg, N/m, Pa, K.

Exact factors by definition (NIST SP 811, appendix B): 1 in = 0.0254 m, 1 lb = 0.45359237 kg,
g = 9.80665 m/s2, hence 1 lbf = 4.4482216152605 N.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, wraps
from typing import Concatenate, Literal, ParamSpec, TypeVar

from planforge.errors import CalculationError, Quantity, QuantityError

INCH = 0.0254
FOOT = 12 * INCH
POUND = 0.45359237
G = 9.80665
LBF = POUND * G
MPH = 5280 * FOOT / 3600
PSI = LBF / INCH**2
YEAR = 365.25 * 86400.0


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """A kind of quantity: its unit names with SI factors, and an example for messages."""

    name: str
    units: dict[str, float]
    example: str

    @property
    def expected(self) -> str:
        """The phrase used where a quantity of this kind is wanted."""
        article = "an" if self.name[0] in "aeiou" else "a"
        return f"{article} {self.name} such as {self.example}"


# how many metres is one ...?
LENGTH = Kind(
    "length",
    {"ft": FOOT, "in": INCH, "m": 1.0, "cm": 0.01, "mm": 0.001},
    "12'-6 1/2\", 60 ft, 6 in or 3.8 m",
)
# how many newtons is one ...?
FORCE = Kind("force", {"lbf": LBF, "kip": 1000 * LBF, "N": 1.0, "kN": 1000.0}, "1,800 lbf or 8 kN")
# how many kilograms is one ...?
MASS = Kind("mass", {"lb": POUND, "kg": 1.0}, "310 lb or 140 kg")
# how many newtons per metre (weight of a rope) is one ...?
LINE_WEIGHT = Kind(
    "weight per length",
    {"lb/ft": LBF / FOOT, "lbf/ft": LBF / FOOT, "kg/m": G, "N/m": 1.0},
    "0.24 lb/ft or 0.36 kg/m",
)
# how many newtons per metre (spring) is one ...?
STIFFNESS = Kind(
    "stiffness",
    {"lbf/in": LBF / INCH, "kN/m": 1000.0, "N/mm": 1000.0},
    "2,000 lbf/in or 350 kN/m",
)
# how many pascals is one ...?
PRESSURE = Kind("pressure", {"psi": PSI, "ksi": 1000 * PSI, "MPa": 1e6, "kPa": 1000.0}, "3,000 psi or 21 MPa")
# how many metres per second is one ...?
SPEED = Kind("speed", {"mph": MPH, "ft/s": FOOT, "m/s": 1.0, "km/h": 1 / 3.6}, "25 mph or 40 km/h")
# how many newton metres is one ...?
TORQUE = Kind("torque", {"ft-lbf": FOOT * LBF, "ft-lb": FOOT * LBF, "N-m": 1.0}, "40 ft-lbf or 54 N-m")
# how many newton metres is one ...?
MOMENT = Kind(
    "moment",
    {
        "ft-lbf": FOOT * LBF,
        "ft-lb": FOOT * LBF,
        "in-lbf": INCH * LBF,
        "kip-ft": 1000 * FOOT * LBF,
        "N-m": 1.0,
        "kN-m": 1000.0,
    },
    "4,500 ft-lbf or 6 kN-m",
)
# how many volts is one ...?
VOLTAGE = Kind("voltage", {"V": 1.0, "kV": 1000.0}, "7.2 kV or 240 V")
# how many radians is one ...?
ANGLE = Kind("angle", {"deg": math.pi / 180, "°": math.pi / 180}, "45 deg")
# how many seconds is one ...?
DURATION = Kind("time", {"min": 60.0, "minutes": 60.0, "s": 1.0, "h": 3600.0}, "6 min")
# how many seconds is one ...?
AGE = Kind("service life", {"years": YEAR, "year": YEAR, "months": YEAR / 12, "month": YEAR / 12}, "10 years")
# how many per kelvin is one ...?
EXPANSION = Kind("thermal expansion", {"/F": 1.8, "/C": 1.0, "/K": 1.0}, "6.5e-6 /F or 11.7e-6 /C")
# the offset of a temperature is handled in parse(); the factor is for differences
TEMPERATURE = Kind("temperature", {"F": 5 / 9, "°F": 5 / 9, "C": 1.0, "°C": 1.0}, "70 F or 21 C")

# a comma parts thousands and nothing else: 0,375 in is no 375 in
_NUMBER = r"(?:[1-9]\d{0,2}(?:,\d{3})+|\d+)(?:\.\d+)?(?:[eE][+-]?\d+)?|\.\d+"
_VULGAR = r"[½⅓⅔¼¾⅕⅛⅜⅝⅞]"
_MIXED = rf"(?:\d+[ -]+)?\d+/\d+|\d*{_VULGAR}|{_NUMBER}"
_FEET_INCHES = re.compile(
    rf"(?P<feet>{_NUMBER})\s*(?:'|ft\.?|feet)\s*(?:-\s*)?(?P<inches>{_MIXED})\s*(?:\"|in\.?|inches|inch)"
)
_FEET = re.compile(rf"(?P<feet>{_NUMBER})\s*(?:'|ft\.?|feet|foot)")
_INCHES = re.compile(rf"(?P<inches>{_MIXED})\s*(?:\"|in\.?|inches|inch)")
_PLAIN = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>[A-Za-z°/][A-Za-z°/.\-]*)?")
_MARKS = str.maketrans("′’‘″”“–−\u00a0", "'''\"\"\"-- ")
_MAX_TEXT = 60


def parse(text: object, kind: Kind) -> float:
    """Read one quantity of a kind and return it in SI.

    Raises :class:`QuantityError` where the text is no quantity, lacks its unit, or carries a
    unit of another kind. A leading minus sign negates the whole (``-8'-4"``).
    """
    if not isinstance(text, str):
        raise QuantityError(_fault(str(text), kind, "a unit is needed"))
    if len(text) > _MAX_TEXT:
        raise QuantityError(_fault(text[:_MAX_TEXT] + "…", kind, "the text is too long for a quantity"))
    return _read(text, kind)


@lru_cache(maxsize=4096)  # lots of one design state the same quantities
def _read(text: str, kind: Kind) -> float:
    body = " ".join(text.translate(_MARKS).replace("''", '"').split())
    negative = body.startswith("-")
    body = body.lstrip("+-").strip()
    if body in {"0", "0.0"} and kind is not TEMPERATURE:
        return 0.0
    value = _length(body) if kind is LENGTH else None
    if value is None:
        value = _with_unit(text, body, kind)
    value = -value if negative else value
    if kind is TEMPERATURE:
        return _to_kelvin(value, body)
    if not math.isfinite(value):
        raise QuantityError(_fault(text, kind, "the number is too large"))
    return value


def _fault(text: str, kind: Kind, reason: str) -> str:
    return f"{reason}; write {kind.expected}" if not text else f"{text!r}: {reason}; write {kind.expected}"


def _number(text: str) -> float:
    return float(text.replace(",", ""))


def _inches(text: str) -> float:
    """Read ``6``, ``6.5``, ``6 1/2``, ``6-1/2``, ``1/2`` or ``6½``."""
    if text[-1] in "½⅓⅔¼¾⅕⅛⅜⅝⅞":
        return float(text[:-1] or 0) + unicodedata.numeric(text[-1])
    if "/" in text:
        parts = re.split(r"[ -]+", text)
        if int(parts[-1].split("/")[1]) == 0:
            raise QuantityError(f"{text!r}: a fraction over zero is no length")
        whole = float(parts[0]) if len(parts) == 2 else 0.0
        fraction = Fraction(parts[-1])
        if len(parts) == 2 and fraction >= 1:
            raise QuantityError(f"{text!r}: the fraction of an inch must be less than 1")
        return whole + float(fraction)
    return _number(text)


def _length(body: str) -> float | None:
    """Read feet and inches; None where the text has another form."""
    if match := _FEET_INCHES.fullmatch(body):
        inches = _inches(match["inches"])
        if inches >= 12:
            raise QuantityError(f"{body!r}: {inches:g} inches beside feet must be less than 12")
        return _number(match["feet"]) * FOOT + inches * INCH
    if match := _FEET.fullmatch(body):
        return _number(match["feet"]) * FOOT
    if match := _INCHES.fullmatch(body):
        return _inches(match["inches"]) * INCH
    return None


def _with_unit(text: str, body: str, kind: Kind) -> float:
    match = _PLAIN.fullmatch(body)
    if match is None:
        article = "an" if kind.name[0] in "aeiou" else "a"
        comma = (
            ", for a comma parts thousands only; decimals take a point" if re.search(r"\d,\d", body) else ""
        )
        raise QuantityError(_fault(text, kind, f"not {article} {kind.name}{comma}"))
    unit = match["unit"]
    if unit is None:
        raise QuantityError(_fault(text, kind, "a unit is needed"))
    factor = kind.units.get(unit, {u.lower(): f for u, f in kind.units.items()}.get(unit.lower()))
    if factor is None:
        raise QuantityError(_fault(text, kind, f"{unit!r} is not a unit of {kind.name}"))
    number = _number(match["number"])
    return number if kind is TEMPERATURE else number * factor


def beside(text: object, value: float, kind: Kind) -> str:
    """Print an SI value to three figures in the unit that ``text`` is written in, or its kind's first."""
    body = " ".join(str(text).translate(_MARKS).replace("''", '"').split()).lstrip("+-").strip()
    match = _PLAIN.fullmatch(body)
    known = {name.lower(): name for name in kind.units}
    unit = known.get((match["unit"] or "").lower()) if match else None
    if unit is None and kind is LENGTH:
        unit = "in" if _INCHES.fullmatch(body) else "ft"
    unit = unit or next(iter(kind.units))
    number = float(f"{value / kind.units[unit]:.3g}")
    return f"{number:,.0f} {unit}" if abs(number) >= 100.0 else f"{number:g} {unit}"


def _to_kelvin(value: float, body: str) -> float:
    kelvin = (value - 32) * 5 / 9 + 273.15 if body.rstrip()[-1] in "Ff" else value + 273.15
    if not 200 < kelvin < 350:
        raise QuantityError(f"{body!r}: a temperature outside -73 C to 77 C is not a working temperature")
    return kelvin


Rounding = Literal["nearest", "up", "down"]
_ROUND: dict[Rounding, Callable[[float], int]] = {"nearest": round, "up": math.ceil, "down": math.floor}


def _stepped(value: float, step: float, rounding: Rounding) -> int:
    """The number of whole steps; a hair of float noise never moves a value up or down a step."""
    steps = value / step
    near = round(steps)
    return near if abs(steps - near) < 1e-6 else int(_ROUND[rounding](steps))


def feet_inches(metres: float, *, denominator: int = 16, rounding: Rounding = "nearest") -> str:
    """Print a length as ``12'-6 1/2"`` or ``9'-0 1/2"``; inches alone below a foot, minus below zero."""
    steps = _stepped(metres, INCH / denominator, rounding)
    sign = "-" if steps < 0 else ""
    whole, part = divmod(abs(steps), denominator)
    feet, inches = divmod(whole, 12)
    fraction = Fraction(part, denominator)
    tail = (
        f"{inches} {fraction}"
        if fraction and (inches or feet)
        else str(fraction)
        if fraction
        else str(inches)
    )
    return f"{sign}{feet}'-{tail}\"" if feet else f'{sign}{tail}"'


INCH_PARTS = (1, 8, 16)
"""What a printed inch is divided into: whole where that says enough, else finer, as on a carpenter's rule."""

NO_FINITE_VALUE = "no finite value"
"""Printed for an infinite or undefined number, whatever its unit."""

_Owner = TypeVar("_Owner")
_More = ParamSpec("_More")


def finite_or_words(
    printer: Callable[Concatenate[_Owner, float, _More], str],
) -> Callable[Concatenate[_Owner, float, _More], str]:
    """Make a method that prints a number print :data:`NO_FINITE_VALUE` for one that is not finite."""

    @wraps(printer)
    def prints(self: _Owner, value: float, /, *args: _More.args, **kwargs: _More.kwargs) -> str:
        return printer(self, value, *args, **kwargs) if math.isfinite(value) else NO_FINITE_VALUE

    return prints


@dataclass(frozen=True, slots=True)
class Display:
    """Print SI values in the job's unit system (``us`` or ``metric``), always with the unit."""

    system: Literal["us", "metric"] = "us"

    @finite_or_words
    def length(self, metres: float, rounding: Rounding = "nearest", denominator: int = 8) -> str:
        """Feet and inches to 1/8 in (or metres to 1 mm)."""
        if self.system == "us":
            return feet_inches(metres, denominator=denominator, rounding=rounding)
        return f"{_stepped(metres, 0.001, rounding) / 1000:.3f} m"

    @finite_or_words
    def feet(self, metres: float, rounding: Rounding = "nearest") -> str:
        """Feet and whole inches, as a tape shows them (or metres to 0.01 m), for reckonings and tables."""
        if self.system == "us":
            return feet_inches(metres, denominator=1, rounding=rounding)
        return f"{_stepped(metres, 0.01, rounding) / 100:.2f} m"

    @finite_or_words
    def inches(self, metres: float, rounding: Rounding = "nearest") -> str:
        """Decimal inches to 1/8 in shown as a fraction (or millimetres), for sags."""
        if self.system == "us":
            steps = _stepped(metres, INCH / 8, rounding)
            sign = "-" if steps < 0 else ""
            whole, part = divmod(abs(steps), 8)
            fraction = Fraction(part, 8)
            text = f"{whole} {fraction}" if fraction and whole else str(fraction) if fraction else str(whole)
            return f"{sign}{text} in"
        return f"{_stepped(metres, 0.001, rounding)} mm"

    @finite_or_words
    def force(self, newtons: float, rounding: Rounding = "nearest") -> str:
        """Pounds-force to 10 lbf (or kN to 0.01)."""
        if self.system == "us":
            return f"{_stepped(newtons, 10 * LBF, rounding) * 10:,} lbf"
        return f"{_stepped(newtons, 10.0, rounding) / 100:,.2f} kN"

    @finite_or_words
    def mass(self, kilograms: float) -> str:
        """Pounds or kilograms to the unit."""
        return f"{kilograms / POUND:,.0f} lb" if self.system == "us" else f"{kilograms:,.0f} kg"

    def stiffness(self, value: float) -> str:
        """lbf/in to 10 (or kN/m)."""
        if not math.isfinite(value):
            return "rigid" if value > 0.0 else NO_FINITE_VALUE
        return f"{value * INCH / LBF:,.0f} lbf/in" if self.system == "us" else f"{value / 1000:,.0f} kN/m"

    @finite_or_words
    def line_weight(self, value: float) -> str:
        """lb/ft to 0.001 (or kg/m)."""
        return f"{value * FOOT / LBF:.3f} lb/ft" if self.system == "us" else f"{value / G:.3f} kg/m"

    @finite_or_words
    def pressure(self, value: float) -> str:
        """Psi or MPa."""
        return f"{value / PSI:,.0f} psi" if self.system == "us" else f"{value / 1e6:.1f} MPa"

    @finite_or_words
    def moment(self, value: float, rounding: Rounding = "nearest") -> str:
        """Foot-pounds-force to 10 (or kN m to 0.01)."""
        if self.system == "us":
            return f"{_stepped(value, 10 * FOOT * LBF, rounding) * 10:,} ft-lbf"
        return f"{_stepped(value, 10.0, rounding) / 100:,.2f} kN m"

    @finite_or_words
    def speed(self, value: float) -> str:
        """Mph or km/h."""
        return f"{value / MPH:.0f} mph" if self.system == "us" else f"{value * 3.6:.0f} km/h"

    @finite_or_words
    def temperature(self, kelvin: float) -> str:
        """Degrees F or C, whole."""
        celsius = kelvin - 273.15
        return f"{celsius * 1.8 + 32:.0f} °F" if self.system == "us" else f"{celsius:.0f} °C"

    @finite_or_words
    def voltage(self, volts: float) -> str:
        """KV above 1,000 V, else V."""
        return f"{volts / 1000:g} kV" if volts >= 1000 else f"{volts:g} V"

    @finite_or_words
    def minutes(self, seconds: float) -> str:
        """Whole minutes, rounded up."""
        return f"{math.ceil(seconds / 60 - 1e-9)} min"

    @finite_or_words
    def angle(self, radians: float) -> str:
        """Degrees to 0.1."""
        return f"{math.degrees(radians):.1f}°"

    def value(self, value: float, unit: str, rounding: Rounding = "nearest") -> str:
        """Print an SI value by its SI unit symbol, as findings carry it."""
        printers: dict[str, Callable[[float], str]] = {
            "m": lambda v: self.feet(v, rounding),
            "N": lambda v: self.force(v, rounding),
            "kg": self.mass,
            "K": self.temperature,
            "m/s": self.speed,
            "s": self.minutes,
            "Pa": self.pressure,
            "V": self.voltage,
            "N/m": self.stiffness,
            "N m": lambda v: self.moment(v, rounding),
            "rad": self.angle,
        }
        printer = printers.get(unit)
        if printer is not None:
            return printer(value)
        return f"{value:g} {unit}".rstrip() if math.isfinite(value) else NO_FINITE_VALUE


@contextmanager
def words_in(display: Display) -> Iterator[None]:
    """Word a calculation's error in the job's units: it carries its values in SI."""
    try:
        yield
    except CalculationError as error:
        worded = in_words(error, display)
        if worded is error:
            raise
        raise worded from error


def in_words(error: CalculationError, display: Display) -> CalculationError:
    """Return a calculation's error with its values in the job's units, short lengths in inches."""

    def prints(quantity: Quantity) -> str:
        if quantity.unit == "m" and abs(quantity.value) < FOOT:
            return display.inches(quantity.value)
        return display.value(quantity.value, quantity.unit)

    return error.worded(prints)
