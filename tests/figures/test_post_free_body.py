"""The free bodies of posts: they are in equilibrium, print what was solved, and measure true."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from load_path_lot import LEAN, filled, job_with_load_path

from planforge.assess.assessment import Assessment, assess
from planforge.assess.free_body import free_bodies, governing_case
from planforge.assess.load_path import PostResult
from planforge.assess.post_cases import Case
from planforge.assess.post_model import CLAMPED, PINNED
from planforge.figures import figure_scales, figure_set
from planforge.figures.free_body_tables import table_rows
from planforge.figures.labels import crossing, overlapping
from planforge.figures.paper import SMALLEST
from planforge.figures.post_bodies import post_bodies
from planforge.figures.post_free_body import anchor_place, plan_post_free_body, post_free_body, side_of
from planforge.units import FORCE, Display, parse

NAMES = ("heron_lot_14", "wren_lot_7", "quartz_court_building_2", "linnet_lot_3_trusses")
US = Display("us")


def _posts(name: str) -> list[tuple[Assessment, PostResult]]:
    assessment = filled(name)
    assert assessment.posts
    return [(assessment, post) for post in assessment.posts]


@pytest.mark.parametrize("name", NAMES)
def test_every_free_body_is_in_equilibrium(name: str) -> None:
    for _, result in _posts(name):
        for factor in (1.0, result.factor):
            for base in (PINNED, CLAMPED):
                (body,) = free_bodies(result, governing_case(result), (factor,), base)
                assert body.stands
                assert np.abs(body.unbalanced).max() < 1e-6 * max(float(np.linalg.norm(body.pull)), 1.0)


@pytest.mark.parametrize("name", NAMES)
def test_the_factored_body_is_what_the_checks_used(name: str) -> None:
    for _, result in _posts(name):
        bodies, case = post_bodies(result), governing_case(result)
        assert [g.tension for g in bodies.twice.guys] == pytest.approx(result.pinned.tension[case])
        assert [g.tension for g in bodies.twice_clamped.guys] == pytest.approx(result.clamped.tension[case])
        assert bodies.twice.pull == pytest.approx(2.0 * bodies.own.pull)
        assert result.post_ratio[case] == np.nanmax(result.post_ratio)


def test_one_guy_behind_a_post_by_hand() -> None:
    """A pull H at the head, one guy at 42 degrees in its plane, pinned base: moments about the base.

    T sin(angle) z = H h, hence T = H h / (z sin(angle)); the plate is lifted with T cos(angle).
    """
    job = job_with_load_path("linnet_lot_3_trusses")
    result = next(r for r in assess(job).posts if not r.parts.post.guys[0].pieces)
    parts = result.parts
    behind = parts.guys[:1]
    weightless = replace(parts, guys=behind, kind=parts.kind.model_copy(update={"weight": None}))
    pull = np.array([-10_000.0, 0.0, 0.0])  # guy 1 lies to 0 degrees
    one = replace(result, parts=weightless, cases=(Case("L-9", (("L-9", pull),)),))
    (body,) = free_bodies(one, 0, (1.0,), PINNED)
    kind, guy = parts.kind, body.guys[0]
    tension = 10_000.0 * kind.head_height / (guy.height * np.sin(LEAN))
    assert guy.angle == pytest.approx(LEAN)
    assert guy.tension == pytest.approx(tension)
    assert guy.uplift == pytest.approx(tension * np.cos(LEAN))
    assert guy.shear == pytest.approx(tension * np.sin(LEAN))
    assert body.base_force[2] == pytest.approx(guy.uplift)
    assert body.base_moment == pytest.approx(0.0, abs=1e-6)


def test_pretension_makes_twice_the_load_less_than_twice_the_tension() -> None:
    """A guy in front still pulls at the arrest's own load and hangs slacker at twice it."""
    result = filled("wren_lot_7").posts[0]
    bodies = post_bodies(result)
    assert result.parts.guys[0].pretension > 0.0
    front = [(a.tension, b.tension) for a, b in zip(bodies.own.guys, bodies.twice.guys, strict=True)]
    assert any(twice <= own for own, twice in front)


@pytest.mark.parametrize("name", NAMES)
def test_guys_measure_true_in_the_elevation(name: str) -> None:
    """Length and angle on paper are the guy's own, to the stated scale."""
    for assessment, result in _posts(name):
        planned = plan_post_free_body(assessment, result)
        for guy in planned.bodies.own.guys:
            top = planned.view((0.0, guy.height))
            foot = planned.view(anchor_place(guy, planned.bodies.azimuth))
            run = np.abs(foot - top)
            assert np.hypot(*run) == pytest.approx(guy.length * planned.view.scale.points)
            assert np.arctan2(*run) == pytest.approx(guy.angle)


