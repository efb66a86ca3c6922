"""Findings as rows for programs, and as a table for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from planforge.assess.assessment import Assessment
from planforge.assess.finding import RANK, Finding, Verdict
from planforge.assess.printed_finding import FindingDisplay

_COLUMNS = (("verdict", 9), ("where", 26), ("value", 22), ("limit", 22), ("margin", 10))
_LEAST_SOURCE = 24


def records(assessment: Assessment) -> list[dict[str, Any]]:
    """Each finding as plain data; numbers in SI."""
    return [
        {
            "id": f.id,
            "where": f.where,
            "phase": f.phase,
            "value": f.value,
            "limit": f.limit,
            "sense": f.sense,
            "unit": f.unit,
            "verdict": f.verdict.value,
            "source": f.source,
            "decides": f.decides,
            "note": f.note,
        }
        for f in assessment.findings
    ]


def short_lines(assessment: Assessment) -> Iterator[str]:
    """A line for what is short: where, in which phase, the value against its limit, what would help.

    Places at which the same check is short by the same value, with the same remedy, share a line.
    """
    display = FindingDisplay(assessment.job.site.units)
    places: dict[tuple[str, str], list[str]] = {}
    for finding in assessment.short:
        place = f"{finding.where}, {finding.phase}" if finding.phase else finding.where
        compared = finding.limit is not None and not isinstance(finding.limit, str)
        limit = f", {display.limit_of(finding)}" if compared else ""
        said = "; ".join(part for part in (display.value_of(finding) + limit, finding.note) if part)
        accepted = " (accepted by variance)" if finding.variance else ""
        places.setdefault((f"short{accepted}: {finding.title}", said), []).append(place)
    for (title, said), own in places.items():
        yield f"{title}, {'; '.join(own)}: {said}"


def report(assessment: Assessment, *, width: int, open_only: bool = False) -> Iterator[str]:
    """Lines of a table, grouped by check, the worst verdict last; then a summary."""
    display = FindingDisplay(assessment.job.site.units)
    shown = [f for f in assessment.findings if not open_only or f.verdict in (Verdict.SHORT, Verdict.CONFIRM)]
    shown.sort(key=lambda f: -RANK[f.verdict])
    fixed = sum(w + 2 for _, w in _COLUMNS)
    last = max(width - fixed, _LEAST_SOURCE)
    yield "  ".join([*(name.ljust(w) for name, w in _COLUMNS), "source, note, who decides"])
    previous = ""
    for finding in shown:
        heading = f"{finding.verdict.value.upper()}: {finding.title} [{finding.id}]"
        if heading != previous:
            yield ""
            yield heading
            previous = heading
        yield from _rows(finding, display, last)
    yield ""
    counts = assessment.counts
    yield ", ".join(f"{counts[v]} {v.value}" for v in (Verdict.SHORT, Verdict.CONFIRM, Verdict.MEETS)) + (
        f", {counts[Verdict.NOT_APPLICABLE]} not applicable."
    )
    if assessment.draft:
        yield "Something is short: this job prints only as a draft."


def _rows(finding: Finding, display: FindingDisplay, last: int) -> Iterator[str]:
    where = f"{finding.where} ({finding.phase})" if finding.phase else finding.where
    cells = [
        finding.verdict.value.replace("not applicable", "n/a"),
        where,
        display.value_of(finding),
        display.limit_of(finding),
        display.margin_of(finding),
    ]
    tail = "; ".join(part for part in (finding.source, finding.note, finding.decides) if part)
    if finding.variance:
        tail += f"; accepted by {finding.variance.by}, {finding.variance.on}: {finding.variance.reason}"
    widths = [w for _, w in _COLUMNS] + [last]
    columns = [_wrapped(c, w) for c, w in zip([*cells, tail], widths, strict=True)]
    for n in range(max(len(c) for c in columns)):
        parts = [(c[n] if n < len(c) else "").ljust(w) for c, w in zip(columns, widths, strict=True)]
        yield "  ".join(parts).rstrip()


@lru_cache(maxsize=1024)  # many findings say the same
def _wrapped(text: str, width: int) -> tuple[str, ...]:
    """Lines of a cell, one at least."""
    if len(text) <= width and text.isprintable() and text == text.strip():
        return (text,)
    return tuple(textwrap.wrap(text, width)) or ("",)
