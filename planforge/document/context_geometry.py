"""What the building's geometry gives, as rows: drop-offs with what covers them, grounds, edges on none."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from planforge.assess.assessment import Assessment
from planforge.assess.drop_offs import DropOff
from planforge.assess.finding import Finding, Verdict
from planforge.assess.ground import Ground
from planforge.assess.reach import EdgeReach
from planforge.assess.stated_edges import Covered, where_runs
from planforge.assess.strip import UNHOOKED
from planforge.document.printed import DASH, Printed


@dataclass(frozen=True, slots=True)
class DropRow:
    """A stretch found, in the phases in which it is the same."""

    id: str
    kind: str
    runs: str
    length: str
    height: str
    onto: str
    phases: str
    covered: str  # the edges and openings that state it, with their hazards
    left: str  # the length that nothing covers; empty where all of it is
    verdict: str


@dataclass(frozen=True, slots=True)
class StruckRow:
    """A stretch that the coordinator struck."""

    id: str
    runs: str
    phases: str
    reason: str
    by: str
    verdict: str


@dataclass(frozen=True, slots=True)
class GroundRow:
    """How far a worker of one stance can work from a line or anchorage."""

    thing: str
    stance: str
    phases: str
    level: str
    connector: str
    least: str
    least_by: str  # a key of the templates' words
    greatest: str
    area: str


@dataclass(frozen=True, slots=True)
class EdgeRow:
    """An edge that lines or anchors guard, and what of it lies on no ground."""

    hazard: str
    edge: str
    phases: str
    uses: str
    length: str
    left: str
    bounded: str
    verdict: str


@dataclass(frozen=True, slots=True)
class GuardedRow:
    """What one line, anchor or guardrail guards of an edge, in the phases in which it is the same."""

    hazard: str
    edge: str
    phases: str
    by: str
    within: str  # as the crew is told to stay; a dash for a guardrail
    runs: str


@dataclass(frozen=True, slots=True)
class StripRow:
    """A strip between what is guarded and 6 ft from the edge, and what closes it off."""

    hazard: str
    edge: str
    phases: str
    guarded_to: str
    beside: str
    closed_by: str
    open: bool


def geometry_context(assessment: Assessment, show: Printed) -> dict[str, object]:
    """Every row, by the name the templates use."""
    return {
        "geometry_stated": assessment.job.building is not None,
        "drop_offs": tuple(_drops(assessment, show)),
        "low_drop_offs": tuple(_low(assessment, show)),
        "struck_edges": tuple(_struck(assessment, show)),
        "ground_rows": tuple(_grounds(assessment, show)),
        "edge_rows": tuple(_edges(assessment, show)),
        "guarded_rows": tuple(_guarded(assessment, show)),
        "strip_rows": tuple(_strips(assessment, show)),
        "unhooked": show.feet(UNHOOKED),
    }


def _drops(assessment: Assessment, show: Printed) -> Iterable[DropRow]:
    groups: dict[tuple[object, ...], list[Covered]] = {}
    for covered in assessment.covered:
        strikes = tuple(s.id for s in covered.struck)
        key = (*_shape(covered.drop), covered.edges, covered.hazards, strikes, covered.uncovered)
        groups.setdefault(key, []).append(covered)
    for group in groups.values():
        first = group[0]
        named = [", ".join(first.edges)] if first.edges else []
        named += [f"struck: {s.id}" for s in first.struck]
        register = f" ({', '.join(first.hazards)})" if first.hazards else ""
        yield DropRow(
            **_drop(first.drop, [c.drop.phase for c in group], show),
            covered="; ".join(named) + register if named else DASH,
            left="" if first.complete else show.feet(first.uncovered, "up"),
            verdict=(Verdict.MEETS if first.complete else Verdict.SHORT).value,
        )


def _low(assessment: Assessment, show: Printed) -> Iterable[DropRow]:
    groups: dict[tuple[object, ...], list[DropOff]] = {}
    for drop in assessment.found_edges.under:
        groups.setdefault(_shape(drop), []).append(drop)
    for group in groups.values():
        yield DropRow(
            **_drop(group[0], [d.phase for d in group], show),
            covered="",
            left="",
            verdict=Verdict.NOT_APPLICABLE.value,
        )


def _shape(drop: DropOff) -> tuple[object, ...]:
    return drop.id, drop.onto, drop.below.round(6).tobytes()


def _drop(drop: DropOff, phases: list[str], show: Printed) -> dict[str, str]:
    return {
        "id": drop.id,
        "kind": drop.kind,
        "runs": runs(drop.path[0], drop.path[-1], show),
        "length": show.length(drop.length),
        "height": _range(drop.height.min(), drop.height.max(), show),
        "onto": " and ".join(drop.onto),
        "phases": ", ".join(phases),
    }


def runs(start: Iterable[float], end: Iterable[float], show: Printed) -> str:
    """``0, 0 to 44'-0", 0`` in plan."""
    return " to ".join(", ".join(show.length(float(v)) for v in point) for point in (start, end))


