"""Which kind of plan each part falls under, and the points of an alternative plan."""

from __future__ import annotations

from planforge.assess.finding import Finding, Verdict, found, stated
from planforge.assess.index import Index
from planforge.job.hazard import Hazard, System
from planforge.job.plan import AlternativeLocation, AlternativePlan, PlanKind, WorkPart

_SYSTEMS = ("guardrail", "personal fall arrest", "safety net")


def assess_plan(index: Index) -> list[Finding]:
    """The plan's own checks: kind, alternative points, keeping, history, signatures."""
    plan, job = index.job.plan, index.job
    covered = {phase for part in job.work_parts for phase in part.phases}
    findings = [
        found(
            "plan.kind",
            phase.id,
            stated(phase.id in covered),
            value="stated" if phase.id in covered else "not stated",
            note=""
            if phase.id in covered
            else "Name this phase in one of work_parts, with its kind of plan.",
        )
        for phase in job.phases
    ]
    for part in job.work_parts:
        if part.kind is PlanKind.ALTERNATIVE_PLAN:
            findings += alternative_points(part)
    findings.append(
        found(
            "plan.held_at",
            "plan",
            stated(plan.held_at, otherwise=Verdict.CONFIRM),
            value=plan.held_at or "not stated",
        )
    )
    noted = {note.revision for note in plan.history}
    missing = [str(r) for r in range(plan.revision + 1) if r not in noted and (r or plan.revision)]
    findings.append(
        found(
            "plan.history",
            "plan",
            stated(not missing, otherwise=Verdict.CONFIRM),
            value="complete" if not missing else "no line for revision " + ", ".join(missing),
        )
    )
    findings += [_changes(index), _hand_over(index)]
    named = [s for s in job.sign_offs or [] if s.person]
    findings.append(
        found(
            "plan.sign_offs",
            "plan",
            stated(named),
            value=", ".join(f"{s.role}: {index.person(s.person)}" for s in named) or "nobody named",
            note="" if named else "List under sign_offs who signs this lot's plan, by role.",
        )
    )
    return findings


def _changes(index: Index) -> Finding:
    written = index.job.changes
    return found(
        "plan.changes",
        "plan",
        stated(written, otherwise=Verdict.CONFIRM),
        value="written" if written else "not written",
        note="" if written else "Write the part changes.",
    )


def _hand_over(index: Index) -> Finding:
    """Asked for only where a hazard's systems differ between its phases."""
    changing = [h.id for h in index.job.hazards if len({_systems(h, phase) for phase in h.phases}) > 1]
    if not changing:
        note = "No control changes between phases."
        return found("plan.hand_over", "plan", Verdict.NOT_APPLICABLE, note=note)
    written = index.job.hand_overs
    return found(
        "plan.hand_over",
        "plan",
        stated(written, otherwise=Verdict.CONFIRM),
        value=f"{len(written)} written" if written else "not written",
        note="" if written else f"Write hand_overs: the control changes at {', '.join(changing)}.",
    )


def _systems(hazard: Hazard, phase: str) -> frozenset[System]:
    return frozenset(c.system for c in hazard.controls if not c.phases or phase in c.phases)


def alternative_points(part: WorkPart) -> list[Finding]:
    """The ten points of 29 CFR 1926.502(k), each a finding."""
    plan = part.alternative
    if plan is None:
        return [_point(part.id, "", None, "the points of the alternative plan")]
    findings = [
        _point(part.id, "(k)", plan.work, "eligible work"),
        _point(
            part.id, "(1)", plan.qualified_person and plan.qualification, "qualified person and qualification"
        ),
        _point(part.id, "(2)", plan.changes_approved_by, "who approves changes"),
        _point(part.id, "(3)", plan.copy_held_at, "where the copy is kept"),
        _point(part.id, "(4)", plan.competent_person, "competent person"),
        _point(part.id, "(7)", plan.locations, "locations"),
        _point(part.id, "(10)", plan.incident_review, "review after an incident"),
    ]
    for location in plan.locations:
        findings += _location_points(part.id, location)
    return findings


def _location_points(part: str, location: AlternativeLocation) -> list[Finding]:
    where = f"{part} · {location.id}"
    given = {r.system.lower() for r in location.reasons}
    missing = [s for s in _SYSTEMS if s not in given]
    bad = [r.system for r in location.reasons if r.ground.lower() not in ("infeasible", "greater hazard")]
    reasons = not missing and not bad
    said = "no reason for " + ", ".join(missing) if missing else "ground must be infeasible or greater hazard"
    return [
        _point(where, "(5)", reasons and "a reason for each system", said),
        _point(where, "(6)", location.other_measures, "other measures considered"),
        _point(where, "(8)", location.other_measures or location.monitor, "safety monitor"),
        _point(where, "(9)", location.workers, "the only persons who may enter"),
    ]


def _point(where: str, point: str, value: object, wanted: str) -> Finding:
    return found(
        "plan.alternative",
        where,
        stated(value),
        value=f"{wanted}: stated" if value else f"{wanted}: not stated",
        source="29 CFR 1926.502(k)" + (point if point != "(k)" else ""),
    )


def missing_reasons(plan: AlternativePlan) -> bool:
    """True where an alternative plan lacks a location or a reason at one, so that none may be printed."""
    return not plan.locations or any(
        f.verdict is Verdict.SHORT for place in plan.locations for f in _location_points("", place)[:1]
    )
