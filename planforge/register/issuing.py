"""Issue a plan: read the job, assess it, draw the packet, write and register it whole or not at all."""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from planforge import __version__
from planforge.assess.assessment import Assessment, assess
from planforge.assess.plan_kind import missing_reasons
from planforge.document.finish import Attachment, write_whole
from planforge.document.packet import packet
from planforge.errors import RefusedError
from planforge.figures import figure_set
from planforge.job.loading import load, merged_text
from planforge.job.model import Job
from planforge.job.plan import PlanKind
from planforge.register.database import FILE_NAME
from planforge.register.dates import earliest, past_work, too_early
from planforge.register.decision import Wanted, already_issued, changes_against, templates_digest
from planforge.register.entry import Entry, Status, current
from planforge.register.fingerprint import plan_fingerprint
from planforge.register.issued import Standing, standing_plan
from planforge.register.jobs import person
from planforge.register.pdf import JOB_NAME
from planforge.register.register import Register, register_path

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
    written: bool = True
    """False where this very plan was issued before: it stands as it was, with its date."""
    supersedes: int | None = None
    """The revision it replaced."""
    changes: tuple[str, ...] = ()
    """What changed against that revision, a line a field."""


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
    book = Register(register_path(Path(register)) if register else target.parent / FILE_NAME)
    wanted = Wanted(loaded, identity, marked, target)
    begun = _begun(book, target)
    former = already_issued(book, book.entries(), wanted)
    if former is not None and _stands(book.locate(former), former):
        return _unchanged(book, former, assessment, asked=date)
    standing = None if former else _overwritable(target, job, identity, draft=marked)
    day = former.date if former else _kept_date(standing, day)
    if not marked:
        _refuse_backdated(current(book.entries(), job.plan.number), former, day)
    progress("drawing and setting the pages")
    result = packet(
        assessment,
        fingerprint=identity,
        date=day,
        draft=marked,
        attachment=Attachment(JOB_NAME, merged_text(loaded).encode("utf-8"), "The job file, merged"),
        figures=figure_set(assessment),
    )
    progress("writing")
    if former is not None:
        _restore(book.locate(former), former, result)
        return _unchanged(book, former, assessment, asked=date, restored=True)
    entry = _enter(book, wanted, day, result)
    if entry is None:  # another process issued this very plan meanwhile
        former = already_issued(book, book.entries(), wanted)
        assert former is not None
        return _unchanged(book, former, assessment, asked=date)
    notes = (*past_work(job, day), *_draft_notes(book, wanted), *begun)
    changes = tuple(entry.changes.splitlines())
    pages = _pages(result)
    return Issued(target, assessment, identity, marked, pages, notes, True, entry.supersedes, changes)


def _enter(book: Register, wanted: Wanted, day: dt.date, result: bytes) -> Entry | None:
    """Put the PDF in place and the plan in the register, both or neither; None where it is there already."""
    digest = hashlib.sha256(result).hexdigest()

    def prepare(entries: tuple[Entry, ...]) -> tuple[Entry, str] | None:
        if already_issued(book, entries, wanted) is not None:
            return None
        standing = _overwritable(wanted.target, wanted.job, wanted.fingerprint, draft=wanted.draft)
        if standing is not None and not standing.draft and standing.sha256 != digest:
            raise RefusedError(
                f"{wanted.target} holds this plan with other bytes than it has now, and the register does "
                "not know it. Move it away, or raise plan.revision. Nothing was written."
            )
        former = None if wanted.draft else current(entries, wanted.job.plan.number)
        _refuse_backdated(former, None, day)
        entry = _entry(book, wanted, day, digest, former)
        return entry, merged_text(wanted.loaded)

    return book.enter(prepare, lambda: write_whole(wanted.target, result))


def _entry(book: Register, wanted: Wanted, day: dt.date, digest: str, former: Entry | None) -> Entry:
    job = wanted.job
    last = job.plan.history[-1] if job.plan.history else None
    return Entry(
        number=job.plan.number,
        revision=job.plan.revision,
        status=Status.DRAFT if wanted.draft else Status.ISSUED,
        date=day,
        fingerprint=wanted.fingerprint,
        sha256=digest,
        file=book.relative(wanted.target),
        version=__version__,
        templates=templates_digest(),
        project=job.site.project,
        lot=job.site.lot,
        prepared=job.plan.prepared,
        prepared_by=person(job, job.plan.prepared_by),
        approved=last.dated if last else None,
        approved_by=person(job, last.approved_by) if last else "",
        supersedes=former.revision if former else None,
        changes="\n".join(changes_against(book, former, wanted)) if former else "",
    )


