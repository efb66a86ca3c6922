"""The elevation and its stack, as numbers."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.figures.anchor_elevation import anchor_elevation, anchor_stack, swing_view
from planforge.figures.elevation import SIZE_INCHES, ElevationPlan, elevation, governing, plan_elevation
from planforge.units import FOOT, Display

Demo = Callable[[str], Assessment]


def _plans(assessment: Assessment) -> list[ElevationPlan]:
    display = Display(assessment.job.site.units)
    return [
        plan_elevation(governing(result, display), SIZE_INCHES, display)
        for result in assessment.lines
        if result.runs
    ]


def test_the_stack_scales(lot: Assessment) -> None:
    """Every term's length on paper over its length in the reckoning is the stated scale."""
    for plan in _plans(lot):
        stack, axis = plan.section.stack, plan.axis
        for (_, value), (top, bottom) in zip(stack.terms, itertools.pairwise(stack.breaks), strict=True):
            assert axis(top) - axis(bottom) == pytest.approx(value * axis.scale.points)
        side = plan.section.side
        assert stack.dring - stack.foot == pytest.approx(side.required)
        assert stack.dring - stack.lower == pytest.approx(side.available)
        assert axis(stack.foot) - axis(stack.lower) == pytest.approx(side.left_over * axis.scale.points)


def test_the_section_fits_its_window(lot: Assessment) -> None:
    for plan in _plans(lot):
        parts = plan.section.result.parts
        left, right = plan.view([[0.0, 0.0], [parts.span, 0.0]])[:, 0]
        assert plan.window[0] < left < right < plan.window[2]
        for height in (plan.section.stack.lowest, parts.start[2], plan.section.stack.highest):
            assert plan.window[1] <= plan.view.one((0.0, height))[1] <= plan.window[3]
            assert plan.window[1] <= plan.axis(height) <= plan.window[3]


def test_it_shows_the_least_left_over(lot: Assessment) -> None:
    for result in lot.lines:
        shown = governing(result, Display()).side.left_over
        assert shown == min(side.left_over for run in result.runs for side in run.sides)


def test_the_line_at_rest_passes_its_governing_height_and_its_ends(demo: Demo) -> None:
    for result in demo("heron_lot_14").lines:
        section = governing(result, Display())
        at = np.array([0.0, section.station, result.parts.span])
        expected = [result.parts.start[2], section.stack.anchorage, result.parts.end[2]]
        assert section.at_rest(at).tolist() == pytest.approx(expected)


def test_what_lies_below_covers_the_whole_line(demo: Demo) -> None:
    """The Wren's east line runs from over the grade to over the terrace."""
    result = next(r for r in demo("wren_lot_7").lines if r.id == "L-E")
    below = governing(result, Display()).lower()
    assert len(below) == 2
    assert below[0].profile[0][0] == 0.0 and below[-1].profile[-1][0] == pytest.approx(result.parts.span)
    assert below[0].profile[-1][0] == below[1].profile[0][0]
    assert below[1].lowest == below[1].highest == pytest.approx(2.5 * FOOT)


def test_sloping_ground_is_one_thing_below(demo: Demo) -> None:
    """Under the Wren's rear line the yard falls to the east: a profile with one name, not a step a foot."""
    result = next(r for r in demo("wren_lot_7_mended").lines if r.id == "L-S1")
    (yard,) = governing(result, Display()).lower()
    assert yard.lowest < yard.highest
    assert [x for x, _ in yard.profile] == sorted(x for x, _ in yard.profile)
    assert yard.profile[0][0] == 0.0 and yard.profile[-1][0] == pytest.approx(result.parts.span)


def _texts(figure: object) -> list[str]:
    (lettering,) = [a for a in figure.artists if hasattr(a, "lines_of_text")]  # type: ignore[attr-defined]
    return [line.text for line in lettering.lines_of_text]


def test_a_short_line_says_so_and_a_line_that_meets_does_not(demo: Demo) -> None:
    wren = demo("wren_lot_7")
    east = next(r for r in wren.lines if r.id == "L-E")
    texts = _texts(elevation(wren, east).figure)
    assert "SHORT" in texts and "Left over" not in texts
    heron = demo("heron_lot_14")
    texts = _texts(elevation(heron, heron.lines[0]).figure)
    assert "Left over" in texts and "SHORT" not in texts


def test_the_printed_numbers_are_the_stack_s(lot: Assessment) -> None:
    for result in lot.lines[:3]:
        stack = governing(result, Display(lot.job.site.units)).stack.printed
        texts = _texts(elevation(lot, result).figure)
        assert f"Required {stack.required.text}" in texts
        assert f"Available {stack.available.text}" in texts
        for term in stack.terms:
            if term.value > 0:
                assert term.name in texts and term.text in texts


def test_one_thing_has_one_number_on_its_sheet(lot: Assessment) -> None:
    """The line's drop in the section is the term of the sum beside it, not the same length rounded again."""
    for result in lot.lines:
        if result.runs:
            drop = governing(result, Display(lot.job.site.units)).stack.printed.term("line_drop").text
            assert f"at arrest, {drop} down" in _texts(elevation(lot, result).figure)


def test_the_swing_s_drop_is_the_sum_s_where_it_is_the_same(demo: Demo) -> None:
    linnet = demo("linnet_lot_3_trusses")
    for run in linnet.anchors:
        side, stack = anchor_stack(run, Display())
        printed = stack.printed.term("swing_drop").text
        assert float(run.swing.drop.max()) == pytest.approx(dict(side.stack)["swing_drop"])
        assert f"and {printed} down" in _texts(anchor_elevation(linnet, run).figure)


def test_no_figure_calls_anything_by_the_barred_word(lot: Assessment) -> None:
    for result in lot.lines:
        assert not any("safe" in text.casefold().split() for text in _texts(elevation(lot, result).figure))


def test_the_swing_fits_and_the_anchor_s_stack_re_adds(demo: Demo) -> None:
    linnet = demo("linnet_lot_3_trusses")
    box = (10.0, 10.0, 150.0, 300.0)
    for run in linnet.anchors:
        _, stack = anchor_stack(run, Display())
        assert stack.printed.terms[1].name == "Anchorage gives"
        view = swing_view(run, box, Display())
        x, y = view.one(run.place[:2])
        radius = float(run.lateral.max()) * view.scale.points
        assert box[0] <= x - radius and x + radius <= box[2]
        assert box[1] <= y - radius and y + radius <= box[3]
