"""The work on one lot, as any process can do it: read it, and unless it stands already assess and draw it.

Nothing is written here, and no register is looked at: what the register holds comes with the task, and the
finished plan goes back. So a worker that is killed leaves nothing behind, and one process alone writes.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import mmap
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from planforge.assess.as_of import Lapse, lapses
from planforge.assess.assessment import assess
from planforge.assess.index import Index
from planforge.collector import collector_paused
from planforge.errors import JobFileError, PlanforgeError
from planforge.job.model import Job
from planforge.register.dates import past_work
from planforge.register.decision import Wanted, already_issued
from planforge.register.entry import Held, number_key
from planforge.register.fingerprint import plan_fingerprint
from planforge.register.issuing import Made, draft_notes, draw, made, refuse_unfit
from planforge.site.defects import defect
from planforge.site.lots import LotSource, load_lot
from planforge.site.outcome import Facts, What

_ONE = threading.Lock()
_HELD = Path("/proc/self/statm")


@dataclass(frozen=True, slots=True)
class Task:
    """One lot to be worked on."""

    source: LotSource
    day: dt.date
    """The date of issue."""
    draft: bool
    """True where it is to be a draft even if nothing is short."""
    known: frozenset[bytes] = frozenset()
    """The plan numbers that the register holds something of, see :func:`digest`."""
    held: Held | None = None
    """What it holds of this lot's number; None while nobody looked. With it the lot is drawn in any case."""
    dated: dt.date | None = None
    """The date to print, where it is not that of issue."""
    tries: int = 0
    """How often it was begun anew because the register changed meanwhile."""


@dataclass(frozen=True, slots=True)
class Report:
    """What a worker has to say of a lot."""

    id: str
    facts: Facts | None = None
    lapses: tuple[Lapse, ...] = ()
    """What comes to an end on a day of the work or before."""
    stopped: tuple[What, tuple[str, ...]] | None = None
    """Why there is no plan, a line each."""
    plan: Made | None = None
    """The plan; None where the number is known, and the register has to be looked at first."""
    notes: tuple[str, ...] = ()
    seconds: float = 0.0
    memory: int = 0
    """Bytes that the process holds afterwards; 0 where the system does not tell."""


def digest(number: str) -> bytes:
    """Eight bytes that stand for a plan number; two numbers that share them only cost a second look."""
    return hashlib.blake2b(number_key(number).encode(), digest_size=8).digest()


def known_numbers(keys: Iterable[str]) -> frozenset[bytes]:
    """The digests of all plan numbers of a register, to go with every task."""
    return frozenset(map(digest, keys))


def work(task: Task) -> Report:
    """Work on one lot; whatever goes wrong is told of that lot and stops no other."""
    begun, lot = time.perf_counter(), task.source.id
    try:
        report = _worked(task)
    except JobFileError as error:
        report = Report(lot, stopped=(What.UNUSABLE, tuple(map(str, error.problems))))
    except PlanforgeError as error:
        report = Report(lot, stopped=(What.REFUSED, tuple(str(error).splitlines())))
    except Exception as error:
        report = Report(lot, stopped=(What.FAILED, defect(error)))
    return replace(report, seconds=time.perf_counter() - begun, memory=_memory())


def _memory() -> int:
    """Bytes that this process holds, as Linux tells; 0 elsewhere."""
    try:
        return int(_HELD.read_text("ascii").split()[1]) * mmap.PAGESIZE
    except (OSError, ValueError, IndexError):
        return 0


def work_in(folder: Path, task: Task) -> Report:
    """Work on one lot from another folder or machine, where ``folder`` is that in which files were named.

    A process with several threads works on one lot at a time.
    """
    with _ONE:
        try:
            with contextlib.chdir(folder):
                return work(task)
        except OSError as error:
            said = f"{folder} can't be entered where the lot was to be worked on: {error.strerror}."
            return Report(task.source.id, stopped=(What.FAILED, (said,)))


@collector_paused()
def _worked(task: Task) -> Report:
    loaded = load_lot(task.source)
    job = loaded.model
    identity = plan_fingerprint(job)
    report = Report(task.source.id, facts_of(job, identity), lapses(Index(job)))
    try:
        refuse_unfit(job, task.day)
        if task.held is None and digest(job.plan.number) in task.known:
            return report
        assessment = assess(job)
        wanted = Wanted(loaded, identity, task.draft or assessment.draft)
        held = task.held or Held()
        already_issued(held, wanted)  # refuses what may not be issued before it is drawn
        dated = task.dated or task.day
        plan = made(wanted, assessment, held, dated, draw(wanted, assessment, dated))
    except PlanforgeError as error:
        return replace(report, stopped=(What.REFUSED, tuple(str(error).splitlines())))
    except Exception as error:
        return replace(report, stopped=(What.FAILED, defect(error)))
    return replace(report, plan=plan, notes=(*past_work(job, dated), *draft_notes(held, wanted)))


def facts_of(job: Job, fingerprint: str) -> Facts:
    """What a job's lot is."""
    return Facts(
        lot=job.site.lot,
        number=job.plan.number,
        revision=job.plan.revision,
        fingerprint=fingerprint,
        first=min(phase.start for phase in job.phases),
        last=max(phase.end for phase in job.phases),
        profile=job.site.code_profile,
    )
