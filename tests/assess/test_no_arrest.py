"""Falls that nothing arrests: short, in words, with no infinite number anywhere."""

from __future__ import annotations

import json
import math

import pytest

from planforge.assess.finding import Verdict
from planforge.assess.report import records, report
from planforge.units import NO_FINITE_VALUE

from .jobs import Changes, assessed, raw

TOO_WEAK = "the absorber's force does not exceed the worker's weight"
SPENT = "stroke is spent on a rigid anchorage"


def _every_connector(changes: Changes) -> Changes:
    ids = [connector["id"] for connector in raw()["equipment"]["connectors"]]
    return {f"equipment.connectors.{i}.{field}": value for i in ids for field, value in changes.items()}


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        (_every_connector({"lowest_force": "240 lbf", "highest_force": "255 lbf"}), TOO_WEAK),
        (_every_connector({"stroke": "3 in"}), SPENT),
    ],
    ids=["too weak", "stroke spent"],
)
def test_infinite_load_is_short_in_words(changes: Changes, why: str) -> None:
    assessment = assessed({**changes, "user.mass": "300 lb"})
    checks = ("arrest.force", "anchor.strength", "anchor.load_path")
    wordy = [f for f in assessment.findings if f.id in checks and f.value == NO_FINITE_VALUE]
    assert {f.id for f in wordy} == set(checks)
    assert all(f.verdict is Verdict.SHORT and why in f.note for f in wordy)
    numbers = [v for f in assessment.findings for v in (f.value, f.limit) if isinstance(v, float)]
    assert all(math.isfinite(v) for v in numbers)
    assert NO_FINITE_VALUE in "\n".join(report(assessment, width=160)).replace("\n", " ")
    json.dumps(records(assessment), allow_nan=False)
