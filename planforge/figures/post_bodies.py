"""A post's free bodies under its governing case, as its figure shows them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.free_body import FreeBody, free_bodies, governing_case
from planforge.assess.load_path import PostResult
from planforge.assess.post_model import CLAMPED, PINNED


@dataclass(frozen=True)
class PostBodies:
    """A post under its governing case, at 1 and at ``factor`` times its load, on both bounds of the base."""

    result: PostResult
    case: int
    own: FreeBody  # pinned, 1×
    twice: FreeBody  # pinned, factor×
    own_clamped: FreeBody
    twice_clamped: FreeBody

    @property
    def azimuth(self) -> float:
        """The way the resultant pulls in plan, rad."""
        return float(np.arctan2(self.own.pull[1], self.own.pull[0]))

    @property
    def name(self) -> str:
        """The governing case."""
        return self.result.cases[self.case].name

    @property
    def times(self) -> str:
        """How the higher load is marked."""
        return f"{self.result.factor:g}×"


def post_bodies(result: PostResult) -> PostBodies:
    """Solve a post's governing case for the figure."""
    case = governing_case(result)
    pinned, clamped = (free_bodies(result, case, (1.0, result.factor), base) for base in (PINNED, CLAMPED))
    return PostBodies(result, case, *pinned, *clamped)
