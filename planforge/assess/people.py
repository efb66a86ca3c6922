"""The people: roles filled, training that holds over the work, crew against tie-off places."""

from __future__ import annotations

from datetime import date

from planforge.assess.finding import Finding, Verdict, found, stated
from planforge.assess.index import Index
from planforge.job.people import Person

NEEDED_ROLES = {
    "competent_person": ("competent person", "29 CFR 1926.32(f), 1926.502(k)(4)"),
    "competent_alternate": ("alternate of the competent person", "29 CFR 1926.20(b)(2)"),
    "qualified_person": ("qualified person", "29 CFR 1926.32(m), 1926.502(d)(8)"),
    "erection_lead": ("erection lead", "manufacturer's instructions"),
    "rescue_lead": ("rescue lead", "29 CFR 1926.502(d)(20)"),
    "rescue_alternate": ("alternate of the rescue lead", "29 CFR 1926.502(d)(20)"),
}
"""Roles a plan must fill, with the printed name and the citation."""

_STANDS_IN_FOR = {"competent_alternate": "competent_person", "rescue_alternate": "rescue_lead"}
_RESTS_ON_SOMETHING = ("qualified_person", "competent_person", "competent_alternate")
"""Roles that a person fills by training or experience, which the plan names."""


def assess_people(index: Index) -> list[Finding]:
    """Roles, training and capacity."""
    return _roles(index) + _training(index) + _capacity(index)


def _roles(index: Index) -> list[Finding]:
    findings = []
    roles = index.job.roles
    for field, (role, citation) in NEEDED_ROLES.items():
        person = getattr(roles, field)
        lead = _STANDS_IN_FOR.get(field)
        same = person is not None and lead is not None and person == getattr(roles, lead)
        unqualified = field in _RESTS_ON_SOMETHING and person and not index.people[person].qualification
        if same:
            verdict, note = (
                Verdict.SHORT,
                "Name another person to stand in when the first is away.",
            )
        elif unqualified:
            verdict, note = Verdict.CONFIRM, "State what the qualification rests on."
        else:
            verdict, note = stated(person), ""
        value = index.person(person) or "nobody named"
        findings.append(found("people.roles", role, verdict, value=value, source=citation, note=note))
    return findings


def last_day(index: Index) -> date:
    """The last day of the work."""
    return max(phase.end for phase in index.job.phases)


def training_until(person: Person) -> tuple[bool, date | None]:
    """Whether a person has a record, and the earliest expiry of the records (None: none expires)."""
    expiries = [t.expires for t in person.training if t.expires is not None]
    return bool(person.training), min(expiries, default=None)


def _training(index: Index) -> list[Finding]:
    workers = [p for p in index.job.people if p.authorised]
    if not workers:
        return [
            found(
                "people.training",
                "crew",
                Verdict.SHORT,
                value="no authorised worker named",
                note="Mark the workers who may be tied on with authorised: true, and give their training.",
            )
        ]
    return [_trained(index, person) for person in workers]


def needed_days(index: Index, person: Person) -> tuple[date, date]:
    """The first and the last day of the phases that a person works in."""
    phases = [index.phases[phase] for phase in person.phases] or list(index.phases.values())
    return min(phase.start for phase in phases), max(phase.end for phase in phases)


def _trained(index: Index, person: Person) -> Finding:
    """A record from before the person's first day that holds to the last."""
    first, end = needed_days(index, person)
    trained, until = training_until(person)
    lapses = until is not None and until < end
    late = trained and min(t.on for t in person.training) > first
    if not trained:
        value = "no record"
    elif lapses:
        value = f"lapses {until}"
    else:
        value = f"trained {min(t.on for t in person.training)}, after work begins" if late else "holds"
    good = trained and not lapses and not late
    return found(
        "people.training",
        person.name,
        stated(good),
        value=value,
        limit=f"from {first} to {end}",
        note="" if good else "Train before the work, or take this worker off it.",
    )


def tie_off_places(index: Index, phase: str) -> int:
    """How many workers the lines and anchors in use in a phase hold together."""
    layout = index.job.layout
    lines = sum(t.workers for t in layout.lines if not t.phases or phase in t.phases)
    return lines + sum(t.workers for t in layout.anchors if not t.phases or phase in t.phases)


def crew_of(index: Index, phase: str) -> list[Person]:
    """The authorised workers of a phase."""
    return [p for p in index.job.people if p.authorised and (not p.phases or phase in p.phases)]


def tied_workers(index: Index, phase: str) -> int:
    """How many workers the tasks of a phase tie on at once."""
    return sum(t.workers for t in index.job.tasks if phase in t.phases and t.stances)


def _capacity(index: Index) -> list[Finding]:
    findings = []
    for phase in index.shared_phases():
        authorised = len(crew_of(index, phase))
        wanted, places = tied_workers(index, phase), tie_off_places(index, phase)
        if not wanted:
            continue
        limit = min(places, authorised)
        findings.append(
            found(
                "people.capacity",
                "crew",
                stated(wanted <= limit),
                phase=phase,
                value=float(wanted),
                limit=float(limit),
                sense="at most",
                note=f"{places} tie-off places, {authorised} authorised workers.",
            )
        )
    return findings
