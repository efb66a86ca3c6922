"""Guys by themselves: joined pieces, the band of angles, and the post that stands without one or falls."""

from __future__ import annotations

import json
from math import sqrt
from typing import Any

import pytest

from planforge.assess.report import records
from planforge.units import FOOT, LBF

from .case import CONFIRM, MEETS, SHORT
from .jobs import REMOVE, Changes, assessed, finding
from .small_posts import BEHIND, GUY, behind, guy, number, post


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
