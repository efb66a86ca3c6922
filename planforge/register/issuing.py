"""Issue a plan: read the job, assess it, draw the packet, write it whole or not at all."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from planforge.assess.assessment import Assessment, assess
from planforge.assess.plan_kind import missing_reasons
from planforge.document.finish import Attachment, write_whole
from planforge.document.packet import packet
from planforge.errors import RefusedError
from planforge.figures import figure_set
from planforge.job.loading import load, merged_text
from planforge.job.model import Job
from planforge.job.plan import PlanKind
from planforge.register.dates import earliest, past_work, too_early
from planforge.register.fingerprint import plan_fingerprint
from planforge.register.issued import standing_plan

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Issued:
    """What came of issuing one job."""

    path: Path
    assessment: Assessment
    fingerprint: str
    draft: bool
    pages: int
    notes: tuple[str, ...] = ()
    """What whoever issues it is told beside the result."""


def issue(
    path: Path | str,
    output: Path | str = "output",
    *,
    date: dt.date | None = None,
    draft: bool = False,
    progress: Progress = lambda _: None,
) -> Issued:
    """Issue the plan of one job file into a folder (made where it does not exist) or to a named PDF.

    A job with anything short prints as a draft, marked on every page; ``draft`` marks one that
    is not. The same job, templates, version and date give the same bytes.

    Raises:
        JobFileError: the job file has problems; nothing is written.
        RefusedError: an alternative plan without its reasons; a date before what the job says was
            done; another plan already issued under this number and revision; a place that can't be
            written.
    """
    progress("reading the job")
    loaded = load(path)
    job = loaded.model
    day = date or dt.date.today()
    _refuse_bare_alternative(job)
    _refuse_too_early(job, day)
    progress("computing and checking")
    assessment = assess(job)
    identity = plan_fingerprint(job)
    marked = draft or assessment.draft
    target = _target(Path(output), job, draft=marked)
    _refuse_to_overwrite(target, job, identity, draft=marked)
    progress("drawing and setting the pages")
    result = packet(
        assessment,
        fingerprint=identity,
        date=day,
        draft=marked,
        attachment=Attachment("job.yaml", merged_text(loaded).encode("utf-8"), "The job file, merged"),
        figures=figure_set(assessment),
    )
    progress("writing")
    write_whole(target, result)
    pages = len(re.findall(rb"/Type\s*/Page\b", result))
    return Issued(target, assessment, identity, marked, pages, tuple(past_work(job, day)))


def _refuse_bare_alternative(job: Job) -> None:
    for part in job.work_parts:
        bare = part.alternative is None or missing_reasons(part.alternative)
        if part.kind is PlanKind.ALTERNATIVE_PLAN and bare:
            raise RefusedError(
                f"work part {part.id!r} is an alternative plan without its locations and reasons; "
                "29 CFR 1926.502(k)(5) and (7) ask for a reason for each conventional system at each "
                "place. State them under work_parts, or use conventional systems. Nothing was written."
            )


_NAMED = 5
"""How many fields a refusal names before it counts the rest."""


def _refuse_too_early(job: Job, date: dt.date) -> None:
    later = too_early(job, date)
    if not later:
        return
    more = f" and {len(later) - _NAMED} more" if len(later) > _NAMED else ""
    raise RefusedError(
        f"a plan dated {date} can't rest on what is done after it: {', '.join(later[:_NAMED])}{more}. "
        f"Issue it with --date {earliest(job)} or later, or correct the job. Nothing was written."
    )


def _target(output: Path, job: Job, *, draft: bool) -> Path:
    """A PDF named by the caller, else ``NUMBER-rREVISION[-draft].pdf`` in the folder."""
    if output.suffix.lower() == ".pdf":
        return output
    try:
        output.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise RefusedError(f"{output} can't be made a folder: {reason}. Nothing was written.") from error
    stem = re.sub(r"[^\w-]+", "-", job.plan.number).strip("-_") or "plan"
    return output / f"{stem}-r{job.plan.revision}{'-draft' if draft else ''}.pdf"


def _refuse_to_overwrite(target: Path, job: Job, identity: str, *, draft: bool) -> None:
    """An issued plan gives way to itself alone, while nobody has written in it; a draft gives way."""
    standing = standing_plan(target)
    if standing is None:
        return
    if not standing.untouched:
        raise RefusedError(
            f"{target} was filled in, signed or changed since planforge wrote it. Move it away, or choose "
            "another folder with --output. Nothing was written."
        )
    if standing.draft:
        return
    if draft:
        raise RefusedError(
            f"{target} holds an issued plan; a draft does not replace it. Choose another place with "
            "--output. Nothing was written."
        )
    if standing.fingerprint != identity:
        raise RefusedError(
            f"{target} already holds another plan under number {job.plan.number} revision "
            f"{job.plan.revision}. Raise plan.revision with a line in plan.history, or choose another "
            "folder with --output. Nothing was written."
        )
