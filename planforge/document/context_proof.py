"""Proof tests as rows: what is asked of which anchor, what was tested, how it came out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from planforge.assess.assessment import Assessment
from planforge.assess.proof_tests import Tested, proof_tested
from planforge.document.printed import Printed

PARTS = {"base.proof": "base anchors", "guy.proof": "plate anchor", "anchor.proof": "anchorage"}
"""What is tested, in words, by the check that speaks for it."""


@dataclass(frozen=True, slots=True)
class ProofRow:
    """One base, plate anchor or anchorage that is asked to be tested or was."""

    where: str
    part: str
    anchors: int
    asked: str  # empty: nobody asks for a test
    asked_by: str  # the document that asks
    tests: tuple[str, ...]  # one line a test
    verdict: str
    note: str


def proof_rows(assessment: Assessment, show: Printed) -> tuple[ProofRow, ...]:
    """A row for each, in the order of the layout."""
    return tuple(_row(assessment, one, show) for one in proof_tested(assessment.index))


def alike(rows: Iterable[ProofRow]) -> tuple[ProofRow, ...]:
    """Rows that differ in nothing but their place share one."""
    shared: dict[ProofRow, list[str]] = {}
    for row in rows:
        shared.setdefault(replace(row, where=""), []).append(row.where)
    return tuple(replace(row, where=", ".join(places)) for row, places in shared.items())


def _row(assessment: Assessment, one: Tested, show: Printed) -> ProofRow:
    finding = next((f for f in assessment.findings if (f.id, f.where) == (one.check, one.where)), None)
    return ProofRow(
        where=one.where,
        part=PARTS[one.check],
        anchors=one.anchors,
        asked=show.force(one.asked.value, "up") if one.asked else "",
        asked_by=(one.asked.source or "") if one.asked else "",
        tests=tuple(_tests(one, show)),
        verdict=finding.verdict.value if finding else "not applicable",
        note=finding.note if finding else "",
    )


def _tests(one: Tested, show: Printed) -> Iterator[str]:
    for test in one.tests:
        many = f" ({test.tested} of {one.anchors})" if one.anchors > 1 else ""
        load, day = show.force(test.load, "down"), show.day(test.on)
        yield (
            f"{test.id}: {load}{many}, {test.result}, {day}, {test.by}. {test.method.rstrip('.')}. "
            f"{test.source or 'No report named'}."
        )
