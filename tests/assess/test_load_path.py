"""Posts and guys against hand statics: one guy, several, a corner, lines to both sides, an anchorage.

The small lot's guys run at 45 degrees from 18 ft up a post that lines pull at 20 ft. Loads are twice the
arrest's.
"""

from __future__ import annotations

import json
from math import cos, pi, radians, sin, sqrt, tan
from typing import Any

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.index import Index
from planforge.assess.load_path import PostResult, post_results
from planforge.assess.post_model import CLAMPED, PINNED, post_parts, reckoned_stiffness
from planforge.assess.report import records
from planforge.units import FOOT, INCH, LBF

from .case import BARE, CONFIRM, MEETS, SHORT
from .cases_lines import OPPOSITE
from .cases_load_path import BEHIND, GUY, POST, SLING, number, post, pull
from .jobs import REMOVE, Changes, assessed, finding, small

LEVER = 20 / 18
WEIGHT = 460 * LBF
"""N, of the post."""


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


# ---------------------------------------------------------------- statics


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
    stance = {
        "id": "S-A3",
        "surface": "deck",
        "anchor": "A-3",
        "connector": "srl",
        "reach": "3 ft",
        "stretch": [["38 ft", "29 ft"], ["39 ft", "29 ft"]],
        "sides": [{"direction": "outward", "onto": ["grade"], "obstacle": "12 ft"}],
    }
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
    stance = {
        "id": "S-A3",
        "surface": "deck",
        "anchor": "A-3",
        "connector": "srl",
        "reach": "3 ft",
        "sides": [{"direction": "outward", "onto": ["grade"], "obstacle": "12 ft"}],
    }
    changes: Changes = {
        "layout.anchors.+": {"id": "A-3", "post": "P4", "workers": 1},
        "tasks.T-A.stances.+": stance,
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


# ---------------------------------------------------------------- falls across the line


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


# ---------------------------------------------------------------- guys


def test_joined_guy_is_springs_in_series_and_as_weak_as_its_weakest_piece() -> None:
    thin = {
        "id": "thin",
        "name": "Thin (invented)",
        "strength": {"value": "20000 lbf", "source": "Sheet T p. 1 (invented)"},
        "axial_stiffness": {"value": "400000 lbf", "source": "Sheet T p. 1 (invented)"},
    }
    changes: Changes = {
        "equipment.guys.+": thin,
        "layout.posts.P3.guys.P3-1.pieces": [{"kind": "thin", "length": "4 ft"}],
    }
    parts = post(assessed(changes), "P3").parts.guys[0]
    length = 9 * sqrt(2)
    assert parts.length == pytest.approx(length * FOOT)
    assert parts.stiffness == pytest.approx(
        1 / ((length - 4) * FOOT / (1.2e6 * LBF) + 4 * FOOT / (4e5 * LBF)), rel=1e-9
    )
    before, after = (finding(a, "guy.strength", BEHIND) for a in (assessed(), assessed(changes)))
    assert "Sheet T" in after.source
    assert after.value == pytest.approx(20000 / 26600 * number(before.value), rel=0.01)
    # a piece without a strength leaves the guy without one
    changes["equipment.guys.+"] = {k: v for k, v in thin.items() if k != "strength"}
    assert finding(assessed(changes), "guy.strength", BEHIND).verdict is CONFIRM


ONE_END: list[tuple[Changes, Any]] = [
    ({f"{GUY}.least_angle": REMOVE}, CONFIRM),
    ({f"{GUY}.least_angle": REMOVE, f"{GUY}.greatest_angle.value": "44 deg"}, SHORT),
    ({f"{GUY}.greatest_angle": REMOVE, f"{GUY}.least_angle.value": "45.5 deg"}, SHORT),
    ({f"{GUY}.greatest_angle": REMOVE, f"{GUY}.least_angle": REMOVE}, CONFIRM),
]


@pytest.mark.parametrize(("changes", "verdict"), ONE_END)
def test_makers_band_with_one_end_still_binds_at_that_end(changes: Changes, verdict: Any) -> None:
    found = finding(assessed(changes), "guy.angle", BEHIND)
    assert found.verdict is verdict
    assert found.limit == "maker's band not stated at both ends"


def test_flat_guy_without_a_greatest_angle_names_common_practice() -> None:
    """Common practice, no source: 45 degrees or less."""
    flat = behind(50.0) | {f"{GUY}.greatest_angle": REMOVE}
    found = finding(assessed(flat), "guy.angle", BEHIND)
    assert found.verdict is CONFIRM
    assert found.note.endswith("Common practice (no source) keeps it at 45° or less.")


def test_post_stands_without_any_one_guy_or_names_the_ones_it_needs() -> None:
    many = assessed({"layout.posts.P4.guys.+": guy(45, (2, 2)), "layout.anchors.A-1.phases": ["deck"]})
    assert "P4-1" not in str(finding(many, "post.one_guy", "P4").value)
    needs = (
        ("P1", "P1-3, P1-4"),
        ("P2", "P2-1, P2-2, P2-3, P2-4"),
        ("P3", "P3-1, P3-2, P3-3"),
        ("P4", "P4-1, P4-2, P4-3, P4-4"),
    )
    for name, needed in needs:
        found = finding(assessed(), "post.one_guy", name)
        assert found.verdict is CONFIRM
        assert found.value == f"does not stand without {needed}"


FALLEN: Changes = {"layout.posts.P3.guys.P3-1": REMOVE}
"""Nothing is left behind line L-2 at P3: two guys square to it."""


def test_post_without_equilibrium_is_short_in_every_check_and_prints_no_number() -> None:
    assessment = assessed(FALLEN)
    assert not post(assessment, "P3").stands
    wanted = [("post.strength", "P3"), ("post.joint", "P3 · joint 1"), ("base.strength", "P3")]
    for name in ("P3-2", "P3-3"):
        wanted += [("guy.strength", f"P3 · {name}"), ("guy.plate", f"P3 · {name} · uplift")]
    for check, where in wanted:
        found = finding(assessment, check, where)
        assert found.verdict is SHORT, (check, where)
        assert str(found.value).endswith("does not stand")
    json.dumps(records(assessment), allow_nan=False)
    assert finding(assessment, "post.strength", "P2").verdict is MEETS


# ---------------------------------------------------------------- what is missing


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


# ---------------------------------------------------------------- stiffness


def heads(assessment: Assessment, line: str = "L-2") -> Any:
    return next(r.parts.start_head for r in assessment.lines if r.id == line)


def test_heads_stiffness_is_the_guys_and_the_tubes() -> None:
    """One guy from the head: it stretches by T L/EA, the tube shortens by T cos h/EA; by hand."""
    parts = post_parts(Index(small(behind(45.0))), small(behind(45.0)).layout.posts[2])
    tube = pi / 4 * ((5.5 * INCH) ** 2 - (4.75 * INCH) ** 2) * 199.948e9
    tension = 1 / sin(pi / 4)
    stretch = tension * 11 * sqrt(2) * FOOT / (1.2e6 * LBF)
    shortening = tension * cos(pi / 4) * 20 * FOOT / tube
    movement = (stretch + shortening * cos(pi / 4)) / sin(pi / 4)
    reckoned = reckoned_stiffness(parts, pi / 2)
    assert reckoned is not None
    low, high = reckoned
    assert low == pytest.approx(1 / movement, rel=1e-6)
    assert low < high < 1.2 * low


def test_the_more_demanding_of_stated_and_reckoned_counts() -> None:
    stiff, soft = heads(assessed()), heads(assessed({f"{GUY}.axial_stiffness.value": "500000 lbf"}))
    assert stiff.low == pytest.approx(1800 * LBF / INCH)
    assert stiff.high == pytest.approx(4200 * LBF / INCH)
    assert stiff.low < stiff.reckoned[0] < stiff.reckoned[1] < stiff.high
    assert soft.low == soft.reckoned[0] < stiff.low
    rigid = heads(assessed({f"{GUY}.axial_stiffness.value": "9000000 lbf"}))
    assert rigid.high == pytest.approx(max(rigid.reckoned[1], 4200 * LBF / INCH))
    unstated = heads(assessed({f"{POST}.stiffness_low": REMOVE, f"{POST}.stiffness_high": REMOVE}))
    assert (unstated.low, unstated.high) == unstated.reckoned
    assert not unstated.assumed


def test_softer_guys_let_the_line_drop_farther() -> None:
    where = "L-2 · T-E/S-E · outward"
    needed = []
    for stiffness in ("1200000 lbf", "500000 lbf", "300000 lbf"):
        softer = assessed({f"{GUY}.axial_stiffness.value": stiffness})
        needed.append(number(finding(softer, "arrest.clearance", where, "walls").limit))
    assert needed[0] < needed[1] < needed[2]


def test_lines_beside_each_other_take_half_of_the_heads_stiffness() -> None:
    beside: Changes = {"layout.lines.L-2.beside": "L-1"}
    assert heads(assessed(beside)).low == pytest.approx(heads(assessed()).low / 2)
    assert heads(assessed(beside)).high == heads(assessed()).high


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


def test_both_bounds_of_the_base_are_tried() -> None:
    parts = post(assessed(), "P3").parts
    assert parts.mechanical(PINNED).base_stiffness == 0.0
    assert np.isinf(parts.mechanical(CLAMPED).base_stiffness)
    assert parts.mechanical(PINNED).heights == pytest.approx([10 * FOOT, 20 * FOOT])


def test_a_tag_line_lifts_nothing_and_is_held_against_nothing() -> None:
    every = [f.where for f in assessed(SLING).findings if f.id == "hoist.load"]
    assert every == ["lift", "sling"]
    no_post = assessed(SLING | {"layout.posts": []})
    assert finding(no_post, "hoist.load", "sling").verdict is MEETS
