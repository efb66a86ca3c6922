"""Bases: ACI 318-19 chapter 17 by hand for one case, holes, concrete of the day, what lies in the slab.

Clauses and factors from memory where planforge.calc.base_anchor says so; the small lot's base has holes
9 in (x) by 8 in (y), 24 in from the slab's edges, anchors with hef 3 in in a 5 in slab of 3,200 psi.
"""

from __future__ import annotations

from math import atan2, cos, degrees, pi, sin, sqrt
from typing import Any

import numpy as np
import pytest

from planforge.assess.assessment import Assessment, assess
from planforge.assess.base_checks import MODES, base_loads, base_ratios
from planforge.assess.base_model import Base
from planforge.assess.drilling import sheet_reasons
from planforge.calc.base_plate import anchor_tensions
from planforge.units import FOOT, INCH, LBF, PSI

from .case import BARE, CONFIRM, MEETS, SHORT
from .cases_lot import SCANNED
from .jobs import REMOVE, Changes, assessed, finding, small
from .small_posts import GUY, POST, STUD, number, post
from .test_invariance import moved, turned

SOFT: Changes = {f"{GUY}.axial_stiffness.value": "400000 lbf"}
"""Guys that give so much that a clamped base is tipped and its anchors pulled."""


def base(assessment: Assessment, name: str = "P3") -> Base:
    return next(b for b in assessment.bases if b.id == name)


def test_ratios_of_one_case_by_hand() -> None:
    """P3, clamped base: tipped to +y and pressed; in, lbf, psi as the code prints its equations."""
    assessment = assessed(SOFT)
    result = post(assessment, "P3")
    uplift, moments, shears = base_loads((result.pinned, result.clamped))
    at = len(result.cases)  # the first clamped one: the line straight
    N, M, V = uplift[at] / LBF, moments[at, 1] / (LBF * INCH), shears[at] / LBF
    assert N < 0.0, "its guy and its weight press the post down"
    assert M > 0.0, "it is tipped the way the line pulls"
    assert moments[at, 0] == pytest.approx(0.0, abs=1e-3)
    assert moments[0] == pytest.approx([0.0, 0.0], abs=1e-6), "pinned"
    # elastic: N/4 + M y/(4 x 4 in squared) at the back; toe 6 in out: 10 and 2 in from it
    back = max(N / 4 + M / 16, (M + 6 * N) * 10 / (2 * (10**2 + 2**2)), 0.0)
    front = max(N / 4 - M / 16, (M + 6 * N) * 2 / (2 * (10**2 + 2**2)), 0.0)
    assert back > front > 0.0
    pulls = 2 * (back + front)
    # 17.6.2: squares of 9 in about each of four anchors, 9 in and 8 in apart; e'N towards the back row
    area = (9 + 9) * (9 + 8) / (9 * 3**2)
    off = 4 * 2 * (back - front) / pulls
    basic = 17 * sqrt(3200) * 3**1.5
    breakout = area * basic / (1 + off / 4.5)
    # 17.7.2: the plate pushes on the row nearest to the edge at y = 0, 20 in from it; a corner beside it
    face = (30 + 9 + 19.5) * 5 / (4.5 * 20**2)
    shear_basic = min(7 * (3 / 0.625) ** 0.2 * sqrt(0.625), 9) * sqrt(3200) * 20**1.5
    edge = face * (0.7 + 0.3 * 19.5 / 30) * sqrt(30 / 5) * shear_basic
    ratios = base_ratios(base(assessment), result)
    assert V[1] < 0.0
    by_hand = {
        "steel_tension": back / (0.75 * 18000),
        "tension_breakout": pulls / (0.65 * breakout),
        "pullout": back / (0.65 * 7000),
        "steel_shear": -V[1] / 4 / (0.65 * 11000),
        "shear_breakout": -V[1] / (0.70 * edge),
        "pryout": -V[1] / (0.70 * 2 * area * basic),
    }
    for mode, expected in by_hand.items():
        assert getattr(ratios, mode)[at] == pytest.approx(expected, rel=1e-4), mode
    tension = max(by_hand[m] for m in ("steel_tension", "tension_breakout", "pullout"))
    shear = max(by_hand[m] for m in ("steel_shear", "shear_breakout", "pryout"))
    both = max(tension, shear, (tension + shear) / 1.2 if min(tension, shear) > 0.2 else 0.0)
    assert ratios.combined[at] == pytest.approx(both, rel=1e-4)
    found = finding(assessment, "base.strength", "P3")
    assert found.value == pytest.approx(float(np.max(ratios.combined)))
    assert found.verdict is (CONFIRM if both <= 1.0 else SHORT)
    assert "the engineer decides" in found.source


