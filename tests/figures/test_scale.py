"""True scale: a length on the lot is that length times the scale on paper."""

from __future__ import annotations

import pytest

from planforge.figures.scale import View, largest_scale, scales
from planforge.units import FOOT


@pytest.mark.parametrize(
    ("text", "inches"),
    [('1/2" = 1\'-0"', 5.0), ('1/4" = 1\'-0"', 2.5), ('1/8" = 1\'-0"', 1.25), ('1/16" = 1\'-0"', 0.625)],
)
def test_a_ten_foot_wall_measures_right(text: str, inches: float) -> None:
    scale = next(s for s in scales("us") if s.text == text)
    assert 10 * FOOT * scale.points / 72 == pytest.approx(inches)


def test_metric_scales() -> None:
    scale = next(s for s in scales("metric") if s.text == "1:50")
    assert 5.0 * scale.points / 72 * 25.4 == pytest.approx(100.0)  # 5 m are 100 mm


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_largest_that_fits(system: str) -> None:
    every = scales(system)  # type: ignore[arg-type]
    assert [s.ratio for s in every] == sorted((s.ratio for s in every), reverse=True)
    chosen = largest_scale(12.0, 9.0, (600.0, 500.0), system)  # type: ignore[arg-type]
    larger = [s for s in every if s.ratio > chosen.ratio]
    assert 12.0 * chosen.points <= 600 and 9.0 * chosen.points <= 500
    assert all(12.0 * s.points > 600 or 9.0 * s.points > 500 for s in larger)


def test_view_and_back() -> None:
    view = View(scales("us")[2], (3.0, 4.0), (100.0, 50.0))
    assert view.one((3.0, 4.0)) == (100.0, 50.0)
    assert view.back(view((7.5, -2.0))).tolist() == pytest.approx([7.5, -2.0])
