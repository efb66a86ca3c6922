"""Checking a site: each lot in a line, what is short of it below."""

from __future__ import annotations

import gc
import json
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planforge.cli.program import BAD_INPUT, MEETS, SHORT, later, tell
from planforge.errors import PlanforgeError, Problem

if TYPE_CHECKING:
    from planforge.job.model import Job
    from planforge.job.reading import Loaded
    from planforge.site.checking import CheckedLot


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
    of = "every value" if as_json else "what is open" if open_only else "what is short"
    view = later("site.checking", "View")(of, shutil.get_terminal_size((132, 40)).columns - 2)
    count = dict.fromkeys(("nothing short", "short", "can't be read"), 0)
    told: dict[Problem, str] = {}
    records: list[dict[str, Any]] = []
    for lot in later("site.checking", "check_lots")(site, view):
        count["can't be read" if lot.problems else "short" if lot.short else "nothing short"] += 1
        if as_json:
            records.append(_record(lot))
            continue
        for line in _lines(lot, told):
            tell(line, flush=True)
    if as_json:
        tell(json.dumps({"site": str(path), "lots": records}, indent=1, ensure_ascii=True))
    else:
        said = ", ".join(f"{number} {outcome}" for outcome, number in count.items())
        tell(f"{site.name}: {len(site.lots)} lot(s): {said}.")
    if count["can't be read"]:
        return BAD_INPUT
    return SHORT if count["short"] else MEETS


def _lines(lot: CheckedLot, told: dict[Problem, str]) -> Iterator[str]:
    """A fault in a file that many lots build upon prints with the first, and is counted with the rest."""
    if lot.problems:
        yield f"{lot.id}: can't be read: {len(lot.problems)} problem(s)"
        before = Counter(told[problem] for problem in lot.problems if problem in told)
        yield from (f"  {problem}" for problem in lot.problems if problem not in told)
        yield from (f"  {number} printed above with {first}" for first, number in before.items())
        told |= {problem: lot.id for problem in lot.problems if problem not in told}
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
    return {
        **place,
        "fingerprint": lot.fingerprint,
        "counts": _counts(lot),
        "checks": lot.checks,
    }