@pytest.mark.parametrize("angle", [37.0, 90.0, 215.0])
def test_slab_turned_in_plan_keeps_every_ratio(angle: float) -> None:
    """Shear and edges are turned together: the plate still pushes square to the edge."""
    there = assess(moved(small(), turned(angle)))
    before, after = (base_ratios(base(a), post(a, "P3")) for a in (assessed(), there))
    assert before.shear_breakout[0] > before.steel_shear[0] > 0.0
    for mode in MODES:
        assert getattr(after, mode) == pytest.approx(getattr(before, mode), rel=1e-5), mode


def test_anchors_are_pulled_on_the_side_the_post_leans_from() -> None:
    """The line pulls P3 to +y: the back row, at -y, is pulled more, whichever way the base is turned."""
    for turn in ("0 deg", "180 deg", "90 deg"):
        assessment = assessed(SOFT | {"layout.posts.P3.turned": turn})
        its, result = base(assessment), post(assessment, "P3")
        assert its.holes is not None
        centred = its.holes - np.asarray(its.parts.post.at)
        uplift, moments, _ = base_loads((result.pinned, result.clamped))
        at = len(result.cases)
        tensions = anchor_tensions(uplift[at], moments[at], centred, 6 * INCH)
        at_back = centred[:, 1] < 0.0
        assert np.min(tensions[at_back]) > np.max(tensions[~at_back])


MISSING = [
    (f"{POST}.hole_spacing", "the base's hole spacing"),
    (f"{POST}.base_toe", "the base's toe"),
    (f"{POST}.anchored_with", "the kind of base anchor"),
    ("slab.thickness", "the slab's thickness"),
    ("slab.strength", "the slab's strength on the day"),
    (f"{STUD}.effective_depth", "the anchor's effective depth"),
    (f"{STUD}.kc", "the anchor's kc"),
    (f"{STUD}.steel_tension", "the anchor's steel strength in tension"),
    (f"{STUD}.steel_shear", "the anchor's steel strength in shear"),
    (f"{STUD}.pullout", "the anchor's pullout strength"),
    (f"{STUD}.category", "the anchor's category"),
    (f"{STUD}.critical_edge", "the anchor's critical edge distance"),
]


@pytest.mark.parametrize(("path", "name"), MISSING)
def test_what_is_missing_is_asked_for_by_name(path: str, name: str) -> None:
    found = finding(assessed({path: REMOVE}), "base.strength", "P3")
    assert found.verdict is CONFIRM
    assert found.limit == f"wanted: {name}"


def test_base_that_stands_on_anything_but_the_slab_is_the_qualified_persons() -> None:
    assessment = assessed(BARE | {"layout.posts.P3.stands_on": "second"})
    found = finding(assessment, "base.strength", "P3")
    assert (found.verdict, found.value) == (CONFIRM, "stands on second, not on the slab")
    assert "P3" not in {b.id for b in assessment.bases}


# ---------------------------------------------------------------- holes and edges


@pytest.mark.parametrize(
    ("hole", "left", "verdict"),
    [("4 15/16 in", 1 / 16, MEETS), ("5 in", 0.0, SHORT), ("5 1/2 in", -0.5, SHORT)],
)
def test_hole_through_the_slab(hole: str, left: float, verdict: Any) -> None:
    found = finding(assessed(BARE | {f"{STUD}.hole_depth.value": hole}), "base.depth", "P3")
    assert found.verdict is verdict
    assert found.value == pytest.approx(left * INCH)


def test_slab_thinner_than_the_report_says_why() -> None:
    thin = assessed(BARE | {f"{STUD}.least_thickness.value": "5 1/4 in"})
    found = finding(thin, "base.depth", "P3")
    assert found.verdict is SHORT
    assert found.note.endswith("The slab is thinner than the report allows.")


def test_without_the_reports_thickness_a_deep_anchor_stays_open() -> None:
    """17.9.4: hef at most two thirds of a 5 in slab, 3.33 in."""
    for depth in ("3 in", "3 1/2 in"):
        changes = BARE | {f"{STUD}.least_thickness": REMOVE, f"{STUD}.effective_depth.value": depth}
        assert finding(assessed(changes), "base.depth", "P3").verdict is CONFIRM


