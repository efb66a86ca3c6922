"""Cases of the load path: posts, guys, plate anchors, walls, bases."""

from __future__ import annotations

from math import pi, radians, sqrt
from typing import Any

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.units import FOOT, INCH, LBF, PSI

from .case import BARE, CONFIRM, SHORT, Case
from .jobs import REMOVE, finding
from .small_posts import BEHIND, GUY, POST, STUD, number, post, pull


def _scaled(check: str, where: str, times: float) -> Any:
    """What a finding said before the change, times a factor."""
    return lambda a: times * number(finding(a, check, where).value)


def _axial_and_bending(Fy: float) -> Any:
    """AISC 360-16 E3, F8, H1-1 by hand for P3: 5-1/2 x 3/8 in tube, Lc = 18 ft, twice the line's load.

    Pinned base, so that N = 2 H 20/18 (45 degrees) and the post's 460 lb, M = 2 H 2 ft at the guy.
    B1 = 1/(1 - N/Pe). The assessment takes the worse of pinned and clamped, less than 1 % apart here.
    """

    def ratio(a: Assessment) -> Any:
        D, d, E = 5.5 * INCH, 4.75 * INCH, 29e6 * PSI
        area, inertia, plastic = pi / 4 * (D**2 - d**2), pi / 64 * (D**4 - d**4), (D**3 - d**3) / 6
        height = 18 * FOOT
        # the line straight: the worker's force presses the head
        axial = (
            2 * pull(a) * 20 / 18 + 460 * LBF + 2 * next(r.workers_force for r in a.lines if r.id == "L-2")
        )
        moment = 2 * pull(a) * 2 * FOOT
        elastic = pi**2 * E / (height**2 * area / inertia)
        stress = 0.658 ** (Fy / elastic) * Fy if Fy / elastic <= 2.25 else 0.877 * elastic
        p = axial / (0.9 * stress * area)
        m = moment / (1 - axial / (elastic * area)) / (0.9 * Fy * plastic)
        return pytest.approx(p + 8 / 9 * m if p >= 0.2 else p / 2 + m, rel=0.01)

    return ratio


def _shear(Fy: float) -> Any:
    """Between guy and head the shear is the head's pull: of the cases the greatest, doubled."""

    def ratio(a: Assessment) -> Any:
        area = pi / 4 * ((5.5 * INCH) ** 2 - (5.375 * INCH) ** 2)
        greatest = max(float(np.hypot(*c.force[:2])) for c in post(a, "P3").cases)
        return pytest.approx(2 * greatest / (0.9 * 0.6 * Fy * area / 2), rel=1e-6)

    return ratio


def _bracing(a: Assessment) -> Any:
    """P2-1 and P3-2 on the wall at x = 47: each post's worst pull by its lever, at the arrest's own load."""
    corner = next(r.loads.end for r in a.lines if r.id == "L-1")
    across = post(a, "P3").cases
    east = max(-float(c.force[0]) for c in across)
    others = [-float(c.force[0]) for c in post(a, "P2").cases]
    assert max(others) >= corner
    return pytest.approx((max(others) + east) * 20 / 18, rel=0.01)


def _joint_moment(a: Assessment) -> Any:
    """Pinned base: it pushes with 2 H 2/18, so the moment 10 ft up is 2 H 20/18 ft; H the greatest pull."""
    greatest = max(float(np.hypot(*c.force[:2])) for c in post(a, "P3").cases)
    return pytest.approx(2 * greatest * 20 / 18 * FOOT, rel=1e-9)


def _base_steel(strength: float) -> Any:
    """All the base's shear on four anchors with phi 0.65."""

    def ratio(a: Assessment) -> float:
        bounds = (post(a, "P3").pinned, post(a, "P3").clamped)
        shear = max(float(np.max(np.hypot(*r.base_force[:, :2].T))) for r in bounds)
        return shear / 4 / (0.65 * strength)

    return ratio


PAIRS = [
    {"id": f"P1-{n}", "kind": "guy", "height": "18 ft", "to": [f"{x} ft", f"{y} ft"], "elevation": "9 ft"}
    | {"plate": "0 deg"}
    for n, (x, y) in enumerate(
        [(-5.8, 32.5), (-5.8, 23.5), (2, 37), (2, 19), (-7, 28), (2.5, 37), (2.5, 19)], start=1
    )
]
"""Guys of P1 (2, 28), which its line pulls to +x: three behind it, two to each side."""


