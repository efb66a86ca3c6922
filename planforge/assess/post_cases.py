"""What can act on a post's head at the same time in one phase, and every combination of it.

A line's end gives two forces. Along the line, away from the post, the governing end load: the rope's
whole tension, taken as horizontal. Square to the line, the workers' own force: a rope loaded square to its
chord pulls its ends alike whichever way that force points, so that a fall over the side, a swing or a
connector bent over an edge turns the force but leaves the tension. Two bounds of its direction:

- straight down, with all of it;
- across, to either side, with what the connector's slant leaves of it (:attr:`LineResult.across_forces`).

At a place x along a span L an end has the share 1 - x/L of it. A line absorber gives the same tension
wherever the fall is, so the end load and the whole force, as for a fall beside the head, are taken at once.
The force across without the line's pull is a case too: a guy on the line's side then has nothing to relieve
it. Where several lines pull, one at a time has its workers at this head and across, the others straight.
This is planforge's own rule, no source: no code gives a sideways load for a lifeline's post.

A single anchorage's load may pull to any side. Several on one head are taken alone and all to the same side
at once, and beside every combination of the lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from planforge.assess.anchors import AnchorRun
from planforge.assess.index import Index
from planforge.assess.lines import LineResult
from planforge.assess.post_model import PostParts
from planforge.calc.arrays import Array
from planforge.calc.guyed_post import pull

DIRECTIONS = 24
"""Directions around the circle tried for a single anchorage."""


@dataclass(frozen=True, slots=True)
class Case:
    """One combination of loads on a post's head."""

    name: str
    parts: tuple[tuple[str, Array], ...]  # by line or anchorage: N, (3,), the arrest's own

    @property
    def force(self) -> Array:
        """The resultant, N, (3,)."""
        return np.asarray(np.sum([force for _, force in self.parts], axis=0))


@dataclass(frozen=True, slots=True)
class LineEnd:
    """What a line does to the post at one of its ends; the arrest's own."""

    id: str
    azimuth: float  # rad, the way it pulls
    along: float  # N
    down: float  # N
    across: tuple[float, float]  # N, to its left and to its right as seen from the post

    @property
    def straight(self) -> Array:
        """Its force with the workers straight below, N, (3,)."""
        return pull(self.along, self.azimuth, -self.down)

    def over(self, way: float) -> Array:
        """The workers' force over the left (+1) or right (-1) side, N, (3,)."""
        return way * pull(self.across[0 if way > 0.0 else 1], self.azimuth + 0.5 * np.pi)

    def side(self, way: float) -> str:
        """The way it is pulled across, degrees counter-clockwise from the plan's x."""
        return _degrees(self.azimuth + way * 0.5 * np.pi)


def post_cases(
    index: Index, parts: PostParts, lines: list[LineResult], anchors: list[AnchorRun]
) -> list[Case]:
    """Every combination of the lines in use together, and of the single anchorages beside them."""
    seen: dict[str, Case] = {}
    for phase in index.shared_phases():
        ends = line_ends(index, lines, parts.id, phase)
        together = [chosen for size in range(1, len(ends) + 1) for chosen in combinations(ends, size)]
        plain = [_straight(chosen) for chosen in together]
        across = [case for chosen in together for case in _across(chosen)]
        only = [_only_across(end, way) for end in ends for way in (1.0, -1.0)]
        runs = [r for r in anchors if r.anchor.post == parts.id]
        used = [r for r in runs if index.shared_phases(r.anchor.phases, [phase])]
        for case in (*plain, *across, *only, *_around(parts, used, plain)):
            seen.setdefault(case.name, case)
    return list(seen.values())


def line_ends(index: Index, lines: list[LineResult], post: str, phase: str) -> list[LineEnd]:
    """The ends at a post of the lines in use in a phase that have a load."""
    out = []
    for result in lines:
        line = result.parts.line
        used = post in (line.start, line.end) and index.shared_phases(line.phases, [phase])
        if result.loads is None or not used:
            continue
        away = np.asarray(result.parts.end[:2]) - np.asarray(result.parts.start[:2])
        load, across = result.loads.start, result.across_forces
        if post == line.end:
            away, load, across = -away, result.loads.end, across[::-1]
        way = float(np.arctan2(away[1], away[0]))
        out.append(LineEnd(result.id, way, load, result.workers_force, across))
    return out


def cases_together(ends: tuple[LineEnd, ...]) -> list[Case]:
    """What ends pulling together do: all straight, each in turn across; of a lone end, across alone too."""
    only = [_only_across(ends[0], way) for way in (1.0, -1.0)] if len(ends) == 1 else []
    return [_straight(ends), *_across(ends), *only]


def _straight(ends: tuple[LineEnd, ...]) -> Case:
    return Case(_names(ends), tuple((end.id, end.straight) for end in ends))


def _names(ends: tuple[LineEnd, ...]) -> str:
    return " + ".join(end.id for end in ends)


def _across(ends: tuple[LineEnd, ...]) -> list[Case]:
    """Each line of a combination in turn with its workers over either side, the others straight."""
    return [
        Case(
            f"{_names(ends)}{f', {end.id}' if len(ends) > 1 else ''} across to {end.side(way)}",
            tuple((e.id, pull(e.along, e.azimuth) + e.over(way) if e is end else e.straight) for e in ends),
        )
        for end in ends
        for way in (1.0, -1.0)
    ]


def _only_across(end: LineEnd, way: float) -> Case:
    return Case(f"{end.id} only across to {end.side(way)}", ((end.id, end.over(way)),))


def _around(parts: PostParts, runs: list[AnchorRun], with_lines: list[Case]) -> list[Case]:
    """Each anchorage's whole load, horizontal, to every side, alone and with all others of the post."""
    loads: dict[str, float] = {}
    for run in runs:
        loads[run.anchor.id] = max(loads.get(run.anchor.id, 0.0), run.load)
    chosen = [(name,) for name in loads] + ([tuple(loads)] if len(loads) > 1 else [])
    cases = []
    for names in chosen:
        for beside in (Case("", ()), *with_lines):
            named = " + ".join([*([beside.name] if beside.name else []), *names])
            cases += [
                Case(
                    f"{named} to {_degrees(a)}",
                    (*beside.parts, *((name, pull(loads[name], a)) for name in names)),
                )
                for a in parts.directions(DIRECTIONS)
            ]
    return cases


def _degrees(azimuth: float) -> str:
    return f"{round(np.degrees(azimuth)) % 360}°"
