"""Each lifeline against its maker's ratings, common practice and the code's factor of two."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planforge.assess.arrest_checks import connector_ratings
from planforge.assess.finding import AnyRated, Finding, Sense, Verdict, found, keeps, vouched, worst
from planforge.assess.line_model import LineParts
from planforge.assess.stances import RigRun
from planforge.codes.profile import Limit, Profile, common_practice
from planforge.job.base import Rated
from planforge.job.equipment import Connector
from planforge.job.model import Job

DROP_AGREES = 0.05
"""How far the two methods' drops may differ before the qualified person is asked."""


@dataclass(frozen=True, slots=True)
class LineLoads:
    """The governing loads of a line, N: the larger of the energy balance and the time history."""

    tension: float
    start: float
    end: float
    by: str  # the method that governs


def rating_findings(job: Job, parts: LineParts) -> list[Finding]:
    """Span, workers, sag and connectors against the maker's ratings and common practice."""
    return [
        _span(parts),
        _workers(job, parts),
        _sag(parts),
        *_connectors(job, parts),
        _stiffness(parts),
    ]


def _practice(
    verdict: Verdict, value: float, practice: Limit, rated: Rated[float] | Rated[int] | None
) -> Verdict:
    """A rating beyond common practice is short; within it but without a document, to confirm."""
    beyond = keeps(value, practice.value, "at most")
    return vouched(worst(verdict, beyond), rated)


def _source(rated: Rated[float] | Rated[int] | None) -> str:
    if rated is None:
        return "no rating stated; common practice, no source"
    return rated.source or "rating without a document; common practice, no source"


def _asks(verdict: Verdict, rated: object, practice: Limit) -> str:
    if verdict is Verdict.SHORT:
        return f"Common practice (no source): {practice.says}"
    return "The maker's rating and its document are wanted." if verdict is Verdict.CONFIRM else ""


def nearer_end(
    value: float, least: Rated[float] | None, most: Rated[float] | None, practice: float
) -> tuple[float, Sense]:
    """The end of a maker's band that leaves a value less room, with the sense in which it is compared.

    The upper end is common practice's where that is less. Where the maker's is not stated, what is
    missing is shown: practice's end, unless the value is below the lower one.
    """
    upper = min(most.value, practice) if most else practice
    if least is not None:
        room = value - least.value
        if room < 0.0 or (most is not None and room < upper - value - 1e-6):  # at midway the upper
            return least.value, "at least"
    return upper, "at most"


def span_room(parts: LineParts) -> tuple[float, float]:
    """How much shorter and how much longer than drawn a line may be built, m, by its maker's ratings.

    Infinite where a rating is not stated; 0 where the drawn span is already past it.
    """
    shortest, longest = parts.system.shortest_span, parts.system.longest_span
    return (
        max(parts.span - shortest.value, 0.0) if shortest else math.inf,
        max(longest.value - parts.span, 0.0) if longest else math.inf,
    )


def _span(parts: LineParts) -> Finding:
    rated, practice = parts.system.longest_span, common_practice()["span"]
    limit = rated.value if rated else practice.value
    verdict = _practice(keeps(parts.span, limit, "at most"), parts.span, practice, rated)
    shortest = parts.system.shortest_span
    if shortest is not None:
        verdict = vouched(worst(verdict, keeps(parts.span, shortest.value, "at least")), shortest)
    bound, sense = nearer_end(parts.span, shortest, rated, practice.value)
    return found(
        "line.span",
        parts.line.id,
        verdict,
        value=parts.span,
        limit=bound,
        unit="m",
        sense=sense,
        source=_source(shortest if sense == "at least" else rated),
        note=_asks(verdict, rated, practice),
    )


def _workers(job: Job, parts: LineParts) -> Finding:
    line = parts.line
    other = next((o for o in job.layout.lines if o.id == line.beside), None)
    key = "workers_two_lines" if other else "workers_a_line"
    practice = common_practice()[key]
    rated = parts.system.most_workers_two_lines if other else parts.system.most_workers
    on_span = float(line.workers + (other.workers if other else 0))
    limit = float(rated.value) if rated else practice.value
    verdict = _practice(keeps(on_span, limit, "at most"), on_span, practice, rated)
    alone = parts.system.most_workers
    if other and alone:
        verdict = vouched(worst(verdict, keeps(float(line.workers), float(alone.value), "at most")), alone)
    return found(
        "line.workers",
        line.id,
        verdict,
        value=on_span,
        limit=min(limit, practice.value),
        sense="at most",
        source=_source(rated),
        note=_asks(verdict, rated, practice) + (" On the span of two lines." if other else ""),
    )


def _sag(parts: LineParts) -> Finding:
    least, most, practice = parts.system.least_sag, parts.system.most_sag, common_practice()["sag"]
    sag = parts.line.sag
    limit = most.value if most else practice.value
    verdict = _practice(keeps(sag, limit, "at most"), sag, practice, most)
    if least is None:
        verdict = worst(verdict, Verdict.CONFIRM)
    else:
        verdict = vouched(worst(verdict, keeps(sag, least.value, "at least")), least)
    bound, sense = nearer_end(sag, least, most, practice.value)
    return found(
        "line.sag",
        parts.line.id,
        verdict,
        value=sag,
        limit=bound,
        unit="m",
        sense=sense,
        source=_source(least if sense == "at least" else most),
        note=_asks(verdict, most, practice),
    )