def test_guys_that_hold_stand_on_the_far_side_of_the_pull() -> None:
    for _, result in _posts("heron_lot_14"):
        bodies = post_bodies(result)
        strongest = max(bodies.own.guys, key=lambda g: g.tension)
        assert side_of(strongest, bodies.azimuth) == -1.0


@pytest.mark.parametrize("name", NAMES)
def test_the_parts_of_a_case_add_up(name: str) -> None:
    for _, result in _posts(name):
        bodies = post_bodies(result)
        case = result.cases[bodies.case]
        assert case.force == pytest.approx(bodies.own.pull, abs=1e-6)
        assert all(part in bodies.name for part, _ in case.parts)


def test_printed_numbers_are_the_solved_ones() -> None:
    result = filled("wren_lot_7").posts[0]
    bodies = post_bodies(result)
    guys, base, joints = table_rows(bodies, US)
    assert guys.columns[3:5] == ("tension 1×", "tension 2×")
    for row, own, twice in zip(guys.rows, bodies.own.guys, bodies.twice.guys, strict=True):
        printed = [parse(cell, FORCE) for cell in row[3:]]
        solved = [own.tension, twice.tension, own.uplift, twice.uplift, own.shear, twice.shear]
        for shown, value in zip(printed, solved, strict=True):
            assert value - 1e-6 <= shown <= value + 10 * 4.4482216152605  # up to the next 10 lbf
    assert [row[0] for row in base.rows] == ["pinned", "clamped"]
    assert len(joints.rows) == len(bodies.own.joints) == 2


def _check(assessment: Assessment, result: PostResult) -> None:
    planned = plan_post_free_body(assessment, result)
    for placed in (planned.placed, planned.plan_placed):
        boxes = np.array([p.box for p in placed])
        touching = overlapping(boxes, boxes)
        np.fill_diagonal(touching, False)
        assert not touching.any()
    figure = post_free_body(assessment, result).figure
    width, height = figure.get_size_inches() * 72
    assert (width, height) == (7.0 * 72, 8.2 * 72)
    (lettering,) = [a for a in figure.artists if hasattr(a, "lines_of_text")]
    for line in lettering.lines_of_text:
        assert line.size >= SMALLEST
        assert 0 <= line.x <= width and 0 <= line.y <= height


@pytest.mark.parametrize("name", NAMES)
def test_no_label_overlaps(name: str) -> None:
    for assessment, result in _posts(name):
        _check(assessment, result)


def test_the_demos_free_bodies_lay_out(lot: Assessment) -> None:
    names = set(figure_set(lot))
    for result in lot.posts:
        _check(lot, result)
        assert f"post-{result.id}" in names
    for post in lot.open_posts:
        assert f"post-{post.id}" not in names
    assert {n for n in figure_scales(lot) if n.startswith("post-")} == {f"post-{r.id}" for r in lot.posts}


def test_no_label_of_the_elevation_lies_over_a_guy(lot: Assessment) -> None:
    for result in lot.posts:
        planned = plan_post_free_body(lot, result)
        guys = [
            (*planned.view((0.0, g.height)), *planned.view(anchor_place(g, planned.bodies.azimuth)))
            for g in planned.bodies.own.guys
        ]
        over = crossing(np.array([p.box for p in planned.placed]), np.array(guys))
        assert not over.any(), (result.id, [planned.placed[i].key for i in np.argwhere(over)[:, 0]])
        texts = [text.text for text in post_free_body(lot, result).paper.texts]
        for guy in planned.bodies.own.guys:
            assert [text for text in texts if text.startswith(f"{guy.id}  {US.angle(guy.angle)}")]


def test_every_force_is_marked_with_its_load() -> None:
    assessment, result = _posts("wren_lot_7")[0]
    texts = [
        line.text
        for a in post_free_body(assessment, result).figure.artists
        if hasattr(a, "lines_of_text")
        for line in a.lines_of_text
    ]
    told = " ".join(texts)
    assert "1× at the arrest's own load, 2× at 2 times it" in told
    bodies = post_bodies(result)
    force = float(np.hypot(*bodies.own.pull[:2]))
    assert f"pull 1× {US.force(force, 'up')}" in texts
    assert f"2× {US.force(2 * force, 'up')}" in texts


def test_a_post_that_does_not_stand_says_so() -> None:
    """One guy alone, on the side of the pull, holds nothing."""
    assessment, result = _posts("wren_lot_7")[0]
    parts = replace(result.parts, guys=result.parts.guys[:1])
    azimuth = parts.guys[0].azimuth
    force = 8000.0 * np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    fallen = replace(
        result,
        parts=parts,
        cases=(Case("L-9", (("L-9", force),)),),
        post_ratio=np.array([np.inf]),
    )
    drawn = post_free_body(assessment, fallen)
    texts = [
        line.text for a in drawn.figure.artists if hasattr(a, "lines_of_text") for line in a.lines_of_text
    ]
    assert "No equilibrium with these guys: the numbers are not reckoned." in texts
    assert not any("nan" in text for text in texts)