def _stands(path: Path, entry: Entry) -> bool:
    """True where the plan's file is as it was issued; False where it is gone.

    Raises :class:`RefusedError` where another stands in its place.
    """
    standing = standing_plan(path)
    if standing is None:
        return False
    if standing.sha256 != entry.sha256:
        raise RefusedError(
            f"{entry.name} was issued on {entry.date}, and {path} was filled in, signed or changed since. "
            f"It is left as it is; planforge verify {path} says what was done to it. Nothing was written."
        )
    return True


def _restore(path: Path, entry: Entry, result: bytes) -> None:
    """Write an issued plan again whose file is gone, if it comes out to the byte as it was issued."""
    if hashlib.sha256(result).hexdigest() != entry.sha256:
        raise RefusedError(
            f"{entry.name} was issued on {entry.date}, its file {path} is gone, and this machine's libraries "
            "would write other bytes. Put back a copy of the file, or raise plan.revision. Nothing "
            "was written."
        )
    write_whole(path, result)


def _unchanged(
    book: Register, entry: Entry, assessment: Assessment, *, asked: dt.date | None, restored: bool = False
) -> Issued:
    """What is told of a plan that was issued before."""
    stands = "its file was gone and is written again, to the byte" if restored else "its file stands as it is"
    notes = [
        f"{entry.name} was issued on {entry.date}; nothing changed, so there is no new revision: {stands}"
    ]
    if asked not in (None, entry.date):
        notes.append(f"its date stays {entry.date}; to issue it on {asked}, raise plan.revision")
    now = current(book.entries(), entry.number)
    if now is not None and now.revision != entry.revision:
        notes.append(f"it is SUPERSEDED by revision {now.revision}, issued on {now.date}: work from that")
    path = book.locate(entry)
    return Issued(
        path=path,
        assessment=assessment,
        fingerprint=entry.fingerprint,
        draft=False,
        pages=_pages(path.read_bytes()),
        notes=tuple(notes),
        written=False,
    )


def _pages(data: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", data))


def _draft_notes(book: Register, wanted: Wanted) -> list[str]:
    """A note where a draft carries a revision that can't be issued any more."""
    now = current(book.entries(), wanted.job.plan.number) if wanted.draft else None
    if now is None or now.revision < wanted.job.plan.revision:
        return []
    return [f"{now.name} is issued and current; raise plan.revision above {now.revision} to issue this draft"]


def _begun(book: Register, target: Path) -> list[str]:
    """A note where a register begins beside plans that are not in it: it may have been lost."""
    others = [path for path in target.parent.glob("*.pdf") if path != target]
    if (book.path.exists() and book.path.stat().st_size) or not others:
        return []
    return [
        f"{book.path} begins with this plan; {len(others)} other PDF file(s) beside it are not in it. If "
        "there was a register, put it back; else issue the current plans again to enter them"
    ]


def _kept_date(standing: Standing | None, day: dt.date) -> dt.date:
    """An issued plan that no register knows keeps the date that its file bears."""
    return standing.date if standing and not standing.draft and standing.date else day


def _refuse_bare_alternative(job: Job) -> None:
    for part in job.work_parts:
        bare = part.alternative is None or missing_reasons(part.alternative)
        if part.kind is PlanKind.ALTERNATIVE_PLAN and bare:
            raise RefusedError(
                f"work part {part.id!r} is an alternative plan without its locations and reasons; "
                "29 CFR 1926.502(k)(5) and (7) ask for a reason for each conventional system at each "
                "place. State them under work_parts, or use conventional systems. Nothing was written."
            )


def _refuse_backdated(now: Entry | None, former: Entry | None, day: dt.date) -> None:
    """Keep what supersedes a plan from bearing an earlier date: somebody would work from the other."""
    if now is not None and former is None and day < now.date:
        raise RefusedError(
            f"{now.name} was issued on {now.date}; what supersedes it can't be dated {day}. Look at this "
            f"machine's clock, or issue with --date {now.date} or later. Nothing was written."
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


def _overwritable(target: Path, job: Job, identity: str, *, draft: bool) -> Standing | None:
    """What stands at the target, if this plan may take its place.

    An issued plan gives way to itself alone, while nobody has written in it; a draft gives way.
    """
    standing = standing_plan(target)
    if standing is None:
        return None
    if not standing.untouched:
        raise RefusedError(
            f"{target} was filled in, signed or changed since planforge wrote it. Move it away, or choose "
            "another folder with --output. Nothing was written."
        )
    if standing.draft:
        return standing
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
    return standing
