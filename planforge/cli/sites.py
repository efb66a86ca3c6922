"""Checking a site: each lot in a line, what is short of it below."""

from __future__ import annotations

import gc
import json
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planforge.cli.program import BAD_INPUT, MEETS, SHORT, later
from planforge.errors import PlanforgeError

if TYPE_CHECKING:
    from planforge.assess.assessment import Assessment
    from planforge.errors import Problem
    from planforge.job.model import Job
    from planforge.job.reading import Loaded
    from planforge.site.checking import CheckedLot

VERDICTS = ("short", "confirm", "meets", "not applicable")


def lot_of_site(path: Path, lot: str) -> Loaded[Job]:
    """Read the one lot of a site that has this id."""
    site = later("site.reading", "read_site")(path)
    source = next((one for one in site.lots if one.id == lot), None)
    if source is None:
        ids = [one.id for one in site.lots]
        near = later("job.wording", "nearest")(lot, ids)
        hint = f"did you mean {near}?" if near else f"it has {later('job.wording', 'listed')(ids, 'and')}."
        raise PlanforgeError(f"{path} has no lot {lot!r}; {hint}")
    loaded: Loaded[Job] = later("site.lots", "load_lot")(source)
    return loaded


def check_site(path: Path, *, as_json: bool, open_only: bool) -> int:
    """Check every lot of a site, print each as it comes and return the exit code."""
    gc.enable()  # a site is long work: what one lot leaves behind is cleared before the next
    site = later("site.reading", "read_site")(path)
    count = dict.fromkeys(("nothing short", "short", "can't be read"), 0)
    records: list[dict[str, Any]] = []
    told: dict[Problem, str] = {}
    for lot in later("site.checking", "check_lots")(site):
        count[_outcome(lot)] += 1
        if as_json:
            records.append(_record(lot))
            continue
        for line in _lines(lot, told, open_only=open_only):
            print(line, flush=True)
    if as_json:
        print(json.dumps({"site": str(path), "lots": records}, indent=1, ensure_ascii=True))
    else:
        said = ", ".join(f"{number} {outcome}" for outcome, number in count.items())
        print(f"{site.name}: {len(site.lots)} lot(s): {said}.")
    if count["can't be read"]:
        return BAD_INPUT
    return SHORT if count["short"] else MEETS


def _outcome(lot: CheckedLot) -> str:
    if lot.assessment is None:
        return "can't be read"
    return "short" if lot.assessment.short else "nothing short"


def _problems(lot: CheckedLot, told: dict[Problem, str]) -> Iterator[str]:
    """A fault in a file that many lots build upon prints with the first, and is counted with the rest."""
    yield f"{lot.source.id}: can't be read: {len(lot.problems)} problem(s)"
    before = Counter(told[problem] for problem in lot.problems if problem in told)
    yield from (f"  {problem}" for problem in lot.problems if problem not in told)
    yield from (f"  {number} printed above with {first}" for first, number in before.items())
    told |= {problem: lot.source.id for problem in lot.problems if problem not in told}


def _lines(lot: CheckedLot, told: dict[Problem, str], *, open_only: bool) -> Iterator[str]:
    assessment = lot.assessment
    if assessment is None:
        yield from _problems(lot, told)
        return
    counts = ", ".join(f"{number} {verdict}" for verdict, number in _counts(assessment).items())
    job = assessment.job
    yield f"{lot.source.id}: {job.plan.number} revision {job.plan.revision}, {job.site.lot}: {counts}"
    if open_only:
        width = shutil.get_terminal_size((132, 40)).columns - 2
        below = later("assess.report", "report")(assessment, width=width, open_only=True)
    else:
        below = later("assess.report", "short_lines")(assessment)
    yield from (f"  {line}".rstrip() for line in below)


def _counts(assessment: Assessment) -> dict[str, int]:
    found = {verdict.value: number for verdict, number in assessment.counts.items()}
    return {verdict: found.get(verdict, 0) for verdict in VERDICTS}


def _record(lot: CheckedLot) -> dict[str, Any]:
    place = {"id": lot.source.id, "file": lot.source.where.file, "line": lot.source.where.line}
    if lot.assessment is None:
        return {**place, "problems": [str(problem) for problem in lot.problems]}
    return {
        **place,
        "fingerprint": later("register.fingerprint", "plan_fingerprint")(lot.assessment.job),
        "counts": _counts(lot.assessment),
        "checks": later("assess.report", "records")(lot.assessment),
    }
