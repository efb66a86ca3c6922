"""Guys, posts and lines of neighbours: which are held against each other, by how much, and what is said."""

from __future__ import annotations

import pytest

from planforge.assess.finding import Finding
from planforge.units import INCH

from .case import BARE, CONFIRM, MEETS, NOT_APPLICABLE, SHORT
from .jobs import REMOVE, Changes, assessed, finding

NEAR: Changes = {"layout.posts.P4.guys.P4-2.to": ["2 ft", "18 ft 11 in"]}
"""P4's guy to a plate anchor an inch from that of P1's."""


def clear(where: str, changes: Changes, base: Changes = BARE) -> Finding:
    return finding(assessed(base | changes), "guy.clear", where)


def test_both_of_two_posts_say_what_fouls_and_what_would_help() -> None:
    for own, other in (("P1", "P4"), ("P4", "P1")):
        found = clear(own, NEAR)
        assert found.verdict is SHORT
        assert f"{own}-" in found.note and f"{other}-" in found.note
        assert '1/2" apart at 2\'-0",' in found.note
        assert found.note.endswith("Give each guy a plate anchor of its own, far enough from the other.")
    assert clear("P2", NEAR).verdict is MEETS


def test_what_does_not_stand_at_the_same_time_is_not_held_against_each_other() -> None:
    apart: Changes = {"layout.posts.P4.phases": ["walls"], "layout.posts.P1.phases": ["deck"]}
    found = clear("P4", NEAR | apart)
    assert found.verdict is MEETS
    assert found.phase == "walls"
    alone: Changes = {f"layout.posts.P{n}.phases": ["deck"] for n in (1, 2, 3)} | {
        "layout.posts.P4.phases": ["walls"]
    }
    assert clear("P4", NEAR | alone).verdict is NOT_APPLICABLE


def test_the_job_s_own_distance_goes_before_the_rule() -> None:
    stated: Changes = {"erection.tolerances.guys_apart": "1/2 in"}
    found = clear("P4", NEAR | stated)
    assert found.verdict is MEETS
    assert (found.limit, found.source) == (
        pytest.approx(0.5 * INCH),
        "the job's own limit: erection.tolerances.guys_apart",
    )
    assert clear("P4", NEAR | {"erection.tolerances.guys_apart": "5/8 in"}).verdict is SHORT


def test_without_a_tolerance_nothing_is_met() -> None:
    found = clear("P4", {"erection.tolerances": REMOVE})
    assert found.verdict is CONFIRM
    assert "Wanted: erection.tolerances.guys_apart." in found.note


def test_without_a_thickness_nothing_is_met() -> None:
    found = clear("P4", {"equipment.guys.guy.diameter": REMOVE})
    assert found.verdict is CONFIRM
    assert "Thickness not stated: P1-1," in found.note


def crossing(offset: float) -> Changes:
    """P4-2 turned over P1: its middle passes a plan distance (in) from P1's mast."""
    return {
        "layout.posts.P4.at": [f"{24 + offset:g} in", "19 ft"],
        "layout.posts.P4.guys": [
            {
                "id": "P4-2",
                "kind": "guy",
                "height": "18 ft",
                "to": [f"{24 + offset:g} in", "37 ft"],
                "elevation": "9 ft",
                "plate": "0 deg",
            }
        ],
    }


def test_guy_past_a_neighbour_s_mast_by_hand() -> None:
    """Half-way along a guy from 9 ft on one side of P1's mast to 9 ft on the other, at 10 in in plan.

    The mast is 5 1/2 in and the guy 1/2 in thick. The mast moves with its post by the tolerance, the middle
    of the guy by half of it: 1 in + (1 + 1/2) 2 in = 4 in are asked.
    """
    near, far = clear("P4", crossing(6.9)), clear("P4", crossing(7.1))
    assert near.verdict is SHORT
    assert near.note.startswith('P1 and P4-2: 3 7/8" apart at ')
    assert (near.value, near.limit) == (pytest.approx(3.9 * INCH), pytest.approx(4.0 * INCH))
    assert far.verdict is MEETS
    assert far.value == pytest.approx((7.1 - 2.75 - 0.25) * INCH)


def test_line_is_held_against_the_guys_of_posts_between_its_ends() -> None:
    """P4 stands under L-1's middle, where the line hangs 3 1/2 in below the heads."""
    under: Changes = {
        "layout.posts.P4.at": ["20 ft", "28 ft"],
        "layout.posts.P4.guys": [],
        "layout.anchors": [],
        "tasks": [],
        "releases": [],
    }
    found = clear("L-1", under, base={})
    rope = 3 / 8 / 2
    assert found.verdict is SHORT
    # the head of P4 is as high as the line's: the line passes through its mast, at its axis
    assert found.value == pytest.approx(-(2.75 + rope) * INCH, abs=0.3 * INCH)
    assert "L-1 and P4: touching or through each other at 20'-0\", 28'-0\"" in found.note


def test_guys_of_one_post_are_not_held_against_each_other() -> None:
    together: Changes = {"layout.posts.P4.guys.P4-1.to": ["2 ft", "11 ft 0 1/2 in"]}
    assert clear("P4", together).verdict is MEETS


def test_limit_follows_the_tolerance_where_they_come_nearest() -> None:
    """Two guys that cross at right angles half-way: each moves by half its post's tolerance."""
    cross: Changes = {
        "layout.posts.P4.at": ["6.5 ft", "23.5 ft"],
        "layout.posts.P4.guys": [
            {
                "id": "P4-9",
                "kind": "guy",
                "height": "18 ft",
                "to": ["-2.5 ft", "23.5 ft"],
                "elevation": "9 ft",
                "plate": "90 deg",
            }
        ],
    }
    found = clear("P4", cross)
    assert found.verdict is SHORT
    assert found.value == pytest.approx(-0.5 * INCH)  # both at (2 ft, 23.5 ft, 13.5 ft)
    assert found.limit == pytest.approx((1 + 0.5 * 2 + 0.5 * 2) * INCH)