def _range(low: float, high: float, show: Printed) -> str:
    """A height that varies by its least and greatest; the greatest rounded up."""
    most, least = show.feet(high, "up"), show.feet(low, "up")
    return most if most == least else f"{least} to {most}"


def _struck(assessment: Assessment, show: Printed) -> Iterable[StruckRow]:
    verdicts = {f.where: f.verdict.value for f in assessment.findings if f.id == "edge.struck"}
    building = assessment.job.building
    for struck in building.struck if building else []:
        yield StruckRow(
            id=struck.id,
            runs=runs(struck.path[0], struck.path[-1], show),
            phases=", ".join(assessment.index.shared_phases(struck.phases)),
            reason=struck.reason,
            by=assessment.index.person(struck.by),
            verdict=verdicts[struck.id],
        )


def _grounds(assessment: Assessment, show: Printed) -> Iterable[GroundRow]:
    groups: dict[tuple[object, ...], list[Ground]] = {}
    for ground in assessment.grounds:
        key = (ground.label, ground.connector, ground.limits.round(6).tobytes())
        groups.setdefault(key, []).append(ground)
    levels = assessment.job.layout.levels
    for group in groups.values():
        ground = group[0]
        level = next((n for n, h in levels.items() if abs(h - ground.surface) < 1e-3), "")
        yield GroundRow(
            thing=ground.of,
            stance=ground.label.partition(" · ")[2],
            phases=", ".join(g.phase for g in group),
            level=f"{level} {show.length(ground.surface)}".strip(),
            connector=ground.connector,
            least=show.feet(float(ground.reach.min()), "down"),
            least_by=ground.narrowed_by,
            greatest=show.feet(float(np.max(ground.reach)), "down"),
            area=show.area(float(shapely.area(ground.area))),
        )


def _edges(assessment: Assessment, show: Printed) -> Iterable[EdgeRow]:
    findings = {(f.where, f.phase): f for f in assessment.findings if f.id == "edge.ground"}
    groups: dict[tuple[object, ...], list[EdgeReach]] = {}
    for reach in assessment.reaches:
        key = (reach.hazard, reach.edge, reach.uses, round(reach.left, 6), _outcome(findings, reach))
        groups.setdefault(key, []).append(reach)
    for group in groups.values():
        reach = group[0]
        yield EdgeRow(
            hazard=reach.hazard,
            edge=reach.edge,
            phases=", ".join(r.phase for r in group),
            uses=", ".join(reach.uses),
            length=show.length(reach.length),
            left=show.feet(reach.left, "up"),
            bounded=reach.bounded_by,
            verdict=_outcome(findings, reach),
        )


def _guarded(assessment: Assessment, show: Printed) -> Iterable[GuardedRow]:
    groups: dict[GuardedRow, list[str]] = {}
    for reach in assessment.reaches:
        for guarded in reach.guarded:
            row = GuardedRow(
                hazard=reach.hazard,
                edge=reach.edge,
                phases="",
                by=guarded.by,
                within=DASH if guarded.within is None else show.feet(guarded.within, "down"),
                runs=where_runs(show, guarded.part).replace("from ", "") or DASH,
            )
            groups.setdefault(row, []).append(reach.phase)
    return [replace(row, phases=", ".join(phases)) for row, phases in groups.items()]


def _strips(assessment: Assessment, show: Printed) -> Iterable[StripRow]:
    groups: dict[StripRow, list[str]] = {}
    for strip in assessment.strips:
        still_open = not shapely.is_empty(strip.area)
        if still_open or strip.closed_by:
            row = StripRow(
                hazard=strip.hazard,
                edge=strip.edge,
                phases="",
                guarded_to=show.feet(strip.guarded_to, "down") if still_open else "",
                beside=where_runs(show, strip.beside),
                closed_by=", ".join(strip.closed_by),
                open=still_open,
            )
            groups.setdefault(row, []).append(strip.phase)
    return [replace(row, phases=", ".join(phases)) for row, phases in groups.items()]


def _outcome(findings: dict[tuple[str, str], Finding], reach: EdgeReach) -> str:
    return findings[f"{reach.hazard} · {reach.edge}", reach.phase].verdict.value
