"""Checking a site: each lot in a line, what is short of it below."""

from __future__ import annotations

import gc
import json
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planforge.cli.program import BAD_INPUT, DEFECT, MEETS, SHORT, later, tell
from planforge.cli.site_issue import cores
from planforge.errors import PlanforgeError, Problem

if TYPE_CHECKING:
    from planforge.job.model import Job
    from planforge.job.reading import Loaded
    from planforge.job.site import Site as Place
    from planforge.site.checking import CheckedLot


FEW = 8
"""Lots that are checked one after the other sooner than processes for them would begin."""
_CODES = {"nothing short": MEETS, "short": SHORT, "can't be read": BAD_INPUT, "failed": DEFECT}


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


def check_site(path: Path, *, as_json: bool, open_only: bool, workers: int | None) -> int:
    """Check every lot of a site, print each as it comes and return the exit code."""
    gc.enable()  # a site is long work: what one lot leaves behind is cleared before the next
    site = later("site.reading", "read_site")(path)
    of = "every value" if as_json else "what is open" if open_only else "what is short"
    view = later("site.checking", "View")(of, shutil.get_terminal_size((132, 40)).columns - 2)
    width = workers or (cores() if len(site.lots) > FEW else 1)
    crew = later("site.pool", "processes")(min(width, len(site.lots))) if width > 1 else None
    count = Counter[str]()
    places: list[tuple[str, Place]] = []
    told: dict[Problem, str] = {}
    records: list[dict[str, Any]] = []
    for lot in later("site.checking", "check_lots")(site, view, crew):
        count[_outcome(lot)] += 1
        if lot.place is not None:
            places.append((lot.id, lot.place))
        if as_json:
            records.append(_record(lot))
            continue
        for line in _lines(lot, told):
            tell(line, flush=True)
    notes = list(later("site.repeats", "same_facts")(places))
    if as_json:
        record = {"site": str(path), "lots": records, "notes": notes}
        tell(json.dumps(record, indent=1, ensure_ascii=True))
    else:
        for note in notes:
            tell(f"note: {note}")
        said = ", ".join(f"{count[one]} {one}" for one in _CODES if count[one] or one != "failed")
        tell(f"{site.name}: {len(site.lots)} lot(s): {said}.")
    return max(_CODES[outcome] for outcome in count)


def _outcome(lot: CheckedLot) -> str:
    if lot.failed:
        return "failed"
    if lot.problems:
        return "can't be read"
    return "short" if lot.short else "nothing short"


def _lines(lot: CheckedLot, told: dict[Problem, str]) -> Iterator[str]:
    """A fault in a file that many lots build upon prints with the first, and is counted with the rest."""
    if lot.problems:
        yield f"{lot.id}: can't be read: {len(lot.problems)} problem(s)"
        before = Counter(told[problem] for problem in lot.problems if problem in told)
        yield from (f"  {problem}" for problem in lot.problems if problem not in told)
        yield from (f"  {number} printed above with {first}" for first, number in before.items())
        told |= {problem: lot.id for problem in lot.problems if problem not in told}
        return
    if lot.failed:
        yield f"{lot.id}: failed"
        yield from (f"  {line}" for line in lot.failed)
        return
    counts = ", ".join(f"{number} {verdict}" for verdict, number in _counts(lot).items())
    yield f"{lot.id}: {lot.name}: {counts}"
    yield from (f"  {line}".rstrip() for line in lot.lines)


def _counts(lot: CheckedLot) -> dict[str, int]:
    return dict(zip(later("site.checking", "VERDICTS"), lot.counts, strict=True))


def _record(lot: CheckedLot) -> dict[str, Any]:
    place = {"id": lot.id, "file": lot.where.file, "line": lot.where.line}
    if lot.problems:
        return {**place, "problems": [str(problem) for problem in lot.problems]}
    if lot.failed:
        return {**place, "failed": list(lot.failed)}
    return {
        **place,
        "fingerprint": lot.fingerprint,
        "counts": _counts(lot),
        "checks": lot.checks,
    }