def test_slanted_edge_stands_as_square_at_its_distance() -> None:
    """Cut at 45 degrees from (37 ft, 0) to (40 ft, 3 ft): the hole at (38'-4.5", 1'-8") is nearest."""
    cut = [["0", "0"], ["37 ft", "0"], ["40 ft", "3 ft"], ["40 ft", "30 ft"], ["0", "30 ft"]]
    assessment = assessed(BARE | {"layout.slab": cut})
    x, y = 38 + 4.5 / 12, 2 - 4 / 12
    away = (37 - (x - y)) / sqrt(2)
    its = base(assessment)
    assert its.edge_distance == pytest.approx(away * FOOT)
    found = finding(assessment, "base.layout", "P3")
    assert found.verdict is SHORT
    assert found.value == pytest.approx(away * FOOT)
    assert its.frame == pytest.approx(pi / 4), "square to the cut"
    square = its.in_frame(np.asarray(its.holes))
    least = min(np.min(square[:, 1]) - its.edges[2], its.edges[3] - np.max(square[:, 1]))
    assert least == pytest.approx(away * FOOT)


def test_hole_off_the_slab_is_short() -> None:
    at_rim = assessed({"layout.slab": [["0", "0"], ["38.2 ft", "0"], ["38.2 ft", "30 ft"], ["0", "30 ft"]]})
    assert base(at_rim).edge_distance == pytest.approx((0.2 - 4.5 / 12) * FOOT)
    found = finding(at_rim, "base.strength", "P3")
    assert (found.verdict, found.value) == (SHORT, "a hole lies off the slab")
    assert finding(at_rim, "base.layout", "P3").verdict is SHORT


# ---------------------------------------------------------------- concrete on the day

RULE: Changes = {
    "slab.strength": REMOVE,
    "slab.strength_28": {"value": "4000 psi", "source": "Mix sheet (invented)"},
    "slab.cement": "I moist",
}


@pytest.mark.parametrize(
    ("poured", "part", "verdict"),
    [
        ("2026-10-20", 1.0, CONFIRM),  # 42 days: never more than that at 28
        ("2026-11-24", 7 / (4 + 0.85 * 7), CONFIRM),
        ("2026-11-28", 3 / (4 + 0.85 * 3), SHORT),
        ("2026-12-01", 0.0, SHORT),
    ],
)
def test_rule_of_gain_is_never_more_than_to_be_confirmed(poured: str, part: float, verdict: Any) -> None:
    """ACI 209R-92 equation 2-1 with a = 4, b = 0.85; the posts go up on 2026-12-01."""
    found = finding(assessed(BARE | RULE | {"slab.pour_date": poured}), "base.age", "P3")
    assert found.verdict is verdict
    assert found.value == pytest.approx(part * 4000 * PSI)
    assert found.limit == pytest.approx(2500 * PSI)
    assert "ACI 209R-92" in found.note


def test_test_of_the_day_goes_before_the_rule() -> None:
    both = {k: v for k, v in RULE.items() if k != "slab.strength"}
    found = finding(assessed(BARE | both), "base.age", "P3")
    assert found.verdict is MEETS
    assert found.value == pytest.approx(3200 * PSI)


# ---------------------------------------------------------------- what lies in the slab


def tendon(y: str, tolerance: str = "1/2 in", **other: Any) -> Changes:
    """A tendon along x at P3, with a limit of 4 in from the edge of a hole."""
    thing = {
        "id": "T-1",
        "kind": "tendon",
        "path": [["30 ft", y], ["40 ft", y]],
        "located_by": "scan",
        "tolerance": tolerance,
    }
    limit = {"kind": "tendon", "distance": {"value": "4 in", "source": "Slab sheet S-1 (invented)"}}
    return BARE | {"slab.contents.+": thing | other, "slab.clear_of.+": limit}


def test_turned_base_brings_a_hole_to_a_tendon() -> None:
    """10 - 4 - 5/16 - 1/2 as it stands; turned till its diagonal points there, 10 - 6.02 - 13/16."""
    diagonal = sqrt(4.5**2 + 4**2)
    turn = 90 - degrees(atan2(4, 4.5))
    for changes, verdict, reach in (
        ({}, MEETS, 4.0),
        ({"layout.posts.P3.turned": f"{turn} deg"}, SHORT, diagonal),
    ):
        found = finding(assessed(tendon("2 ft 10 in") | changes), "base.contents", "P3 · T-1")
        assert found.verdict is verdict
        assert found.value == pytest.approx((10 - reach - 0.3125 - 0.5) * INCH)