def _connectors(job: Job, parts: LineParts) -> list[Finding]:
    used = {s.connector for t in job.tasks for s in t.stances if s.line == parts.line.id}
    return [_connector(parts, c) for c in job.equipment.connectors if c.id in used]


def _connector(parts: LineParts, connector: Connector) -> Finding:
    allowed = parts.system.connectors
    flexible = connector.on_flexible_line
    if flexible is not None and not flexible.value:
        verdict, value = Verdict.SHORT, "its maker does not allow it on a horizontal lifeline"
    elif allowed is not None and connector.id not in allowed:
        verdict, value = Verdict.SHORT, "not among the connectors that the line's maker allows"
    elif flexible is None or allowed is None:
        verdict, value = Verdict.CONFIRM, "one maker's word on this pair is not stated"
    else:
        verdict, value = vouched(Verdict.MEETS, flexible), "allowed by both makers"
    return found(
        "line.connector",
        f"{parts.line.id} · {connector.id}",
        verdict,
        value=value,
        source=(flexible.source if flexible else None) or "manufacturer's instructions",
    )


def _stiffness(parts: LineParts) -> Finding:
    ends = (parts.start_head, parts.end_head)
    assumed = parts.soft_assumed
    reckoned = any(e.reckoned for e in ends)
    note = "State the post's tube and guys, or its stiffness from its maker or the qualified person."
    if not assumed:
        note = "From the tubes and guys, and what the maker states: the softer counts." if reckoned else ""
    return found(
        "line.stiffness",
        parts.line.id,
        vouched(Verdict.CONFIRM if assumed else Verdict.MEETS, *(r for e in ends for r in e.rests_on)),
        value="not stated: 2,000 lbf/in assumed for clearance" if assumed else min(e.low for e in ends),
        unit="" if assumed else "N/m",
        note=note,
    )


def strength_findings(
    parts: LineParts, loads: LineLoads, runs: list[RigRun], profile: Profile
) -> list[Finding]:
    """Rope, end parts, line absorber, and what goes on into the posts."""
    factor = profile.limits["line_factor"]
    rated = (*parts.reckoned_with, *(r for run in runs for r in connector_ratings(run.rig.connector)))
    at_ends, end_strength = max(loads.start, loads.end), parts.system.end_strength
    findings = [
        _factor("line.rope_strength", parts, parts.rope.breaking_strength, loads.tension, factor, rated),
        _factor("line.end_strength", parts, end_strength, at_ends, factor, rated),
        _absorber(parts, runs, rated),
    ]
    for post, kind, load in (
        (parts.line.start, parts.start_kind, loads.start),
        (parts.line.end, parts.end_kind, loads.end),
    ):
        findings.append(_post(parts.line.id, post, kind.line_strength, load, factor))
    return findings


def _factor(
    check: str,
    parts: LineParts,
    strength: Rated[float] | None,
    load: float,
    factor: Limit,
    rated: tuple[AnyRated | None, ...],
) -> Finding:
    if strength is None:
        return found(
            check,
            parts.line.id,
            Verdict.CONFIRM,
            value=load,
            limit="breaking strength not stated",
            unit="N",
            note="State the breaking strength with its document.",
        )
    return found(
        check,
        parts.line.id,
        vouched(keeps(strength.value / load, factor.value, "at least"), strength, *rated),
        value=strength.value / load,
        limit=factor.value,
        sense="at least",
        source=f"{factor.source}; {strength.source or 'strength without a document'}",
        equation=f"{strength.value:.6g} N / {load:.6g} N",
    )


def _absorber(parts: LineParts, runs: list[RigRun], rated: tuple[AnyRated | None, ...]) -> Finding:
    absorber = parts.absorber
    if absorber is None:
        return found(
            "line.absorber", parts.line.id, Verdict.NOT_APPLICABLE, note="No line absorber on this line."
        )
    opened = [float(a.line_absorber_extension.max()) for r in runs for a in r.arrests]
    spent = any(bool(a.line_absorber_exhausted.any()) for r in runs for a in r.arrests)
    value = max(opened, default=0.0)
    verdict = Verdict.SHORT if spent else keeps(value, absorber.stroke.value, "at most")
    return found(
        "line.absorber",
        parts.line.id,
        vouched(verdict, *rated),
        value=value,
        limit=absorber.stroke.value,
        unit="m",
        sense="at most",
        source=absorber.stroke.source or "no document stated",
        note="It is pulled out to its end and the tension rises beyond its force." if spent else "",
    )


def _post(line: str, post: str, strength: Rated[float] | None, load: float, factor: Limit) -> Finding:
    """The load path beyond the line's end: the qualified person confirms it, with the end load stated."""
    limit: float | str = "to be confirmed"
    verdict = Verdict.CONFIRM
    note = "Guys, plate anchors, base anchors and concrete: the qualified person confirms twice this load."
    if strength is not None:
        limit = strength.value / factor.value
        if keeps(load, limit, "at most") is Verdict.SHORT:
            verdict, note = Verdict.SHORT, "The post's stated strength is less than twice this load."
    return found(
        "line.posts",
        f"{line} · {post}",
        verdict,
        value=load,
        limit=limit,
        unit="N",
        sense="at most",
        note=note,
    )
