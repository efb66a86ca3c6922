"""Where nobody drills, and why: what is not located, not stated, not checked or short holds holes back.

Every drawing of holes asks here, so that none gives what another withholds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planforge.assess.assessment import Assessment
from planforge.assess.base_model import Base, bases
from planforge.assess.finding import Finding, Verdict
from planforge.assess.post_model import post_parts

NO_DRILLING = "NOBODY DRILLS"
DRILLING_CHECKS = ("base.contents", "base.depth", "base.layout")
"""Where one of these is short at a base, its holes' coordinates are not printed."""


@dataclass(frozen=True)
class BaseDrilling:
    """A base on the slab, why nobody drills there, and what was found of it."""

    base: Base
    reasons: tuple[str, ...]  # empty where its holes are given
    findings: tuple[Finding, ...]

    @property
    def drilled(self) -> bool:
        """True where its holes are given."""
        return not self.reasons


def base_drilling(assessment: Assessment) -> tuple[BaseDrilling, ...]:
    """Every base that stands on the slab, checked or not."""
    index = assessment.index
    sheet = sheet_reasons(assessment)
    checked = {b.id for b in assessment.bases}
    found = []
    for base in bases(index, [post_parts(index, post) for post in assessment.job.layout.posts]):
        own = tuple(
            f
            for f in assessment.findings
            if f.id in DRILLING_CHECKS and f.where.partition(" · ")[0] == base.id
        )
        reasons = sheet or base_reasons(base, own, checked=base.id in checked)
        found.append(BaseDrilling(base, reasons, own))
    return tuple(found)


def barring(assessment: Assessment) -> tuple[Finding, ...]:
    """What bars every hole: what is in the slab is not located, or the scan that located it holds no more."""
    return tuple(
        f
        for f in assessment.findings
        if (f.id == "slab.located" and f.verdict is not Verdict.MEETS)
        or (f.id == "slab.scan" and f.verdict is Verdict.SHORT)
    )


def sheet_reasons(assessment: Assessment) -> tuple[str, ...]:
    """Why nobody drills anywhere."""
    return tuple(_sentences(f) for f in barring(assessment))


def base_reasons(base: Base, findings: Sequence[Finding], *, checked: bool) -> tuple[str, ...]:
    """Why nobody drills at one base: data that are missing, and checks that are short."""
    reasons = []
    if base.holes is None:
        reasons.append("the spacing of its holes is not stated")
    if base.anchor is None:
        reasons.append("its base anchor is not stated")
    if not checked:
        reasons.append("it was not checked: it carries no line or anchorage")
    for finding in findings:
        if finding.verdict is Verdict.SHORT and finding.variance is None:
            place = finding.where.partition(" · ")[2]
            reasons.append(f"{finding.title}{f' ({place})' if place else ''} is short")
    return tuple(dict.fromkeys(reasons))


def _sentences(finding: Finding) -> str:
    value = str(finding.value or "").rstrip(".")
    told = f"{value[0].upper()}{value[1:]}." if value else ""
    return " ".join(part for part in (told, finding.note) if part)
