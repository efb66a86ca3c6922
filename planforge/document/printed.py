"""How every number of the packet is printed: one place, so that it reads the same on each page.

A value that must stay below its limit is rounded up and the limit down; one that must reach its
limit the other way round. The printed margin is the difference of the two printed numbers.
Lengths in m, forces in N, masses in kg, temperatures in K, as findings carry them.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Literal

from planforge.assess.printed_finding import DASH, DecimalLength, FindingDisplay, count_text, whole_steps
from planforge.calc.sag import CardRow
from planforge.units import FOOT, INCH, LBF, POUND, YEAR, Display, Rounding, finite_or_words

__all__ = ["DASH", "Printed"]


@dataclass(frozen=True, slots=True)
class Printed(FindingDisplay):
    """A display that also prints findings, dates and sag bands; findings as the report prints them."""

    # -- single values ----------------------------------------------------------------------

    def day(self, date: dt.date) -> str:
        """A day, year-month-day."""
        return date.isoformat()

    def days(self, start: dt.date, end: dt.date) -> str:
        """A stretch of days."""
        return f"{start.isoformat()} – {end.isoformat()}"

    def sag(self, metres: float) -> str:
        """A target sag."""
        return self.inches(metres)

    def band(self, lower: float, upper: float) -> str:
        """A band of sags, the lower limit rounded up, the upper down; a dash where nothing is left."""
        low, high = Display.inches(self, lower, "up"), Display.inches(self, upper, "down")
        step = INCH / 8 if self.system == "us" else 0.001
        if whole_steps(lower, step, "up") > whole_steps(upper, step, "down") + 1e-9:
            return DASH
        return f"{low.removesuffix(' in').removesuffix(' mm')} – {high}"

    def card_band(self, row: CardRow) -> str:
        """The band of one row of a sag card."""
        return self.band(row.lower, row.upper)

    def at_temperature(self, value: str, temperature: str) -> str:
        """A value and the temperature it holds at."""
        return f"{value} at {temperature}"

    @finite_or_words
    def weight(self, kilograms: float) -> str:
        """The weight of an item; below ten units to one decimal."""
        value, unit = (kilograms / POUND, "lb") if self.system == "us" else (kilograms, "kg")
        return self.mass(kilograms) if value >= 10.0 else f"{value:.1f}".removesuffix(".0") + f" {unit}"

    def whole_feet(self, metres: float) -> float:
        """A length to the nearest step of :meth:`feet`, still in m."""
        return whole_steps(metres, INCH if self.system == "us" else 0.01, "nearest")

    def whole_force(self, newtons: float) -> float:
        """A force up to the next step of :meth:`force`, still in N: what is worked on from a printed one."""
        return whole_steps(newtons, 10 * LBF if self.system == "us" else 10.0, "up")

    @finite_or_words
    def factor(self, value: float) -> str:
        """A factor of safety, rounded down."""
        return f"{whole_steps(value, 0.01, 'down'):.2f}"

    @finite_or_words
    def decimal_inches(self, metres: float) -> str:
        """Inches to 0.001 (or mm to 0.01), for the wall of a tube."""
        return (DecimalLength(INCH, "in", 3) if self.system == "us" else DecimalLength(0.001, "mm", 2))(
            metres
        )

    def age(self, seconds: float) -> str:
        """A service life in years, or in months where it is no whole number of them."""
        months = round(seconds / (YEAR / 12))
        return f"{months // 12} years" if months % 12 == 0 else f"{months} months"

    @finite_or_words
    def torque(self, newton_metres: float) -> str:
        """Whole foot-pounds-force or N m."""
        us = self.system == "us"
        return f"{newton_metres / (FOOT * LBF):.0f} ft-lbf" if us else f"{newton_metres:.0f} N m"

    # -- figures of an equation: fine enough for a reader to work it again ------------------

    @finite_or_words
    def fine_force(self, newtons: float, rounding: Rounding = "nearest") -> str:
        """A force or weight to 1 lbf (or 1 N)."""
        unit, name = (LBF, "lbf") if self.system == "us" else (1.0, "N")
        return f"{whole_steps(newtons, unit, rounding) / unit:,.0f} {name}"

    @finite_or_words
    def three_figures(self, newtons: float) -> str:
        """A force to three figures, for one that may be small."""
        value, name = (newtons / LBF, "lbf") if self.system == "us" else (newtons, "N")
        if value <= 0.0:
            return f"0 {name}"
        decimals = 2 - math.floor(math.log10(value))
        return f"{round(value, decimals):,.{max(decimals, 0)}f} {name}"

    @finite_or_words
    def fine_length(self, metres: float) -> str:
        """A length to 0.01 ft (or 1 mm)."""
        return self._fine_length()(metres)

    def _fine_length(self) -> DecimalLength:
        return DecimalLength(FOOT, "ft", 2) if self.system == "us" else DecimalLength(1.0, "m", 3)

    def area(self, square_metres: float) -> str:
        """An area in plan, whole square feet (or 0.1 m²) rounded down."""
        unit, name, step = (FOOT**2, "sq ft", 1.0) if self.system == "us" else (1.0, "m²", 0.1)
        value = math.floor(square_metres / unit / step + 1e-9) * step
        return f"{value:,.0f} {name}" if step == 1.0 else f"{value:,.1f} {name}"

    def worked(self, value: float, step_of: Literal["force", "length"]) -> float:
        """The printed figure of :meth:`fine_force` or :meth:`fine_length`, still in SI."""
        us = self.system == "us"
        step = (LBF if us else 1.0) if step_of == "force" else (FOOT / 100 if us else 0.001)
        return whole_steps(value, step, "nearest")

    @finite_or_words
    def fine_energy(self, joules: float) -> str:
        """Energy to 1 ft-lbf (or 1 J)."""
        return f"{joules / (FOOT * LBF):,.0f} ft-lbf" if self.system == "us" else f"{joules:,.0f} J"

    @finite_or_words
    def percent(self, fraction: float) -> str:
        """A fraction in percent, signed."""
        return f"{100 * fraction:+.1f} %"

    @finite_or_words
    def count(self, value: float) -> str:
        """A whole number, or two decimals."""
        return count_text(value)
