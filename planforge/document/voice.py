"""How one language says what a crew page prints: the job's own words, numbers, dates, names of systems.

English says everything as it stands. In another language the job's words come from its translations; what
has none is printed in English and marked so.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import said, translated
from planforge.document.printed import Printed
from planforge.languages import FIRST, Language, language
from planforge.units import Rounding


@dataclass(frozen=True, slots=True)
class Voice:
    """A language with the job's translations into it."""

    language: Language
    said: Mapping[str, str] | None
    """What the job's texts say; None for the language the job is written in."""

    def say(self, text: str) -> str:
        """A text of the job."""
        return said(text, self.said, self.language)

    def not_drilled(self, why: str) -> str:
        """Why nobody drills on the lot; of a void scan, what voided it is a text of the job."""
        scan, void, what = why.partition(": ") if why.startswith("void since") else (why, "", "")
        return f"{self.language.on_slab(scan)}{void}{self.say(what)}"

    def system(self, system: str) -> str:
        """The name of a system of control."""
        return self.language.systems[system] if system else ""

    def decider(self, decider: str) -> str:
        """The name of a role that decides."""
        return self.language.deciders[decider]

    def reads(self, name: str) -> str:
        """The name of a language that a person reads; one unknown here stays as the job names it."""
        return self.language.languages.get(name, name)

    def result(self, result: str) -> str:
        """The result of an inspection."""
        return self.language.results[result]


def voice_of(assessment: Assessment, code: str) -> Voice:
    """The voice of a language over one job."""
    one = language(code)
    return Voice(one, None if code == FIRST else translated(assessment.job, one))


@dataclass(frozen=True, slots=True)
class LocalPrinted(Printed):
    """Prints the same values, rounded the same way, with a language's numbers, dates and names of units."""

    language: Language = field(kw_only=True)

    def day(self, date: dt.date) -> str:
        """A day."""
        return self.language.day(date)

    def days(self, start: dt.date, end: dt.date) -> str:
        """A stretch of days."""
        return f"{self.day(start)} – {self.day(end)}"

    def length(self, metres: float, rounding: Rounding = "nearest", denominator: int = 8) -> str:
        """Feet and inches, or metres."""
        return self.language.numbers(Printed.length(self, metres, rounding, denominator))

    def inches(self, metres: float, rounding: Rounding = "nearest") -> str:
        """Inches, or millimetres."""
        return self.language.numbers(Printed.inches(self, metres, rounding))

    def restated(self, printed: str) -> str:
        """A quantity that is printed for all pages, with this language's signs and units."""
        return self.language.numbers(printed)

    def serials(self, stated: str) -> str:
        """Serial numbers as the job states them."""
        return self.language.serials(stated)

    def feet(self, metres: float, rounding: Rounding = "nearest") -> str:
        """Feet and whole inches, or metres."""
        return self.language.numbers(Printed.feet(self, metres, rounding))

    def band(self, lower: float, upper: float) -> str:
        """A band of sags."""
        return self.language.numbers(Printed.band(self, lower, upper))

    def mass(self, kilograms: float) -> str:
        """Pounds or kilograms."""
        return self.language.numbers(Printed.mass(self, kilograms))

    def speed(self, value: float) -> str:
        """The speed of the wind."""
        return self.language.numbers(Printed.speed(self, value))

    def at_temperature(self, value: str, temperature: str) -> str:
        """A value and the temperature it holds at."""
        return self.language.at.format(value=value, at=temperature)
