"""What the plan prints beside lines and checks: phases, hazards, people, rescue, requirements."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import has_sheet
from planforge.assess.finding import Finding, Verdict
from planforge.assess.index import Index
from planforge.assess.people import needed_days, tie_off_places, tied_workers, training_until
from planforge.assess.post_holes import post_holes
from planforge.assess.required_contents import requirement_verdict
from planforge.assess.rescue import stands_on
from planforge.assess.rescue_reach import (
    ReachState,
    reach_state,
    reckoned_reach,
    there,
)
from planforge.codes.profile import BASIS, Requirement
from planforge.document.printed import DASH, Printed
from planforge.figures.plan_content import letter
from planforge.job.equipment import Item
from planforge.job.hazard import Control, Hazard
from planforge.job.plan import PlanKind
from planforge.job.rescue import Means


@dataclass(frozen=True, slots=True)
class PhaseView:
    """A phase with its dates, levels, kind of plan and crew."""

    id: str
    name: str
    days: str
    work: str
    working: str
    lower: str
    parts: str
    kinds: str
    tied: int
    places: int


@dataclass(frozen=True, slots=True)
class ControlView:
    """What guards a hazard in some of its phases."""

    system: str
    uses: str
    phases: str
    reason: str
    passed_over: tuple[tuple[str, str], ...]

    @property
    def passed(self) -> str:
        """What was passed over, a line each."""
        return "\n".join(f"{system}: {reason}" for system, reason in self.passed_over) or DASH


@dataclass(frozen=True, slots=True)
class HazardView:
    """A line of the register."""

    id: str
    kind: str
    name: str
    place: str
    height: str
    phases: str
    exposed: str
    systems: str
    controls: tuple[ControlView, ...]

    @property
    def where(self) -> str:
        """The place in words and the kind of hazard."""
        return f"{self.name} ({self.kind})"


@dataclass(frozen=True, slots=True)
class ChoiceGroup:
    """Hazards for which the same was chosen for the same reasons."""

    marks: str
    names: str
    controls: tuple[ControlView, ...]


@dataclass(frozen=True, slots=True)
class PersonView:
    """A person with the training that counts here."""

    name: str
    trade: str
    employer: str
    phone: str
    language: str
    sheet: bool  # one is printed in the language they read
    authorised: bool
    qualification: str
    training: tuple[tuple[str, str, str, str], ...]  # course, date, trainer, expiry
    until: str
    needed: str  # the days of the phases they work in
    verdict: str


@dataclass(frozen=True, slots=True)
class ReachCell:
    """One means against one line or anchor: how high it must reach, and how high it does."""

    needed: str
    reaches: str
    reach: ReachState
    phases: str  # in which it is there; empty where in all in which the line or anchor stands


@dataclass(frozen=True, slots=True)
class ReachRow:
    """A line or anchor: where a worker's D-ring hangs, and a cell for each means (None: does not serve)."""

    thing: str
    lowest: str
    highest: str
    cells: tuple[ReachCell | None, ...]


@dataclass(frozen=True, slots=True)
class MeansView:
    """A means of rescue."""

    id: str
    name: str
    kind: str
    serves: str
    reaches: str
    stands_on: str
    kept_at: str  # the place's letter on the layout sheets, and its name
    people: int
    time: str
    tie_off: str


@dataclass(frozen=True, slots=True)
class HoleRow:
    """The hole of a post in a deck, with those of its guys."""

    post: str
    level: str
    at: str
    guys: int
    filled: str  # the phases in which the post stands in it
    left: str  # those in which its cover lies; empty: only once the last phase ends


@dataclass(frozen=True, slots=True)
class TeamView:
    """Who rescues on one shift, with telephone numbers."""

    shift: str
    lead: str
    alternate: str
    caller: str
    members: str


@dataclass(frozen=True, slots=True)
class RequirementRow:
    """A requirement of the code profile and how the plan stands to it."""

    id: str
    citation: str
    says: str
    basis: str
    verdict: str
    part: str


@dataclass(frozen=True, slots=True)
class TriggerRow:
    """A height from which one kind of work asks for protection or a written plan."""

    work: str
    height: str
    says: str
    citation: str
    basis: str


def phase_views(assessment: Assessment, show: Printed) -> tuple[PhaseView, ...]:
    """Phases in order of time."""
    return tuple(_phase(assessment.index, phase, show) for phase in assessment.index.shared_phases())


