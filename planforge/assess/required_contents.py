"""The code profile against the plan: contents required, systems barred, limits not read in its text."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from planforge.assess.finding import Finding, Verdict, found, stated, worst
from planforge.assess.index import Index
from planforge.codes.profile import Profile, Requirement
from planforge.job.cross_references import stated as fields_stated


def required_contents(index: Index, profile: Profile) -> list[Finding]:
    """A finding for each requirement that asks for fields of the job, and one for the systems it bars."""
    findings = [_contents(index, r) for r in profile.requirements if r.states]
    if profile.barred:
        findings.append(_barred(index, profile))
    return findings


def _contents(index: Index, requirement: Requirement) -> Finding:
    missing = [field for field in requirement.states if not _present(index, field)]
    return found(
        "code.contents",
        requirement.id,
        stated(not missing),
        value="stated" if not missing else "not stated: " + ", ".join(missing),
        limit=requirement.says,
        source=requirement.source,
        note="" if not missing else "State these fields of the job; the code asks for them in the plan.",
    )


def _present(index: Index, field: str) -> bool:
    return any(value not in (None, [], "") for _, value in fields_stated(index.job, field))


def _barred(index: Index, profile: Profile) -> Finding:
    used = [h.id for h in index.job.hazards if any(c.system.value in profile.barred for c in h.controls)]
    barred = ", ".join(profile.barred)
    return found(
        "code.barred",
        "lot",
        stated(not used),
        value="none used" if not used else f"{barred}: at {', '.join(used)}",
        limit=f"not used: {barred}",
        source=profile.title,
        note="" if not used else "Choose another system at these hazards.",
    )


def hold_unsettled(findings: Iterable[Finding], profile: Profile) -> list[Finding]:
    """What rests on a limit that nobody read in the governing text is open, never `meets`."""
    unsettled = profile.unsettled()
    return [
        replace(f, verdict=Verdict.CONFIRM)
        if f.verdict is Verdict.MEETS and any(source in f.source for source in unsettled)
        else f
        for f in findings
    ]


def requirement_verdict(requirement: Requirement, findings: Iterable[Finding]) -> Verdict:
    """The worst of the checks that speak for a requirement.

    `confirm` where no check speaks for it, or where its text was not read in the regulation itself.
    """
    own = [
        f.verdict
        for f in findings
        if f.id in requirement.checks or (f.id == "code.contents" and f.where == requirement.id)
    ]
    if not own:
        asked = requirement.checks or requirement.states
        return Verdict.NOT_APPLICABLE if asked else Verdict.CONFIRM
    outcome = worst(*own)
    return Verdict.CONFIRM if outcome is Verdict.MEETS and not requirement.settled else outcome
