"""How stiffly guys and tube hold a head, by hand and as stated, and what a softer one does to the line."""

from __future__ import annotations

from math import cos, pi, sin, sqrt
from typing import Any

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.index import Index
from planforge.assess.post_model import CLAMPED, PINNED, post_parts, reckoned_stiffness
from planforge.units import FOOT, INCH, LBF

from .jobs import REMOVE, Changes, assessed, finding, small
from .small_posts import GUY, POST, behind, number, post


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


def test_both_bounds_of_the_base_are_tried() -> None:
    parts = post(assessed(), "P3").parts
    assert parts.mechanical(PINNED).base_stiffness == 0.0
    assert np.isinf(parts.mechanical(CLAMPED).base_stiffness)
    assert parts.mechanical(PINNED).heights == pytest.approx([10 * FOOT, 20 * FOOT])
