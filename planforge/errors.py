"""Every error planforge raises on purpose has :class:`PlanforgeError` as its base.

A library caller catches the base; the command line prints it. Nothing else is
caught, so a defect in planforge still shows itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

HIDDEN: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200b\u2028-\u202e\u2060\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)
"""Control characters, separators that editors don't count as line ends, marks that hide or reorder text."""


def printable(text: str) -> str:
    """Return ``text`` with each hidden character spelled out, so that a terminal does nothing but show it."""
    return HIDDEN.sub(lambda match: f"<U+{ord(match[0]):04X}>", text.replace("\r", "<U+000D>"))


class PlanforgeError(Exception):
    """Something planforge can explain: the message says what, where and what to do."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in a job file: where it stands, what was read, what is expected, what to do.

    ``file`` is the path as the user gave it; ``line`` counts from 1, 0 where no line applies;
    ``field`` is the dotted path (``lines[0].span``), empty for the file as a whole.
    """

    file: str
    line: int
    field: str
    found: str
    expected: str
    remedy: str

    def __str__(self) -> str:
        """Print as ``file:line: field: found ...; expected ...; remedy``, on one line that hides nothing."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        field = f" {self.field}:" if self.field else ""
        found = f" found {self.found};" if self.found else ""
        words = f"{place}:{field}{found} expected {self.expected}. {self.remedy}"
        return printable(" ".join(words.split("\n")))


class JobFileError(PlanforgeError):
    """A job file that can't be used. ``problems`` holds every fault found, in file order."""

    def __init__(self, problems: list[Problem]) -> None:
        """Keep the problems; the message lists them all."""
        self.problems = tuple(sorted(problems, key=lambda p: (p.file, p.line, p.field)))
        super().__init__("\n".join(str(p) for p in self.problems))


class SiteFileError(JobFileError):
    """A site file, or its table, that can't be used as a whole: none of its lots can be told from it."""


class QuantityError(PlanforgeError, ValueError):
    """A text that is not a quantity of the wanted kind; the message names unit and remedy."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI with its unit's symbol (none: a plain number), on its way to the user's units."""

    value: float
    unit: str = ""

    def __str__(self) -> str:
        """Print it in SI, for who has no other units."""
        return f"{self.value:.6g} {self.unit}".rstrip()


class CalculationError(PlanforgeError):
    """A solve without a trustworthy answer: names the bracket and the residual.

    ``message`` names each of ``quantities`` in braces. Printed as it is they are in SI; who knows the job's
    units words them anew (``units.words_in``).
    """

    def __init__(self, message: str, **quantities: Quantity) -> None:
        """Keep message and quantities beside the words."""
        self.message, self.quantities = message, quantities
        super().__init__(message.format(**quantities) if quantities else message)

    def worded(self, prints: Callable[[Quantity], str]) -> CalculationError:
        """Return it with its quantities printed by ``prints``."""
        if not self.quantities:
            return self
        return CalculationError(self.message.format(**{k: prints(v) for k, v in self.quantities.items()}))


class RefusedError(PlanforgeError):
    """A request that planforge will not carry out, such as issuing over an unwritable folder."""
