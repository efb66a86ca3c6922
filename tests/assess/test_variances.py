"""A recorded variance stands beside a short item where the check is open to one, and nowhere else."""

from __future__ import annotations

import pytest

from planforge.assess.checks import CHECKS

from .case import SHORT, Case
from .jobs import Changes, assessed, finding
from .test_every_check import CASES
from .test_plan_kind import ALTERNATIVE, PLACE

CLOSED = sorted(name for name, check in CHECKS.items() if not check.variance)
NEVER_SHORT = {"anchor.load_path", "line.plumb", "release.state", "plan.variance"}
"""Open until somebody signs, or about variances themselves, so that there is nothing to accept."""


def variance(check: str, where: str) -> Changes:
    record = {
        "check": check,
        "where": where,
        "by": "kestrel",
        "licence": "EX-0000 (invented)",
        "on": "2026-11-20",
        "reason": "Accepted for this lot (invented).",
    }
    return {"variances": [record]}


def short_case(check: str) -> Case:
    if check == "plan.alternative":
        return Case(
            check,
            "edge",
            {f"{PLACE.split('.locations')[0]}.copy_held_at": "<remove>"},
            SHORT,
            None,
            base=ALTERNATIVE,
        )
    return next(c for c in CASES if c.check == check and c.verdict is SHORT)


def test_variance_is_accepted_where_the_check_is_open_to_one() -> None:
    low = {"layout.guardrails.G-1.top": "38 1/2 in", "layout.guardrails.G-1.middle": "19 1/4 in"}
    without, accepted = assessed(low), assessed(low | variance("guardrail.height", "G-1"))
    assert without.draft
    found = finding(accepted, "guardrail.height", "G-1")
    assert found.verdict is SHORT, "it is printed beside the check and never hides it"
    assert found.variance is not None
    assert found.variance.reason == "Accepted for this lot (invented)."
    assert [f.id for f in accepted.short] == ["guardrail.height"]
    assert not accepted.draft


def test_variance_for_another_place_accepts_nothing() -> None:
    low = {"layout.guardrails.G-1.top": "38 1/2 in", "layout.guardrails.G-1.middle": "19 1/4 in"}
    elsewhere = assessed(low | variance("guardrail.height", "G-2"))
    assert finding(elsewhere, "guardrail.height", "G-1").variance is None
    assert elsewhere.draft


DUDS = [
    ({"check": "guardrail.hieght"}, "There is no check 'guardrail.hieght'"),
    ({"check": "arrest.clearance", "where": "L-1"}, "never open to a variance"),
    ({"by": "dunlin"}, "Only the plan's qualified person"),
    ({"where": "G-2"}, "short places of this check: G-1"),
]


@pytest.mark.parametrize(("change", "why"), DUDS)
def test_a_variance_that_accepts_nothing_is_short_itself(change: dict[str, str], why: str) -> None:
    low = {"layout.guardrails.G-1.top": "38 1/2 in", "layout.guardrails.G-1.middle": "19 1/4 in"}
    record = variance("guardrail.height", "G-1")["variances"][0] | change
    assessment = assessed(low | {"variances": [record]})
    dud = finding(assessment, "plan.variance", f"{record['check']} · {record['where']}")
    assert dud.verdict is SHORT
    assert why in dud.note
    assert finding(assessment, "guardrail.height", "G-1").variance is None
    assert assessment.draft


@pytest.mark.parametrize("check", [c for c in CLOSED if c not in NEVER_SHORT])
def test_variance_is_ignored_where_the_check_is_never_open_to_one(check: str) -> None:
    case = short_case(check)
    assessment = assessed(case.base | case.changes | variance(check, case.where))
    every = [f for f in assessment.findings if f.id == check and f.where == case.where]
    assert any(f.verdict is SHORT for f in every)
    assert all(f.variance is None for f in every)
    assert assessment.draft


def test_what_is_never_open_to_a_variance() -> None:
    # contact, free fall, force, deceleration, rescue, ratings, slab, 502(k) reasons, power lines
    assert set(CLOSED) >= {
        "arrest.clearance",
        "arrest.free_fall",
        "arrest.force",
        "arrest.deceleration",
        "rescue.reach",
        "line.span",
        "line.workers",
        "line.rope_strength",
        "anchor.strength",
        "anchor.workers",
        "slab.located",
        "plan.alternative",
        "power.distance",
    }
