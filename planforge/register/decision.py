"""Whether a plan may be issued, by what the register holds: issued before, refused with the reason, new."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from functools import cached_property

from planforge import __version__
from planforge.errors import PlanforgeError, RefusedError
from planforge.job.loading import merged_text
from planforge.job.model import Job
from planforge.job.reading import Loaded
from planforge.languages import folders, languages
from planforge.register.changes import differences
from planforge.register.entry import Entry, Held, current, of_number
from planforge.register.fingerprint import template_bytes
from planforge.register.jobs import load_text


@dataclass(frozen=True)
class Wanted:
    """A plan that is to be issued."""

    loaded: Loaded[Job]
    fingerprint: str
    draft: bool

    @property
    def job(self) -> Job:
        """The job."""
        return self.loaded.model

    @cached_property
    def merged(self) -> str:
        """The job file with all it shares, as the plan and the register carry it."""
        return merged_text(self.loaded)

    @property
    def name(self) -> str:
        """Number and revision in words."""
        return f"{self.job.plan.number} revision {self.job.plan.revision}"

    @property
    def file_name(self) -> str:
        """``NUMBER-rREVISION.pdf``, or ``NUMBER-rREVISION-draft.pdf``."""
        stem = re.sub(r"[^\w-]+", "-", self.job.plan.number).strip("-_") or "plan"
        return f"{stem}-r{self.job.plan.revision}{'-draft' if self.draft else ''}.pdf"


def templates_digest() -> str:
    """SHA-256 over the templates that plans are made from, in every language there is."""
    return hashlib.sha256(b"".join(map(template_bytes, folders(languages())))).hexdigest()


def already_issued(held: Held, wanted: Wanted) -> Entry | None:
    """The row of this very plan where it was issued before; None where it is new, and always for a draft.

    ``held`` is what the register holds of its number.

    Raises :class:`RefusedError` for another job under an issued number and revision, a number that belongs to
    another lot, a revision below the current one, or one without its line in the history.
    """
    if wanted.draft:
        return None
    issued = of_number(held.entries, wanted.job.plan.number)
    same = next((e for e in issued if e.revision == wanted.job.plan.revision), None)
    if same is None:
        if issued:
            _refuse_misplaced(current(held.entries, wanted.job.plan.number) or issued[-1], wanted)
        return None
    if same.fingerprint != wanted.fingerprint:
        lines = "\n".join(f"  {line}" for line in changes_against(held, same, wanted))
        raise RefusedError(
            f"{same.name} was issued on {same.date} as {same.file}, and this job is another. Raise "
            "plan.revision with a line in plan.history that says what changed, and issue that; or take the "
            f"change back. Nothing was written. What differs from the issued plan:\n{lines}"
        )
    return same


def _refuse_misplaced(former: Entry, wanted: Wanted) -> None:
    plan, site = wanted.job.plan, wanted.job.site
    if _words(former.lot) != _words(site.lot) or _words(former.project) != _words(site.project):
        raise RefusedError(
            f"plan number {former.number} belongs to {former.lot}, {former.project}; this job is for "
            f"{site.lot}, {site.project}. Give it a plan.number of its own. Nothing was written."
        )
    if plan.revision < former.revision:
        raise RefusedError(
            f"{former.name} was issued on {former.date} and is current; {wanted.name} can't be issued after "
            f"it. Set plan.revision to {former.revision + 1} or more, with its line in plan.history. "
            "Nothing was written."
        )
    if not plan.history:
        raise RefusedError(
            f"{wanted.name} supersedes revision {former.revision}, and plan.history does not say what "
            f"changed. Add a line for revision {plan.revision} to it. Nothing was written."
        )


def _words(text: str) -> str:
    return " ".join(text.casefold().split())


def changes_against(held: Held, former: Entry, wanted: Wanted) -> list[str]:
    """What differs from a plan of the register, a line a field, in words."""
    try:
        before = load_text(held.jobs.get(former.sha256, ""), f"the job of {former.name}")
        lines = [str(change) for change in differences(before, wanted.loaded)]
    except PlanforgeError:
        lines = [f"the job of {former.name}, by planforge {former.version}, can't be read by {__version__}"]
    if former.version != __version__:
        lines.append(f"planforge {former.version} -> {__version__}")
    if former.templates != templates_digest():
        lines.append("the templates' text was edited")
    return lines
