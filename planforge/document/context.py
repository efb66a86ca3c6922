"""Everything the templates print, by name: one mapping for all parts of the packet."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from planforge.assess.assessment import Assessment
from planforge.assess.below import FALL_RADIUS
from planforge.assess.house import house_words
from planforge.assess.people import NEEDED_ROLES, last_day
from planforge.assess.post_model import ASSUMED_SOFT_END
from planforge.assess.rescue_reach import hands
from planforge.assess.stances import SEQUENCE_APART
from planforge.codes.profile import common_practice
from planforge.document import context_bases as bases
from planforge.document import context_calculations as calculations
from planforge.document import context_checks as checks
from planforge.document import context_kit as kit
from planforge.document import context_lines as lines
from planforge.document import context_load_path as load_path
from planforge.document import context_plan as plan
from planforge.document.context_calculations import AnchorCalculation, LineCalculation
from planforge.document.context_capacity import capacity_views
from planforge.document.context_crew_pages import crew_pages, reach_of
from planforge.document.context_forms import forms
from planforge.document.context_geometry import geometry_context
from planforge.document.context_posts import origin_of, post_views
from planforge.document.context_proof import alike, proof_rows
from planforge.document.context_remedies import remedies
from planforge.document.context_rescuer import rescuer_rows
from planforge.document.printed import DASH, Printed
from planforge.figures.plan_content import letter
from planforge.languages import FIRST


@dataclass(frozen=True, slots=True)
class MarginRow:
    """A line's margins at a glance."""

    id: str
    workers: int
    rope: str
    end: str
    free_fall: str
    force: str
    left_over: str


@dataclass(frozen=True, slots=True)
class ProtectionRow:
    """One system with everything it guards."""

    system: str
    uses: str
    marks: str
    exposed: str
    phases: str


@dataclass(frozen=True, slots=True)
class StanceRow:
    """Who is tied to what, with what, over what."""

    task: str
    surface: str
    tied: str
    connector: str
    onto: str


@dataclass(frozen=True, slots=True)
class RoleRow:
    """Who answers for what."""

    role: str
    who: str
    rests: str


def packet_context(
    assessment: Assessment,
    *,
    fingerprint: str,
    date: dt.date,
    draft: bool,
    scales: Mapping[str, str],
) -> dict[str, object]:
    """Return the values of all templates; ``scales`` gives the printed scale of each drawing by name."""
    show = Printed(assessment.job.site.units)
    line_rows = lines.line_views(assessment, show)
    anchor_rows = lines.anchor_views(assessment, show)
    line_sums = calculations.line_calculations(assessment, show)
    anchor_sums = calculations.anchor_calculations(assessment, show)
    return {
        **_identity(assessment, fingerprint, date, draft, show),
        **_checks(assessment, show),
        "capacity": capacity_views(assessment.lines, line_sums, show),
        "remedies": remedies(assessment, line_sums, anchor_sums, show),
        "posts": post_views(assessment, show),
        "origin": origin_of(assessment.job.layout),
        **_plan(assessment, show),
        **crew_pages(assessment, date, FIRST),
        **load_path.load_path(assessment, show),
        **forms(assessment, line_rows, anchor_rows, show),
        **bases.drilling_parts(assessment, show),
        "proof_rows": proof_rows(assessment, show),
        "proof_groups": alike(proof_rows(assessment, show)),
        "scales": scales,
        "lines": line_rows,
        "line_by_id": {line.id: line for line in line_rows},
        "anchors": anchor_rows,
        "calculations": line_sums,
        "anchor_calculations": anchor_sums,
        "clearances": tuple(_clearances(line_sums, anchor_sums)),
        "margins": tuple(_margins(assessment, line_sums)),
        "common_inputs": calculations.common_inputs(line_sums),
        "reach": reach_of(assessment, show),
        "connectors": {
            a.id: ", ".join(dict.fromkeys(r.connector.name for r in a.runs)) or DASH for a in anchor_rows
        },
    }


def _identity(
    assessment: Assessment, fingerprint: str, date: dt.date, draft: bool, show: Printed
) -> dict[str, object]:
    job, index, weather = assessment.job, assessment.index, assessment.job.weather
    temperatures = (
        (weather.coldest, (weather.coldest + weather.warmest) / 2, weather.warmest) if weather else ()
    )
    card = tuple(show.temperature(t) for t in temperatures) or (DASH, DASH, DASH)
    first = min(phase.start for phase in job.phases)
    limits = assessment.profile.limits
    return {
        "assessment": assessment,
        "job": job,
        "profile": assessment.profile,
        "show": show,
        "date": date,
        "draft": draft,
        "fingerprint": fingerprint,
        "plan_qr": f"{job.plan.number} rev {job.plan.revision} {fingerprint}",
        "house": house_words(job.house, show) if job.house else None,
        "kinds": ", ".join(dict.fromkeys(part.kind.value for part in job.work_parts)) or DASH,
        "first_day": show.day(first),
        "work_days": show.days(first, last_day(index)),
        "all_released": assessment.all_released,
        "temperatures": f"{card[0]} – {card[2]}" if weather else DASH,
        "card_temperatures": card,
        "factor": show.count(limits["line_factor"].value),
        "free_fall_limit": show.feet(limits["free_fall"].value),
        "force_limit": show.force(limits["arrest_force"].value),
        "trigger": limits["trigger_height"],
        "soft_end": ASSUMED_SOFT_END,
        "apart": SEQUENCE_APART,
        "fall_radius": FALL_RADIUS,
        "rescuer_hands": show.feet(hands()),
        "place_letter": letter,
        "practice": tuple(common_practice().values()),
        "name": index.person,
        "contact": partial(plan.contact, index),
        "phase_ids": partial(plan.phase_ids, index),
        "person_names": lambda ids: [index.person(i) for i in ids],
        "tensioning": (job.erection.tensioning or "") if job.erection else "",
        "pretension": _pretension(assessment, show),
    }


