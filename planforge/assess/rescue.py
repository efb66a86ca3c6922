"""Rescue: whom to call, who goes, what reaches a worker who hangs after an arrest, in what time."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from planforge.assess.finding import Finding, Verdict, found, keeps, stated
from planforge.assess.hang import Hang
from planforge.assess.index import Index
from planforge.assess.people import needed_days
from planforge.assess.rescue_reach import Reached, RescueReach, surfaces, there
from planforge.assess.rescuer_findings import tie_findings
from planforge.job.layout import Anchor, Lifeline
from planforge.job.people import Person, Training
from planforge.job.rescue import Means, Rescue

_IN_RESCUE = re.compile(r"rescue|rescate", re.IGNORECASE)
"""How the name of a course shows that it is one in rescue."""


def assess_rescue(index: Index, reach: RescueReach) -> list[Finding]:
    """Every rescue check, by where those tied to each line and anchor hang and what rescuers are tied to."""
    rescue = index.job.rescue
    if rescue is None:
        checks = ("contacts", "teams", "reach", "tie_off", "time", "kit", "procedure", "people", "arrival")
        return [
            found(f"rescue.{c}", "lot", Verdict.SHORT, value="not written", note="Write the part rescue.")
            for c in checks
        ]
    findings = [_contacts(rescue), _teams(rescue), _procedure(rescue), _arrival(rescue)]
    for place in reach.hangs:
        findings += _reach(index, rescue, place, reach)
    for means in reach.order:
        findings += tie_findings(index, means, reach.hangs, reach.ties)
    for means in rescue.means:
        findings += [_time(rescue, means), _kept(index, means), _people(index, rescue, means)]
    return findings


def _contacts(rescue: Rescue) -> Finding:
    missing = [
        name
        for name, value in {
            "emergency_number": rescue.emergency_number,
            "contacts": rescue.contacts,
            "hospital": rescue.hospital,
            "phone_cover": rescue.phone_cover,
        }.items()
        if not value
    ]
    return found(
        "rescue.contacts",
        "lot",
        stated(not missing),
        value="stated" if not missing else "blank: " + ", ".join(missing),
        note="" if not missing else "State each for this lot; a blank makes a draft.",
    )


def _teams(rescue: Rescue) -> Finding:
    doubled = [t.shift for t in rescue.teams if t.lead == t.alternate or t.caller in (t.lead, t.alternate)]
    good = bool(rescue.teams) and not doubled
    value = f"{len(rescue.teams)} shift(s)" if rescue.teams else "no team named"
    if doubled:
        value = "one person in two roles: " + ", ".join(doubled)
    return found(
        "rescue.teams",
        "lot",
        stated(good),
        value=value,
        note="" if good else "Name a lead, another alternate and another caller for each shift.",
    )


def _procedure(rescue: Rescue) -> Finding:
    missing = [
        name
        for name, value in {
            "steps": rescue.steps,
            "care": rescue.care,
            "afterwards": rescue.afterwards,
        }.items()
        if not value
    ]
    verdict = stated(not missing)
    if verdict is Verdict.MEETS and rescue.drill is None:
        verdict = Verdict.CONFIRM
    value = "written" if not missing else "not written: " + ", ".join(missing)
    return found(
        "rescue.procedure",
        "lot",
        verdict,
        value=value + ("" if rescue.drill else "; no drill recorded on this lot"),
    )


def _reach(index: Index, rescue: Rescue, place: str, reach: RescueReach) -> list[Finding]:
    """By phase: everyone who may hang at a line or anchor is reached by some means that is there then."""
    serving = [m for m in rescue.means if place in m.serves]
    findings = []
    layout = index.job.layout
    things: list[Lifeline | Anchor] = [*layout.lines, *layout.anchors]
    for phase in index.shared_phases(next(t.phases for t in things if t.id == place)):
        served = (reach.of(m, place, [phase]) for m in serving if there(index, m, index.phases[phase]))
        here = [r for r in served if r is not None]
        findings.append(replace(_best(index, place, reach.hangs[place], here), phase=phase))
    return findings


def _best(index: Index, place: str, hang: Hang, here: list[Reached]) -> Finding:
    """The means that reaches everyone with the most to spare; else all that reach some, together."""
    if not here:
        return found(
            "rescue.reach",
            place,
            Verdict.SHORT,
            value=hang.highest,
            limit="no means with a stated reach serves it",
            unit="m",
            note="State rescue.means with serves, reaches and stands_on for it.",
        )
    every = [r for r in here if r.everyone]
    able = [r for r in here if r.high_enough and r.near.any()]
    together = bool(able) and bool(np.logical_or.reduce([r.near for r in able]).all())
    if every:
        chosen = [max(every, key=lambda r: (not r.open, r.reaches - r.needed))]
    else:
        chosen = able if together else [max(here, key=_closest)]
    lead = min(chosen, key=lambda r: r.reaches - r.needed)
    verdict = Verdict.MEETS if every or together else Verdict.SHORT
    missing = [f"{r.means.id}: {', '.join(r.open)}" for r in chosen if r.open]
    if missing and verdict is Verdict.MEETS:
        verdict = Verdict.CONFIRM
    names = "; ".join(f"{r.means.name}, from {stands_on(index, r.means)}" for r in chosen)
    why = "" if verdict is not Verdict.SHORT else " " + _lacks(lead)
    return found(
        "rescue.reach",
        place,
        verdict,
        value=lead.needed,
        limit=lead.reaches,
        unit="m",
        sense="at most",
        note=f"The highest hanging D-ring. {names}.{why}"
        + (f" State {'; '.join(missing)}." if missing else ""),
    )


def _closest(one: Reached) -> tuple[bool, int, float]:
    return one.high_enough, int(one.near.sum()), one.reaches - one.needed


def _lacks(one: Reached) -> str:
    if one.reaches < one.needed - 1e-9:
        return "It does not reach that high."
    if one.rope_short > 0.0:
        return "Its rope is too short to lower to what it stands on."
    beyond, total = int((~one.near).sum()), len(one.near)
    if one.untied:
        return f"At {one.untied} of {total} places along it its rescuer's own tie-off does not reach or hold."
    if one.means.kind == "ladder":
        return f"At {beyond} of {total} places along it the ladder can't lean from what it can be set up on."
    return f"{beyond} of {total} places along it lie beyond its outreach."


def stands_on(index: Index, means: Means) -> str:
    """What a means can stand on, in words."""
    return " or ".join(map(index.surface_name, surfaces(means)))


def _people(index: Index, rescue: Rescue, means: Means) -> Finding:
    """Who is left, trained for rescue, on the smallest shift when one of the team hangs and one calls."""
    teams = [{t.lead, t.alternate, *t.members} - {t.caller} for t in rescue.teams]
    trained = [{who for who in team if _may_rescue(index, index.people[who])} for team in teams]
    silent = [{who for who in team if not _rescue_courses(index.people[who])} for team in teams]
    left = min((len(team) - 1 for team in trained), default=0)
    # where everyone whose course is not stated turns out to have it
    hoped = min((len(has | may) - 1 for has, may in zip(trained, silent, strict=True)), default=0)
    uncounted = {who for team, has in zip(teams, trained, strict=True) for who in team - has}
    good = left >= means.people
    note = (
        "The smallest shift's lead, alternate and members with a rescue course that holds over their work, "
        "less the caller and one who may hang."
    )
    if uncounted:
        names = ", ".join(sorted(index.people[who].name for who in uncounted))
        note += f" Not counted, no course in rescue that holds: {names}."
    if not good:
        note += " Train them or state their course, name more members under rescue.teams, or choose a means "
        note += "that takes fewer."
    return found(
        "rescue.people",
        means.id,
        stated(good, otherwise=Verdict.CONFIRM if hoped >= means.people else Verdict.SHORT),
        value=float(max(left, 0)),
        limit=float(means.people),
        sense="at least",
        note=note,
    )


def _rescue_courses(person: Person) -> list[Training]:
    return [t for t in person.training if _IN_RESCUE.search(t.course)]


def _may_rescue(index: Index, person: Person) -> bool:
    """Whether a course in rescue holds from the person's first day of work to the last."""
    first, last = needed_days(index, person)
    return any(t.on <= first and (t.expires is None or t.expires >= last) for t in _rescue_courses(person))


