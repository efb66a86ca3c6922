"""Proof tests: which of several counts, whom it keeps off a line, what asks for none."""

from __future__ import annotations

from planforge.assess.finding import Verdict

from .cases_proof import BASE, FITTING, STUD, asked, pulled
from .jobs import assessed, finding


def proof_checks(changes: dict) -> list[str]:  # type: ignore[type-arg]
    return [f.where for f in assessed(changes).findings if f.id.endswith(".proof")]


def test_nobody_asks_and_nothing_is_asked() -> None:
    assert proof_checks({}) == []
    assert proof_checks({"proof_tests": [pulled("P2", 3000)]}) == []  # a record alone


def test_a_failed_test_is_short_though_nobody_asked_for_it() -> None:
    found = finding(assessed({"proof_tests": [pulled("P2", 500, result="failed")]}), "base.proof", "P2")
    assert found.verdict is Verdict.SHORT
    assert found.limit == "held"


def test_every_base_with_such_anchors_is_asked() -> None:
    """One base is tested; the others wait."""
    found = [f for f in assessed(BASE).findings if f.id == "base.proof"]
    assert [f.where for f in found if f.verdict is Verdict.MEETS] == ["P2"]
    assert sorted(f.where for f in found if f.verdict is Verdict.CONFIRM) == ["P1", "P3", "P4"]


def test_a_failed_test_stands_until_every_anchor_held_on_a_later_day() -> None:
    failed = pulled("P2", 3000, id="PT-1", result="failed")
    after = pulled("P2", 3000, id="PT-2", on="2026-05-05", tested=4)
    for second, verdict in (
        (after, Verdict.MEETS),
        (after | {"tested": 3}, Verdict.SHORT),
        (after | {"on": "2026-05-04"}, Verdict.SHORT),
        (after | {"load": "2000 lbf"}, Verdict.SHORT),
    ):
        changed = BASE | {"proof_tests": [second, failed]}  # in any order
        assert finding(assessed(changed), "base.proof", "P2").verdict is verdict, second


def test_tests_of_several_anchors_of_a_base_add_up() -> None:
    two = [pulled("P2", load, id=f"PT-{load}", tested=2) for load in (3000, 3200)]
    found = finding(assessed(BASE | {"proof_tests": two}), "base.proof", "P2")
    assert found.verdict is Verdict.MEETS
    assert "PT-3000, PT-3200" in found.note


def test_whom_it_keeps_off() -> None:
    """What hangs on a post whose base failed bars nobody elsewhere."""
    failed = {f"{STUD}.proof_load": asked(3000), "proof_tests": [pulled("P2", 3000, result="failed")]}
    assessment = assessed(failed)
    for line in assessment.job.layout.lines:
        barred = "P2" in (line.start, line.end)
        assert (assessment.allowed(line.id) == 0) == barred
    waiting = assessed({f"{STUD}.proof_load": asked(3000)})
    assert "base.proof" in {f.id for f in waiting.concerns(waiting.job.layout.lines[0].id)}
    assert "anchor.proof" in {f.id for f in assessed(FITTING).concerns("A-2")}
