"""How a finding is printed, in the report and on the pages alike.

A value that must stay below its limit is rounded up and the limit down; one that must reach its
limit the other way round. The printed margin is the difference of the two printed numbers.
Lengths print as a tape shows them: sags, strokes and guardrails in inches to 1/8, spans and heights in feet
and inches to 1/8, what is drilled to 1/16, what is reckoned to the inch. Factors and shares print bare.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

from planforge.assess.finding import Finding
from planforge.units import (
    FOOT,
    INCH,
    INCH_PARTS,
    LBF,
    MPH,
    NO_FINITE_VALUE,
    POUND,
    PSI,
    Display,
    Rounding,
    feet_inches,
    finite_or_words,
)

DASH: Final = "–"
_SIGN: Final = {"at most": "≤ ", "at least": "≥ ", "is": ""}

_FINEST: Final = 6
_NOTHING: Final = 1e-5  # m; equal numbers with endless decimals have no margin, and no shortage either

_IN_INCHES: Final = frozenset(
    {"line.sag", "line.sag_band", "line.absorber", "arrest.stroke", "guardrail.height", "guardrail.gap"}
)
_IN_SIXTEENTHS: Final = frozenset({"base.depth", "base.layout", "base.contents", "framing.clear"})
_IN_FEET_INCHES: Final = frozenset(
    {"line.span", "hazard.height", "edge.found", "edge.reach", "edge.ground", "guy.clear"}
)
_IN_PERCENT: Final = frozenset({"line.second_opinion"})
_AS_FACTOR: Final = frozenset({"line.rope_strength", "line.end_strength"})

_STEPS: Final = {
    "N": (10 * LBF, 10.0),
    "kg": (POUND, 1.0),
    "N m": (10 * FOOT * LBF, 10.0),
    "Pa": (PSI, 1e5),
    "m/s": (MPH, 1 / 3.6),
    "": (0.01, 0.01),
}
"""The printed step of a unit, in the us and in the metric system."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """The printed step of a value, and how whole steps are printed."""

    step: float
    text: Callable[[float], str]
    difference: Callable[[float], str]


@dataclass(frozen=True, slots=True)
class DecimalLength:
    """Prints m as a decimal number of a unit."""

    unit: float
    name: str
    decimals: int

    def __call__(self, metres: float) -> str:
        """The number with its unit."""
        return f"{metres / self.unit + 0.0:.{self.decimals}f} {self.name}"


@dataclass(frozen=True, slots=True)
class FindingDisplay(Display):
    """A display that also prints findings."""

    def value_of(self, finding: Finding) -> str:
        """A finding's value; a dash where there is none."""
        if not isinstance(finding.value, float | int):
            return finding.value or DASH
        if not math.isfinite(finding.value):
            return NO_FINITE_VALUE
        scale = self._scale(finding)
        return scale.text(whole_steps(float(finding.value), scale.step, _VALUE[finding.sense]))

    def limit_of(self, finding: Finding) -> str:
        """A finding's limit with its sense; a dash where there is none."""
        if not isinstance(finding.limit, float | int):
            return finding.limit or DASH
        if not math.isfinite(finding.limit):
            return NO_FINITE_VALUE
        scale = self._scale(finding)
        limit = whole_steps(float(finding.limit), scale.step, _LIMIT[finding.sense])
        return _SIGN[finding.sense] + scale.text(limit)

    def margin_of(self, finding: Finding) -> str:
        """What is left between the two printed numbers; a dash where nothing is compared."""
        if finding.margin is None or not math.isfinite(finding.margin):
            return DASH
        scale = self._scale(finding)
        margin = _printed_margin(finding, scale.step)
        return DASH if margin is None else scale.difference(margin)

    def _scale(self, finding: Finding) -> _Scale:
        if finding.id in _IN_PERCENT:
            return _Scale(0.001, _percent, _percent)
        if finding.id in _AS_FACTOR and not finding.unit:
            return _Scale(0.01, "{:.2f}".format, "{:.2f}".format)
        if finding.unit == "m":
            return self._length_scale(finding)
        printers: dict[str, Callable[[float], str]] = {
            "N": self.force,
            "kg": self.mass,
            "K": self.temperature,
            "N m": self.moment,
            "Pa": self.pressure,
            "m/s": self.speed,
            "": count_text,
        }
        text = printers.get(finding.unit) or self._in(finding.unit)
        us_step, metric_step = _STEPS.get(finding.unit, (1e-6, 1e-6))
        step = us_step if self.system == "us" else metric_step
        return _Scale(step, text, self.degrees if finding.unit == "K" else text)

    def _in(self, unit: str) -> Callable[[float], str]:
        return lambda value: self.value(value, unit)

    def _length_scale(self, finding: Finding) -> _Scale:
        us = self.system == "us"
        if finding.id in _IN_INCHES:
            return _Scale(INCH / 8 if us else 0.001, self.inches, self.inches)
        tape, fine = finding.id in _IN_FEET_INCHES, finding.id in _IN_SIXTEENTHS
        if us:
            return self._inch_scale(finding, 16 if fine else 8 if tape else 1)
        if tape:
            return _Scale(0.001, self.length, self.length)
        return self._decimal_scale(finding, *((0.001, "mm", 0) if fine else (1.0, "m", 2)))

    def _inch_scale(self, finding: Finding, first: int) -> _Scale:
        """To 1/``first`` in, finer where a margin that is 0 or more would print as a shortage."""
        for denominator in (d for d in INCH_PARTS if d >= first):
            if _keeps_sign(finding, INCH / denominator):
                text = partial(feet_inches, denominator=denominator)
                return _Scale(INCH / denominator, text, text)
        return self._decimal_scale(finding, INCH, "in", 2)

    def _decimal_scale(self, finding: Finding, unit: float, name: str, first: int) -> _Scale:
        """To ``first`` decimals, finer where a margin that is 0 or more would print as a shortage."""
        for decimals in range(first, _FINEST + 1):
            step = unit / 10**decimals
            if _keeps_sign(finding, step):
                break
        text = DecimalLength(unit, name, decimals)
        return _Scale(step, text, text)

    @finite_or_words
    def degrees(self, kelvin: float) -> str:
        """A difference of temperature."""
        return f"{kelvin * 1.8:.0f} °F" if self.system == "us" else f"{kelvin:.0f} °C"


