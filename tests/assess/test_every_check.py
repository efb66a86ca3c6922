"""Every check, once as it is met (or open by its nature) and once turned by one change of the job."""

from __future__ import annotations

import pytest

from planforge.assess.checks import CHECKS
from planforge.assess.finding import Verdict

from . import cases_kit, cases_lines, cases_load_path, cases_lot, cases_overhead, cases_proof, cases_wind
from .case import Case
from .jobs import assessed, finding

CASES = [
    case
    for part in (
        cases_lot,
        cases_lines,
        cases_kit,
        cases_load_path,
        cases_overhead,
        cases_wind,
        cases_proof,
    )
    for case in part.CASES
]

BY_NATURE_OPEN = {
    "line.posts",
    "anchor.load_path",
    "anchor.opposite_line",
    "base.strength",
    "wind.unguyed",
}
"""Never more than `confirm`: the qualified person decides. What stands on a base of its own is never released
without the qualified person's signature, since impact on its anchors is for the engineer to judge."""

ELSEWHERE = {
    "plan.alternative": "test_plan_kind.py",
    "plan.changes": "test_plan_changes.py",
    "plan.hand_over": "test_plan_changes.py",
    "plan.variance": "test_variances.py",
    "briefing.language": "test_briefing.py",
    "briefing.translated": "test_briefing.py",
    "line.second_opinion": "test_second_opinion.py",
    "house.words": "test_house.py",
    "house.places": "test_house.py",
    "house.marks": "test_house.py",
    "house.bases": "test_house.py",
    "cover.round_posts": "test_post_holes.py",
}
"""Several findings at one place, or turned by no single value: tested in a file of its own."""


@pytest.mark.parametrize("case", CASES, ids=str)
def test_change_turns_the_check(case: Case) -> None:
    before = assessed(case.base)
    was = finding(before, case.check, case.where, case.phase)
    now = finding(assessed(case.base | case.changes), case.check, case.where, case.phase)
    assert was.verdict is case.was
    assert now.verdict is case.verdict
    assert now.value == case.expected("value", before)
    assert now.limit == case.expected("limit", before)
    assert now.decides, "someone decides"
    assert now.source, "a source is named"


def test_every_check_is_exercised() -> None:
    turned = {c.check for c in CASES if c.verdict in (Verdict.SHORT, Verdict.CONFIRM)}
    assert turned | set(ELSEWHERE) == set(CHECKS)
    met = {c.check for c in CASES if c.was is Verdict.MEETS}
    assert met | BY_NATURE_OPEN | set(ELSEWHERE) == set(CHECKS)
