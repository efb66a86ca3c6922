"""Numbers that planforge chose itself or took from a handbook, and those it hands on as the lot states them.

Where no source is named there is none: the number stands in the project's own method notes, and the test
holds it there.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from planforge.assess.index import Index
from planforge.assess.line_model import mechanical_line
from planforge.assess.load_path import slenderness
from planforge.assess.post_model import post_parts
from planforge.assess.sides import bears_on_edge
from planforge.calc.bounds import CLEARANCE
from planforge.units import FOOT, INCH

from .jobs import REMOVE, UNGUYED, Changes, assessed, finding, small
from .small_posts import POST


def test_end_whose_stiffness_nobody_states_gives_way_by_2000_lbf_an_inch() -> None:
    unstated: Changes = {f"{POST}.stiffness_low": REMOVE, f"{POST}.stiffness_high": REMOVE, **UNGUYED}
    head = next(r.parts.start_head for r in assessed(unstated).lines if r.id == "L-1")
    assert head.assumed
    assert head.low == pytest.approx(350_253.7, rel=1e-6)  # N/m, NIST SP 811's 175.1268 N/m each lbf/in
    assert np.isinf(head.high)


def test_rope_without_a_stated_expansion_grows_as_steel() -> None:
    """6.5e-6 per degree Fahrenheit, AISC Manual part 17 (from memory)."""
    result = next(
        r for r in assessed({"equipment.ropes.rope.thermal_expansion": REMOVE}).lines if r.id == "L-1"
    )
    line = mechanical_line(result.parts, CLEARANCE)
    assert line.rope.thermal_expansion == pytest.approx(6.5e-6 * 1.8, rel=1e-9)


@pytest.mark.parametrize(
    ("height", "feet"),
    [("18 ft", 18.0), ("10 ft", 21.0)],  # 1.0 x 18 ft; 2.1 x 10 ft above the guys at 10 ft
)
def test_effective_lengths_are_the_specifications(height: str, feet: float) -> None:
    """AISC 360 Commentary table C-A-7.1, recommended: pinned 1.0, cantilever 2.1 (from memory)."""
    job = small({f"layout.posts.P2.guys.P2-{n}.height": height for n in (1, 2, 3, 4)})
    parts = post_parts(Index(job), job.layout.posts[1])
    section = parts.tube
    assert section is not None
    radius = sqrt((5.5**4 - 4.75**4) / 16 / (5.5**2 - 4.75**2)) * INCH
    assert slenderness(parts, section) == pytest.approx(feet * FOOT / radius, rel=1e-9)


@pytest.mark.parametrize(("inches", "guarded"), [(17.5, True), (18.5, False)])
def test_guardrail_within_eighteen_inches_of_an_edge_guards_it(inches: float, guarded: bool) -> None:
    """In plan, all along the south edge, where those tied to A-1 and A-2 now reach nothing."""
    rail = {"system": "guardrail", "uses": ["G-1"], "reason": "The wall comes later."}
    changes: Changes = {
        "layout.guardrails.G-1.path": [["0 ft", f"{inches} in"], ["6 ft", f"{inches} in"]],
        "hazards.H3.controls.+": rail,
        "tasks.T-A.stances.S-A1.reach": "1 in",
        "tasks.T-A.stances.S-A2.reach": "1 in",
    }
    found = finding(assessed(changes), "edge.reach", "H3 · E-S", "walls")
    assert found.value == pytest.approx(0.0 if guarded else 6 * FOOT, abs=1e-6)


def test_guardrail_guards_nothing_past_its_ends() -> None:
    """A foot short at one end of the 6 ft edge and half a foot at the other: 18 in stay open."""
    changes: Changes = {
        "layout.guardrails.G-1.path": [["1 ft", "3 in"], ["5 ft 6 in", "3 in"]],
        "hazards.H3.controls.+": {"system": "guardrail", "uses": ["G-1"], "reason": "The wall comes later."},
        "tasks.T-A.stances.S-A1.reach": "1 in",
        "tasks.T-A.stances.S-A2.reach": "1 in",
    }
    found = finding(assessed(changes), "edge.reach", "H3 · E-S", "walls")
    assert found.value == pytest.approx(1.5 * FOOT, abs=1e-6)


@pytest.mark.parametrize(("inches", "bears"), [(5.8, False), (6.2, True)])
def test_connector_bears_on_an_edge_from_half_a_foot_off(inches: float, bears: bool) -> None:
    stance = next(s for t in small().tasks for s in t.stances if s.surface != "ladder")
    assert bears_on_edge(stance, np.array([inches * INCH]), np.array([1.0])) is bears


def test_swing_is_told_from_half_a_foot_off() -> None:
    """Nearer, a worker hangs straight below and nothing is struck."""
    for inches, told in ((5.8, False), (6.2, True)):
        changes: Changes = {
            "tasks.T-A.stances.S-A2.reach": f"{inches} in",
            "tasks.T-A.stances.S-A2.stretch": [["19.9 ft", "15 ft"], ["20.1 ft", "15 ft"]],
        }
        found = finding(assessed(changes), "arrest.swing", "A-2 · T-A/S-A2 · inward", "walls")
        assert (found.verdict.value != "not applicable") is told
        assert found.value == pytest.approx(2 * inches * INCH)


@pytest.mark.parametrize(
    ("check", "where", "value"),
    [
        ("line.stiffness", "L-1", 315_228.2),  # N/m: 1,800 lbf/in by NIST SP 811, softer than tube and guys
        ("rescue.arrival", "lot", 660.0),  # s: 11 min
        ("weather.wind", "lot", 11.176),  # m/s: 25 mph by NIST SP 811
        ("erection.hold_points", "erection", 1.0),
    ],
)
def test_what_is_stated_is_what_is_printed(check: str, where: str, value: float) -> None:
    assert finding(assessed(), check, where).value == pytest.approx(value, rel=1e-6)
