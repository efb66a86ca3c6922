"""Proof tests: where a maker, a report or the engineer asks for one, was it done, and did it hold?

What asks is the rated value ``proof_load`` of a base anchor, of a guy (its plate anchor) or of an anchorage.
Nobody's asking leaves a test that held as a record alone; one that failed is short in any case.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from planforge.assess.finding import Finding, Verdict, found, keeps, vouched
from planforge.assess.index import Index, by_id
from planforge.job.base import Rated
from planforge.job.proof_test import ProofTest


@dataclass(frozen=True, slots=True)
class Tested:
    """Something that a proof test is asked for or recorded of, with its tests in order of their days."""

    check: str
    where: str
    anchors: int  # how many anchors it has, each to be tested
    asked: Rated[float] | None
    tests: tuple[ProofTest, ...]

    @property
    def failed(self) -> ProofTest | None:
        """The last test that failed, unless every anchor held on a later day; on the same day it stays."""
        bad = [test for test in self.tests if test.result == "failed"]
        if not bad:
            return None
        since = [t for t in self.tests if t.result == "held" and t.on > bad[-1].on]
        return None if sum(t.tested for t in since) >= self.anchors else bad[-1]

    @property
    def held(self) -> tuple[ProofTest, ...]:
        """The tests that count: those that held, after the last that failed."""
        bad = [test.on for test in self.tests if test.result == "failed"]
        return tuple(t for t in self.tests if t.result == "held" and (not bad or t.on > bad[-1]))


def proof_tested(index: Index) -> tuple[Tested, ...]:
    """Every base, plate anchor and anchorage that is asked to be tested or was."""
    return tuple(one for one in _all(index) if one.asked is not None or one.tests)


def _all(index: Index) -> Iterator[Tested]:
    job = index.job
    base_anchors, guys = by_id(job.equipment.base_anchors), by_id(job.equipment.guys)
    tests: dict[str, list[ProofTest]] = {}
    for test in sorted(job.proof_tests, key=lambda t: t.on):
        tests.setdefault(test.of, []).append(test)

    def of(name: str) -> tuple[ProofTest, ...]:
        return tuple(tests.get(name, ()))

    for post in job.layout.posts:
        kind = index.kind_of(post)
        anchor = base_anchors.get(kind.anchored_with or "")
        asked = anchor.proof_load if anchor else None
        yield Tested("base.proof", post.id, kind.base_anchors or 4, asked, of(post.id))
        for guy in post.guys:
            where = f"{post.id} · {guy.id}"
            yield Tested("guy.proof", where, 1, guys[guy.kind].proof_load, of(guy.id))
    for fixed in job.layout.anchors:
        yield Tested("anchor.proof", fixed.id, 1, fixed.proof_load, of(fixed.id))


def proof_findings(index: Index) -> list[Finding]:
    """One finding for everything that is asked to be tested, or that failed."""
    return [f for one in proof_tested(index) if (f := _finding(one)) is not None]


def _finding(one: Tested) -> Finding | None:
    asked, failed = one.asked, one.failed
    if failed is not None:
        return found(
            one.check,
            one.where,
            Verdict.SHORT,
            value=f"failed on {failed.on}",
            limit=asked.value if asked else "held",
            unit="N" if asked else "",
            sense="at least" if asked else "is",
            source=failed.source or "no report",
            note=f"Test {failed.id}. Nobody ties on; it is replaced and every anchor is tested again, or the "
            "qualified person changes the plan.",
        )
    return _against(one, asked, one.held) if asked is not None else None


def _against(one: Tested, asked: Rated[float], held: Sequence[ProofTest]) -> Finding:
    """What held against what was asked for."""
    if not held:
        return found(
            one.check,
            one.where,
            Verdict.CONFIRM,
            value="no test recorded",
            limit=asked.value,
            unit="N",
            sense="at least",
            source=asked.source or "no document",
            note=f"{_count(one.anchors)} to be tested on site before the release; record it under "
            "proof_tests.",
        )
    least, tested = min(test.load for test in held), sum(test.tested for test in held)
    verdict = vouched(keeps(least, asked.value, "at least"), asked)
    notes = [f"Test {', '.join(test.id for test in held)}, {_count(min(tested, one.anchors))} held."]
    if tested < one.anchors:
        notes.append(f"{tested} of {one.anchors} anchors: the report says how many are wanted.")
    if lacking := [test.id for test in held if not test.source]:
        notes.append(f"No report is named for {', '.join(lacking)}.")
    if verdict is Verdict.MEETS and len(notes) > 1:
        verdict = Verdict.CONFIRM
    sources = dict.fromkeys(s for s in (asked.source, *(test.source for test in held)) if s)
    return found(
        one.check,
        one.where,
        verdict,
        value=least,
        limit=asked.value,
        unit="N",
        sense="at least",
        source="; ".join(sources) or "no document",
        note=" ".join(notes),
    )


def _count(anchors: int) -> str:
    return "one anchor" if anchors == 1 else f"{anchors} anchors, each by itself,"
