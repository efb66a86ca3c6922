"""Posts and guys against hand statics: one guy, several, a corner, lines to both sides, an anchorage.

Then what is asked for by name where data for it is missing.
"""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt, tan

import numpy as np
import pytest

from planforge.assess.load_path import post_results
from planforge.units import LBF

from .case import BARE, CONFIRM
from .cases_lines import ON_A3, OPPOSITE
from .jobs import REMOVE, Changes, assessed, finding
from .small_posts import BEHIND, LEVER, POST, WEIGHT, behind, case, down, guy, number, post, pull


@pytest.mark.parametrize("angle", [45.0, 20.0, 30.0])
def test_one_guy_at_the_head_carries_the_pull_over_its_sine(angle: float) -> None:
    assessment = assessed(behind(angle))
    result, load = post(assessment, "P3"), 2 * pull(assessment)
    assert result.factor == 2.0
    assert result.pinned.tension[0] == pytest.approx([load / sin(radians(angle)), 0, 0], rel=1e-6)
    uplift, shear = result.plate_forces()
    assert uplift[0] == pytest.approx(load / tan(radians(angle)), rel=0.01)  # the clamped base takes little
    assert shear[0] == pytest.approx(load, rel=0.01)
    # the post is pressed by the uplift, and by its own weight
    assert result.pinned.base_force[0] == pytest.approx(
        [0, 0, load / tan(radians(angle)) + WEIGHT + 2 * down(assessment)], rel=1e-6, abs=1e-3
    )


def test_a_steep_guy_is_loaded_more() -> None:
    """H over the sine: 1.41 against 2.92, uplift 1.00 against 2.75."""
    steep, half = (number(finding(assessed(behind(a)), "guy.strength", BEHIND).value) for a in (20.0, 45.0))
    loads = [pull(assessed(behind(a))) for a in (20.0, 45.0)]
    assert half / steep == pytest.approx(loads[0] / loads[1] * sin(pi / 4) / sin(radians(20)), rel=0.01)
    assert (
        finding(assessed(behind(20.0)), "guy.angle", BEHIND).note == "Uplift is 2.75 times the pull it holds."
    )


def test_guy_below_the_head_has_the_levers_share_and_the_base_the_rest() -> None:
    assessment = assessed()
    result, load = post(assessment, "P3"), 2 * pull(assessment)
    assert result.pinned.tension[0] == pytest.approx([load * LEVER * sqrt(2), 0, 0])
    # the line pulls to +y, the guy to -y with more than that: the base pushes the post to +y
    assert result.pinned.base_force[0] == pytest.approx(
        [0, load * (LEVER - 1), load * LEVER + WEIGHT + 2 * down(assessment)], abs=1e-3
    )
    assert result.pinned.base_moment == pytest.approx(0.0, abs=1e-3)


def test_factor_of_two_stands_on_the_load() -> None:
    result = post(assessed(), "P3")
    tension = float(result.tensions[0])
    assert finding(assessed(), "guy.strength", BEHIND).value == pytest.approx(26600 * LBF / (tension / 2))
    assert tension >= float(result.clamped.tension[0, 0])
    assert tension >= float(result.pinned.tension[0, 0])


def test_two_guys_off_the_line_share_its_pull() -> None:
    """30 degrees to both sides of the line's back: 1/(2 cos 30) of the pull each."""
    assessment = assessed()
    result, load = post(assessment, "P1"), 2 * pull(assessment, "L-1")
    each = load * LEVER / (2 * cos(radians(30))) * sqrt(2)
    assert result.pinned.tension[0] == pytest.approx([each, each, 0, 0], rel=1e-6, abs=1e-3)


def test_corner_post_takes_both_lines_as_a_vector() -> None:
    assessment = assessed()
    result = post(assessment, "P2")
    assert [c.name for c in result.cases][:3] == ["L-1", "L-2", "L-1 + L-2"]
    first, second = pull(assessment, "L-1", "end"), pull(assessment, "L-2", "end")
    pressed = down(assessment, "L-1") + down(assessment, "L-2")
    assert result.cases[2].force == pytest.approx([-first, -second, -pressed], abs=1e-6)
    both = result.pinned.tension[case(result, "L-1 + L-2")]
    # P2-1 runs to +x, behind L-1; P2-2 to +y, behind L-2
    assert both == pytest.approx([2 * first * LEVER * sqrt(2), 2 * second * LEVER * sqrt(2), 0, 0])
    assert result.pinned.base_force[2, 2] == pytest.approx(
        2 * (first + second) * LEVER + WEIGHT + 2 * pressed
    )
    assert result.governing == 2


