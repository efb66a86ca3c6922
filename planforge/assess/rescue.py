"""Rescue: whom to call, who goes, what reaches a worker who hangs after an arrest, in what time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from planforge.assess.finding import Finding, Verdict, found, keeps, stated
from planforge.assess.index import Index
from planforge.job.rescue import Means, Rescue


@dataclass(frozen=True, slots=True)
class Hang:
    """Where the D-ring of a worker hangs after an arrest: the highest and lowest elevation, m."""

    highest: float
    lowest: float


def assess_rescue(index: Index, hangs: Mapping[str, Hang]) -> list[Finding]:
    """Every rescue check; ``hangs`` gives the hanging D-ring for each line and anchor."""
    rescue = index.job.rescue
    if rescue is None:
        checks = ("contacts", "teams", "reach", "time", "kit", "procedure")
        return [
            found(f"rescue.{c}", "lot", Verdict.SHORT, value="not written", note="Write the part rescue.")
            for c in checks
        ]
    findings = [_contacts(rescue), _teams(rescue), _procedure(rescue)]
    for place, hang in hangs.items():
        findings += _reach(index, rescue, place, hang)
    for means in rescue.means:
        findings += [_time(rescue, means), _kept(means)]
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


def _reach(index: Index, rescue: Rescue, place: str, hang: Hang) -> list[Finding]:
    """Best first: the means with the most to spare over the highest hanging D-ring."""
    best: tuple[float, Means, float] | None = None
    for means in rescue.means:
        if place not in means.serves or means.reaches is None or means.stands_on is None:
            continue
        need = hang.highest - index.lowest(means.stands_on)
        spare = means.reaches - need
        if best is None or spare > best[0]:
            best = (spare, means, need)
    if best is None:
        return [
            found(
                "rescue.reach",
                place,
                Verdict.SHORT,
                value=hang.highest,
                limit="no means with a stated reach serves it",
                unit="m",
                note="State rescue.means with serves, reaches and stands_on for it.",
            )
        ]
    _, means, need = best
    assert means.reaches is not None and means.stands_on is not None  # chosen above
    return [
        found(
            "rescue.reach",
            place,
            keeps(need, means.reaches, "at most"),
            value=need,
            limit=means.reaches,
            unit="m",
            sense="at most",
            note=f"A hanging D-ring above {index.surface_name(means.stands_on)}; {means.name}.",
        )
    ]


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


def _kept(means: Means) -> Finding:
    return found(
        "rescue.kit",
        means.id,
        stated(means.kept_at),
        value=f"kept at {means.kept_at}" if means.kept_at else "place not stated",
        note="" if means.kept_at else "State kept_at, a place on the layout.",
    )
