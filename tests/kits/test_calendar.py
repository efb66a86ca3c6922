"""The kits' calendar as numbers: bars over the right days, arrows between the right rows, what is lacking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planforge.figures.kit_calendar import DAYS as ON_A_PAGE
from planforge.figures.kit_calendar import LOT_ROW, kit_calendar
from planforge.figures.paper import Paper

from .a_plan import DAYS, a_plan

LEFT, RIGHT, TOP = 118.0, 496.0, 30.0


def page(name: str) -> Paper:
    return kit_calendar(a_plan())[name].paper


def x(day: int) -> float:
    return LEFT + (RIGHT - LEFT) * day / ON_A_PAGE


def fills(paper: Paper, grey: float) -> list[tuple[float, float, float, float]]:
    """Left, bottom, right, top of everything filled with one grey."""
    return [
        (*np.min(points, axis=0), *np.max(points, axis=0))
        for style, parts in paper.shapes()
        if style.fill == grey
        for points, _ in parts
    ]


def test_a_stretch_of_days_and_rows_that_overflow_go_on_further_pages() -> None:
    plan = a_plan()
    assert list(kit_calendar(plan)) == ["lots-1", "lots-2", "items-1", "items-2"]
    assert list(kit_calendar(replace(plan, days=plan.days[:100]))) == ["lots-1", "items-1"]
    many = replace(plan, days=plan.days[:100], lots=tuple(f"lot-{n}" for n in range(40)))
    assert [name for name in kit_calendar(many) if name.startswith("lots")] == ["lots-1", "lots-2", "lots-3"]
    texts = [
        line.text for name in ("lots-1", "lots-2", "lots-3") for line in kit_calendar(many)[name].paper.texts
    ]
    assert {f"lot-{n}" for n in range(40)} <= set(texts)


def test_each_lot_is_framed_over_the_days_on_which_it_holds_kit() -> None:
    paper = page("lots-1")
    bars = [(left, right) for left, low, right, top in fills(paper, 1.0) if top > 34.0 and top - low > 10.0]
    days = [(2 + 12 * k, 21 + 12 * k) for k in range(3)]  # one past the last
    assert np.array(sorted(bars)) == pytest.approx(np.array([(x(a), x(b)) for a, b in days]))


def test_a_lot_that_goes_without_is_black_over_its_own_days_alone() -> None:
    """Lot b lacks three posts; lot a, which holds them meanwhile, lacks nothing."""
    paper = page("lots-1")
    black = [(left, bottom, right) for left, bottom, right, _ in fills(paper, 0.0) if bottom > 34.0]
    ((left, bottom, right),) = [bar for bar in black if bar[2] - bar[0] > 5.0]  # no head of an arrow
    assert (left, right) == pytest.approx((x(14), x(33)))
    assert bottom == pytest.approx(paper.height - TOP - 1.5 * LOT_ROW - 8.0)


def test_kit_that_is_there_before_it_is_needed_shows() -> None:
    """Lot a has its kit from day 1 and needs it from day 2; lot c has it two days before."""
    dashed = [
        (float(points[:, 0].min()), float(points[:, 0].max()))
        for style, parts in page("lots-1").shapes()
        if style.pen and style.pen.dashes and style.fill == 1.0
        for points, _ in parts
        if points[:, 1].min() > 34.0
    ]
    assert np.array(sorted(dashed)) == pytest.approx(np.array([(x(1), x(2)), (x(22), x(26))]))


def test_a_move_runs_between_the_rows_of_its_ends() -> None:
    paper = page("lots-1")
    rows = {"lot-a": 0, "lot-b": 1, "lot-c": 2, "yard": 3}
    y = {name: paper.height - TOP - (row + 0.5) * LOT_ROW for name, row in rows.items()}
    lines = [
        (points[0][1], points[1][1])
        for style, parts in paper.shapes()
        if style.pen and style.pen.width == 0.9 and style.fill is None
        for points, _ in parts
        if points[0][1] > 34.0
    ]
    ways = [("yard", "lot-a"), ("lot-a", "lot-c"), ("lot-a", "yard")]
    assert np.array(lines) == pytest.approx(np.array([(y[origin], y[to]) for origin, to in ways]))


def test_what_is_lacking_is_black_on_its_days_and_numbered() -> None:
    paper = page("items-1")
    black = [(left, right) for left, bottom, right, _ in fills(paper, 0.0) if bottom > 34.0]
    short = [day for day in range(ON_A_PAGE) if a_plan().counts[0].short[day]]
    assert short
    assert np.array(sorted(black)) == pytest.approx(np.array([(x(day), x(day + 1)) for day in short]))
    assert [line.text for line in paper.texts if line.text.startswith("−")] == ["−3", "−1"]


def test_days_not_worked_are_shaded() -> None:
    shaded = sorted((left, right) for left, _, right, _ in fills(page("items-1"), 0.94))
    rest = [day for day in range(ON_A_PAGE) if DAYS[day].weekday() > 4]
    assert np.array(shaded) == pytest.approx(np.array([(x(day), x(day + 1)) for day in rest]))


def test_everything_lies_on_the_page_and_can_be_read() -> None:
    for drawing in kit_calendar(a_plan()).values():
        paper = drawing.paper
        for line in paper.texts:
            assert line.size >= 7.5
            assert -1e-6 <= line.x <= paper.width
            assert -1e-6 <= line.y <= paper.height
        for _, parts in paper.shapes():
            for points, _ in parts:
                assert np.all(points >= -1e-6)
                assert np.all(points <= [paper.width + 1e-6, paper.height + 1e-6])
