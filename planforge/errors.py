"""Every error planforge raises on purpose has :class:`PlanforgeError` as its base.

A library caller catches the base; the command line prints it. Nothing else is
caught, so a defect in planforge still shows itself.
"""

from __future__ import annotations

from dataclasses import dataclass


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
        """Print as ``file:line: field: found ...; expected ...; remedy``."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        field = f" {self.field}:" if self.field else ""
        found = f" found {self.found};" if self.found else ""
        return f"{place}:{field}{found} expected {self.expected}. {self.remedy}"


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


class CalculationError(PlanforgeError):
    """A solve without a trustworthy answer: names the bracket and the residual."""


class RefusedError(PlanforgeError):
    """A request that planforge will not carry out, such as issuing over an unwritable folder."""
