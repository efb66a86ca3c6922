"""Issue a plan: read the job, assess it, draw the packet, write and register it whole or not at all."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from planforge import __version__
from planforge.assess.assessment import Assessment, assess
from planforge.assess.plan_kind import missing_reasons
from planforge.assess.report import short_lines
from planforge.collector import collector_paused
from planforge.document.finish import Attachment, write_whole
from planforge.document.packet import packet
from planforge.errors import RefusedError
from planforge.figures import figure_set
from planforge.job.loading import load
from planforge.job.model import Job
from planforge.job.plan import PlanKind
from planforge.job.reading import Loaded
from planforge.register.dates import earliest, past_work, too_early
from planforge.register.decision import Wanted, already_issued, changes_against, templates_digest
from planforge.register.entry import Entry, Held, Status, current
from planforge.register.fingerprint import plan_fingerprint
from planforge.register.jobs import person
from planforge.register.pdf import JOB_NAME
from planforge.register.place import Place, begun, kept_date, overwritable, place_of, restore, stands
from planforge.register.result import Result, written

Progress = Callable[[str], None]
_TRIES = 20


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
    written: bool = True
    """False where this very plan was issued before: it stands as it was, with its date."""
    supersedes: int | None = None
    """The revision it replaced."""
    changes: tuple[str, ...] = ()
    """What changed against that revision, a line a field."""


@dataclass(frozen=True, slots=True)
class Made:
    """A plan that is made and not yet in its place: plain data, to be handed from process to process."""

    entry: Entry
    """Its row; ``file`` is empty until its place is known."""
    seen: tuple[Entry, ...]
    """What the register held of its number when it was decided on."""
    pdf: bytes
    job: str
    """The merged job."""
    file_name: str


def issue(
    path: Path | str,
    output: Path | str = "output",
    *,
    date: dt.date | None = None,
    draft: bool = False,
    register: Path | str | None = None,
    progress: Progress = lambda _: None,
) -> Issued:
    """Issue the plan of one job file into a folder (made where it does not exist) or to a named PDF.

    A job with anything short prints as a draft, marked on every page; ``draft`` marks one that
    is not. The same job, templates, version and date give the same bytes. ``register`` is the register of
    plans, a file or its folder, by default in the plan's folder. A plan that was issued before
    without a change is not issued again: it stays as it is, with the date it has.

    Raises:
        JobFileError: the job file has problems; nothing is written.
        RefusedError: an alternative plan without its reasons; a date before what the job says was
            done; another plan already issued under this number and revision; a place or a register that
            can't be written.
    """
    progress("reading the job")
    return issue_loaded(load(path), output, date=date, draft=draft, register=register, progress=progress)


@collector_paused()
def issue_loaded(
    loaded: Loaded[Job],
    output: Path | str = "output",
    *,
    date: dt.date | None = None,
    draft: bool = False,
    register: Path | str | None = None,
    progress: Progress = lambda _: None,
) -> Issued:
    """Issue the plan of a job that was read; see :func:`issue`."""
    job, day = loaded.model, date or dt.date.today()
    refuse_unfit(job, day)
    progress("computing and checking")
    assessment = assess(job)
    wanted = Wanted(loaded, plan_fingerprint(job), draft or assessment.draft)
    place = place_of(Path(output), wanted.file_name, Path(register) if register else None)
    notes = begun(place)
    drawn: tuple[dt.date, bytes] | None = None
    for _ in range(_TRIES):  # again where another process entered a plan of this number meanwhile
        held = place.book.held(job.plan.number, job.plan.revision)
        former = already_issued(held, wanted)
        if former is not None and stands(place.book.locate(former), former):
            return _unchanged(place, held, former, assessment, asked=date)
        dated = (
            former.date
            if former
            else kept_date(place.target, wanted.name, wanted.fingerprint, day, draft=wanted.draft)
        )
        if former is None and not wanted.draft:
            _refuse_backdated(current(held.entries, job.plan.number), dated)
        if drawn is None or drawn[0] != dated:
            progress("drawing and setting the pages")
            drawn = dated, draw(wanted, assessment, dated)
        progress("writing")
        pdf = drawn[1]
        if former is not None:
            restore(place.book.locate(former), former, pdf)
            return _unchanged(place, held, former, assessment, asked=date, restored=True)
        entry = enter(place, made(wanted, assessment, held, dated, pdf))
        if entry is not None:
            notes = [*past_work(job, dated), *draft_notes(held, wanted), *notes]
            return Issued(
                path=place.target,
                assessment=assessment,
                fingerprint=wanted.fingerprint,
                draft=wanted.draft,
                pages=page_count(pdf),
                notes=tuple(notes),
                supersedes=entry.supersedes,
                changes=tuple(entry.changes.splitlines()),
            )
    raise RefusedError(
        f"other plans of number {job.plan.number} were entered {_TRIES} times while this one was being "
        "issued. Nothing was written. Wait until they are issued, and try again."
    )


def _refuse_backdated(now: Entry | None, day: dt.date) -> None:
    """Keep what supersedes a plan from bearing an earlier date: somebody would work from the other."""
    if now is not None and day < now.date:
        raise RefusedError(
            f"{now.name} was issued on {now.date}; what supersedes it can't be dated {day}. Look at this "
            f"machine's clock, or issue with --date {now.date} or later. Nothing was written."
        )


def draw(wanted: Wanted, assessment: Assessment, day: dt.date) -> bytes:
    """The PDF of a plan, dated ``day``: the same plan and date give the same bytes."""
    text = wanted.merged.encode("utf-8")
    return packet(
        assessment,
        fingerprint=wanted.fingerprint,
        date=day,
        draft=wanted.draft,
        attachment=Attachment(JOB_NAME, text, "The job file, merged"),
        figures=figure_set(assessment),
    )


def made(wanted: Wanted, assessment: Assessment, held: Held, day: dt.date, pdf: bytes) -> Made:
    """The plan as it is to be entered beside what the register holds of its number."""
    job = wanted.job
    last = job.plan.history[-1] if job.plan.history else None
    former = None if wanted.draft else current(held.entries, job.plan.number)
    _refuse_backdated(former, day)
    entry = Entry(
        number=job.plan.number,
        revision=job.plan.revision,
        status=Status.DRAFT if wanted.draft else Status.ISSUED,
        date=day,
        fingerprint=wanted.fingerprint,
        sha256=hashlib.sha256(pdf).hexdigest(),
        file="",
        version=__version__,
        templates=templates_digest(),
        project=job.site.project,
        lot=job.site.lot,
        prepared=job.plan.prepared,
        prepared_by=person(job, job.plan.prepared_by),
        approved=last.dated if last else None,
        approved_by=person(job, last.approved_by) if last else "",
        supersedes=former.revision if former else None,
        changes="\n".join(changes_against(held, former, wanted)) if former else "",
        result=written(result_of(assessment, pdf)),
    )
    return Made(entry, held.entries, pdf, wanted.merged, wanted.file_name)


def result_of(assessment: Assessment, pdf: bytes) -> Result:
    """The result of an assessment and of the plan printed from it."""
    counts = {verdict.value: number for verdict, number in sorted(assessment.counts.items())}
    deciders = Counter(finding.decides for finding in assessment.open_items)
    confirms = dict(sorted(deciders.items(), key=lambda entry: (-entry[1], entry[0])))
    unaccepted = sum(finding.variance is None for finding in assessment.short)
    return Result(counts, tuple(short_lines(assessment)), unaccepted, confirms, page_count(pdf))


def page_count(pdf: bytes) -> int:
    """The pages of a PDF that planforge wrote."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def enter(place: Place, plan: Made) -> Entry | None:
    """Put the PDF in place and the plan in the register, both or neither.

    None, and nothing written, where the register holds something else of its number by now: then it has to
    be decided anew. Raises :class:`RefusedError` where something else stands in the plan's place.
    """
    entry = replace(plan.entry, file=place.book.relative(place.target))

    def prepare(entries: tuple[Entry, ...]) -> tuple[Entry, str] | None:
        if entries != plan.seen:
            return None
        draft = entry.status is Status.DRAFT
        standing = overwritable(place.target, entry.name, entry.fingerprint, draft=draft)
        if standing is not None and not standing.draft and standing.sha256 != entry.sha256:
            raise RefusedError(
                f"{place.target} holds this plan with other bytes than it has now, and the register does "
                "not know it. Move it away, or raise plan.revision. Nothing was written."
            )
        return entry, plan.job

    return place.book.enter(prepare, lambda: write_whole(place.target, plan.pdf), number=entry.number)