_VALUE: Final[dict[str, Rounding]] = {"at most": "up", "at least": "down", "is": "nearest"}
_LIMIT: Final[dict[str, Rounding]] = {"at most": "down", "at least": "up", "is": "nearest"}


def whole_steps(value: float, step: float, rounding: Rounding) -> float:
    """The nearest whole step on the side asked for; float noise moves nothing."""
    steps = value / step
    near = round(steps)
    if abs(steps - near) < 1e-6 or rounding == "nearest":
        return near * step
    return (math.ceil(steps) if rounding == "up" else math.floor(steps)) * step


def _printed_margin(finding: Finding, step: float) -> float | None:
    if finding.margin is None:
        return None
    assert isinstance(finding.value, float | int)
    assert isinstance(finding.limit, float | int)
    value = whole_steps(float(finding.value), step, _VALUE[finding.sense])
    limit = whole_steps(float(finding.limit), step, _LIMIT[finding.sense])
    margin = limit - value if finding.sense == "at most" else value - limit
    return 0.0 if abs(margin) < 1e-9 or (margin < 0.0 <= finding.margin and step < _NOTHING) else margin


def _keeps_sign(finding: Finding, step: float) -> bool:
    """Whether a margin that is 0 or more prints as one."""
    margin = _printed_margin(finding, step)
    return margin is None or margin >= 0.0 or (finding.margin or 0.0) < 0.0


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.1f} %"


def count_text(value: float) -> str:
    """A whole number, or two decimals."""
    return f"{value:.0f}" if abs(value - round(value)) < 1e-9 else f"{value:.2f}"
