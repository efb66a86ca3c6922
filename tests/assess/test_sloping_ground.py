"""Ground between spots, against scipy's own linear interpolation and plane equations."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator

from planforge.assess.below import FALL_RADIUS, below
from planforge.assess.index import Index
from planforge.assess.sloping_ground import SlopingGround, sloping_ground
from planforge.job.site import Spot
from planforge.units import FOOT

from .jobs import Changes, assessed, finding, small


def ground(points: Any) -> SlopingGround:
    return sloping_ground([Spot.model_construct(at=(x, y), elevation=z) for x, y, z in points])


@given(st.integers(0, 10_000), st.integers(4, 25))
@settings(max_examples=40, deadline=None)
def test_heights_are_those_of_scipy(seed: int, count: int) -> None:
    """scipy.interpolate.LinearNDInterpolator triangulates the same spots; outside them it gives nan."""
    random = np.random.default_rng(seed)
    points = np.column_stack([random.uniform(-20, 20, (count, 2)), random.uniform(-3, 3, count)])
    asked = random.uniform(-25, 25, (200, 2))
    reference = LinearNDInterpolator(points[:, :2], points[:, 2])(asked)
    got = ground(points).heights(asked, beyond=99.0)
    inside = ~np.isnan(reference)
    assert got[inside] == pytest.approx(reference[inside], abs=1e-8)
    assert np.all(got[~inside] == 99.0)


@given(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.integers(0, 10_000))
@settings(max_examples=30, deadline=None)
def test_highest_and_lowest_of_a_plane(a: float, b: float, seed: int) -> None:
    """Of a plane the highest within a circle is its height at the centre and slope times radius more."""
    random = np.random.default_rng(seed)
    places = np.concatenate([random.uniform(-20, 20, (8, 2)), [[-30, -30], [30, -30], [30, 30], [-30, 30]]])
    slope = ground(np.column_stack([places, places @ [a, b] + 1.0]))
    centre, radius = random.uniform(-10, 10, 2), 3.0
    disc = shapely.buffer(shapely.points(centre), radius, quad_segs=64)
    rise = float(np.hypot(a, b)) * radius
    middle = float(centre @ [a, b]) + 1.0
    assert slope.highest_near(np.array([disc]), beyond=50.0)[0] == pytest.approx(middle + rise, abs=1e-3)
    assert slope.lowest_over(disc) == pytest.approx(middle - rise, abs=1e-3)


def test_beyond_the_spots_each_question_gets_the_answer_that_asks_more() -> None:
    slope = ground([(0, 0, 1.0), (10, 0, 2.0), (0, 10, 3.0)])
    out = shapely.box(-1, -1, 1, 1)
    assert slope.highest_near(np.array([out]), beyond=7.0)[0] == 7.0
    assert slope.lowest_over(out) == 1.0
    assert slope.lowest_over(shapely.Polygon()) == 1.0
    assert slope.hull.area == pytest.approx(50.0)


YARD = {
    "id": "yard",
    "name": "Yard",
    "kind": "grade",
    "elevation": "1 ft",
    "area": [["-40 ft", "30 ft"], ["80 ft", "30 ft"], ["80 ft", "60 ft"], ["-40 ft", "60 ft"]],
    "spots": [
        {"at": [x, y], "elevation": z}
        for x, y, z in (
            ("-40 ft", "30 ft", "1 ft"),
            ("80 ft", "30 ft", "-5 ft"),
            ("80 ft", "60 ft", "-5 ft"),
            ("-40 ft", "60 ft", "1 ft"),
        )
    ],
}
"""Falls 1 ft in 20 to the east along the north side."""

ONTO: Changes = {"lower_levels.+": YARD, "tasks.T-N.stances.S-N.sides.0.onto": ["yard"]}


def test_clearance_counts_the_ground_at_the_spot_the_highest_within_a_falls_reach() -> None:
    """Worked by hand: 1 ft - (x + 40 ft) / 20, and 4 ft nearer to the rise."""
    index = Index(small(ONTO))
    task = next(t for t in index.job.tasks if t.id == "T-N")
    stance = task.stances[0]
    at = np.array([[x * FOOT, 30 * FOOT] for x in (0.0, 10.0, 36.0)])
    under = below(index, stance, stance.sides[0], index.phases["deck"], 11 * FOOT, at)
    expected = 1 * FOOT - (at[:, 0] + 40 * FOOT - FALL_RADIUS) / 20
    # the circle is a polygon drawn round it: at most 0.5 % of its radius too far
    assert under.elevation == pytest.approx(expected, abs=1e-3)
    assert np.all(under.elevation >= expected - 1e-9)
    assert set(under.name) == {"Yard"}


def test_spot_off_the_measured_ground_counts_its_stated_elevation() -> None:
    index = Index(small(ONTO))
    stance = next(t for t in index.job.tasks if t.id == "T-N").stances[0]
    at = np.array([[81 * FOOT, 45 * FOOT]])
    under = below(index, stance, stance.sides[0], index.phases["deck"], 11 * FOOT, at)
    # within reach of the yard, whose outline ends where its spots do: its height there, no more
    assert under.elevation[0] == pytest.approx(-5 * FOOT + 3 * FOOT / 20, abs=2e-3)
    short = ONTO | {"lower_levels.+": YARD | {"spots": YARD["spots"][:3]}}
    under = below(Index(small(short)), stance, stance.sides[0], index.phases["deck"], 11 * FOOT, -at)
    assert under.elevation[0] == pytest.approx(1 * FOOT)


def test_height_of_the_fall_without_geometry_takes_the_lowest_beside_the_edge() -> None:
    found = finding(assessed(ONTO | {"hazards.H1.height": "12'-4\""}), "hazard.height", "H1")
    # beside the edge's east end, a foot past it, the yard lies 1 ft - 81 ft / 20 high
    assert found.limit == pytest.approx((11 + 4 / 12 - (1 - 81 / 20)) * FOOT, abs=0.01)
    assert "Yard" in found.note
