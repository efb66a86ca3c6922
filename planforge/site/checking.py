"""Every lot of a site read and assessed; a lot that can't be read stops none of the rest.

What comes of a lot is small and plain, so that it can be worked on in another process.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any, Literal

from planforge.assess.assessment import Assessment, assess
from planforge.assess.report import records, report, short_lines
from planforge.errors import JobFileError, Problem
from planforge.job.site import Site as Place
from planforge.job.tree import Mark
from planforge.register.fingerprint import plan_fingerprint
from planforge.site.defects import defect
from planforge.site.lots import LotSource, load_lot
from planforge.site.pool import Crew, Lost, Stream
from planforge.site.reading import Site

VERDICTS = ("short", "confirm", "meets", "not applicable")


@dataclass(frozen=True, slots=True)
class View:
    """What is to be told of each lot beside its counts."""

    of: Literal["what is short", "what is open", "every value"] = "what is short"
    """Lines of what is short, a table of what is short or to confirm, or each check as plain data."""
    width: int = 132
    """The characters of a table's line."""


@dataclass(frozen=True, slots=True)
class CheckedLot:
    """What came of one lot: its counts and lines, or what is wrong with what is stated of it."""

    id: str
    where: Mark
    place: Place | None = None
    """Where the job says that it is."""
    name: str = ""
    """Its plan, revision and lot in words."""
    counts: tuple[int, ...] = ()
    """How many checks have each of the verdicts; none for a lot that can't be read."""
    lines: tuple[str, ...] = ()
    fingerprint: str = ""
    """The plan's fingerprint, where every value is asked for."""
    checks: tuple[dict[str, Any], ...] = ()
    """Each check with its values in SI, where they are asked for."""
    problems: tuple[Problem, ...] = ()
    failed: tuple[str, ...] = ()
    """Why nothing came of it, where that is no fault of the lot."""

    @property
    def short(self) -> bool:
        """Whether anything is short."""
        return bool(self.counts) and self.counts[0] > 0


def check_lots(site: Site, view: View, crew: Crew | None = None) -> Iterator[CheckedLot]:
    """Yield what came of each lot, in the order of the site; a ``crew`` works on several at once."""
    if crew is None:
        yield from (check_lot(source, view) for source in site.lots)
        return
    left, done = deque(source.id for source in site.lots), dict[str, CheckedLot]()
    stream: Stream[LotSource, CheckedLot] = Stream(crew, partial(check_lot, view=view), site.lots)
    for source, result in stream:
        done[source.id] = _lost(source, result) if isinstance(result, Lost) else result
        while left and left[0] in done:
            yield done.pop(left.popleft())


def _lost(source: LotSource, lost: Lost) -> CheckedLot:
    return CheckedLot(source.id, source.where, failed=(f"{lost.why}.",))


def check_lot(source: LotSource, view: View) -> CheckedLot:
    """Read and assess one lot; whatever goes wrong is told of that lot and stops no other."""
    try:
        return _checked(source, view)
    except JobFileError as error:
        return CheckedLot(source.id, source.where, problems=error.problems)
    except Exception as error:
        return CheckedLot(source.id, source.where, failed=defect(error))


def _checked(source: LotSource, view: View) -> CheckedLot:
    assessment = assess(load_lot(source).model)
    found = {verdict.value: number for verdict, number in assessment.counts.items()}
    job = assessment.job
    every = view.of == "every value"
    return CheckedLot(
        source.id,
        source.where,
        job.site,
        f"{job.plan.number} revision {job.plan.revision}, {job.site.lot}",
        tuple(found.get(verdict, 0) for verdict in VERDICTS),
        _lines(assessment, view),
        plan_fingerprint(job) if every else "",
        tuple(records(assessment)) if every else (),
    )


def _lines(assessment: Assessment, view: View) -> tuple[str, ...]:
    match view.of:
        case "what is short":
            return tuple(short_lines(assessment))
        case "what is open":
            return tuple(report(assessment, width=view.width, open_only=True))
        case "every value":
            return ()
