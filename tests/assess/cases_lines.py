"""Cases of lines, falls and anchorages: what is computed, held against ratings and the code."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from planforge.assess.assessment import Assessment
from planforge.units import FOOT, INCH, LBF, POUND

from .case import CONFIRM, MEETS, NOT_APPLICABLE, SHORT, Case
from .jobs import REMOVE, UNGUYED, Changes, finding

SET = "equipment.lifelines.set"
SRL = "equipment.connectors.srl"
POST = "equipment.posts.post"
SHORTER = {
    "id": "S-N2",
    "surface": "deck",
    "line": "L-1",
    "connector": "srl",
    "reach": "2.1 ft",
    "edge": "E-N",
    "sides": [{"direction": "outward", "onto": ["grade"], "obstacle": "10 ft"}],
}
FLOOR = {
    "id": "F-2",
    "level": "second",
    "outline": [["0", "0"], ["40 ft", "0"], ["40 ft", "30 ft"], ["0", "30 ft"]],
}
S_N, S_A1, S_A2 = "tasks.T-N.stances.S-N", "tasks.T-A.stances.S-A1", "tasks.T-A.stances.S-A2"
LINE_STANCE, A1_STANCE, A2_STANCE = "L-1 · T-N/S-N", "A-1 · T-A/S-A1", "A-2 · T-A/S-A2"

OPPOSITE: Changes = {
    "layout.anchors.+": {"id": "A-3", "post": "P1", "workers": 1, "opposite_line": True},
    f"{POST}.worker_opposite_line.value": True,
}
"""One more worker on line L-1's end post P1, allowed by the post's maker."""
ON_A3 = {
    "id": "S-A3",
    "surface": "deck",
    "anchor": "A-3",
    "connector": "srl",
    "reach": "3 ft",
    "sides": [{"direction": "outward", "onto": ["grade"], "obstacle": "12 ft"}],
}
"""That worker's stance, along the whole edge."""


def _before(check: str, where: str, part: str = "value", times: float = 1.0) -> Any:
    """What a finding said before the change, times a factor."""
    return lambda a: times * getattr(finding(a, check, where), part)


def _load(a: Assessment) -> float:
    """The greater end load of line L-1, N."""
    loads = next(line for line in a.lines if line.id == "L-1").loads
    assert loads is not None
    return loads.end


