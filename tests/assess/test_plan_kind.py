"""Site work plans and alternative plans: each point of 29 CFR 1926.502(k) turned by itself."""

from __future__ import annotations

from typing import Any

import pytest

from planforge.assess.finding import Finding
from planforge.assess.plan_kind import missing_reasons
from planforge.job.plan import AlternativePlan

from .case import BARE, MEETS, SHORT
from .jobs import REMOVE, Changes, assessed, small

ALTERNATIVE: Changes = BARE | {
    "work_parts.+": {
        "id": "edge",
        "name": "Leading edge",
        "phases": ["walls"],
        "kind": "alternative plan",
        "alternative": {
            "work": "residential",
            "qualified_person": "kestrel",
            "qualification": "Licence (invented).",
            "changes_approved_by": "kestrel",
            "copy_held_at": "Job box",
            "competent_person": "dunlin",
            "incident_review": "The plan is reviewed after a fall or near miss.",
            "locations": [
                {
                    "id": "Z-A",
                    "hazards": ["H1"],
                    "reasons": [
                        {"system": s, "ground": "infeasible", "reason": "Stated at length (invented)."}
                        for s in ("guardrail", "personal fall arrest", "safety net")
                    ],
                    "other_measures": "Scaffold considered.",
                    "monitor": "plover",
                    "workers": ["godwit"],
                }
            ],
        },
    }
}
"""An alternative plan with every point of 29 CFR 1926.502(k)."""

PLAN = "work_parts.edge.alternative"
PLACE = f"{PLAN}.locations.Z-A"
NO_OTHER = {f"{PLACE}.other_measures": REMOVE, f"{PLACE}.monitor": REMOVE}
POINTS: list[tuple[str, Changes]] = [
    ("(1)", {f"{PLAN}.qualified_person": REMOVE}),
    ("(1)", {f"{PLAN}.qualification": REMOVE}),
    ("(2)", {f"{PLAN}.changes_approved_by": REMOVE}),
    ("(3)", {f"{PLAN}.copy_held_at": REMOVE}),
    ("(4)", {f"{PLAN}.competent_person": REMOVE}),
    ("(5)", {f"{PLACE}.reasons.0": REMOVE}),
    ("(5)", {f"{PLACE}.reasons.1.ground": "inconvenient"}),
    ("(6)", {f"{PLACE}.other_measures": REMOVE}),
    ("(7)", {f"{PLAN}.locations": []}),
    ("(8)", NO_OTHER),
    ("(9)", {f"{PLACE}.workers": []}),
    ("(10)", {f"{PLAN}.incident_review": REMOVE}),
]


def points(changes: Changes | None = None) -> list[Finding]:
    found = assessed(ALTERNATIVE | (changes or {})).findings
    return [f for f in found if f.id == "plan.alternative"]


def alternative(changes: Changes | None = None) -> AlternativePlan:
    plan = small(ALTERNATIVE | (changes or {})).work_parts[-1].alternative
    assert plan is not None
    return plan


def test_complete_alternative_plan_meets_every_point() -> None:
    every = points()
    assert {f.verdict for f in every} == {MEETS}
    numbered = {f.source.removeprefix("29 CFR 1926.502(k)") for f in every}
    assert numbered == {"", *(f"({n})" for n in range(1, 11))}


@pytest.mark.parametrize(("point", "changes"), POINTS)
def test_point_left_out_is_short(point: str, changes: Changes) -> None:
    short = [f for f in points(changes) if f.verdict is SHORT]
    # (8) is asked only where (6) is missing too: no other measure, then a monitor
    expected = {"(6)", "(8)"} if point == "(8)" else {point}
    assert {f.source.removeprefix("29 CFR 1926.502(k)") for f in short} == expected
    assert all(
        "not stated" in str(f.value) or "no reason" in str(f.value) or "ground" in str(f.value) for f in short
    )
    assert not assessed(ALTERNATIVE | changes).all_released
    assert assessed(ALTERNATIVE | changes).draft


def test_site_work_plan_has_no_alternative_points() -> None:
    assert not [f for f in assessed(BARE).findings if f.id == "plan.alternative"]


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ({}, False),
        ({f"{PLAN}.locations": []}, True),
        ({f"{PLACE}.reasons": []}, True),
        ({f"{PLACE}.reasons.2": REMOVE}, True),
    ],
)
def test_plan_without_its_reasons_may_not_be_printed(changes: Any, missing: bool) -> None:
    assert missing_reasons(alternative(changes)) is missing
