"""The strip between what lines guard and the rest of the deck, where nobody may be, hooked or not.

Whoever is hooked stays as near to a line or anchor as the crew is told; whoever is not stays 6 ft from an
edge. What lies on the floor within 6 ft of a guarded edge, in no reach and behind no rail, is for neither:
somebody has to close it off.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.ops import substring

from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.assess.landing import SAME_LEVEL, floor_surface
from planforge.assess.reach import EdgeReach, Stays, in_plan
from planforge.assess.stated_edges import LEFT, where_runs
from planforge.job.layout import Edge
from planforge.units import FOOT, Display

UNHOOKED = 6 * FOOT
"""How far from an edge the crew sheet keeps whoever is not hooked, m; the plan's own rule, as far as a
warning line stands off an edge at the least (29 CFR 1926.502(f)(2)(i))."""

_CLOSES = {"no entry", "controlled access"}
"""The zones that close a strip off."""

_ROUND = 64


@dataclass(frozen=True)
class OpenStrip:
    """An edge of a floor that lines or anchors guard, in one phase, with the strip behind their reach."""

    hazard: str
    edge: str
    phase: str
    area: shapely.Geometry  # wider than drawing noise; empty where there is none
    beside: shapely.Geometry  # the part of the edge that it runs beside
    guarded_to: float  # m from the edge, where what is guarded ends; 6 ft where nothing is open
    closed_by: tuple[str, ...]  # the zones that close part of it


def open_strips(index: Index, stays: Stays, reaches: list[EdgeReach]) -> list[OpenStrip]:
    """Of every edge of a floor that lines or anchors guard; none without the building's floors."""
    building, edges = index.job.building, {e.id: e for e in index.job.layout.edges}
    strips = []
    for reach in reaches:
        edge = edges[reach.edge]
        level = index.job.layout.levels[edge.level]
        floors = [
            floor_surface(index, f).area
            for f in (building.floors if building else [])
            if abs(index.job.layout.levels[f.level] - level) < SAME_LEVEL
        ]
        if floors:
            strips.append(_strip(index, stays, reach, edge, shapely.union_all(floors)))
    return strips


def _strip(index: Index, stays: Stays, reach: EdgeReach, edge: Edge, floor: shapely.Geometry) -> OpenStrip:
    line = shapely.linestrings(np.asarray(edge.path))
    margin = shapely.intersection(shapely.buffer(line, UNHOOKED, cap_style="flat"), floor)
    zones = [
        z
        for z in index.job.layout.zones
        if z.kind in _CLOSES and not z.at_times and (not z.phases or reach.phase in z.phases)
    ]
    bare = _wider(shapely.difference(margin, shapely.union_all(_guarded(index, stays, reach, edge))))
    closing = [z for z in zones if shapely.intersects(shapely.Polygon(z.outline), bare)]
    left = _wider(shapely.difference(bare, shapely.union_all([shapely.Polygon(z.outline) for z in closing])))
    empty = shapely.is_empty(left)
    return OpenStrip(
        reach.hazard,
        reach.edge,
        reach.phase,
        left,
        _beside(line, left),
        UNHOOKED if empty else float(shapely.distance(line, left)),
        tuple(z.id for z in closing),
    )


def _beside(line: shapely.LineString, area: shapely.Geometry) -> shapely.Geometry:
    """The part of an edge beside each piece of an area."""
    parts = []
    for piece in shapely.get_parts(area):
        if shapely.is_empty(piece):
            continue
        along = shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(piece)))
        parts.append(substring(line, float(along.min()), float(along.max())))
    return shapely.union_all(parts) if parts else shapely.LineString()


def _guarded(index: Index, stays: Stays, reach: EdgeReach, edge: Edge) -> list[shapely.Geometry]:
    """What lies within reach of any line or anchor worked from at this level, or behind a rail."""
    layout = index.job.layout
    level = layout.levels[edge.level]
    at_level = {
        thing
        for task in index.job.tasks
        if reach.phase in task.phases
        for stance in task.stances
        for thing in (stance.line or stance.anchor,)
        if thing is not None
        and abs((layout.levels[task.level] if stance.elevation is None else stance.elevation) - level)
        < SAME_LEVEL
    }
    areas = [
        shapely.buffer(in_plan(index, thing), stay.told, quad_segs=_ROUND)
        for (thing, phase), stay in stays.items()
        if phase == reach.phase and thing in at_level
    ]
    areas += [
        shapely.buffer(shapely.linestrings(np.asarray(rail.path)), UNHOOKED, cap_style="flat")
        for rail in layout.guardrails
        if (not rail.phases or reach.phase in rail.phases)
        and abs(layout.levels[rail.level] - level) < SAME_LEVEL
    ]
    return areas


def _wider(area: shapely.Geometry) -> shapely.Geometry:
    """The parts of an area that are wider than what a drawing leaves by rounding."""
    parts = [p for p in shapely.get_parts(area) if not shapely.is_empty(shapely.buffer(p, -LEFT / 2))]
    return shapely.union_all(parts) if parts else shapely.Polygon()


def strip_findings(index: Index, strips: list[OpenStrip]) -> list[Finding]:
    """How far from each edge its guard goes, against where whoever is not hooked may be."""
    display = Display(index.job.site.units)
    return [_finding(display, s) for s in strips]


def _finding(display: Display, strip: OpenStrip) -> Finding:
    covered = bool(shapely.is_empty(strip.area))
    note = f"Closed off by {', '.join(strip.closed_by)}." if strip.closed_by else ""
    if not covered:
        note = (
            f"{where_runs(display, strip.beside).capitalize()}: from "
            f"{display.feet(strip.guarded_to, 'down')} off the edge to {display.feet(UNHOOKED)} nobody may "
            "be, hooked or not. Let the stances reach farther, move the line, or close it off by a zone of "
            "kind no entry, marked on the deck."
        )
    return found(
        "edge.strip",
        f"{strip.hazard} · {strip.edge}",
        Verdict.MEETS if covered else Verdict.CONFIRM,
        phase=strip.phase,
        value=strip.guarded_to,
        limit=UNHOOKED,
        unit="m",
        sense="at least",
        note=note,
    )
