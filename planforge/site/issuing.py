"""Issue every lot of a site: workers read and draw, one process looks at the register and writes.

A worker reads a lot; where the register holds nothing of its number the worker draws it at once. Otherwise
what the register holds decides: the plan stands, as its file shows; or the lot goes back to a worker, with
what is held of its number, to be drawn. A finished plan is written and entered, both or neither; where the
register changed in between, the lot is decided on anew. The register is the truth: a run that was stopped is
resumed by the same command, and what stands is not drawn again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from planforge.assess.as_of import Lapse, lapsed, profile_lapses
from planforge.codes.profile import load_profile
from planforge.errors import PlanforgeError, RefusedError
from planforge.register.database import RegisterError
from planforge.register.entry import Entry, Held, Status, current, number_key
from planforge.register.issuing import enter, superseded_note
from planforge.register.place import Place, begun, has_bytes, kept_date, place_of, restore, stands
from planforge.register.register import Register
from planforge.register.result import read
from planforge.site.outcome import Facts, Outcome, What
from planforge.site.pool import Crew, Lost, Stream
from planforge.site.reading import Site
from planforge.site.work import Report, Task, known_numbers, work, work_in

_TRIES = 5


@dataclass(frozen=True, slots=True)
class Order:
    """How the lots of a site are to be issued."""

    output: Path
    """The folder for the plans."""
    day: dt.date
    """The date of issue, and the day on which plans issued before have to hold."""
    draft: bool = False
    register: Path | None = None
    """The register of plans, a file or its folder; in the folder of the plans where none is given."""


def issue_site(site: Site, order: Order, crew: Crew) -> Iterator[Outcome]:
    """Issue every lot, and yield what came of each as soon as it is known, in no set order.

    What is wrong with one lot stops no other. Raises :class:`planforge.errors.RefusedError` for a folder or a
    register that can't be used, at once or when it happens, since no other lot could be entered either.
    Leaving early ends the work; what was not yet yielded may have been issued or not: see the register.
    """
    if order.output.suffix.lower() == ".pdf":
        raise RefusedError(f"{order.output} is a file name, and a site has many plans; name a folder.")
    desk = _Desk(order, place_of(order.output, "plan.pdf", order.register).book)  # the folder is made now
    known = known_numbers(desk.book.numbers())
    function = partial(work_in, Path.cwd()) if crew.elsewhere else work
    stream: Stream[Task, Report] = Stream(
        crew, function, (Task(source, order.day, order.draft, known) for source in site.lots)
    )
    for task, report in stream:
        if isinstance(report, Lost):
            yield Outcome(task.source.id, What.FAILED, reasons=(f"{report.why}.",))
            continue
        try:
            step = desk.decide(task, report)
        except RegisterError:
            raise
        except PlanforgeError as error:
            step = _outcome(report, What.REFUSED, reasons=tuple(str(error).splitlines()))
        if isinstance(step, Task):
            stream.again(step)
        else:
            yield step


@dataclass(frozen=True, slots=True)
class _Desk:
    """Where reports come in: the one place that looks at the register and writes."""

    order: Order
    book: Register

    def decide(self, task: Task, report: Report) -> Outcome | Task:
        """What came of a lot, or how it goes back to a worker."""
        facts = report.facts
        if report.stopped is not None or facts is None:
            what, reasons = report.stopped or (What.FAILED, ())
            return _outcome(report, what, reasons=reasons)
        if report.plan is not None:
            return self._enter(task, report, facts)
        held = self.book.held(facts.number, facts.revision)
        former = standing(held, facts, self.order)
        if former is None:
            return replace(task, held=held)
        if not self._stands(former):
            return replace(task, held=held, dated=former.date)
        return self._unchanged(report, facts, held, former)

    def _stands(self, former: Entry) -> bool:
        """True where the file of a row is as it was written; a draft that is not is drawn again."""
        path = self.book.locate(former)
        return has_bytes(path, former.sha256) if former.status is Status.DRAFT else stands(path, former)

    def _enter(self, task: Task, report: Report, facts: Facts) -> Outcome | Task:
        """Write and enter a plan that was drawn."""
        plan = report.plan
        assert plan is not None
        held = self.book.held(facts.number, facts.revision)
        if held.entries != plan.seen:
            return self._overtaken(task, facts)
        former = standing(held, facts, self.order)
        if former is not None and former.status is not Status.DRAFT:  # its file was gone
            restore(self.book.locate(former), former, plan.pdf)
            note = "its file was gone and is written again, to the byte"
            return self._unchanged(report, facts, held, former, written=True, notes=(note,))
        place = place_of(self.order.output, plan.file_name, self.order.register)
        draft = plan.entry.status is Status.DRAFT
        dated = kept_date(place.target, plan.entry.name, facts.fingerprint, self.order.day, draft=draft)
        if dated != plan.entry.date:
            return replace(task, held=held, dated=dated)
        notes = begun(place)
        entry = enter(place, plan)
        if entry is None:
            return self._overtaken(task, facts)
        return self._done(report, facts, place, entry, (*report.notes, *notes))

    def _overtaken(self, task: Task, facts: Facts) -> Task:
        """The register holds something else of the number by now: begin anew with that."""
        if task.tries == _TRIES:
            raise RefusedError(
                f"other plans of number {facts.number} were entered {_TRIES} times while this one was being "
                "issued. Nothing was written. Wait until they are issued, and try again."
            )
        return replace(task, held=None, known=known_numbers([number_key(facts.number)]), tries=task.tries + 1)

    def _done(
        self, report: Report, facts: Facts, place: Place, entry: Entry, notes: tuple[str, ...]
    ) -> Outcome:
        draft = entry.status is Status.DRAFT
        gone, to_come = self._lapses(report, facts, entry)
        result = read(entry.result)
        return _outcome(
            report,
            What.DRAFT if draft else What.ISSUED,
            result=result,
            reasons=(*(result.short if result and draft else ()), *map(str, gone)),
            notes=(*notes, *(f"to come: {lapse}" for lapse in to_come)),
            written=True,
            date=entry.date,
            supersedes=entry.supersedes,
            file=str(place.target),
        )

    def _unchanged(
        self,
        report: Report,
        facts: Facts,
        held: Held,
        former: Entry,
        *,
        written: bool = False,
        notes: tuple[str, ...] = (),
    ) -> Outcome:
        """A plan or draft that was made before: does it hold today?"""
        gone, to_come = self._lapses(report, facts, former)
        result = read(former.result)
        draft = former.status is Status.DRAFT
        what = What.DRAFT if draft else What.LAPSED if gone else What.UNCHANGED
        now = current(held.entries, former.number)
        if now is not None and now.revision != former.revision and not draft:
            notes = (*notes, superseded_note(now))
        if self.order.day > facts.last:
            notes = (*notes, f"its work was over on {facts.last}")
        return _outcome(
            report,
            what,
            result=result,
            reasons=(*(result.short if result and draft else ()), *map(str, gone)),
            notes=(*notes, *(f"to come: {lapse}" for lapse in to_come)),
            written=written,
            date=former.date,
            supersedes=former.supersedes,
            file=str(self.book.locate(former)),
        )

    def _lapses(
        self, report: Report, facts: Facts, entry: Entry
    ) -> tuple[tuple[Lapse, ...], tuple[Lapse, ...]]:
        """What no longer holds on the day, and what will lapse before the work ends."""
        every = (*report.lapses, *profile_lapses(load_profile(facts.profile), entry.date))
        gone = lapsed(every, self.order.day, facts.last)
        to_come = tuple(lapse for lapse in every if lapse.since > self.order.day)
        return gone, to_come


def standing(held: Held, facts: Facts, order: Order) -> Entry | None:
    """The row of this very plan, issued before; or of its draft, of the same date, where a draft it is again.

    None where it has to be drawn. A draft that was asked for does not stand once a plan is.
    """
    same = [e for e in held.entries if e.revision == facts.revision and e.fingerprint == facts.fingerprint]
    issued = next((e for e in same if e.status is not Status.DRAFT), None)
    if issued is not None and not order.draft:
        return issued
    draft = next((e for e in same if e.status is Status.DRAFT and e.date == order.day), None)
    result = read(draft.result) if draft else None
    return draft if result is not None and (order.draft or result.unaccepted) else None


def _outcome(report: Report, what: What, **told: object) -> Outcome:
    return Outcome(report.id, what, report.facts, seconds=report.seconds, **told)  # type: ignore[arg-type]
