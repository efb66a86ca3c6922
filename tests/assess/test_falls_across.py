"""A fall across its line: the slant of the connector, the swing back, and the guys that hold it."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from planforge.units import FOOT, LBF

from .case import SHORT
from .jobs import REMOVE, Changes, assessed, finding
from .small_posts import LEVER, case, post, pull


def test_fall_across_the_line_is_the_connectors_slant_by_hand() -> None:
    """L-2 runs up x = 38, the edge at x = 40, 3 ft of reach: F sin a, tan a = lateral / above, doubled."""
    assessment = assessed()
    line = next(r for r in assessment.lines if r.id == "L-2")
    (run,) = line.runs
    lateral, above = 3 * FOOT, float(np.min(run.rig.above))
    right = 1000 * LBF * lateral / np.hypot(lateral, above)
    assert line.across_forces[1] == pytest.approx(right, rel=1e-4)
    result = post(assessment, "P3")
    over = result.cases[case(result, "L-2 across to 0°")]
    assert over.force == pytest.approx([right, pull(assessment), 0], rel=1e-4, abs=1e-6)
    only = case(result, "L-2 only across to 0°")
    # held by P3-3, which runs to -x: the lever's share over the sine
    assert result.pinned.tension[only] == pytest.approx(
        [0, 0, 2 * right * LEVER * sqrt(2)], rel=1e-4, abs=1e-3
    )


def test_swing_back_loads_the_other_side_less() -> None:
    """265 lb let go at the slant, no losses: max of m g (3 cos t - 2 cos a) sin t, on a fine grid."""
    assessment = assessed()
    line = next(r for r in assessment.lines if r.id == "L-2")
    (run,) = line.runs
    slant = float(np.max(np.arctan2(run.rig.lateral, run.rig.above)))
    t = np.linspace(0.0, slant, 20001)
    back = np.max((3 * np.cos(t) - 2 * np.cos(slant)) * np.sin(t)) * 265 * LBF
    assert line.across_forces[0] == pytest.approx(back, rel=1e-6)
    # a stance that can fall inward too loads both sides alike
    inward = {"direction": "inward", "onto": ["slab"], "obstacle": "10 ft"}
    both = assessed({"tasks.T-E.stances.S-E.sides.+": inward})
    left, right = next(r.across_forces for r in both.lines if r.id == "L-2")
    assert left == right == pytest.approx(line.across_forces[1])


def test_dring_over_the_line_takes_all_of_the_force_across() -> None:
    high: Changes = {"tasks.T-E.stances.S-E.elevation": "15'-4\""}
    line = next(r for r in assessed(high).lines if r.id == "L-2")
    assert line.across_forces[1] == pytest.approx(line.workers_force)


def test_guy_across_missing_is_found() -> None:
    """Without P3-3 nothing but its base holds P3 against a fall over the east edge."""
    assert post(assessed(), "P3").stands
    bare = assessed({"layout.posts.P3.guys.P3-3": REMOVE})
    found = finding(bare, "post.strength", "P3")
    assert (found.verdict, found.value) == (SHORT, "does not stand")
    assert found.note.startswith("Under L-2 across to 0°")
    guy = finding(bare, "guy.strength", "P3 · P3-1")  # 29 CFR 1926.502(d)(8)(ii): a factor of two
    assert (guy.verdict, guy.value, guy.limit) == (SHORT, "does not stand", 2.0)
