"""Outlines and paths fit for a job: closed, not crossing themselves, no point twice, not too many points.

What can't be taken without a guess is a problem with its layer, handle, place and remedy.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from planforge.cad.chains import Chain, Joined
from planforge.cad.placing import Placing
from planforge.cad.problems import drawn
from planforge.calc.arrays import Array
from planforge.errors import Problem
from planforge.units import Display

MOST_POINTS = 400
"""What one outline or path of a job holds."""
SAME_PLACE = 1.001e-3
"""Points nearer than this (m) are one point to a job; a hair more, so that rounding can't bring two there."""
LEAST_AREA = 1e-4
"""An outline of less (m2) encloses nothing."""

_PLACE = re.compile(r"\[(-?[\d.eE+-]+) (-?[\d.eE+-]+)\]")


@dataclass
class Sheet:
    """The drawing at hand: how it lies, how lengths print, and what was found wrong or worth a note."""

    file: str
    placing: Placing
    display: Display
    join: float
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def small(self, metres: float) -> str:
        """A tolerance or a gap, rounded up: to 1/16 in, or 1 mm."""
        return self.display.length(metres, "up", 16)

    def refuse(self, layer: str, handle: str, found: str, expected: str, remedy: str) -> None:
        """Keep a problem."""
        self.problems.append(drawn(self.file, found, expected, remedy, layer=layer, handle=handle))


def note_joined(sheet: Sheet, layer: str, joined: Joined) -> None:
    """Report what was left out and moved in joining."""
    note_left_out(sheet, layer, joined.twice, joined.empty)
    moved = max((c.moved for c in joined.chains), default=0.0)
    if moved > 1e-9:
        said = sheet.small(moved)
        sheet.notes.append(f'layer "{layer}": ends up to {said} apart were joined')


def note_left_out(sheet: Sheet, layer: str, twice: Sequence[Chain], empty: Sequence[Chain]) -> None:
    """Report what is drawn twice or has no length."""
    for chains, why in ((twice, "drawn a second time"), (empty, "without length")):
        if chains:
            handles = ", ".join(c.handle for c in chains[:8]) + (", ..." if len(chains) > 8 else "")
            sheet.notes.append(f'layer "{layer}": {len(chains)} left out as {why} (handle {handles})')


def outlines(sheet: Sheet, layer: str, joined: Joined) -> list[Chain]:
    """The closed outlines of a layer; what is open, forked or crosses itself is refused."""
    for fork in joined.forks:
        sheet.refuse(
            layer,
            fork.handles[0],
            f"{len(fork.handles)} ends that meet at {sheet.placing.in_drawing(fork.at)} "
            f"(handles {', '.join(fork.handles)})",
            "an outline in which two ends meet at each corner",
            "Delete what is not part of the outline, or put it on another layer.",
        )
    if joined.forks:
        return []
    loose = [c for c in joined.chains if not c.closed]
    for chain in loose:
        _refuse_open(sheet, layer, chain, loose)
    whole = [_checked(sheet, layer, c) for c in joined.chains if c.closed]
    return [c for c in whole if c is not None]


def _refuse_open(sheet: Sheet, layer: str, chain: Chain, loose: Sequence[Chain]) -> None:
    end = chain.points[-1]
    ends = [chain.points[0], *(c.points[i] for c in loose if c is not chain for i in (0, -1))]
    gaps = [float(np.hypot(*(e - end)[:2])) for e in ends]
    nearest = int(np.argmin(gaps))
    gap = sheet.display.length(gaps[nearest], denominator=16)
    places = f"{sheet.placing.in_drawing(end)} to {sheet.placing.in_drawing(ends[nearest])}"
    sheet.refuse(
        layer,
        chain.handle,
        f"an outline that is open: a gap of {gap} from {places}",
        f"closed outlines (ends within {sheet.small(sheet.join)} are joined)",
        "Close it in the drawing, or state a larger drawing.join where the gap is careless drawing.",
    )


def _checked(sheet: Sheet, layer: str, chain: Chain) -> Chain | None:
    points = thinned(chain.points, closed=True)
    shape = shapely.Polygon(points[:, :2]) if len(points) >= 3 else None
    found = expected = remedy = ""
    if shape is None or (shape.is_valid and shape.area < LEAST_AREA):
        found, expected, remedy = "an outline of no area", "an outline that encloses something", "Delete it."
    elif not shape.is_valid:
        reason = shapely.is_valid_reason(shape)
        match = _PLACE.search(reason)
        where = sheet.placing.in_drawing(np.array([float(match[1]), float(match[2])])) if match else reason
        found = f"an outline that meets itself at {where}"
        expected, remedy = "an outline whose sides meet only at its corners", "Draw it once around."
    elif len(points) > MOST_POINTS:
        found, expected = f"an outline of {len(points)} points", f"at most {MOST_POINTS}"
        remedy = "State a larger drawing.curve_tolerance, or draw it simpler."
    if found:
        sheet.refuse(layer, chain.handle, found, expected, remedy)
        return None
    return Chain(points, True, chain.handles, chain.deviation, chain.moved)


def thinned(points: Array, *, closed: bool) -> Array:
    """Leave out points that stand on the one before (nearer than 1 mm); the ends of a path stay."""
    kept = [0]
    for n in range(1, len(points)):
        if np.abs(points[n, :2] - points[kept[-1], :2]).max() >= SAME_PLACE:
            kept.append(n)
    last = len(points) - 1
    if closed:
        while len(kept) > 1 and np.abs(points[kept[-1], :2] - points[0, :2]).max() < SAME_PLACE:
            kept.pop()
    elif kept[-1] != last and len(kept) > 1:
        kept[-1] = last
    return points[kept]


def paths(sheet: Sheet, layer: str, joined: Joined, *, split: bool = False) -> list[tuple[str, Chain]]:
    """The paths of a layer with their handles; ``split`` cuts one of too many points into parts."""
    found = []
    for chain in joined.chains:
        points = np.concatenate([chain.points, chain.points[:1]]) if chain.closed else chain.points
        points = thinned(points, closed=False)
        if len(points) < 2:
            continue
        whole = Chain(points, False, chain.handles, chain.deviation, chain.moved)
        if len(points) <= MOST_POINTS:
            found.append((chain.handle, whole))
        elif split:
            cuts = range(0, len(points) - 1, MOST_POINTS - 1)
            for number, cut in enumerate(cuts, 1):
                part = Chain(points[cut : cut + MOST_POINTS], False, chain.handles, chain.deviation)
                found.append((f"{chain.handle}-part{number}", part))
        else:
            sheet.refuse(
                layer,
                chain.handle,
                f"a path of {len(points)} points",
                f"at most {MOST_POINTS}",
                "State a larger drawing.curve_tolerance, or break it in the drawing.",
            )
    return found


def widened(sheet: Sheet, layer: str, chain: Chain, way: float) -> Array:
    """An outline moved outward (+1) or inward (-1) by what its chords may lie off, so that it errs one way.

    An outline without curves stays as drawn. Points (n, 2).
    """
    points = chain.points[:, :2]
    if chain.deviation == 0.0:
        return points
    moved = shapely.buffer(shapely.Polygon(points), way * chain.deviation, join_style="mitre")
    if moved.geom_type != "Polygon" or moved.interiors:
        sheet.refuse(
            layer, chain.handle, "an outline too narrow for its curves", "a wider one", "Draw it anew."
        )
        return points
    rim = shapely.get_coordinates(moved.exterior)[:-1]
    rim = rim if shapely.is_ccw(moved.exterior) else rim[::-1]
    return thinned(np.asarray(rim), closed=True)
