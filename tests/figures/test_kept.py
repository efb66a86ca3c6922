"""What is derived from an assessment is reckoned once while its plan is drawn, and nobody can change it."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.figures.kept import kept
from planforge.figures.labels import Box
from planforge.figures.paper import Paper, hatch_lines
from planforge.figures.plan_content import plan_content
from planforge.figures.plan_drawing import Obstacles, PlanPicture
from planforge.figures.scale import Scale, View

WINDOW: Box = (0.0, 0.0, 100.0, 100.0)


def test_an_answer_is_reckoned_once_for_an_assessment(demo: Callable[[str], Assessment]) -> None:
    one = demo("heron_lot_14")
    other = replace(one)
    asked: list[tuple[Assessment, str, int]] = []

    @kept
    def answer(assessment: Assessment, name: str, times: int = 1) -> str:
        asked.append((assessment, name, times))
        return name * times

    answers = [answer(one, "a"), answer(one, "a"), answer(one, "b"), answer(one, "a", times=2)]
    assert answers == ["a", "a", "b", "aa"]
    assert len(asked) == 3
    assert answer(other, "a") == "a"
    assert [who is other for who, _, _ in asked] == [False, False, False, True]
    answer(one, "a")
    assert len(asked) == 5  # the answers of one assessment at a time


def test_an_assessment_is_not_held_by_what_is_kept_of_it(demo: Callable[[str], Assessment]) -> None:
    gone = replace(demo("heron_lot_14"))

    @kept
    def answer(assessment: Assessment) -> str:
        return assessment.job.site.lot

    answer(gone)
    watched = weakref.ref(gone)
    del gone
    gc.collect()
    assert watched() is None


def test_a_plans_content_is_shared_and_cannot_be_changed(demo: Callable[[str], Assessment]) -> None:
    lot = demo("wren_lot_7")
    content = plan_content(lot, "deck")
    assert plan_content(lot, "deck") is content
    assert plan_content(demo("wren_lot_7_mended"), "deck").allowed != content.allowed
    with pytest.raises(TypeError):
        content.allowed["L-S1"] = 9  # type: ignore[index]


def test_lines_that_are_kept_cannot_be_written_to() -> None:
    picture = PlanPicture(Paper(2.0, 2.0), View(Scale(1.0, ""), (0.0, 0.0), (0.0, 0.0)), WINDOW, Obstacles())
    points = np.array([[-20.0, 50.0], [150.0, 50.0]])
    (seen,) = picture.visible(points, closed=False)
    points[:, 1] = 70.0
    (other,) = picture.visible(points, closed=False)
    assert seen.tolist() == [[0.0, 50.0], [100.0, 50.0]]
    assert other.tolist() == [[0.0, 70.0], [100.0, 70.0]]
    for line in (seen, *hatch_lines([(0, 0), (30, 0), (30, 30), (0, 30)], 4.0)):
        with pytest.raises(ValueError, match="read-only"):
            line[0] = 0.0


def test_one_place_on_paper_is_that_of_many() -> None:
    view = View(Scale(0.123456789, ""), (3.3, -7.7), (311.1, 205.3))
    places = np.random.default_rng(2).uniform(-50, 50, (200, 2))
    assert [view.one((x, y)) for x, y in places] == [(x, y) for x, y in view(places).tolist()]