@pytest.mark.parametrize(("turned", "hole", "side"), [("20 deg", 1, 1), ("-20 deg", 2, -1)])
def test_base_turns_counter_clockwise(turned: str, hole: int, side: int) -> None:
    """Turned to the left its right front hole comes forward."""
    assessment = assessed(tendon("2 ft 10 in") | {"layout.posts.P3.turned": turned})
    found = finding(assessment, "base.contents", "P3 · T-1")
    assert found.note.startswith(f"Nearest hole {hole} to the tendon")
    holes = base(assessment).holes
    assert holes is not None
    corner, turn = atan2(4, side * 4.5), side * pi / 9
    place = sqrt(4.5**2 + 4**2) * INCH * np.array([cos(corner + turn), sin(corner + turn)])
    assert holes[hole - 1] == pytest.approx(np.array([38, 2]) * FOOT + place)


@pytest.mark.parametrize(
    ("tolerance", "scan", "verdict"),
    [("1/2 in", None, MEETS), ("1 3/4 in", None, SHORT), ("1/2 in", "1 3/4 in", SHORT)],
)
def test_locating_tolerance_decides(tolerance: str, scan: str | None, verdict: Any) -> None:
    """The thing's own or the scan's, whichever is greater: 5.69 in less half an inch, or less 1-3/4."""
    changes = tendon("2 ft 10 in", tolerance)
    if scan:
        survey = {"by": "A. Dunlin", "on": "2026-11-10", "method": "Radar (invented)", "tolerance": scan}
        changes |= {"slab.scan": survey}
    found = finding(assessed(changes), "base.contents", "P3 · T-1")
    assert found.verdict is verdict
    off = 1.75 if verdict is SHORT else 0.5
    assert found.value == pytest.approx((10 - 4 - 0.3125 - off) * INCH)


def test_half_of_its_own_width_comes_off() -> None:
    wide = finding(assessed(tendon("2 ft 10 in", half_width="1/4 in")), "base.contents", "P3 · T-1")
    assert wide.value == pytest.approx((10 - 4 - 0.3125 - 0.5 - 0.25) * INCH)


def test_hole_within_a_mat_is_struck_without_any_stated_limit() -> None:
    mat = [["36 ft", "1 ft"], ["40 ft", "1 ft"], ["40 ft", "3 ft"], ["36 ft", "3 ft"]]
    changes = tendon("2 ft", kind="radiant tubing", path=mat, fills=True)
    found = finding(assessed(changes), "base.contents", "P3 · T-1")
    assert found.verdict is SHORT
    # the innermost hole is 16 in from the mat's rim; the sign says that it is inside
    assert number(found.value) < 0.0
    beside = finding(assessed(changes), "base.contents", "P2 · T-1")
    assert (beside.verdict, beside.limit) == (CONFIRM, "distance not stated")


@pytest.mark.parametrize(
    ("changes", "check"),
    [
        ({"slab.kind": "unknown"}, "slab.known"),
        ({"slab.kind": "post-tensioned"}, "slab.located"),
        ({"slab.contents": REMOVE}, "slab.located"),
    ],
)
def test_nobody_drills_an_unknown_slab(changes: Changes, check: str) -> None:
    assert finding(assessed(BARE | changes), check, "slab").verdict is SHORT


@pytest.mark.parametrize(
    ("changes", "barred"),
    [
        ({}, False),
        ({"slab.scan.holds_until": REMOVE}, False),  # to be confirmed, and printed so
        ({"slab.scan.holds_until": "2026-11-30"}, True),
        ({"slab.scan.voided_by.0.happened": "2026-11-20"}, True),
    ],
)
def test_nobody_drills_by_a_scan_that_holds_no_more(changes: Changes, barred: bool) -> None:
    reasons = sheet_reasons(assessed(SCANNED | changes))
    assert bool(reasons) is barred
    assert all("Nobody drills: scan the slab anew" in reason for reason in reasons)


def test_slab_whose_contents_are_not_stated_meets_nothing() -> None:
    for changes in ({"slab.contents": REMOVE}, {"slab": REMOVE}, {f"{POST}.hole_spacing": REMOVE}):
        found = finding(assessed(BARE | changes), "base.contents", "P3")
        assert (found.verdict, found.note) == (CONFIRM, "Nobody drills until it is known.")
