"""One change of the small lot and what it does to one check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.finding import Verdict

from .jobs import Changes

MEETS, SHORT, CONFIRM, NOT_APPLICABLE = (
    Verdict.MEETS,
    Verdict.SHORT,
    Verdict.CONFIRM,
    Verdict.NOT_APPLICABLE,
)

BARE: Changes = {"layout.lines": [], "layout.anchors": [], "tasks": [], "releases": []}
"""Takes lines and anchors away: for checks that nothing computed bears on."""


def same(expected: Any) -> Any:
    """A number is compared up to float noise; words and other matchers as they are."""
    return pytest.approx(expected, rel=1e-6) if isinstance(expected, float) else expected


@dataclass(frozen=True)
class Case:
    """A check at a place, before a change and after it."""

    check: str
    where: str
    changes: Changes
    verdict: Verdict
    value: Any
    limit: Any = None
    """``value`` and ``limit``: SI, or a function of the assessment before the change."""
    was: Verdict = MEETS
    base: Changes = field(default_factory=dict)
    phase: str | None = None

    def __str__(self) -> str:
        return f"{self.check} {self.verdict.value}: {', '.join(self.changes)}"

    def expected(self, which: str, before: Assessment) -> Any:
        given = getattr(self, which)
        return same(given(before) if isinstance(given, Callable) else given)  # type: ignore[arg-type]