def _pretension(assessment: Assessment, show: Printed) -> str:
    values = [g.pretension.value for g in assessment.job.equipment.guys if g.pretension is not None]
    return ", ".join(show.force(v) for v in values)


def _checks(assessment: Assessment, show: Printed) -> dict[str, object]:
    open_rows = checks.open_rows(assessment, show)
    return {
        "topics": checks.topics(assessment, show),
        "short": checks.short_rows(assessment, show),
        "open_rows": open_rows,
        "first_short": checks.first_rows(assessment, show),
        "to_confirm": sum(f.id != lines.RELEASE for f in assessment.open_items),
        "to_release": sum(f.id == lines.RELEASE for f in assessment.open_items),
        "variances": tuple(f for f in assessment.findings if f.variance is not None),
    }


def _plan(assessment: Assessment, show: Printed) -> dict[str, object]:
    people = plan.person_views(assessment, show)
    hazards = plan.hazard_views(assessment, show)
    return {
        "phases": plan.phase_views(assessment, show),
        "alternatives": plan.alternative_parts(assessment),
        "hazards": hazards,
        **geometry_context(assessment, show),
        "choices": plan.choice_groups(hazards),
        "protection": tuple(_protection(assessment)),
        "people": people,
        "roles": tuple(_roles(assessment)),
        "teams": plan.team_views(assessment),
        "means": plan.means_views(assessment, show),
        "reach_rows": plan.reach_rows(assessment, show),
        "holes": plan.hole_rows(assessment, show),
        "rescuers": rescuer_rows(assessment, show),
        "requirements": plan.requirement_rows(assessment),
        "trigger_rows": plan.trigger_rows(assessment, show),
        "trigger_height": show.feet(assessment.profile.limits["trigger_height"].value),
        "load": kit.load_list(assessment, show),
        "ratings": kit.rating_rows(assessment, show),
        "stances": tuple(_stances(assessment)),
        "power_limits": {f.where: show.limit_of(f) for f in assessment.findings if f.id == "power.distance"},
    }


def _roles(assessment: Assessment) -> Iterable[RoleRow]:
    index, roles = assessment.index, assessment.job.roles
    for field, (role, _) in NEEDED_ROLES.items():
        person = getattr(roles, field)
        rests = (index.people[person].qualification or "") if person else ""
        yield RoleRow(role, plan.contact(index, person), rests)


def _stances(assessment: Assessment) -> Iterable[StanceRow]:
    index = assessment.index
    for task in assessment.job.tasks:
        for stance in task.stances:
            onto = dict.fromkeys(index.surface_name(o) for side in stance.sides for o in side.onto)
            yield StanceRow(
                task=f"{task.name} ({task.id}/{stance.id})",
                surface=stance.surface,
                tied=stance.line or stance.anchor or DASH,
                connector=index.connectors[stance.connector].name,
                onto=", ".join(onto),
            )


def _protection(assessment: Assessment) -> Iterable[ProtectionRow]:
    index = assessment.index
    gathered: dict[str, list[tuple[Any, Any]]] = {}
    for hazard in assessment.job.hazards:
        for control in hazard.controls:
            gathered.setdefault(control.system.value, []).append((hazard, control))
    for system, pairs in gathered.items():
        phases = {p for hazard, control in pairs for p in (control.phases or hazard.phases)}
        yield ProtectionRow(
            system=system,
            uses=", ".join(dict.fromkeys(use for _, control in pairs for use in control.uses)),
            marks=", ".join(dict.fromkeys(hazard.id for hazard, _ in pairs)),
            exposed="; ".join(dict.fromkeys(hazard.exposed for hazard, _ in pairs)),
            phases=", ".join(p for p in index.shared_phases() if p in phases),
        )


def _clearances(
    line_sums: tuple[LineCalculation, ...], anchor_sums: tuple[AnchorCalculation, ...]
) -> Iterable[dict[str, str]]:
    """The side with the least left over of each stance."""
    both: tuple[LineCalculation | AnchorCalculation, ...] = (*line_sums, *anchor_sums)
    for sums in both:
        for stance in dict.fromkeys(side.stance for side in sums.sides):
            side = min((s for s in sums.sides if s.stance == stance), key=lambda s: s.stack.left_over.value)
            yield {
                "thing": f"{sums.id} · {stance}",
                "direction": side.direction,
                "under": side.under,
                "needed": side.needed,
                "available": side.available,
                "left_over": side.left_over,
                "verdict": side.verdict,
            }


def _margins(assessment: Assessment, line_sums: tuple[LineCalculation, ...]) -> Iterable[MarginRow]:
    for result, sums in zip(assessment.lines, line_sums, strict=True):
        worst = sums.worst
        yield MarginRow(
            id=result.id,
            workers=result.parts.line.workers,
            rope=sums.rope_factor or DASH,
            end=sums.end_factor or DASH,
            free_fall=sums.free_fall,
            force=sums.force,
            left_over=f"{worst.left_over}: {worst.stance} {worst.direction}, {worst.under}"
            if worst
            else DASH,
        )
