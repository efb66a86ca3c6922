"""What a plan must say of its own changes, and of the hand-over from one system to the next."""

from __future__ import annotations

from planforge.assess.assessment import assess
from planforge.assess.finding import Verdict

from .jobs import demo, finding


def test_changes_and_hand_over_written() -> None:
    assessment = assess(demo("heron_lot_14"))
    assert finding(assessment, "plan.changes", "plan").verdict is Verdict.MEETS
    assert finding(assessment, "plan.hand_over", "plan").verdict is Verdict.MEETS


def test_neither_written_asks_for_both_and_names_the_hazards() -> None:
    job = demo("heron_lot_14").model_copy(update={"changes": None, "hand_overs": []})
    assessment = assess(job)
    assert finding(assessment, "plan.changes", "plan").verdict is Verdict.CONFIRM
    open_hand_over = finding(assessment, "plan.hand_over", "plan")
    assert open_hand_over.verdict is Verdict.CONFIRM
    assert "the control changes at H" in open_hand_over.note


def test_no_hand_over_is_asked_for_where_no_control_changes() -> None:
    assessment = assess(demo("linnet_lot_3_trusses"))
    assert finding(assessment, "plan.hand_over", "plan").verdict is Verdict.NOT_APPLICABLE
