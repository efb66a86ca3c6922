"""The hazard register against the layout: a system for each hazard, guardrails, covers, zones."""

from __future__ import annotations

from collections.abc import Callable

from planforge.assess.drop_offs import Found
from planforge.assess.fall_height import ALLOWED_OFF, FallHeight, fall_height
from planforge.assess.finding import Finding, Verdict, found, keeps, stated, worst
from planforge.assess.index import Index, by_id
from planforge.assess.post_holes import cover_findings, hole_findings
from planforge.codes.profile import Profile
from planforge.job.hazard import Control, Hazard, System
from planforge.job.layout import Anchor, Guardrail, Lifeline
from planforge.units import Display

_ORDER = list(System)
_NEED_NO_THING = {System.WORK_FROM_BELOW, System.SCAFFOLD_OR_LIFT, System.PROCEDURE, System.SAFETY_NET}
_NO_FALL = {"falling objects", "erection of the system"}


def assess_hazards(index: Index, profile: Profile, found_edges: Found) -> list[Finding]:
    """Every check of the register and of what guards without a tie-off."""
    job = index.job
    findings: list[Finding] = []
    for hazard in job.hazards:
        findings += _hazard(index, profile, hazard, found_edges)
    findings += _idle(index)
    findings += _registered(index)
    for rail in job.layout.guardrails:
        findings += _guardrail(rail, profile)
    for cover in job.layout.covers:
        findings += cover_findings(cover.id, cover, profile)
    findings += hole_findings(index, profile)
    findings.append(_falling_objects(index))
    return findings


def _hazard(index: Index, profile: Profile, hazard: Hazard, found_edges: Found) -> list[Finding]:
    reckoned = fall_height(index, hazard, found_edges) if hazard.kind not in _NO_FALL else None
    findings = []
    if hazard.kind not in _NO_FALL:
        findings.append(_height(hazard, reckoned, profile, Display(index.job.site.units).feet))
    for phase in index.shared_phases(hazard.phases):
        findings.append(_guarded(hazard, reckoned, phase, profile))
    for control in hazard.controls:
        findings.append(_hierarchy(hazard, control))
        findings += _in_place(index, hazard, control)
    return findings


def _height(
    hazard: Hazard, reckoned: FallHeight | None, profile: Profile, feet: Callable[[float], str]
) -> Finding:
    """Stated, and no less than the layout gives, where it gives one."""
    trigger = profile.limits["trigger_height"]
    said = hazard.height
    if said is None:
        return found(
            "hazard.height",
            hazard.id,
            Verdict.SHORT,
            value="not stated",
            limit=trigger.value,
            source=trigger.source,
            note="State the height of the fall.",
        )
    if reckoned is not None and keeps(said, reckoned.drop - ALLOWED_OFF, "at least") is Verdict.SHORT:
        return found(
            "hazard.height",
            hazard.id,
            Verdict.SHORT,
            value=said,
            limit=reckoned.drop,
            unit="m",
            sense="at least",
            source=f"the building's geometry and levels; {trigger.source}",
            note=f"From the edge down to {reckoned.onto} is farther than stated: correct the height, or the "
            "levels.",
        )
    note = ""
    if reckoned is not None:
        down = f"down to {reckoned.onto}"
        note = f"By geometry and levels: {down}."
        if not _agrees(said, reckoned):
            note = f"Overstated: by geometry and levels it is {feet(reckoned.drop)} {down}."
    return found(
        "hazard.height",
        hazard.id,
        Verdict.MEETS,
        value=said,
        limit=trigger.value,
        unit="m",
        source=trigger.source,
        note=note,
    )


def _agrees(said: float, reckoned: FallHeight) -> bool:
    return abs(said - reckoned.drop) <= ALLOWED_OFF


def _guarded(hazard: Hazard, reckoned: FallHeight | None, phase: str, profile: Profile) -> Finding:
    trigger = profile.limits["trigger_height"]
    guards = [c for c in hazard.controls if not c.phases or phase in c.phases]
    height = hazard.height
    if height is not None and reckoned is not None:
        height = max(height, reckoned.drop)
    below = height is not None and keeps(height, trigger.value, "at least") is Verdict.SHORT
    low = below and hazard.kind not in _NO_FALL
    if guards:
        verdict, value = Verdict.MEETS, ", ".join(c.system.value for c in guards)
    elif low and hazard.kind not in ("floor hole", "stair opening"):
        verdict, value = Verdict.NOT_APPLICABLE, "below the trigger height"
    else:
        verdict, value = Verdict.SHORT, "nothing guards it"
    return found(
        "hazard.controls",
        hazard.id,
        verdict,
        phase=phase,
        value=value,
        source=trigger.source,
        note="Add a control for this phase, with its reason." if verdict is Verdict.SHORT else "",
    )


def _hierarchy(hazard: Hazard, control: Control) -> Finding:
    above = _ORDER[: _ORDER.index(control.system)]
    others = {c.system for c in hazard.controls}
    needed = [
        s for s in (System.GUARDRAIL, System.COVER, System.SCAFFOLD_OR_LIFT) if s in above and s not in others
    ]
    if hazard.kind not in ("floor hole", "stair opening"):
        needed = [s for s in needed if s is not System.COVER]
    if hazard.kind in _NO_FALL:
        needed = []
    said = {p.system for p in control.passed_over}
    missing = [s.value for s in needed if s not in said]
    return found(
        "hazard.hierarchy",
        hazard.id,
        stated(not missing),
        value=control.system.value if not missing else "no reason for passing over " + ", ".join(missing),
        note="" if not missing else "State under passed_over why each does not serve here.",
    )