def _unchanged(
    place: Place,
    held: Held,
    entry: Entry,
    assessment: Assessment,
    *,
    asked: dt.date | None,
    restored: bool = False,
) -> Issued:
    """What is told of a plan that was issued before."""
    told = "its file was gone and is written again, to the byte" if restored else "its file stands as it is"
    notes = [f"{entry.name} was issued on {entry.date}; nothing changed, so there is no new revision: {told}"]
    if asked not in (None, entry.date):
        notes.append(f"its date stays {entry.date}; to issue it on {asked}, raise plan.revision")
    now = current(held.entries, entry.number)
    if now is not None and now.revision != entry.revision:
        notes.append(superseded_note(now))
    path = place.book.locate(entry)
    return Issued(
        path=path,
        assessment=assessment,
        fingerprint=entry.fingerprint,
        draft=False,
        pages=page_count(path.read_bytes()),
        notes=tuple(notes),
        written=False,
    )


def superseded_note(now: Entry) -> str:
    """What is told of a plan that a later one replaced."""
    return f"it is SUPERSEDED by revision {now.revision}, issued on {now.date}: work from that"


def draft_notes(held: Held, wanted: Wanted) -> list[str]:
    """A note where a draft carries a revision that can't be issued any more."""
    now = current(held.entries, wanted.job.plan.number) if wanted.draft else None
    if now is None or now.revision < wanted.job.plan.revision:
        return []
    return [f"{now.name} is issued and current; raise plan.revision above {now.revision} to issue this draft"]


def refuse_unfit(job: Job, day: dt.date) -> None:
    """Refuse an alternative plan without its reasons, and a date before what the job says was done."""
    _refuse_bare_alternative(job)
    _refuse_too_early(job, day)


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
