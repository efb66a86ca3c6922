"""Drop-offs found from the geometry against the edges and openings that the coordinator states or strikes.

A stated edge covers a stretch within :data:`BESIDE_EDGE` of it in plan, running its way, at its level, in the
phases in which it is open and a hazard of the register names it. Lengths and elevations in m.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely

from planforge.assess.drop_offs import DropOff, Found
from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.calc.arrays import Array
from planforge.job.building import StruckEdge
from planforge.job.layout import Edge
from planforge.memo import remembered
from planforge.units import FOOT, Display

BESIDE_EDGE = FOOT
"""A stated edge this close, in plan and in height, is the one found; planforge's own allowance, no source."""

LEFT = 0.5 * FOOT
"""An uncovered remainder up to this is drawing noise, m; planforge's own allowance, no source."""

_NOTHING = 1e-6
"""No length, m."""

_PARALLEL = np.cos(np.radians(30.0))


@dataclass(frozen=True)
class Covered:
    """A drop-off with what states or strikes it."""

    drop: DropOff
    edges: tuple[str, ...]  # the edges and openings that cover part of it
    hazards: tuple[str, ...]  # their hazards in the register
    struck: tuple[StruckEdge, ...]
    left: shapely.Geometry  # what nothing covers

    @cached_property
    def uncovered(self) -> float:
        """The length that nothing covers, m."""
        return float(shapely.length(self.left))

    @property
    def complete(self) -> bool:
        """True where all of it is stated or struck."""
        return self.uncovered <= LEFT


def part_beside(path: Array, beside: Sequence[tuple[float, float]]) -> shapely.Geometry:
    """The part of ``path`` (N, 2) that another path runs beside, within the allowance and its way."""
    return _part_beside(path, np.asarray(beside, dtype=float))


@remembered()
def _part_beside(path: Array, beside: Array) -> shapely.Geometry:
    parts = []
    for start, end in pairwise(path):
        run = end - start
        for first, last in pairwise(beside):
            other = last - first
            if abs(run @ other) >= _PARALLEL * np.hypot(*run) * np.hypot(*other):
                strip = shapely.buffer(shapely.linestrings([first, last]), BESIDE_EDGE, cap_style="flat")
                parts.append(shapely.intersection(shapely.linestrings([start, end]), strip))
    return shapely.union_all(parts) if parts else shapely.LineString()


def at_level(index: Index, drop: DropOff, elevation: float) -> bool:
    """True where an edge stated at ``elevation`` can be this one; a roof's is anywhere along its slope."""
    roof = (
        next((r for r in index.job.building.roofs if r.id == drop.of), None) if index.job.building else None
    )
    heights = np.array(roof.heights) if roof else drop.top
    return bool(heights.min() - BESIDE_EDGE <= elevation <= heights.max() + BESIDE_EDGE)


def edge_part(index: Index, drop: DropOff, edge: Edge) -> shapely.Geometry:
    """The part of a drop-off that a stated edge is, whatever the register says of it."""
    if not at_level(index, drop, index.job.layout.levels[edge.level]):
        return shapely.LineString()
    return part_beside(drop.path, edge.path)


def coverage(index: Index, found_edges: Found) -> list[Covered]:
    """Every drop-off at or over the trigger height, with what covers it."""
    return [_covered(index, drop, found_edges) for drop in found_edges.over]


def _covered(index: Index, drop: DropOff, found_edges: Found) -> Covered:
    layout, hazards = index.job.layout, index.job.hazards
    here = [h for h in hazards if drop.phase in h.phases]
    parts, edges, named = [], [], []
    for hazard in here:
        if hazard.opening == drop.of:
            parts.append(drop.line)
            edges.append(drop.of)
            named.append(hazard.id)
    for edge in layout.edges:
        register = [h.id for h in here if h.edge == edge.id]
        if not register or (edge.phases and drop.phase not in edge.phases):
            continue
        part = edge_part(index, drop, edge)
        if shapely.length(part) > 0.0:
            parts.append(part)
            edges.append(edge.id)
            named += register
    strikes = [s for s in _strikes(index) if _strikes_it(index, s, drop, found_edges)]
    struck = [(s, part_beside(drop.path, s.path)) for s in strikes]
    parts += [part for _, part in struck]
    left = (
        shapely.difference(drop.line, shapely.buffer(shapely.union_all(parts), 1e-6)) if parts else drop.line
    )
    return Covered(drop, tuple(edges), tuple(dict.fromkeys(named)), tuple(s for s, _ in struck), left)


def _strikes(index: Index) -> list[StruckEdge]:
    return index.job.building.struck if index.job.building else []


def _matches(struck: StruckEdge, drop: DropOff) -> bool:
    in_phase = not struck.phases or drop.phase in struck.phases
    return in_phase and float(shapely.length(part_beside(drop.path, struck.path))) > LEFT