def _phase(index: Index, phase_id: str, show: Printed) -> PhaseView:
    phase = index.phases[phase_id]
    parts = [part for part in index.job.work_parts if phase_id in part.phases]
    return PhaseView(
        id=phase.id,
        name=phase.name,
        days=show.days(phase.start, phase.end),
        work=phase.work,
        working=f"{index.surface_name(phase.working_level)} {_level(index, phase.working_level, show)}",
        lower=f"{index.surface_name(phase.lower_level)} {_level(index, phase.lower_level, show)}",
        parts=", ".join(part.name for part in parts),
        kinds=", ".join(dict.fromkeys(part.kind.value for part in parts)),
        tied=tied_workers(index, phase_id),
        places=tie_off_places(index, phase_id),
    )


def _level(index: Index, name: str, show: Printed) -> str:
    elevation = index.surface(name)
    return f"({'+' if elevation >= 0 else ''}{show.length(elevation)})"


def hazard_views(assessment: Assessment, show: Printed) -> tuple[HazardView, ...]:
    """The register."""
    return tuple(_hazard(assessment, hazard, show) for hazard in assessment.job.hazards)


def _hazard(assessment: Assessment, hazard: Hazard, show: Printed) -> HazardView:
    index = assessment.index
    height = assessment.greatest_height(hazard)
    controls = tuple(_control(index, hazard, control) for control in hazard.controls)
    place = [x for x in (hazard.edge, hazard.opening) if x]
    return HazardView(
        id=hazard.id,
        kind=hazard.kind,
        name=hazard.name,
        place=", ".join(place),
        height=show.length(height, "up") if height is not None else "",
        phases=phase_ids(index, hazard.phases),
        exposed=hazard.exposed,
        systems="; ".join(f"{c.system} {c.uses}".strip() for c in controls),
        controls=controls,
    )


def _control(index: Index, hazard: Hazard, control: Control) -> ControlView:
    return ControlView(
        system=control.system.value,
        uses=", ".join(control.uses),
        phases=phase_ids(index, control.phases or hazard.phases),
        reason=control.reason,
        passed_over=tuple((p.system.value, p.reason) for p in control.passed_over),
    )


def phase_ids(index: Index, phases: list[str]) -> str:
    """Phases by their short names, in order of time; an empty list means all."""
    return ", ".join(index.shared_phases(phases))


def choice_groups(hazards: tuple[HazardView, ...]) -> tuple[ChoiceGroup, ...]:
    """Hazards gathered where choice, reasons and what was passed over are alike; what is used may differ."""
    alike: dict[object, list[HazardView]] = {}
    for hazard in hazards:
        key = tuple((c.system, c.phases, c.reason, c.passed_over) for c in hazard.controls) or hazard.id
        alike.setdefault(key, []).append(hazard)
    return tuple(
        ChoiceGroup(
            marks=", ".join(h.id for h in group),
            names="; ".join(h.name for h in group),
            controls=tuple(
                replace(controls[0], uses=", ".join(dict.fromkeys(c.uses for c in controls if c.uses)))
                for controls in zip(*(h.controls for h in group), strict=True)
            ),
        )
        for group in alike.values()
    )


def person_views(assessment: Assessment, show: Printed) -> tuple[PersonView, ...]:
    """Everyone named, authorised workers first."""
    verdicts = {f.where: f.verdict for f in assessment.findings if f.id == "people.training"}
    views = []
    for person in sorted(assessment.job.people, key=lambda p: not p.authorised):
        trained, until = training_until(person)
        views.append(
            PersonView(
                name=person.name,
                trade=person.trade or "",
                employer=person.employer or "",
                phone=person.phone or "",
                language=person.language,
                sheet=has_sheet(person),
                authorised=person.authorised,
                qualification=person.qualification or "",
                training=tuple(
                    (t.course, show.day(t.on), t.trainer, show.day(t.expires) if t.expires else DASH)
                    for t in person.training
                ),
                needed=show.days(*needed_days(assessment.index, person)),
                until=show.day(until) if until else (DASH if trained else ""),
                verdict=verdicts.get(person.name, Verdict.NOT_APPLICABLE).value,
            )
        )
    return tuple(views)


def contact(index: Index, person_id: str | None) -> str:
    """A person's name with telephone number; empty where none is named."""
    if not person_id:
        return ""
    person = index.people[person_id]
    return f"{person.name}, {person.phone}" if person.phone else person.name


def reach_rows(assessment: Assessment, show: Printed) -> tuple[ReachRow, ...]:
    """Every line and anchor in use against every means, in the order of means."""
    index, layout = assessment.index, assessment.job.layout
    means = assessment.rescue.order
    own = {line.id: line.phases for line in layout.lines} | {a.id: a.phases for a in layout.anchors}
    return tuple(
        ReachRow(
            thing=thing,
            lowest=show.feet(hang.lowest, "down"),
            highest=show.feet(hang.highest, "up"),
            cells=tuple(
                _reach(assessment, m, thing, index.shared_phases(own[thing]), show)
                if thing in m.serves
                else None
                for m in means
            ),
        )
        for thing, hang in assessment.hangs.items()
    )


