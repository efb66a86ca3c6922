"""Statics by hand: one guy that holds a horizontal pull of 4,000 lbf at a pinned post.

T = H / sin(angle from the post), uplift H / tan(angle), rounded to three digits. By the equations themselves
and by the whole frame of the guyed post.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from planforge.calc.guy import tension_for_pull, uplift_for_pull
from planforge.calc.guyed_post import Guys, Loads, Post, pull, solve_post

from .cases import POUND_FORCE, Case

_SOURCE, _PULL = "statics by hand", 4000.0 * POUND_FORCE


def by_frame(degrees: float) -> tuple[float, float]:
    """Tension and post compression, lbf, of a post of 12 ft guyed at its head."""
    head = np.array([3.6576])
    guys = Guys(head, np.array([math.pi]), np.array([math.radians(degrees)]), np.array([2e6]))
    answer = solve_post(Post(head, 4e5, 3e8), guys, Loads(head, pull(_PULL, 0.0)[None, :]))
    return float(answer.tension[0]) / POUND_FORCE, float(answer.axial[0, 0]) / POUND_FORCE


CASES = [
    case
    for degrees, tension, uplift in ((45.0, 5660.0, 4000.0), (20.0, 11_700.0, 11_000.0))
    for case in (
        Case(
            _SOURCE,
            f"tension at {degrees:g} degrees",
            tension,
            lambda a=degrees: float(tension_for_pull(_PULL, math.radians(a))) / POUND_FORCE,
            "lbf",
            0.002,
            "three digits",
        ),
        Case(
            _SOURCE,
            f"uplift at {degrees:g} degrees",
            uplift,
            lambda a=degrees: float(uplift_for_pull(_PULL, math.radians(a))) / POUND_FORCE,
            "lbf",
            0.002,
            "three digits",
        ),
        Case(
            _SOURCE,
            f"tension at {degrees:g} degrees, by the frame",
            tension,
            lambda a=degrees: by_frame(a)[0],
            "lbf",
            0.002,
            "three digits",
        ),
        Case(
            _SOURCE,
            f"post's compression at {degrees:g} degrees, by the frame",
            uplift,
            lambda a=degrees: by_frame(a)[1],
            "lbf",
            0.002,
            "three digits",
        ),
    )
]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.case)
def test_statics(case: Case) -> None:
    case.check()