BOTH_SIDES: Changes = {
    "layout.posts.+": {
        "id": "P5",
        "kind": "post",
        "at": ["74 ft", "28 ft"],
        "stands_on": "slab",
        "guys": [guy(a, (74, 28), id=f"P5-{a}") for a in (30, -30, 90, 270)],
    },
    "layout.slab": [["0", "0"], ["80 ft", "0"], ["80 ft", "30 ft"], ["0", "30 ft"]],
    "layout.lines.L-2.phases": ["deck"],
    "layout.lines.+": {
        "id": "L-3",
        "system": "set",
        "start": "P5",
        "end": "P2",
        "absorber_at": "P5",
        "sag": "3 1/2 in",
        "installed_at": "40 F",
        "workers": 2,
    },
    "tasks.T-N.stances.+": {
        "id": "S-3",
        "surface": "deck",
        "line": "L-3",
        "connector": "srl",
        "reach": "3 ft",
        "stretch": [["74 ft", "30 ft"], ["38 ft", "30 ft"]],
        "sides": [{"direction": "outward", "onto": ["grade"], "obstacle": "10 ft"}],
    },
}
"""L-3 is line L-1 seen in a mirror at P2, which both lines meet straight."""


def test_lines_to_both_sides_cancel_and_each_alone_does_not() -> None:
    assessment = assessed(BOTH_SIDES)
    result = post(assessment, "P2")
    away, back = (pull(assessment, line, "end") for line in ("L-1", "L-3"))
    assert away == pytest.approx(back, rel=1e-6)
    alone, both = case(result, "L-1"), case(result, "L-1 + L-3")
    pressed = down(assessment, "L-1") + down(assessment, "L-3")
    assert result.cases[both].force == pytest.approx([back - away, 0, -pressed], abs=1e-6)
    # nothing is left but what presses the post: no guy pulls
    assert result.pinned.tension[both] == pytest.approx(np.zeros(4), abs=1.0)
    assert result.post_ratio[both] < 0.05
    assert result.post_ratio[alone] > 0.4
    assert result.pinned.tension[alone, 0] == pytest.approx(2 * away * LEVER * sqrt(2), rel=0.01)


def test_lines_of_different_phases_are_not_combined() -> None:
    apart: Changes = {"layout.lines.L-1.phases": ["deck"], "layout.lines.L-2.phases": ["walls"]}
    names = [c.name for c in post(assessed(apart), "P2").cases]
    assert {"L-1", "L-2"} <= set(names)
    assert not [name for name in names if "L-1" in name and "L-2" in name]


def test_anchorage_is_pulled_all_around() -> None:
    """Four guys square to each other: the worst pull on each is straight away from it."""
    result = post(assessed(), "P4")
    assert len(result.cases) == 24
    load = 2 * 1000 * LBF
    assert np.linalg.norm([c.force for c in result.cases], axis=-1) == pytest.approx(load / 2)
    assert np.max(result.pinned.tension, axis=0) == pytest.approx(np.full(4, load * LEVER * sqrt(2)))
    assert result.tensions == pytest.approx(np.full(4, result.tensions[0]))
    # midway between two guys each takes 1/sqrt 2, and the post is pressed by both
    diagonal = case(result, "A-1 to 45°")
    assert result.pinned.base_force[diagonal, 2] == pytest.approx(sqrt(2) * load * LEVER + WEIGHT)
    assert result.governing in {case(result, f"A-1 to {a}°") for a in (45, 135, 225, 315)}


