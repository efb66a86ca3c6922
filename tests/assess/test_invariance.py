"""Turning or mirroring the whole layout in plan changes no number of any finding."""

from __future__ import annotations

from collections.abc import Callable
from math import atan2, cos, radians, sin
from typing import Any

import pytest
from pydantic import BaseModel

from planforge.assess.assessment import assess
from planforge.assess.finding import Finding

from .jobs import Changes, assessed, small
from .test_stances import LUMBER, ON_PLATE

Move = Callable[[float, float], tuple[float, float]]
LOAD_PATH: Changes = {
    "layout.posts.P3.turned": "25 deg",
    "layout.posts.P2.turned": "-40 deg",
    "layout.framing.TR-1.bottom": "8 ft",
    "layout.framing.TR-1.first": ["0", "1 ft 5 in"],
    "equipment.guys.guy.axial_stiffness.value": "250000 lbf",
    "equipment.guys.guy.pretension": {"value": "200 lbf", "source": "Sheet G p. 4 (invented)"},
    "slab.contents.+": {
        "id": "MAT",
        "kind": "radiant tubing",
        "path": [["30 ft", "1 ft"], ["37 ft", "1 ft"], ["37 ft", "4 ft"], ["30 ft", "3 ft"]],
        "fills": True,
        "located_by": "scan",
        "tolerance": "1 in",
    },
}
CHANGES: Changes = LUMBER | ON_PLATE | LOAD_PATH
TOLERANCE = 5e-6
"""Plan places along an edge are rounded to 1e-6 m."""


DIRECTIONS = {"turned", "plate", "direction"}
"""Fields that hold an azimuth."""

SIZES = {"hole_spacing"}
"""Fields that hold two numbers and no place."""


def azimuth(angle: float, move: Move) -> float:
    (x0, y0), (x, y) = move(0.0, 0.0), move(cos(angle), sin(angle))
    return atan2(y - y0, x - x0)


def moved(part: Any, move: Move) -> Any:
    """The same with every plan place moved: a pair of numbers is a place, all else stays."""
    if isinstance(part, BaseModel):
        update = {}
        for name in type(part).model_fields:
            value = getattr(part, name)
            if name in DIRECTIONS and isinstance(value, float):
                update[name] = azimuth(value, move)
            else:
                update[name] = value if name in SIZES else moved(value, move)
        return part.model_copy(update=update)
    if isinstance(part, list):
        return [moved(entry, move) for entry in part]
    if isinstance(part, tuple) and len(part) == 2 and all(isinstance(x, float) for x in part):
        return move(*part)
    return part


def turned(degrees: float) -> Move:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return lambda x, y: (c * x - s * y + 7.0, s * x + c * y - 3.0)


MOVES: dict[str, Move] = {
    "37 degrees": turned(37),
    "90 degrees": turned(90),
    "215 degrees": turned(215),
    "mirrored": lambda x, y: (-x, y),
    "mirrored and turned": lambda x, y: turned(123)(x, -y),
}


def _key(finding: Finding) -> tuple[str, str, str, str]:
    return finding.id, finding.where, finding.phase, str(finding.verdict)


@pytest.mark.parametrize("name", MOVES)
def test_moving_the_layout_changes_nothing(name: str) -> None:
    job = small(CHANGES)
    there = moved(job, MOVES[name])
    assert there.layout.posts[0].at != job.layout.posts[0].at
    before, after = assessed(CHANGES).findings, assess(there).findings
    assert sorted(map(_key, before)) == sorted(map(_key, after))
    now = {(f.id, f.where, f.phase, f.source): f for f in after}
    for was in before:
        found = now[was.id, was.where, was.phase, was.source]
        for old, new in ((was.value, found.value), (was.limit, found.limit)):
            if isinstance(old, float):
                assert new == pytest.approx(old, abs=TOLERANCE, rel=TOLERANCE), was
            else:
                assert new == old, was


def test_swapping_a_lines_ends_changes_nothing() -> None:
    swapped = CHANGES | {"layout.lines.L-1.start": "P2", "layout.lines.L-1.end": "P1"}
    now = {(f.id, f.where, f.phase): f for f in assessed(swapped).findings}
    for was in assessed(CHANGES).findings:
        found = now[was.id, was.where, was.phase]
        assert found.verdict is was.verdict
        if isinstance(was.value, float):
            assert found.value == pytest.approx(was.value, abs=TOLERANCE, rel=2e-4), was
