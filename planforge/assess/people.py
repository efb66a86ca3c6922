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


def assess_people(index: Index) -> list[Finding]:
    """Roles, training and capacity."""
    return _roles(index) + _training(index) + _capacity(index)


def _roles(index: Index) -> list[Finding]:
    findings = []
    for field, (role, citation) in NEEDED_ROLES.items():
        person = getattr(index.job.roles, field)
        unqualified = field == "qualified_person" and person and not index.people[person].qualification
        findings.append(
            found(
                "people.roles",
                role,
                Verdict.CONFIRM if unqualified else stated(person),
                value=index.person(person) or "nobody named",
                source=citation,
                note="State what the qualification rests on." if unqualified else "",
            )
        )
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
    end = last_day(index)
    findings = []
    for person in workers:
        trained, until = training_until(person)
        lapses = until is not None and until < end
        value = "no record" if not trained else f"lapses {until}" if lapses else "holds"
        findings.append(
            found(
                "people.training",
                person.name,
                stated(trained and not lapses),
                value=value,
                limit=f"to {end}",
                note=""
                if trained and not lapses
                else "Train again before the work, or take this worker off it.",
            )
        )
    return findings


def tie_off_places(index: Index, phase: str) -> int:
    """How many workers the lines and anchors in use in a phase hold together."""
    layout = index.job.layout
    lines = sum(t.workers for t in layout.lines if not t.phases or phase in t.phases)
    return lines + sum(t.workers for t in layout.anchors if not t.phases or phase in t.phases)


def tied_workers(index: Index, phase: str) -> int:
    """How many workers the tasks of a phase tie on at once."""
    return sum(t.workers for t in index.job.tasks if phase in t.phases and t.stances)


def _capacity(index: Index) -> list[Finding]:
    findings = []
    authorised = sum(p.authorised for p in index.job.people)
    for phase in index.shared_phases():
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