def _levels(index: Index, struck: StruckEdge, found_edges: Found) -> list[float]:
    """The elevations at which a strike matches something, those of its level alone where it names one."""
    tops = {
        float(np.mean(d.top))
        for d in found_edges.over
        if _matches(struck, d)
        and (struck.level is None or at_level(index, d, index.job.layout.levels[struck.level]))
    }
    kept: list[float] = []
    for top in sorted(tops):
        if not kept or top - kept[-1] > BESIDE_EDGE:
            kept.append(top)
    return kept


def _strikes_it(index: Index, struck: StruckEdge, drop: DropOff, found_edges: Found) -> bool:
    """Without a level, and with edges above each other there, it strikes none: which one is meant?"""
    if not _matches(struck, drop):
        return False
    if struck.level is not None:
        return at_level(index, drop, index.job.layout.levels[struck.level])
    return len(_levels(index, struck, found_edges)) == 1


def edge_findings(index: Index, found_edges: Found, covered: list[Covered]) -> list[Finding]:
    """Each stretch found is stated and registered, or struck with a reason; each strike strikes something."""
    building = index.job.building
    if building is None or not (building.floors or building.roofs or any(w.worked for w in building.walls)):
        return [
            found(
                "edge.found",
                "lot",
                Verdict.CONFIRM,
                value="no geometry stated",
                note="State building (floors, walls worked on, roofs): its drop-offs are then found and held "
                "against the edges drawn.",
            )
        ]
    display = Display(index.job.site.units)
    findings = [_found(display, group) for group in _alike(covered)]
    return findings + [_struck(index, s, found_edges) for s in _strikes(index)]


def _alike(covered: list[Covered]) -> list[list[Covered]]:
    """The same stretch with the same cover in several phases is one finding."""
    groups: dict[tuple[object, ...], list[Covered]] = {}
    for c in covered:
        strikes, below = tuple(s.id for s in c.struck), tuple(c.drop.below.round(6))
        key = (c.drop.id, c.edges, c.hazards, strikes, round(c.uncovered, 6), below)
        groups.setdefault(key, []).append(c)
    return list(groups.values())


def _found(display: Display, group: list[Covered]) -> Finding:
    first = group[0]
    drop = first.drop
    if first.complete:
        by = ", ".join([*first.edges, *(f"struck by {s.id}" for s in first.struck)])
        note = f"{display.feet(drop.max_height)} down to {' and '.join(drop.onto)}; {by}."
        note = f"{note} {let_pass(display, first.uncovered)}".rstrip()
    else:
        note = (
            f"{display.feet(drop.max_height)} down to {' and '.join(drop.onto)}, "
            f"{where_runs(display, first.left)}: draw an edge there with a hazard in the register for this "
            "phase, or strike it under building.struck with the reason."
        )
    return found(
        "edge.found",
        drop.id,
        Verdict.MEETS if first.complete else Verdict.SHORT,
        phase=", ".join(c.drop.phase for c in group),
        value=first.uncovered,
        limit=LEFT,
        unit="m",
        sense="at most",
        note=note,
    )


def let_pass(display: Display, left: float) -> str:
    """What is said of a remainder (m) of an edge that lets it pass; nothing where nothing is left."""
    if left <= _NOTHING:
        return ""
    return f"A remainder of up to {display.inches(LEFT)} is let pass: planforge's own allowance, no source."


def where_runs(display: Display, part: shapely.Geometry) -> str:
    """``from 24.0 ft, 0.0 ft to 24.0 ft, 15.0 ft``, for each piece of a length of edge."""
    merged = shapely.line_merge(part) if part.geom_type == "MultiLineString" else part
    pieces = [g for g in shapely.get_parts(merged) if g.geom_type == "LineString" and g.length > LEFT]
    ends = [(g.coords[0], g.coords[-1]) for g in pieces]
    return " and ".join(
        "from " + " to ".join(f"{display.feet(x)}, {display.feet(y)}" for x, y in pair) for pair in ends
    )


def _struck(index: Index, struck: StruckEdge, found_edges: Found) -> Finding:
    levels = _levels(index, struck, found_edges)
    person = index.person(struck.by)
    clear = len(levels) == 1 or (struck.level is not None and bool(levels))
    if clear:
        note = f"{struck.reason} Struck by {person}."
        return found("edge.struck", struck.id, Verdict.MEETS, value=f"struck by {person}", note=note)
    value = (
        "no drop-off at the trigger height is found there"
        if not levels
        else "edges above each other are found there"
    )
    note = (
        "Correct its path or phases, or delete it."
        if not levels
        else "State under level which of them is struck; until then none is."
    )
    return found("edge.struck", struck.id, Verdict.SHORT, value=value, note=note)
