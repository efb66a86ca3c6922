"""The strip behind the lines' reach, against a raster of the floor; on the small lot with its floor."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planforge.assess.strip import UNHOOKED, OpenStrip
from planforge.units import FOOT

from .case import CONFIRM, MEETS
from .cases_lines import FLOOR, S_N
from .jobs import Changes, assessed, finding

FLOORED: Changes = {"building.floors": [FLOOR]}


def strip(changes: Changes, edge: str = "E-N", phase: str = "deck") -> OpenStrip:
    return next(s for s in assessed(FLOORED | changes).strips if (s.edge, s.phase) == (edge, phase))


def test_strip_is_what_a_raster_finds_near_the_edge_and_in_nobodys_reach() -> None:
    """Every 3 in of the floor: within 6 ft of the edge, out of reach of L-1, 2 ft in, and of L-2."""
    every = assessed(FLOORED)
    told = {thing: stay.told for (thing, phase), stay in every.stays.items() if phase == "deck"}
    assert told["L-1"] == pytest.approx(3 * FOOT)
    x, y = np.meshgrid(np.arange(0.125, 40, 0.25) * FOOT, np.arange(24.125, 30, 0.25) * FOOT)
    at = np.stack([x.ravel(), y.ravel()], axis=1)
    near_1 = np.hypot(np.clip(at[:, 0], 2 * FOOT, 38 * FOOT) - at[:, 0], 28 * FOOT - at[:, 1])
    near_2 = np.hypot(38 * FOOT - at[:, 0], np.clip(at[:, 1], 2 * FOOT, 28 * FOOT) - at[:, 1])
    bare = (near_1 > told["L-1"]) & (near_2 > told["L-2"])
    found = strip({})
    assert shapely.area(found.area) == pytest.approx(bare.sum() * (0.25 * FOOT) ** 2, rel=0.03)
    inside = shapely.contains_xy(shapely.buffer(found.area, 0.1), at[bare, 0], at[bare, 1])
    assert inside.mean() > 0.99


def test_strip_says_where_it_begins_and_beside_what() -> None:
    found = finding(assessed(FLOORED), "edge.strip", "H1 · E-N", "deck")
    assert found.verdict is CONFIRM
    # nearest at the corner, where the way to the post's head counts: 3 ft from (2, 28) along the west side
    assert found.value == pytest.approx((2 + np.sqrt(9 - 4)) * FOOT, abs=0.02)
    assert "hooked or not" in found.note and 'From 0", 30\'-0"' in found.note


def test_reach_that_goes_6_ft_in_leaves_no_strip() -> None:
    found = strip({f"{S_N}.reach": "4.5 ft"})
    assert shapely.is_empty(found.area)
    assert found.guarded_to == UNHOOKED


def test_zone_of_no_entry_closes_it_while_it_holds() -> None:
    zone = {
        "id": "Z-9",
        "kind": "no entry",
        "outline": [["0", "22 ft"], ["40 ft", "22 ft"], ["40 ft", "30 ft"], ["0", "30 ft"]],
        "rule": "No work in it.",
        "phases": ["deck"],
    }
    closed = assessed(FLOORED | {"layout.zones.+": zone})
    deck = finding(closed, "edge.strip", "H1 · E-N", "deck")
    assert deck.verdict is MEETS and deck.note == "Closed off by Z-9."
    assert finding(closed, "edge.strip", "H1 · E-N", "walls").verdict is CONFIRM
    at_times = assessed(FLOORED | {"layout.zones.+": zone | {"at_times": True}})
    assert finding(at_times, "edge.strip", "H1 · E-N", "deck").verdict is CONFIRM


def test_guardrail_keeps_the_floor_behind_it() -> None:
    rail = {"id": "G-9", "path": [["0", "30 ft"], ["40 ft", "30 ft"]], "level": "second", "top": "42 in"}
    found = strip({"layout.guardrails.+": rail | {"middle": "21 in", "phases": ["deck"]}})
    assert shapely.is_empty(found.area)
    assert not shapely.is_empty(strip({}, phase="walls").area)


def test_past_a_lines_end_the_way_to_the_post_counts() -> None:
    """The corner is 2 ft past the post and 2 ft beside it: 2.83 ft from its head, not 2 ft from the axis."""
    for reach, held in (("2.75 ft", False), ("2.9 ft", True)):
        edge = next(r for r in assessed({f"{S_N}.reach": reach}).reaches if r.edge == "E-N")
        corner = shapely.Point(0.0, 30 * FOOT)
        (guarded,) = edge.guarded
        assert guarded.by == "L-1"
        assert (shapely.distance(guarded.part, corner) < 1e-6) == held


def test_without_the_buildings_floors_there_is_no_strip_to_find() -> None:
    assert not assessed().strips
