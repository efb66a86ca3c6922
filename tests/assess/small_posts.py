"""The small lot's posts, guys and lines by name, and what each line pulls, for statics by hand.

Its guys run at 45 degrees from 18 ft up a post that lines pull at 20 ft. Loads are twice the arrest's.
"""

from __future__ import annotations

from math import cos, radians, sin, tan
from typing import Any

from planforge.assess.assessment import Assessment
from planforge.assess.load_path import PostResult
from planforge.units import LBF

from .jobs import Changes

POST, GUY, STUD = "equipment.posts.post", "equipment.guys.guy", "equipment.base_anchors.stud"

BEHIND = "P3 · P3-1"
"""The one guy behind line L-2: 45 degrees from its post, attached 18 ft up; the line pulls 20 ft up."""

LEVER = 20 / 18
"""A guy's share of the pull at the head by moments about the base."""
WEIGHT = 460 * LBF
"""N, of the post."""


def post(assessment: Assessment, name: str) -> PostResult:
    """A post's result."""
    return next(p for p in assessment.posts if p.id == name)


def number(value: float | str | None) -> float:
    """A finding's value or limit that is no word."""
    assert isinstance(value, float), value
    return value


def pull(assessment: Assessment, line: str = "L-2", end: str = "start") -> float:
    """The load of a line at one of its ends, N, not yet doubled."""
    loads = next(r.loads for r in assessment.lines if r.id == line)
    assert loads is not None
    return float(getattr(loads, end))


def down(assessment: Assessment, line: str = "L-2") -> float:
    """The workers' force of a line, N, not yet doubled: it presses the head in the straight case."""
    return next(r.workers_force for r in assessment.lines if r.id == line)


def case(result: PostResult, name: str) -> int:
    """The position of a case."""
    return [c.name for c in result.cases].index(name)


def guy(at: float, post_at: tuple[float, float], **other: Any) -> dict[str, Any]:
    """A guy of the small lot's kind that runs to an azimuth in degrees; places in ft."""
    reach = other.pop("reach", 9.0)
    to = [f"{x + reach * f(radians(at)):.9f} ft" for x, f in zip(post_at, (cos, sin), strict=True)]
    return {
        "id": f"G{at:g}",
        "kind": "guy",
        "height": "18 ft",
        "to": to,
        "elevation": "9 ft",
        "plate": "0 deg",
    } | other


def behind(angle: float) -> Changes:
    """P3's one guy behind its line, from the head itself at an angle in degrees from the post."""
    reach = 11 * tan(radians(angle))
    at = guy(270, (38, 2), reach=reach, height="20 ft", id="P3-1")
    return {
        "layout.posts.P3.guys.P3-1": at,
        f"{GUY}.least_angle.value": "15 deg",
        f"{GUY}.strength.value": "60000 lbf",
    }
