"""What can be chosen: a line between two posts or an anchorage on one, with its margins and what it covers.

A margin is what is available over what is asked, less one: strength over the factored load, clearance below
the D-ring over what is needed. 0 just meets the limit. All are taken from `assess`, by its own checks.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from planforge.assess.finding import Finding, Verdict
from planforge.job.layout import Anchor, Lifeline
from planforge.job.task import Stance
from planforge.proposal.sites import Failure
from planforge.proposal.spans import Stretch

MARGINS = (
    "line.rope_strength",
    "line.end_strength",
    "line.posts",
    "line.absorber",
    "guy.strength",
    "guy.plate",
    "post.strength",
    "post.joint",
    "base.strength",
    "anchor.strength",
    "arrest.clearance",
)
"""The checks whose margins are weighed against each other; all others only have to hold."""


@dataclass(frozen=True)
class Margin:
    """The least of some margins and the check that gives it."""

    value: float
    check: str

    def least(self, other: Margin) -> Margin:
        """The smaller of two."""
        return other if other.value < self.value else self


UNBOUNDED = Margin(float("inf"), "")


@dataclass(frozen=True)
class Service:
    """What a candidate gives: a stretch of edge covered in one phase, with the clearance's margin there."""

    stretch: Stretch
    phase: str
    margin: Margin


@dataclass(frozen=True)
class Tied:
    """A stance of the candidate's, for one work at one stretch."""

    task: str
    stance: Stance
    stretch: Stretch


@dataclass(frozen=True)
class Candidate:
    """A line or an anchorage that can be chosen."""

    thing: Lifeline | Anchor
    sites: tuple[int, ...]
    margin: Margin  # its own, the posts' under it alone included
    services: tuple[Service, ...]
    stances: tuple[Tied, ...] = ()
    loads: tuple[float, ...] = ()  # N at each of its sites, the arrest's own
    down: float = 0.0  # N, the workers' own force
    across: tuple[float, float] = (0.0, 0.0)  # N, its part to the left and right of the line's run
    failures: tuple[Failure, ...] = field(default=())
    pinned: bool = False  # it is the layout's own and stays

    @property
    def id(self) -> str:
        """The id of the line or anchorage."""
        return self.thing.id

    @property
    def is_line(self) -> bool:
        """True for a line."""
        return isinstance(self.thing, Lifeline)


def margin_of(finding: Finding) -> Margin:
    """A finding's margin as a ratio less one; unbounded for what is not weighed or has no numbers."""
    value, limit = finding.value, finding.limit
    if finding.id not in MARGINS or not isinstance(value, float) or not isinstance(limit, float):
        return UNBOUNDED
    high, low = (limit, value) if finding.sense == "at most" else (value, limit)
    if low <= 0.0:
        return UNBOUNDED if high >= 0.0 else Margin(-1.0, finding.id)
    return Margin(high / low - 1.0, finding.id)


def least_margin(findings: list[Finding]) -> Margin:
    """The least margin of several findings."""
    margin = UNBOUNDED
    for finding in findings:
        margin = margin.least(margin_of(finding))
    return margin


def failures_of(findings: list[Finding]) -> list[Failure]:
    """What is short among findings, as constraints that fail."""
    return [
        Failure(
            f.id,
            f.where,
            f.value if isinstance(f.value, float) else None,
            f.limit if isinstance(f.limit, float) else None,
            f.unit,
        )
        for f in findings
        if f.verdict is Verdict.SHORT
    ]
