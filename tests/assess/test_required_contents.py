"""What a code profile requires, bars and leaves open, on the small lot."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planforge.assess.finding import Verdict
from planforge.assess.required_contents import requirement_verdict
from planforge.codes.profile import load_profile

from .jobs import REMOVE, assessed, finding

WASHINGTON = {"site.code_profile": "us-washington"}
OREGON = {"site.code_profile": "us-oregon"}
ZONE = {
    "hazards.H1.controls.0.system": "controlled access zone",
    "site.code_profile": "us-oregon",
}


def test_missing_content_is_short_and_named() -> None:
    """WAC 296-880-10020 asks for the rescue of an injured worker (state form of 2020)."""
    assert finding(assessed(WASHINGTON), "code.contents", "wa_rescue").verdict is Verdict.MEETS
    missing = finding(assessed(WASHINGTON | {"rescue.steps": REMOVE}), "code.contents", "wa_rescue")
    assert missing.verdict is Verdict.SHORT
    assert missing.value == "not stated: rescue.steps"
    assert "WAC 296-880-10020" in missing.source


def test_missing_content_makes_a_draft_that_no_variance_lifts() -> None:
    assert assessed(WASHINGTON | {"rescue.steps": REMOVE}).draft


def test_barred_system_is_short() -> None:
    assert (
        finding(assessed({"site.code_profile": "us-oregon"}), "code.barred", "lot").verdict is Verdict.MEETS
    )
    used = finding(assessed(ZONE), "code.barred", "lot")
    assert used.verdict is Verdict.SHORT
    assert used.value == "controlled access zone: at H1"


def test_limit_taken_over_is_open_and_its_own_is_not() -> None:
    federal, washington = assessed(), assessed(WASHINGTON)
    taken = [f for f in washington.findings if f.id == "cover.strength"]
    assert taken
    assert {f.verdict for f in taken} == {Verdict.CONFIRM}
    assert {f.verdict for f in federal.findings if f.id == "cover.strength"} == {Verdict.MEETS}
    for own in ("arrest.force", "arrest.deceleration"):
        assert {f.verdict for f in washington.findings if f.id == own} == {Verdict.MEETS}
        assert {f.verdict for f in assessed(OREGON).findings if f.id == own} == {Verdict.CONFIRM}


def test_ranking_below_the_guardrail_stays_with_a_person() -> None:
    """Ontario and British Columbia rank restraint before arrest, which no check of planforge's asks about."""
    for profile, first, then in (
        ("ca-ontario", "on_rank", "on_next"),
        ("ca-british-columbia", "bc_rank", "bc_next"),
    ):
        closed = [replace(f, verdict=Verdict.MEETS) for f in assessed().findings]
        asked = {r.id: r for r in load_profile(profile).requirements}
        assert requirement_verdict(asked[first], closed) is Verdict.MEETS
        assert requirement_verdict(asked[then], closed) is Verdict.CONFIRM


def test_alternative_plan_is_asked_for_only_where_there_is_one() -> None:
    asked = next(r for r in load_profile("us-federal").requirements if r.id == "alternative")
    findings = assessed().findings
    assert requirement_verdict(asked, findings) is Verdict.NOT_APPLICABLE
    point = replace(findings[0], id="plan.alternative", verdict=Verdict.SHORT)
    assert requirement_verdict(asked, [*findings, point]) is Verdict.SHORT


@pytest.mark.parametrize(
    ("requirement", "check"),
    [
        ("anchorages", "anchor.load_path"),
        ("arrest", "arrest.swing"),
        ("lifeline", "base.strength"),
        ("lifeline", "guy.bracing"),
        ("lifeline", "guy.plate"),
        ("lifeline", "post.reckoned"),
        ("rescue", "rescue.people"),
        ("rescue", "rescue.arrival"),
        ("rescue", "site.address"),
        ("components", "kit.strength"),
        ("users", "arrest.user_mass"),
    ],
)
def test_federal_requirement_is_open_where_one_check_of_it_is(requirement: str, check: str) -> None:
    asked = next(r for r in load_profile("us-federal").requirements if r.id == requirement)
    closed = [replace(f, verdict=Verdict.MEETS) for f in assessed().findings]
    assert requirement_verdict(asked, closed) is Verdict.MEETS
    one = [replace(f, verdict=Verdict.CONFIRM) if f.id == check else f for f in closed]
    assert requirement_verdict(asked, one) is Verdict.CONFIRM


def test_requirement_takes_the_worst_of_its_checks() -> None:
    washington = assessed(WASHINGTON | {"rescue.steps": REMOVE})
    by_id = {r.id: r for r in load_profile("us-washington").requirements}
    assert requirement_verdict(by_id["wa_rescue"], washington.findings) is Verdict.SHORT
    # read in a secondary source only: never settled
    assert requirement_verdict(by_id["wa_hazards"], assessed(WASHINGTON).findings) is Verdict.CONFIRM
    federal = {r.id: r for r in load_profile("us-federal").requirements}
    assert requirement_verdict(federal["surface"], assessed().findings) is Verdict.CONFIRM
    assert requirement_verdict(federal["falling_objects"], assessed().findings) is Verdict.MEETS
