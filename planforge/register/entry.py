"""What the register holds of one plan, and what entering another does to the plans before it."""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum


class Status(StrEnum):
    """The state of a plan in the register."""

    DRAFT = "draft"
    """Printed as a draft, never issued; the newest one of a revision is kept, until the plan is issued."""
    ISSUED = "issued"
    """Issued and current."""
    SUPERSEDED = "superseded"
    """Issued, and replaced by a higher revision since."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One plan of the register. The merged job it was made from is kept beside it, see ``Register.job``."""

    number: str
    revision: int
    status: Status
    date: dt.date
    """The date of issue, as printed on the plan."""
    fingerprint: str
    sha256: str
    """Of the PDF as planforge wrote it."""
    file: str
    """The PDF, by its path from the register's folder, with ``/`` between folders."""
    version: str
    """The version of planforge that made it."""
    templates: str
    """SHA-256 over the templates it was made from."""
    project: str
    lot: str
    prepared: dt.date
    prepared_by: str
    approved: dt.date | None
    """From the last line of ``plan.history``, with who approved it; None where there is none."""
    approved_by: str
    supersedes: int | None
    """The revision it replaced."""
    changes: str
    """What changed against that revision, a line a field; empty where it replaced none."""
    result: str = ""
    """What came of its checks, see :mod:`planforge.register.result`; empty from before this was kept."""

    @property
    def key(self) -> tuple[str, int, bool]:
        """What tells it apart: number, revision, draft or not."""
        return number_key(self.number), self.revision, self.status is Status.DRAFT

    @property
    def name(self) -> str:
        """Number and revision in words."""
        return f"{self.number} revision {self.revision}"


@dataclass(frozen=True, slots=True)
class Held:
    """What a register holds of one plan number."""

    entries: tuple[Entry, ...] = ()
    """Its plans, in the order in which they were entered."""
    jobs: Mapping[str, str] = field(default_factory=dict)
    """Merged jobs as YAML by the plan's SHA-256: of the current plan and of the revision asked about."""


def number_key(number: str) -> str:
    """A plan number for comparison: case, spaces and look-alike characters make no other plan."""
    return " ".join(unicodedata.normalize("NFKC", number).casefold().split())


def of_number(entries: tuple[Entry, ...], number: str) -> tuple[Entry, ...]:
    """The plans of one number that were issued, by revision."""
    key = number_key(number)
    found = [e for e in entries if number_key(e.number) == key and e.status is not Status.DRAFT]
    return tuple(sorted(found, key=lambda e: e.revision))


def current(entries: tuple[Entry, ...], number: str) -> Entry | None:
    """The plan of a number that is issued and not superseded; None where there is none."""
    return next((e for e in of_number(entries, number) if e.status is Status.ISSUED), None)


def entered(entries: tuple[Entry, ...], entry: Entry) -> tuple[Entry, ...]:
    """The register after one more plan: an issued one supersedes the former and ends its own drafts."""
    number, revision, _ = entry.key
    after = []
    for other in entries:
        if other.key == (number, revision, True):
            continue
        replaced = entry.status is Status.ISSUED and other.status is Status.ISSUED and other.key[0] == number
        after.append(replace(other, status=Status.SUPERSEDED) if replaced else other)
    return (*after, entry)