CASES = [
    # a line against its ratings
    Case("line.span", "L-1", {f"{SET}.longest_span.value": "35 ft"}, SHORT, 36 * FOOT, 35 * FOOT),
    Case("line.span", "L-2", {f"{SET}.shortest_span.value": "27 ft"}, SHORT, 26 * FOOT, 27 * FOOT),
    Case("line.workers", "L-1", {"layout.lines.L-1.workers": 3}, SHORT, 3.0, 2.0),
    Case("line.sag", "L-1", {f"{SET}.most_sag.value": "3 in"}, SHORT, 3.5 * INCH, 3 * INCH),
    Case("line.sag", "L-1", {f"{SET}.least_sag.value": "4 in"}, SHORT, 3.5 * INCH, 4 * INCH),
    Case("line.sag", "L-1", {f"{SET}.least_sag": REMOVE}, CONFIRM, 3.5 * INCH, 5.5 * INCH),
    Case(
        "line.sag_band",
        "L-1",
        {"lower_levels.grade.elevation": "4 ft"},
        SHORT,
        3.5 * INCH,
        "no sag holds at every temperature of use",
    ),
    Case(
        "line.sag_band",
        "L-1",
        {"equipment.ropes.rope.breaking_strength": REMOVE},
        CONFIRM,
        3.5 * INCH,
        _before("line.sag_band", "L-1", "limit"),
    ),
    # two heads 20 ft up, each a degree out: 40 ft times its sine
    Case(
        "line.plumb",
        "L-1",
        {"erection.tolerances.plumb": "1 deg"},
        CONFIRM,
        lambda a: finding(a, "line.plumb", "L-1").value,
        "8 1/2 in within the plumb tolerance",
        base={"erection.tolerances.plumb": "0.005 deg"},
    ),
    Case(
        "line.connector",
        "L-1 · srl",
        {f"{SRL}.on_flexible_line.value": False},
        SHORT,
        "its maker does not allow it on a horizontal lifeline",
    ),
    Case(
        "line.connector",
        "L-1 · srl",
        {f"{SET}.connectors": []},
        SHORT,
        "not among the connectors that the line's maker allows",
    ),
    Case(
        "line.connector",
        "L-1 · srl",
        {f"{SET}.connectors": REMOVE},
        CONFIRM,
        "one maker's word on this pair is not stated",
    ),
    Case(
        "line.rope_strength",
        "L-1",
        {"equipment.ropes.rope.breaking_strength.value": "8000 lbf"},
        SHORT,
        _before("line.rope_strength", "L-1", times=8000 / 12400),
        2.0,
    ),
    Case(
        "line.end_strength",
        "L-1",
        {f"{SET}.end_strength.value": "8000 lbf"},
        SHORT,
        _before("line.end_strength", "L-1", times=8000 / 11000),
        2.0,
    ),
    Case(
        "line.end_strength",
        "L-1",
        {f"{SET}.end_strength": REMOVE},
        CONFIRM,
        _load,
        "breaking strength not stated",
    ),
    Case(
        "line.absorber",
        "L-1",
        {"equipment.line_absorbers.absorber.stroke.value": "6 in"},
        SHORT,
        6 * INCH,
        6 * INCH,
    ),
    Case(
        "line.absorber",
        "L-1",
        {
            f"{SET}.absorber": REMOVE,
            "layout.lines.L-1.absorber_at": REMOVE,
            "layout.lines.L-2.absorber_at": REMOVE,
        },
        NOT_APPLICABLE,
        None,
    ),
    Case(
        "line.stiffness",
        "L-1",
        {f"{POST}.stiffness_low": REMOVE},
        CONFIRM,
        "not stated: 2,000 lbf/in assumed for clearance",
        base=UNGUYED,
    ),
    Case(
        "line.posts",
        "L-1 · P2",
        {f"{POST}.line_strength.value": "8000 lbf"},
        SHORT,
        _load,
        4000 * LBF,
        was=CONFIRM,
    ),
    Case(
        "line.posts",
        "L-1 · P2",
        {f"{POST}.line_strength": REMOVE},
        CONFIRM,
        _load,
        "to be confirmed",
        was=CONFIRM,
    ),
    Case("release.state", "A-1", {"releases": []}, CONFIRM, "planned", "released for use"),
    # the fall
    Case("arrest.free_fall", A2_STANCE, {f"{SRL}.lock_off.value": "6.1 ft"}, SHORT, 6.1 * FOOT, 6 * FOOT),
    Case(
        "arrest.free_fall",
        A2_STANCE,
        {f"{SRL}.greatest_free_fall.value": "1 ft"},
        SHORT,
        1.5 * FOOT,
        1 * FOOT,
    ),
    Case("arrest.force", A2_STANCE, {f"{SRL}.peak_force.value": "1810 lbf"}, SHORT, 1810 * LBF, 1800 * LBF),
    # weight x (free fall + stroke) = force x stroke: stroke = 265 x 1.5 / (375 - 265) ft
    Case(
        "arrest.deceleration",
        A2_STANCE,
        {f"{SRL}.lowest_force.value": "375 lbf", f"{SRL}.stroke.value": "60 in"},
        SHORT,
        265 * 1.5 / 110 * FOOT,
        3.5 * FOOT,
    ),
    # weight x (free fall + stroke) = force x stroke: it would take 265 x 1.5 / (700 - 265) ft = 11 in
    Case("arrest.stroke", A2_STANCE, {f"{SRL}.stroke.value": "10 in"}, SHORT, 10 * INCH, 10 * INCH),
    Case(
        "arrest.clearance",
        f"{LINE_STANCE} · outward",
        {"lower_levels.grade.elevation": "4 ft"},
        SHORT,
        (11 + 4 / 12 + 5 - 4) * FOOT,
        _before("arrest.clearance", f"{LINE_STANCE} · outward", "limit"),
    ),
    Case("arrest.user_mass", A2_STANCE, {"user.mass": "325 lb"}, SHORT, 325 * POUND, 310 * POUND),
    Case(
        "arrest.user_mass",
        "harness",
        {"equipment.harnesses.harness.greatest_user.value": "260 lb"},
        SHORT,
        265 * POUND,
        260 * POUND,
    ),
    Case(
        "arrest.anchor_height",
        A2_STANCE,
        {f"{S_A2}.dring_height": "8 ft", f"{SRL}.below_dring": REMOVE},
        CONFIRM,
        (19 - 11 - 4 / 12 - 8) * FOOT,
        "maker's word",
    ),
    Case(
        "arrest.anchor_height",
        A2_STANCE,
        {f"{S_A2}.dring_height": "8 ft", f"{SRL}.below_dring.value": False},
        SHORT,
        (19 - 11 - 4 / 12 - 8) * FOOT,
        "maker's word",
    ),
    Case(
        "arrest.anchor_height",
        A2_STANCE,
        {f"{S_A2}.dring_height": "8 ft"},
        MEETS,
        (19 - 11 - 4 / 12 - 8) * FOOT,
        "allowed by the maker",
    ),
    Case(
        "arrest.edge",
        LINE_STANCE,
        {f"{SRL}.edge_tested": REMOVE},
        CONFIRM,
        "not shown to be tested over an edge",
    ),
    Case(
        "arrest.edge",
        LINE_STANCE,
        {f"{SRL}.edge_tested.value": False},
        SHORT,
        "not shown to be tested over an edge",
    ),
    Case(
        "arrest.edge",
        A2_STANCE,
        {f"{S_A2}.stretch": [["20 ft", "15 ft"], ["20.3 ft", "15 ft"]], f"{S_A2}.reach": "0"},
        NOT_APPLICABLE,
        None,
    ),
    Case(
        "arrest.swing",
        f"{LINE_STANCE} · outward",
        {f"{S_N}.sides.0.obstacle": "5.9 ft"},
        SHORT,
        6 * FOOT,
        5.9 * FOOT,
    ),
    Case(
        "arrest.swing",
        f"{LINE_STANCE} · outward",
        {f"{S_N}.sides.0.obstacle": REMOVE},
        CONFIRM,
        6 * FOOT,
        "distance to the first obstacle not stated",
    ),
    Case(
        "arrest.swing",
        f"{A2_STANCE} · inward",
        {f"{S_A2}.stretch": [["20 ft", "15 ft"], ["20.3 ft", "15 ft"]], f"{S_A2}.reach": "0"},
        NOT_APPLICABLE,
        pytest.approx(0.6 * FOOT),
    ),
    # reach: the edge runs 2 ft beside the line and 2 ft past each end of it
    Case(
        "edge.reach",
        "H1 · E-N",
        {f"{S_N}.reach": "2.1 ft"},
        SHORT,
        pytest.approx(2 * (2 - sqrt(2.1**2 - 2**2)) * FOOT, rel=0.03),
        6 * INCH,
    ),
    Case(
        "edge.reach",
        "H1 · E-N",
        # another stance on the same line that goes less far: the crew is told the least of the two
        {"tasks.T-N.stances.+": SHORTER},
        SHORT,
        pytest.approx(2 * (2 - sqrt(2.1**2 - 2**2)) * FOOT, rel=0.03),
        6 * INCH,
        phase="deck",
    ),
    # the line runs 2 ft in from the edge and ends 2 ft from the corner: there 3 ft goes least far in
    Case(
        "edge.strip",
        "H1 · E-N",
        {f"{S_N}.reach": "3 ft"},
        CONFIRM,
        pytest.approx((2 + sqrt(3**2 - 2**2)) * FOOT, abs=0.05 * FOOT),
        6 * FOOT,
        base={"building.floors": [FLOOR], f"{S_N}.reach": "4.2 ft"},
        phase="deck",
    ),
    # anchorages
    Case(
        "anchor.strength",
        "A-2",
        {"layout.anchors.A-2.strength.value": "4000 lbf"},
        CONFIRM,
        4000 * LBF,
        2 * 1000 * LBF,
    ),
    Case(
        "anchor.strength",
        "A-2",
        {"layout.anchors.A-2.strength.value": "1900 lbf"},
        SHORT,
        1900 * LBF,
        2 * 1000 * LBF,
    ),
    Case(
        "anchor.strength",
        "A-2",
        {"layout.anchors.A-2.strength": REMOVE},
        CONFIRM,
        "strength not stated",
        5000 * LBF,
    ),
    Case(
        "anchor.load_path",
        "A-2",
        {"layout.anchors.A-2.workers": 2},
        CONFIRM,
        2 * 2 * 1000 * LBF,
        "to be confirmed",
        was=CONFIRM,
    ),
    Case("anchor.workers", "A-1", {"layout.anchors.A-1.workers": 3}, SHORT, 3.0, 2.0),
    Case(
        "anchor.opposite_line",
        "A-3",
        {f"{POST}.worker_opposite_line.value": False},
        SHORT,
        "the post's maker does not state that it is allowed",
        was=CONFIRM,
        base=OPPOSITE,
    ),
    Case(
        "anchor.opposite_line",
        "A-3",
        {"layout.anchors.A-3.opposite_line": False},
        SHORT,
        "shares an end post with a line and is not marked opposite_line",
        was=CONFIRM,
        base=OPPOSITE,
    ),
    # 29 CFR 1926.502(d)(12), (13): 3,000 lbf where free fall is limited to 2 ft, else 5,000 lbf
    Case(
        "kit.strength",
        f"{A1_STANCE} · srl",
        {f"{SRL}.strength.value": "2990 lbf"},
        SHORT,
        2990 * LBF,
        3000 * LBF,
    ),
    Case(
        "kit.strength",
        f"{A1_STANCE} · srl",
        {f"{SRL}.strength.value": "4990 lbf", f"{SRL}.lock_off.value": "2.1 ft"},
        SHORT,
        4990 * LBF,
        5000 * LBF,
    ),
    Case(
        "kit.strength", f"{A1_STANCE} · srl", {f"{SRL}.strength": REMOVE}, CONFIRM, "not stated", 3000 * LBF
    ),
    Case(
        "kit.strength",
        "harness",
        {"equipment.harnesses.harness.dring_strength.value": "4990 lbf"},
        SHORT,
        4990 * LBF,
        5000 * LBF,
    ),
    Case(
        "rescue.reach",
        "L-1",
        {"rescue.means.M-1.reaches": "14 ft"},
        SHORT,
        _before("rescue.reach", "L-1"),
        14 * FOOT,
    ),
    Case(
        "rescue.reach",
        "L-1",
        {"rescue.means.M-1.reaches": REMOVE, "rescue.means.M-1.ladder": REMOVE},
        SHORT,
        lambda a: a.hangs["L-1"].highest,
        "no means with a stated reach serves it",
    ),
]
