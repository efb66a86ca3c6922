"""Recorded variances: which short items they accept, and which of them accept nothing.

A variance prints beside the check, never in its place. Only the plan's qualified person can record
one, and only for a check that is open to it.
"""

from __future__ import annotations

from dataclasses import replace

from planforge.assess.checks import CHECKS
from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.job.people import Variance


def accept(index: Index, findings: list[Finding]) -> list[Finding]:
    """The findings with each valid variance beside the short item it accepts, and a finding for every dud."""
    duds = {n: why for n, v in enumerate(index.job.variances) if (why := _dud(index, v, findings))}
    valid = {(v.check, v.where): v for n, v in enumerate(index.job.variances) if n not in duds}
    out = [
        replace(f, variance=valid[f.id, f.where])
        if f.verdict is Verdict.SHORT and (f.id, f.where) in valid
        else f
        for f in findings
    ]
    for n, variance in enumerate(index.job.variances):
        if n in duds:
            out.append(
                found(
                    "plan.variance",
                    f"{variance.check} · {variance.where}",
                    Verdict.SHORT,
                    value="accepts nothing",
                    note=duds[n],
                )
            )
    return out


def _dud(index: Index, variance: Variance, findings: list[Finding]) -> str:
    """Why a variance accepts nothing, with the remedy; empty where it accepts something."""
    if variance.check not in CHECKS:
        return f"There is no check {variance.check!r}; planforge check lists the ids in brackets."
    if not CHECKS[variance.check].variance:
        return "This check is never open to a variance: mend what is short."
    if variance.by != index.job.roles.qualified_person:
        return "Only the plan's qualified person can record one (roles.qualified_person)."
    places = [f.where for f in findings if f.id == variance.check and f.verdict is Verdict.SHORT]
    if variance.where not in places:
        known = ", ".join(dict.fromkeys(places)) or "none"
        return f"Nothing is short there; short places of this check: {known}. Strike the variance."
    return ""
