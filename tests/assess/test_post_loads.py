"""Posts that carry several lines, and an additional worker opposite a line: loads are summed as vectors."""

from __future__ import annotations

from math import cos, hypot, pi, sin, sqrt

import pytest

from planforge.assess.post_loads import worst_combination
from planforge.units import LBF

from .case import CONFIRM, SHORT
from .cases_lines import ON_A3, OPPOSITE
from .jobs import Changes, assessed, finding

F = 10_000.0


def test_two_perpendicular_equal_loads_add_to_the_root_of_two() -> None:
    resultant, lines = worst_combination([("a", F, 0.0), ("b", 0.0, F)])
    assert resultant == pytest.approx(sqrt(2) * F)
    assert lines == ("a", "b")


def test_opposite_loads_do_not_relieve_each_other() -> None:
    resultant, lines = worst_combination([("a", F, 0.0), ("b", -0.8 * F, 0.0)])
    assert resultant == pytest.approx(F)
    assert lines == ("a",)


@pytest.mark.parametrize(
    ("degrees", "factor"), [(0, 2.0), (60, sqrt(3)), (90, sqrt(2)), (120, 1.0), (180, 1.0)]
)
def test_angle_between_two_equal_loads(degrees: float, factor: float) -> None:
    """2 cos(half the angle), and never less than one alone: the parallelogram of forces."""
    angle = degrees * pi / 180
    resultant, _ = worst_combination([("a", F, 0.0), ("b", F * cos(angle), F * sin(angle))])
    assert resultant == pytest.approx(max(factor, 1.0) * F)


def test_worst_of_three_leaves_one_at_rest() -> None:
    resultant, lines = worst_combination([("a", F, 0.0), ("b", 0.0, F), ("c", -F, 0.0)])
    assert resultant == pytest.approx(sqrt(2) * F)
    assert lines in {("a", "b"), ("b", "c")}


def end_load(line: str, changes: Changes | None = None) -> float:
    loads = next(r.loads for r in assessed(changes).lines if r.id == line)
    assert loads is not None
    return loads.end


def test_corner_post_carries_both_lines() -> None:
    found = finding(assessed(), "line.posts", "P2")
    assert found.verdict is CONFIRM
    assert found.value == pytest.approx(hypot(end_load("L-1"), end_load("L-2")))
    assert found.limit == pytest.approx(7000 * LBF)
    assert found.note == "L-1 and L-2 loaded at once: the qualified person confirms twice this."


def test_corner_post_too_weak_for_both_though_not_for_each() -> None:
    weak: Changes = {"equipment.posts.post.line_strength.value": "10000 lbf"}
    assessment = assessed(weak)
    each = [f.verdict for f in assessment.findings if f.id == "line.posts" and f.where.startswith("L-")]
    assert each == [CONFIRM] * 4
    found = finding(assessment, "line.posts", "P2")
    assert found.verdict is SHORT
    assert found.limit == pytest.approx(5000 * LBF)


def test_lines_in_different_phases_are_not_added() -> None:
    apart: Changes = {"layout.lines.L-1.phases": ["deck"], "layout.lines.L-2.phases": ["walls"]}
    assert not [f for f in assessed(apart).findings if f.id == "line.posts" and f.where == "P2"]


def test_worker_opposite_a_line_adds_to_the_posts_load() -> None:
    stance = ON_A3 | {"stretch": [["0", "29 ft"], ["1 ft", "29 ft"]]}
    changes = OPPOSITE | {"tasks.T-A.stances.+": stance}
    assessment = assessed(changes)
    loads = next(r.loads for r in assessment.lines if r.id == "L-1")
    (own,) = [r.load for r in assessment.anchors if r.anchor.id == "A-3"]
    assert loads is not None
    assert own == pytest.approx(1000 * LBF)
    found = finding(assessment, "anchor.strength", "A-3")
    # 10,500 lbf is more than twice their sum: open, because the qualified person allows it or not
    assert found.limit == pytest.approx(2 * (own + loads.start))
    assert found.verdict is CONFIRM
    weak = assessed(changes | {"equipment.posts.post.anchorage_strength.value": "9000 lbf"})
    assert finding(weak, "anchor.strength", "A-3").verdict is SHORT
