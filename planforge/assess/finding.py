"""The outcome of one check: a value held against a limit, with its source and who decides."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Literal

from planforge.assess.checks import CHECKS
from planforge.job.base import Rated
from planforge.job.people import Variance


class Verdict(StrEnum):
    """What a check found. Nothing becomes `meets` for want of data."""

    MEETS = "meets"
    SHORT = "short"
    CONFIRM = "confirm"
    NOT_APPLICABLE = "not applicable"


Sense = Literal["at most", "at least", "is"]

RANK = {Verdict.SHORT: 0, Verdict.CONFIRM: 1, Verdict.MEETS: 2, Verdict.NOT_APPLICABLE: 3}
"""The worst first."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One check at one place.

    ``value`` and ``limit`` are SI numbers, or words; ``unit`` is their SI symbol (empty for
    counts, factors and words). ``sense`` says how the limit binds.
    """

    id: str
    where: str
    verdict: Verdict
    phase: str = ""
    value: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    sense: Sense = "is"
    source: str = ""
    decides: str = ""
    note: str = ""
    equation: str = ""
    variance: Variance | None = None

    @property
    def title(self) -> str:
        """What the check is, in a few words."""
        return CHECKS[self.id].title

    @property
    def things(self) -> frozenset[str]:
        """The ids of what it is about: the first part of its place, of several together each."""
        return _things(self.where)

    @property
    def margin(self) -> float | None:
        """How much is left before the limit, SI; negative where it is passed; None for words."""
        if isinstance(self.value, str | None) or isinstance(self.limit, str | None):
            return None
        if self.sense == "at most":
            return self.limit - self.value
        return self.value - self.limit if self.sense == "at least" else None


@lru_cache(maxsize=4096)
def _things(where: str) -> frozenset[str]:
    """Asked for time and again: by every line of every finding."""
    return frozenset(where.partition(" · ")[0].split(", "))


def found(
    check_id: str,
    where: str,
    verdict: Verdict,
    *,
    phase: str = "",
    value: float | str | None = None,
    limit: float | str | None = None,
    unit: str = "",
    sense: Sense = "is",
    source: str = "",
    decides: str = "",
    note: str = "",
    equation: str = "",
) -> Finding:
    """Make a finding; source and decider come from the check's own entry unless given."""
    check = CHECKS[check_id]
    return Finding(
        check_id,
        where,
        verdict,
        phase,
        value,
        limit,
        unit,
        sense,
        source or check.source,
        decides or check.decides,
        note,
        equation,
    )


def stated(present: object, *, otherwise: Verdict = Verdict.SHORT) -> Verdict:
    """`meets` where something was stated, else ``otherwise``."""
    return Verdict.MEETS if present else otherwise


def worst(*verdicts: Verdict) -> Verdict:
    """The worst of several verdicts."""
    return min(verdicts, key=RANK.__getitem__)


def keeps(value: float, limit: float, sense: Sense) -> Verdict:
    """Compare two SI numbers; a hair of float noise decides for the limit."""
    slack = 1e-9 * max(1.0, abs(limit))
    good = value <= limit + slack if sense == "at most" else value >= limit - slack
    return Verdict.MEETS if good else Verdict.SHORT


AnyRated = Rated[float] | Rated[int] | Rated[bool]
"""A rated value of any kind."""


def vouched(verdict: Verdict, *rated: AnyRated | None) -> Verdict:
    """Turn `meets` to `confirm` where a rated value it rests on is absent or has no source."""
    if verdict is Verdict.MEETS and any(r is None or not r.source for r in rated):
        return Verdict.CONFIRM
    return verdict