def _arrival(rescue: Rescue) -> Finding:
    known = [c for c in rescue.contacts if c.arrives is not None]
    soonest = min(known, key=lambda c: c.arrives or 0.0, default=None)
    if soonest is None or soonest.arrives is None:
        return found(
            "rescue.arrival",
            "lot",
            Verdict.CONFIRM,
            value="not stated",
            note="Ask the responders how soon they arrive; state arrives under rescue.contacts.",
        )
    return found(
        "rescue.arrival",
        "lot",
        Verdict.MEETS,
        value=soonest.arrives,
        unit="s",
        note=f"{soonest.who}, by their own word. The crew's own means must not wait for them.",
    )


def _time(rescue: Rescue, means: Means) -> Finding:
    if means.time is None or rescue.target is None:
        return found(
            "rescue.time",
            means.id,
            Verdict.CONFIRM,
            value=means.time if means.time is not None else "not timed",
            limit=rescue.target if rescue.target is not None else "no target stated",
            unit="s" if means.time is not None or rescue.target is not None else "",
            note="Time it in a drill and set the contractor's target.",
        )
    return found(
        "rescue.time",
        means.id,
        keeps(means.time, rescue.target, "at most"),
        value=means.time,
        limit=rescue.target,
        unit="s",
        sense="at most",
    )


def _kept(index: Index, means: Means) -> Finding:
    names = {place.id: place.name for place in index.job.layout.places}
    return found(
        "rescue.kit",
        means.id,
        stated(means.kept_at),
        value=f"kept at {names.get(means.kept_at, means.kept_at)}" if means.kept_at else "place not stated",
        note="" if means.kept_at else "State kept_at, a place on the layout.",
    )