CASES = [
    Case(
        "post.reckoned",
        "P3",
        {f"{POST}.wall": REMOVE},
        CONFIRM,
        "not stated",
        "the tube's outer diameter and wall",
    ),
    Case(
        "post.reckoned",
        "P3",
        {f"{GUY}.axial_stiffness": REMOVE},
        CONFIRM,
        "not stated",
        "guy P3-1: axial stiffness; guy P3-2: axial stiffness; guy P3-3: axial stiffness",
    ),
    Case("post.reckoned", "P3", {"layout.posts.P3.guys": []}, CONFIRM, "not stated", "its guys"),
    Case(
        "post.strength",
        "P3",
        {f"{POST}.steel_yield.value": "20 ksi"},
        SHORT,
        _axial_and_bending(20e3 * PSI),
        1.0,
    ),
    Case("post.strength", "P3", {f"{POST}.steel_yield": REMOVE}, CONFIRM, "yield strength not stated"),
    Case("post.guys", "P3", {"layout.posts.P3.guys.P3-2": REMOVE}, SHORT, 2.0, 3.0),
    Case("post.guys", "P3", {f"{POST}.guyed_with": ["chain"]}, SHORT, 3.0, 3.0),
    Case("post.guys", "P3", {f"{POST}.guyed_with": REMOVE}, CONFIRM, 3.0, 3.0),
    Case("post.guys", "P3", {f"{POST}.guys": REMOVE}, CONFIRM, 3.0, "number not stated"),
    # 0.6 Fy A / 2 with phi 0.9 (G5; D/t = 88 is too thick to buckle), its greatest shear above the guy
    Case(
        "post.shear",
        "P3",
        {f"{POST}.steel_yield.value": "16 ksi"},
        SHORT,
        _shear(16e3 * PSI),
        1.0,
        base={f"{POST}.wall": "1/16 in"},
    ),
    Case("post.shear", "P3", {f"{POST}.steel_yield": REMOVE}, CONFIRM, "yield strength not stated"),
    Case(
        "post.joint",
        "P3 · joint 1",
        {f"{POST}.joints.0.moment.value": "7900 ft-lbf"},
        SHORT,
        _joint_moment,
        7900 * FOOT * LBF,
    ),
    Case(
        "post.joint",
        "P3 · joint 1",
        {f"{POST}.joints.0.moment": REMOVE},
        CONFIRM,
        _joint_moment,
        "maker's moment not stated",
    ),
    # a fifth guy straight behind P1, and one more to each side: no fall needs any one of them
    Case(
        "post.one_guy",
        "P1",
        {"layout.posts.P1.guys.P1-7": REMOVE},
        CONFIRM,
        "does not stand without P1-4",
        base={"layout.posts.P1.guys": PAIRS},
    ),
    Case("guy.angle", BEHIND, {f"{GUY}.greatest_angle.value": "45.4 deg"}, CONFIRM, pi / 4, radians(45.4)),
    Case("guy.angle", BEHIND, {f"{GUY}.least_angle.value": "44.6 deg"}, CONFIRM, pi / 4, radians(44.6)),
    Case("guy.angle", BEHIND, {"erection.tolerances.post_position": "5 in"}, CONFIRM, pi / 4, radians(46)),
    Case("guy.angle", BEHIND, {f"{GUY}.greatest_angle.value": "44 deg"}, SHORT, pi / 4, radians(44)),
    Case("guy.angle", BEHIND, {f"{GUY}.least_angle.value": "45.4 deg"}, SHORT, pi / 4, radians(45.4)),
    Case(
        "guy.angle",
        BEHIND,
        {f"{GUY}.greatest_angle": REMOVE},
        CONFIRM,
        pi / 4,
        "maker's band not stated at both ends",
    ),
    Case(
        "guy.strength",
        BEHIND,
        {f"{GUY}.strength.value": "11000 lbf"},
        SHORT,
        _scaled("guy.strength", BEHIND, 11000 / 26600),
        2.0,
    ),
    Case(
        "guy.strength",
        BEHIND,
        {f"{GUY}.strength": REMOVE},
        CONFIRM,
        lambda a: 26600 * LBF / number(finding(a, "guy.strength", BEHIND).value),
        "must hold 2 times this",
    ),
    *(
        Case(
            "guy.plate",
            f"{BEHIND} · {part}",
            {f"{GUY}.plate_{part}.value": "8000 lbf"},
            SHORT,
            _scaled("guy.plate", f"{BEHIND} · {part}", 8000 / rated),
            2.0,
        )
        for part, rated in (("uplift", 17000), ("shear", 16000))
    ),
    # at 45 degrees the uplift is the guy's tension over the root of two
    Case(
        "guy.plate",
        f"{BEHIND} · uplift",
        {f"{GUY}.plate_uplift": REMOVE},
        CONFIRM,
        lambda a: 26600 * LBF / number(finding(a, "guy.strength", BEHIND).value) / sqrt(2),
        "must hold 2 times this",
    ),
    Case(
        "guy.bracing",
        "P2, P3 · W-7 · across",
        {"building.walls.W-7.braced_across.value": "9000 lbf"},
        SHORT,
        _bracing,
        4500 * LBF,
    ),
    Case(
        "guy.bracing",
        "P2, P3 · W-7 · across",
        {"building.walls.W-7.braced_across": REMOVE},
        CONFIRM,
        _bracing,
        "must hold 2 times this",
    ),
    # the slab
    Case(
        "base.strength",
        "P3",
        {f"{STUD}.steel_shear.value": "300 lbf"},
        SHORT,
        _base_steel(300 * LBF),
        1.0,
        was=CONFIRM,
    ),
    Case("base.depth", "P3", {f"{STUD}.hole_depth.value": "5 in"}, SHORT, 0.0, 0.0, base=BARE),
    Case("base.depth", "P3", {f"{STUD}.least_thickness.value": "5 1/8 in"}, SHORT, 1 * INCH, 0.0, base=BARE),
    Case(
        "base.depth",
        "P3",
        {f"{STUD}.hole_depth": REMOVE},
        CONFIRM,
        "not stated",
        "wanted: hole depth, effective depth, slab thickness",
        base=BARE,
    ),
    Case(
        "base.layout",
        "P3",
        {f"{STUD}.least_spacing.value": "8 1/4 in"},
        SHORT,
        8 * INCH,
        8.25 * INCH,
        base=BARE,
    ),
    # the base's centre is 24 in from the edge, its hole 4-1/2 in nearer
    Case(
        "base.layout", "P3", {f"{STUD}.least_edge.value": "20 in"}, SHORT, 19.5 * INCH, 20 * INCH, base=BARE
    ),
    Case("base.removal", "stud", {f"{STUD}.removal": REMOVE}, CONFIRM, "not stated", base=BARE),
    Case("base.removal", "stud", {f"{STUD}.removal.source": REMOVE}, CONFIRM, "cut off", base=BARE),
    Case("base.age", "P3", {"slab.strength.value": "2400 psi"}, SHORT, 2400 * PSI, 2500 * PSI, base=BARE),
    Case(
        "base.age",
        "P3",
        {f"{STUD}.least_strength": REMOVE},
        CONFIRM,
        "not stated",
        "wanted: the slab's strength on the day and the report's least strength",
        base=BARE,
    ),
    # 12 in to the pipe's line, less 4-1/2 to the hole, 5/16 its radius, 1 half the pipe, and the tolerance
    Case(
        "base.contents",
        "P1 · DR-1",
        {"slab.contents.DR-1.tolerance": "3 1/4 in"},
        SHORT,
        (12 - 4.5 - 0.3125 - 1 - 3.25) * INCH,
        3 * INCH,
        base=BARE,
    ),
    Case(
        "base.contents",
        "P1 · DR-1",
        {"slab.clear_of": []},
        CONFIRM,
        (12 - 4.5 - 0.3125 - 1 - 1) * INCH,
        "distance not stated",
        base=BARE,
    ),
    # plate anchors an inch apart: half an inch is left of it between guys of 1/2 in, and an inch is asked
    Case(
        "guy.clear",
        "P4",
        {"layout.posts.P4.guys.P4-2.to": ["2 ft", "18 ft 11 in"]},
        SHORT,
        0.5 * INCH,
        1.0 * INCH,
        base=BARE,
    ),
]
