"""What must be written: delivery, erection, access, removal, release of each line."""

from __future__ import annotations

from collections.abc import Mapping

from planforge.assess.check import MAKER, QUALIFIED
from planforge.assess.erection_order import erection_order
from planforge.assess.finding import Finding, Verdict, found, keeps, stated
from planforge.assess.index import Index
from planforge.assess.removal_order import removal_order
from planforge.job.erection import Access, Erection, Release


def assess_procedure(index: Index) -> list[Finding]:
    """Every check on written procedure."""
    return [*_erection(index), *_removal(index), *_access(index)]


def _erection(index: Index) -> list[Finding]:
    job = index.job
    erection = job.erection
    installer = erection.installer_tie_off if erection else None
    missing = [
        name
        for name, part in {
            "delivery": job.delivery,
            "erection": erection,
            "erection.tensioning": erection and erection.tensioning,
            "erection.tolerances": erection and erection.tolerances,
        }.items()
        if not part
    ]
    return [
        found(
            "erection.installer",
            "erection",
            stated(installer),
            value=installer or "not written",
            note="" if installer else "Write erection.installer_tie_off.",
        ),
        found(
            "erection.procedure",
            "erection",
            stated(not missing),
            value="written" if not missing else "not written: " + ", ".join(missing),
        ),
        _hold_points(erection),
        erection_order(index),
    ]


def _hold_points(erection: Erection | None) -> Finding:
    """At least one step where work stops until someone signs."""
    holds = sum(step.hold for step in erection.sequence) if erection else 0
    return found(
        "erection.hold_points",
        "erection",
        stated(holds),
        value=float(holds),
        limit=1.0,
        sense="at least",
        note="" if holds else "Mark with hold: true each step that waits for a signature.",
    )


def _removal(index: Index) -> list[Finding]:
    removal = index.job.removal
    last = removal.last_worker_tie_off if removal else None
    return [
        found(
            "removal.last_worker",
            "removal",
            stated(last),
            value=last or "not written",
            note="" if last else "Write removal.last_worker_tie_off.",
        ),
        found(
            "removal.procedure",
            "removal",
            stated(removal),
            value="written" if removal else "not written",
            note="" if removal else "Write the part removal.",
        ),
        removal_order(index),
    ]


def _access(index: Index) -> list[Finding]:
    findings = []
    for phase in index.shared_phases():
        ways = [way.id for way in index.ways(phase)]
        findings.append(
            found(
                "access.transfer",
                "access",
                stated(ways),
                phase=phase,
                value=", ".join(ways) or "not written",
                note="" if ways else "Write under access how workers reach the work, tied on all the way.",
            )
        )
        if ways and any(phase in task.phases and task.stances for task in index.job.tasks):
            findings.append(_connectors(index, phase))
        findings += [_open(index, way, phase) for way in index.ways(phase) if way.through]
    return findings


def _open(index: Index, way: Access, phase: str) -> Finding:
    """No cover lies in that phase on an opening that the way passes through."""
    closed = [
        f"{cover.id} lies on {cover.opening}"
        for cover in index.job.layout.covers
        if cover.opening in way.through and (not cover.phases or phase in cover.phases)
    ]
    return found(
        "access.open",
        way.id,
        Verdict.SHORT if closed else Verdict.MEETS,
        phase=phase,
        value="; ".join(closed) or f"no cover on {', '.join(way.through)}",
        note="Guard it with a rail and a gate while it is the way, or name another way." if closed else "",
    )


def _connectors(index: Index, phase: str) -> Finding:
    """How many connectors each worker carries is a number, which the load list counts."""
    ways = index.ways(phase)
    most = max(way.connectors or 1 for way in ways)
    silent = [way.id for way in ways if way.connectors is None]
    return found(
        "access.connectors",
        "access",
        Verdict.CONFIRM if silent else Verdict.MEETS,
        phase=phase,
        value="not stated: " + ", ".join(silent) if silent else f"{most} a worker",
        note=f"The load list counts {most} a worker. State under access how many connectors each carries."
        if silent
        else "",
    )


def assess_release(
    index: Index, findings: list[Finding], bands: Mapping[str, tuple[float, float] | None]
) -> list[Finding]:
    """The state of each line and anchor; `confirm` until released under this revision.

    ``findings`` are all others. The competent person releases; a strength item still to confirm asks for
    the qualified person's signature beside, which answers those that are that person's to decide. The
    qualified person alone releases nothing. ``bands`` gives, by line, the sags (m) that the card allows at
    the temperature of its recorded measurement; None where no sag holds.
    """
    states = {r.of: r for r in index.job.releases}
    layout = index.job.layout
    posts = {line.id: {line.start, line.end} for line in layout.lines}
    posts |= {anchor.id: {anchor.post} if anchor.post else set() for anchor in layout.anchors}
    out = []
    for thing, own_posts in posts.items():
        its = [f for f in findings if f.things & {thing, *own_posts}]
        out.append(_release(index, thing, states.get(thing), its, bands.get(thing)))
    return out


def _release(
    index: Index,
    thing: str,
    release: Release | None,
    its: list[Finding],
    band: tuple[float, float] | None,
) -> Finding:
    """``its`` are the findings of this line or anchor and of the posts that carry it."""
    state = release.state if release else "planned"
    reasons = []
    if release is not None and state == "on hold":
        reasons.append(f"on hold: {(release.reason or 'no reason stated').rstrip('.')}")
    elif release is None or state != "released for use":
        reasons.append("the release block is not signed")
    else:
        if release.revision != index.job.plan.revision:
            reasons.append(f"released under revision {release.revision}, this is {index.job.plan.revision}")
        if release.by not in _may_release(index):
            reasons.append("not released by the competent person or the alternate")
        if release.within_tolerances is False:
            reasons.append("measured outside the tolerances")
        if thing in index.lines:
            reasons += _out_of_band(release, band)
        short = sorted({f.title.lower() for f in its if f.verdict is Verdict.SHORT})
        if short:
            reasons.append("short: " + ", ".join(short))
        open_items = [f for f in its if f.verdict is Verdict.CONFIRM and not _signed_for(index, release, f)]
        if open_items:
            reasons.append(
                f"{len(open_items)} item(s) to confirm: the qualified person signs beside the release"
            )
    return found(
        "release.state",
        thing,
        Verdict.CONFIRM if reasons else Verdict.MEETS,
        value=state,
        limit="released for use",
        note="; ".join(reasons) + ("." if reasons else ""),
    )


def _signed_for(index: Index, release: Release, finding: Finding) -> bool:
    """True where the qualified person signed beside the release and the finding is theirs to decide."""
    qualified = index.job.roles.qualified_person
    return qualified is not None and release.beside == qualified and finding.decides in (QUALIFIED, MAKER)


def _may_release(index: Index) -> set[str]:
    """Who may release a line or anchor: the competent person and the alternate."""
    people = (index.job.roles.competent_person, index.job.roles.competent_alternate)
    return {person for person in people if person is not None}


def _out_of_band(release: Release, band: tuple[float, float] | None) -> list[str]:
    """What the measured sag says against the card's band at the temperature of the measurement."""
    if release.measured_sag is None:
        return ["no measured sag is recorded"]
    if band is None:
        return ["no sag holds over the day"]
    low, high = (
        keeps(release.measured_sag, band[0], "at least"),
        keeps(release.measured_sag, band[1], "at most"),
    )
    outside = Verdict.SHORT in (low, high)
    return ["the measured sag is outside the card's band for its temperature"] if outside else []
