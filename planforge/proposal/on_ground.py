"""What the re-check found off every ground is taken from the lines that were meant to cover it.

Candidates are weighed at their own stances' places; the ground of a line, with its swing at the ends, is
reckoned only in the re-check. A stretch that lies on none of the chosen lines' grounds is covered by none
of them: it is struck from what they give, and the choice is made again.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from planforge.assess.reach import EdgeReach
from planforge.assess.stated_edges import LEFT
from planforge.proposal.candidate import Candidate, Service
from planforge.proposal.choice import Choice
from planforge.proposal.demand import rows
from planforge.proposal.edges import HazardEdge
from planforge.proposal.problem import Problem, unguarded
from planforge.proposal.recheck import Rechecked
from planforge.proposal.spans import Stretch, overlap

_ON_EDGE = 1e-4
"""A stretch this near a piece of an edge is of that piece, m."""


def struck_off_ground(problem: Problem, choice: Choice, rechecked: Rechecked) -> Problem | None:
    """The problem without what its chosen lines do not cover after all; None where nothing is struck."""
    short = {(f.where, f.phase) for f in rechecked.caused if f.id == "edge.ground"}
    off = [
        (stretch, reach.phase)
        for reach in rechecked.assessment.reaches
        if (f"{reach.hazard} · {reach.edge}", reach.phase) in short
        for stretch in _stretches(problem.edges, reach)
    ]
    changed = {k: _without(problem.candidates[k], off) for k in choice.options}
    if all(changed[k] is problem.candidates[k] for k in changed):
        return None
    candidates = [changed.get(k, c) for k, c in enumerate(problem.candidates)]
    every = rows(problem.edges, unguarded(problem.index, problem.edges), candidates)
    return replace(problem, candidates=candidates, rows=every)


def _stretches(edges: list[HazardEdge], reach: EdgeReach) -> list[Stretch]:
    """What of an edge lies on no ground, piece by piece."""
    found = []
    for e, edge in enumerate(edges):
        if edge.id != reach.edge:
            continue
        for p, piece in enumerate(edge.pieces):
            line = shapely.linestrings(piece)
            part = shapely.intersection(reach.off_ground, shapely.buffer(line, _ON_EDGE))
            for one in shapely.get_parts(part):
                along = shapely.line_locate_point(line, shapely.points(shapely.get_coordinates(one)))
                start, end = float(np.min(along)), float(np.max(along))
                if end - start > LEFT:
                    found.append(Stretch(e, p, start, end))
    return found


def _without(candidate: Candidate, off: list[tuple[Stretch, str]]) -> Candidate:
    services = [part for service in candidate.services for part in _left(service, off)]
    return candidate if services == list(candidate.services) else replace(candidate, services=tuple(services))


def _left(service: Service, off: list[tuple[Stretch, str]]) -> list[Service]:
    """What is left of a service, in one or more parts."""
    left = [service.stretch]
    for struck, phase in off:
        if phase == service.phase:
            left = [part for one in left for part in _minus(one, struck)]
    if left == [service.stretch]:
        return [service]
    return [replace(service, stretch=part) for part in left]


def _minus(one: Stretch, struck: Stretch) -> list[Stretch]:
    if not overlap(one, struck):
        return [one]
    parts = replace(one, end=struck.start), replace(one, start=struck.end)
    return [part for part in parts if part.length > LEFT]