def _in_place(index: Index, hazard: Hazard, control: Control) -> list[Finding]:
    layout = index.job.layout
    things: dict[str, list[str]] = {
        thing.id: thing.phases
        for group in (layout.lines, layout.anchors, layout.guardrails, layout.covers, layout.zones)
        for thing in group
    }
    wanted = index.shared_phases(hazard.phases, control.phases)
    if not control.uses:
        if control.system in _NEED_NO_THING:
            return []
        return [
            found(
                "hazard.in_place",
                hazard.id,
                Verdict.SHORT,
                value=f"{control.system.value}: nothing on the layout is named",
                note="Name under uses what carries it out.",
            )
        ]
    findings = []
    for use in control.uses:
        standing = things.get(use, [])
        absent = [p for p in wanted if standing and p not in standing]
        findings.append(
            found(
                "hazard.in_place",
                f"{hazard.id} · {use}",
                stated(not absent),
                value="stands in each phase" if not absent else "does not stand in " + ", ".join(absent),
                note=""
                if not absent
                else f"Let {use} stand in these phases, or choose another control for them.",
            )
        )
    return findings


def _idle(index: Index) -> list[Finding]:
    """Each line and anchor guards a hazard in every phase in which it stands: who sees one ties on to it."""
    guards: dict[str, set[str]] = {}
    for hazard in index.job.hazards:
        for control in hazard.controls:
            for use in control.uses:
                guards.setdefault(use, set()).update(index.shared_phases(hazard.phases, control.phases))
    findings = []
    things: list[Lifeline | Anchor] = [*index.job.layout.lines, *index.job.layout.anchors]
    for thing in things:
        idle = [p for p in index.shared_phases(thing.phases) if p not in guards.get(thing.id, set())]
        findings.append(
            found(
                "hazard.idle",
                thing.id,
                Verdict.CONFIRM if idle else Verdict.MEETS,
                value="no hazard names it in " + ", ".join(idle) if idle else "guards in each phase",
                note="Name it at the hazard it guards, or let it stand only in phases in which it guards one."
                if idle
                else "",
            )
        )
    return findings


def _registered(index: Index) -> list[Finding]:
    layout, hazards = index.job.layout, index.job.hazards
    edges = {h.edge for h in hazards}
    openings = {h.opening for h in hazards}
    places = [(e.id, e.id in edges) for e in layout.edges] + [
        (o.id, o.id in openings) for o in layout.openings
    ]
    return [
        found(
            "edge.registered",
            place,
            stated(known),
            value="in the register" if known else "not in the register",
            note="" if known else "Add a hazard for it, or strike it from the layout.",
        )
        for place, known in places
    ]


def _guardrail(rail: Guardrail, profile: Profile) -> list[Finding]:
    low, high, gap = (profile.limits[k] for k in ("guardrail_top_low", "guardrail_top_high", "guardrail_gap"))
    inside = worst(keeps(rail.top, low.value, "at least"), keeps(rail.top, high.value, "at most"))
    low_binds = rail.top < (low.value + high.value) / 2
    middle = rail.middle
    widest = max(middle - (rail.toeboard or 0.0), rail.top - middle) if middle is not None else rail.top
    open_gap = keeps(widest, gap.value, "at most")
    # the rule bounds balusters at 19 in and puts a midrail midway, which leaves up to 22.5 in
    if middle is not None and open_gap is Verdict.SHORT and abs(middle - rail.top / 2) <= 0.0508:
        open_gap = Verdict.MEETS
    return [
        found(
            "guardrail.height",
            rail.id,
            inside,
            value=rail.top,
            limit=low.value if low_binds else high.value,
            unit="m",
            sense="at least" if low_binds else "at most",
            source="; ".join(dict.fromkeys((low.source, high.source))),
        ),
        found(
            "guardrail.gap",
            rail.id,
            open_gap,
            value="midrail midway" if middle is not None and open_gap is Verdict.MEETS else widest,
            limit="midrail midway, or gaps of 19 in",
            unit="m" if open_gap is Verdict.SHORT else "",
            source=gap.source,
            note="" if open_gap is Verdict.MEETS else "Put a midrail midway or close the gap.",
        ),
        found(
            "guardrail.strength",
            rail.id,
            stated(rail.strength, otherwise=Verdict.CONFIRM),
            value=rail.strength or "not stated",
            limit="200 lbf at the top edge",
        ),
    ]


def _falling_objects(index: Index) -> Finding:
    zones = [z.id for z in index.job.layout.zones if z.kind == "falling objects"]
    controls = by_id(h for h in index.job.hazards if h.kind == "falling objects" and h.controls)
    named = zones + list(controls)
    return found(
        "zones.falling_objects",
        "lot",
        stated(named),
        value=", ".join(named) or "nothing stated",
        note="" if named else "Draw a falling-object zone under layout.zones, or register the hazard.",
    )
