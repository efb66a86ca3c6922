"""Distances to power lines: as surveyed, and as measured in plan where the line's way is stated.

The smaller of both counts. A distance in plan is no greater than the true one: the line's height adds to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from planforge.assess.finding import Finding, Verdict, found, keeps, vouched
from planforge.assess.index import Index
from planforge.job.site import OverheadLine
from planforge.units import FOOT, Display

TIED_WORKER = 10.0 * FOOT
"""How much nearer than posts, guys and lines a tied worker may be, whom the stated distance counts too.

Common practice, no source. Where the drawn way is farther off than that, it and the survey don't agree.
"""


@dataclass(frozen=True)
class Distance:
    """A distance to a power line, m."""

    value: float
    nearest: str  # to what it was measured; empty where the surveyed one counts


def to_equipment(index: Index, line: OverheadLine) -> Distance:
    """From equipment and load at full reach: the lift with its radius, hoisting zones, every post."""
    radius = (index.job.hoisting.radius or 0.0) if index.job.hoisting else 0.0
    layout = index.job.layout
    things = {f"post {p.id}": (shapely.points(p.at), 0.0) for p in layout.posts}
    things |= {
        f"lift {p.id}{' at its radius' if radius else ''}": (shapely.points(p.at), radius)
        for p in layout.places
        if p.kind == "lift"
    }
    things |= {
        f"zone {z.id}": (shapely.polygons(np.asarray(z.outline)), 0.0)
        for z in layout.zones
        if z.kind == "hoisting"
    }
    return _smaller(line, line.distance, things)


def to_standing(index: Index, line: OverheadLine) -> Distance | None:
    """From posts, guys and wire lines; None where it is neither stated nor can be measured."""
    things = _standing(index)
    if line.post_distance is None and (line.path is None or not things):
        return None
    return _smaller(line, line.post_distance if line.post_distance is not None else np.inf, things)


def _standing(index: Index) -> dict[str, tuple[shapely.Geometry, float]]:
    """Posts, guys and wire lines in plan, by name."""
    layout = index.job.layout
    things = {f"post {p.id}": (shapely.points(p.at), 0.0) for p in layout.posts}
    things |= {
        f"guy {g.id}": (shapely.linestrings(np.asarray([p.at, g.to])), 0.0)
        for p in layout.posts
        for g in p.guys
    }
    things |= {
        f"line {row.id}": (
            shapely.linestrings(np.asarray([index.head(e)[:2] for e in (row.start, row.end)])),
            0.0,
        )
        for row in layout.lines
    }
    return things


def _smaller(
    line: OverheadLine, stated: float, things: dict[str, tuple[shapely.Geometry, float]]
) -> Distance:
    if line.path is None or not things:
        return Distance(stated, "")
    way = shapely.linestrings(np.asarray(line.path))
    each = {name: max(float(shapely.distance(way, g)) - reach, 0.0) for name, (g, reach) in things.items()}
    nearest = min(each, key=each.__getitem__)
    return Distance(each[nearest], nearest) if each[nearest] < stated else Distance(stated, "")


def measured_note(distance: Distance, stated: float | None, display: Display) -> str:
    """What is printed where the plan gives less than the survey."""
    if not distance.nearest:
        return ""
    told = f"Measured in plan to {distance.nearest}"
    if stated is None:
        return f"{told}; no surveyed distance is stated."
    return f"{told}; the {display.feet(stated)} stated are more, and the smaller counts: survey again."


def _farther_note(index: Index, line: OverheadLine) -> str:
    """What is printed where the drawn way lies much farther off than the survey says."""
    if line.post_distance is None:
        return ""
    drawn = _smaller(line, np.inf, _standing(index))
    if drawn.value - line.post_distance <= TIED_WORKER or not drawn.nearest:
        return ""
    feet = Display(index.job.site.units).feet
    return (
        f"Drawn, {drawn.nearest} is {feet(drawn.value)} away; the {feet(line.post_distance)} stated count: "
        "correct the path or the survey."
    )


def power_findings(index: Index) -> list[Finding]:
    """The standing post, its wire line and workers near each power or service line."""
    survey = index.job.power_lines
    if survey is None or not index.job.layout.posts:
        return []
    return [_near_post(index, line) for line in survey.lines]


def _near_post(index: Index, line: OverheadLine) -> Finding:
    distance, limit = to_standing(index, line), line.post_limit
    note = measured_note(distance, line.post_distance, Display(index.job.site.units)) if distance else ""
    note = note or _farther_note(index, line)
    if distance is None or limit is None:
        wanted = "post_distance or path" if distance is None else "post_limit"
        return found(
            "power.post",
            line.id,
            Verdict.CONFIRM,
            value=distance.value if distance is not None else "not stated",
            limit=limit.value if limit else "the utility's distance is wanted",
            unit="m" if distance is not None else "",
            note=f"State {wanted}: the code's table covers lifting equipment only. {note}".strip(),
        )
    return found(
        "power.post",
        line.id,
        vouched(keeps(distance.value, limit.value, "at least"), limit),
        value=distance.value,
        limit=limit.value,
        unit="m",
        sense="at least",
        source=limit.source or "no document",
        note=note,
    )
