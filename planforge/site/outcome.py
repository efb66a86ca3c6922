"""What came of each lot when a site is issued: plain data, small enough to come from another process."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from planforge.register.result import Result


class What(StrEnum):
    """What happened to a lot, the worst first."""

    FAILED = "failed"
    """planforge itself failed on it, or the process that drew it was ended."""
    UNUSABLE = "can't be used"
    """What is stated of it has problems."""
    REFUSED = "refused"
    """It can be read, and no plan may be issued of it as it is."""
    LAPSED = "no longer holds"
    """Its plan was issued before without a change; something it rests on has come to an end since."""
    DRAFT = "draft"
    """Something is short, or a draft was asked for."""
    ISSUED = "issued"
    """A plan was issued."""
    UNCHANGED = "stands"
    """Its plan was issued before without a change, and holds."""


ORDER = tuple(What)
_CODES = {What.FAILED: 3, What.UNUSABLE: 2, What.REFUSED: 2, What.LAPSED: 1, What.DRAFT: 1}


@dataclass(frozen=True, slots=True)
class Facts:
    """What a lot is, as far as it could be read."""

    lot: str
    """The lot's name on its plan."""
    number: str
    revision: int
    fingerprint: str
    first: dt.date
    """The first day of its work."""
    last: dt.date
    """The last day of its work."""
    profile: str
    """The id of its code profile."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one lot."""

    id: str
    """The lot's short name in the site."""
    what: What
    facts: Facts | None = None
    """None where it could not be read."""
    result: Result | None = None
    """None where nothing was reckoned, or by a planforge that did not keep it."""
    reasons: tuple[str, ...] = ()
    """Problems, the refusal, the fault, or what lapsed: a line each."""
    notes: tuple[str, ...] = ()
    """What else whoever issues it is told; what lapses before the work ends too."""
    written: bool = False
    """True where a PDF was written in this run."""
    date: dt.date | None = None
    """The date on the plan."""
    supersedes: int | None = None
    file: str = ""
    """The PDF as it can be opened from here; empty where there is none."""
    seconds: float = 0.0
    """What the lot took, on the clock of the process that worked on it."""

    @property
    def short(self) -> int:
        """How many items are short, accepted by a variance or not."""
        return self.result.counts.get("short", 0) if self.result else 0

    @property
    def to_confirm(self) -> int:
        """How many items wait for a named role."""
        return self.result.counts.get("confirm", 0) if self.result else 0

    @property
    def needs_action(self) -> bool:
        """True where somebody has to do something before the plan can be issued or relied on."""
        return self.code > 0

    @property
    def code(self) -> int:
        """The exit code of this lot alone, see :func:`exit_code`.

        A plan that is issued on a day on which something of it has lapsed already asks for action as one
        that no longer holds.
        """
        return _CODES.get(self.what, 1 if self.short or self.reasons else 0)


def worst_first(outcomes: Iterable[Outcome]) -> list[Outcome]:
    """The outcomes by what happened, the worst first; among the same in the order given, most short first."""
    return sorted(outcomes, key=lambda o: (ORDER.index(o.what), not o.needs_action, -o.short))


def counts(outcomes: Iterable[Outcome]) -> dict[What, int]:
    """How many lots came to each, those that none came to left out, the worst first."""
    found = Counter(outcome.what for outcome in outcomes)
    return {what: found[what] for what in ORDER if found[what]}


def exit_code(outcomes: Iterable[Outcome]) -> int:
    """0: nothing is short. 1: something is, or no longer holds. 2: a lot can't be used. 3: a defect."""
    return max((outcome.code for outcome in outcomes), default=0)