def test_worker_opposite_a_line_pulls_all_around_beside_every_combination() -> None:
    stance = ON_A3 | {"stretch": [["38 ft", "29 ft"], ["39 ft", "29 ft"]]}
    changes = OPPOSITE | {"tasks.T-A.stances.+": stance}
    changes["layout.anchors.+"] = OPPOSITE["layout.anchors.+"] | {"post": "P2"}
    result = post(assessed(changes), "P2")
    straight, sideways = 3, 2 + 2 + 4 + 4  # each alone and both; each alone across, each of both, only across
    assert len(result.cases) == straight + sideways + 24 * (1 + straight)
    alone, beside = case(result, "L-2"), case(result, "L-2 + A-3 to 180°")
    own = result.cases[beside].force - result.cases[alone].force
    assert own == pytest.approx([-1000 * LBF, 0, 0], abs=1e-6)
    # the guy behind L-1 is loaded most by L-1 with the worker on its side, never less than without
    worst = max(c.force @ [-1, 0, 0] for c in result.cases)
    assert result.tensions[0] >= 2 * worst * LEVER * sqrt(2) * (1 - 1e-9)
    # a mark takes no load away: the check of the mark is short, the loads are summed all the same
    changes["layout.anchors.+"] = changes["layout.anchors.+"] | {"opposite_line": False}
    assert len(post(assessed(changes), "P2").cases) == len(result.cases)


def test_two_anchorages_on_one_head_are_summed_to_every_side() -> None:
    changes: Changes = {
        "layout.anchors.+": {"id": "A-3", "post": "P4", "workers": 1},
        "tasks.T-A.stances.+": ON_A3,
    }
    assessment = assessed(changes)
    result = post(assessment, "P4")
    assert len(result.cases) == 24 * 3
    one, both = case(result, "A-1 to 45°"), case(result, "A-1 + A-3 to 45°")
    assert result.cases[both].force == pytest.approx(2 * result.cases[one].force)
    assert [name for name, _ in result.cases[both].parts] == ["A-1", "A-3"]
    for name in ("A-1", "A-3"):  # and in the strength of each anchorage
        assert finding(assessment, "anchor.load_path", name).value == pytest.approx(2 * 2 * 1000 * LBF)
    # and on the post's head
    assert finding(assessment, "line.posts", "P4").value == pytest.approx(2 * 1000 * LBF)
    apart = changes | {"layout.anchors.A-1.phases": ["deck"]}
    apart["layout.anchors.+"] = apart["layout.anchors.+"] | {"phases": ["walls"]}
    assert len(post(assessed(apart), "P4").cases) == 24 * 2


def test_post_that_carries_nothing_is_still_drilled_lifted_and_blown_at() -> None:
    assessment = assessed(BARE)
    found = finding(assessment, "post.reckoned", "P3")
    assert (found.verdict, found.value) == (CONFIRM, "carries nothing")
    assert found.note == "Wanted: a line or anchorage on it with a stance."
    held = {(f.id, f.where.split(" · ")[0]) for f in assessment.findings}
    for check in ("base.contents", "base.depth", "framing.clear", "wind.standing"):
        assert {(check, p) for p in ("P1", "P2", "P3", "P4")} <= held
    assert finding(assessment, "base.strength", "P3").limit == "wanted: a post whose loads can be reckoned"


def test_missing_data_is_asked_for_by_name() -> None:
    bare = {f"{POST}.outer_diameter": REMOVE, "layout.posts.P3.guys": [], f"{POST}.hole_spacing": REMOVE}
    assessment = assessed(bare)
    assert finding(assessment, "post.reckoned", "P3").note == (
        "Wanted: the tube's outer diameter and wall; its guys."
    )
    assert finding(assessment, "base.strength", "P3").limit == (
        "wanted: the base's hole spacing; a post whose loads can be reckoned"
    )
    assert "P3" not in {p.id for p in assessment.posts}


@pytest.mark.parametrize("times", [0.5, 2.0, 3.0])
def test_more_load_raises_every_tension_alike_where_no_guy_goes_slack(times: float) -> None:
    """Proportion: without pretension the same guys pull; what the post's weight does is taken off."""
    assessment = assessed({f"{POST}.weight": "0.001 lb"})
    index, lines, anchors = assessment.index, list(assessment.lines), list(assessment.anchors)
    once, more = (post_results(index, lines, anchors, f)[0] for f in (2.0, 2.0 * times))
    for one, other in zip(once, more, strict=True):
        for bound in ("pinned", "clamped"):
            before, after = getattr(one, bound), getattr(other, bound)
            assert after.tension == pytest.approx(times * before.tension, rel=1e-6, abs=1.0)
            assert after.base_moment == pytest.approx(times * before.base_moment, rel=1e-6, abs=1.0)