def _reach(assessment: Assessment, means: Means, thing: str, phases: list[str], show: Printed) -> ReachCell:
    index = assessment.index
    here = [phase for phase in phases if there(index, means, index.phases[phase])]
    it = assessment.rescue.of(means, thing, here)
    only = "" if here == phases else ", ".join(here) or DASH
    if it is None:
        return ReachCell("", "", "open", only)
    return ReachCell(show.feet(it.needed, "up"), show.feet(it.reaches, "down"), reach_state(it), only)


def _height(means: Means, show: Printed) -> str:
    heights = [h for h in (means.reaches, reckoned_reach(means)) if h is not None]
    return show.feet(min(heights), "down") if heights else ""


def means_views(assessment: Assessment, show: Printed) -> tuple[MeansView, ...]:
    """The means of rescue, in the order in which a crew tries them."""
    index = assessment.index
    places = {p.id: f"{letter(n)}: {p.name}" for n, p in enumerate(assessment.job.layout.places)}
    return tuple(
        MeansView(
            id=m.id,
            name=m.name,
            kind=m.kind,
            serves=", ".join(m.serves),
            reaches=_height(m, show),
            stands_on=stands_on(index, m),
            kept_at=places.get(m.kept_at, m.kept_at) if m.kept_at else "",
            people=m.people,
            time=show.minutes(m.time) if m.time is not None else "",
            tie_off=m.rescuer_tie_off or "",
        )
        for m in assessment.rescue.order
    )


def team_views(assessment: Assessment) -> tuple[TeamView, ...]:
    """The rescue teams by shift."""
    index, rescue = assessment.index, assessment.job.rescue
    return tuple(
        TeamView(
            shift=t.shift,
            lead=contact(index, t.lead),
            alternate=contact(index, t.alternate),
            caller=contact(index, t.caller),
            members=", ".join(contact(index, m) for m in t.members),
        )
        for t in (rescue.teams if rescue else [])
    )


def requirement_rows(assessment: Assessment) -> tuple[RequirementRow, ...]:
    """The profile's requirements, each with the worst verdict of the checks that speak for it."""
    return tuple(_requirement(r, assessment.findings) for r in assessment.profile.requirements)


def _requirement(requirement: Requirement, findings: tuple[Finding, ...]) -> RequirementRow:
    return RequirementRow(
        id=requirement.id,
        citation=requirement.citation,
        says=requirement.says,
        basis=BASIS[requirement.basis],
        verdict=requirement_verdict(requirement, findings).value,
        part=requirement.part,
    )


def hole_rows(assessment: Assessment, show: Printed) -> tuple[HoleRow, ...]:
    """The holes of posts and guys in the decks, in the order of the posts."""
    return tuple(
        HoleRow(
            post=hole.post,
            level=hole.level,
            at=", ".join(show.length(v) for v in hole.at),
            guys=len(hole.guys),
            filled=", ".join(hole.filled) or DASH,
            left=", ".join(hole.left) or "",
        )
        for hole in post_holes(assessment.index)
    )


def trigger_rows(assessment: Assessment, show: Printed) -> tuple[TriggerRow, ...]:
    """The heights from which the profile asks for protection, by kind of work."""
    return tuple(
        TriggerRow(t.work, show.feet(t.height), t.says, t.citation, BASIS[t.basis])
        for t in assessment.profile.triggers
    )


def alternative_parts(assessment: Assessment) -> tuple[object, ...]:
    """The parts of the work under an alternative plan."""
    return tuple(p for p in assessment.job.work_parts if p.kind is PlanKind.ALTERNATIVE_PLAN)


def item_names(assessment: Assessment) -> dict[str, str]:
    """The name of each item of equipment by its id."""
    equipment = assessment.job.equipment
    groups: tuple[list[Item], ...] = (
        [*equipment.ropes, *equipment.line_absorbers, *equipment.lifelines, *equipment.connectors],
        [*equipment.posts, *equipment.guys, *equipment.base_anchors, *equipment.harnesses],
        [*equipment.tools, *equipment.lifting_gear],
    )
    return {item.id: item.name for group in groups for item in group}


def first_phase(assessment: Assessment, date: dt.date) -> str:
    """The phase under way on a day, else the next to come, else the last."""
    ordered = [assessment.index.phases[p] for p in assessment.index.shared_phases()]
    return next((p.id for p in ordered if p.end >= date), ordered[-1].id)
