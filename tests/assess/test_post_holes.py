"""Holes that posts and guys leave in a deck: found from the layout, by phase; what covers them."""

from __future__ import annotations

import pytest

from planforge.assess.post_holes import PostHole, post_holes
from planforge.units import INCH

from .case import CONFIRM, MEETS, SHORT
from .cases_lines import FLOOR
from .jobs import REMOVE, Changes, assessed, finding

FLOORED: Changes = {"building.floors": [FLOOR]}
BUILT = {"gap": "1 in", "holds": "650 lb", "heaviest": "300 lb", "secured": "Screws.", "marking": "HOLE"}
COVERED: Changes = FLOORED | {"removal.hole_cover": BUILT}


def holes(changes: Changes) -> dict[str, PostHole]:
    return {h.post: h for h in post_holes(assessed(FLOORED | changes).index)}


def test_every_post_that_passes_the_floor_leaves_a_hole() -> None:
    found = holes({})
    assert set(found) == {"P1", "P2", "P3", "P4"}
    assert found["P1"].at == pytest.approx(assessed().index.posts["P1"].at)
    assert (found["P1"].filled, found["P1"].left) == (("deck", "walls"), ())


def test_guys_are_counted_where_their_run_comes_through() -> None:
    """By the way from the attachment to the plate: the point at which it is level with the floor."""
    index = assessed(FLOORED).index
    level = index.job.layout.levels["second"]
    for hole in post_holes(index):
        post = index.posts[hole.post]
        base = index.job.layout.levels[post.stands_on]
        expected = []
        for guy in post.guys:
            drop = (base + guy.height - level) / (base + guy.height - guy.elevation)
            x = post.at[0] + drop * (guy.to[0] - post.at[0])
            y = post.at[1] + drop * (guy.to[1] - post.at[1])
            if guy.elevation < level and 0 <= x <= 12.192 and 0 <= y <= 9.144:
                expected.append(guy.id)
        assert list(hole.guys) == expected
        assert expected


def test_post_that_came_out_leaves_its_hole_to_be_covered() -> None:
    found = holes({"layout.posts.P4.phases": ["deck"]})
    assert (found["P4"].filled, found["P4"].left) == (("deck",), ("walls",))
    assert holes({"building.floors.0.laid": "walls", "layout.posts.P4.phases": ["deck"]})["P4"].filled == ()


def test_post_in_an_opening_or_beside_the_floor_leaves_none() -> None:
    assert "P1" not in holes(
        {
            "layout.openings.O-1.outline": [
                ["0", "20 ft"],
                ["9 ft", "20 ft"],
                ["9 ft", "30 ft"],
                ["0", "30 ft"],
            ]
        }
    )
    assert set(holes({"layout.posts.P1.at": ["-2 ft", "28 ft"]})) == {"P2", "P3", "P4"}
    assert not post_holes(assessed().index)


@pytest.mark.parametrize(
    ("change", "check", "verdict"),
    [
        ({}, "cover.round_posts", MEETS),
        ({"removal.hole_cover.gap": "2 in"}, "cover.round_posts", SHORT),
        ({"removal.hole_cover.gap": REMOVE}, "cover.round_posts", CONFIRM),
        ({}, "cover.strength", MEETS),
        ({"removal.hole_cover.holds": "599 lb"}, "cover.strength", SHORT),
        ({"removal.hole_cover.heaviest": REMOVE}, "cover.strength", CONFIRM),
        ({}, "cover.fixed", MEETS),
        ({"removal.hole_cover.marking": REMOVE}, "cover.fixed", CONFIRM),
        ({"removal.hole_cover": None}, "cover.strength", CONFIRM),
    ],
)
def test_what_covers_them(change: Changes, check: str, verdict: object) -> None:
    found = finding(assessed(COVERED | change), check, "post holes")
    assert found.verdict is verdict
    if check == "cover.round_posts":
        assert found.limit == pytest.approx(2 * INCH)
        assert "4 of posts (P1, P2, P3, P4)" in found.note


def test_lot_without_such_holes_is_asked_for_nothing() -> None:
    assert not [f for f in assessed().findings if f.where == "post holes"]
