"""Ground of lines and anchors: its limits against the formulas they come from, worked apart from it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planforge.assess.assessment import Assessment
from planforge.assess.ground import AROUND, CLEARANCE, CONNECTOR, FREE_FALL, LIMITS, SWING, Ground
from planforge.units import FOOT, INCH

from .case import MEETS, SHORT
from .jobs import Changes, assessed, finding


def ground(assessment: Assessment, thing: str, phase: str = "deck") -> Ground:
    return next(g for g in assessment.grounds if g.of == thing and g.phase == phase)


def limit(of: Ground, name: str) -> np.ndarray:
    return of.limits[LIMITS.index(name)]


def test_every_stance_has_a_ground_in_each_of_its_phases() -> None:
    assessment = assessed()
    assert {g.of for g in assessment.grounds} == {"L-1", "L-2", "A-1", "A-2"}
    assert {g.phase for g in assessment.grounds} == {"deck", "walls"}
    for g in assessment.grounds:
        assert np.all(g.reach >= 0.0)
        assert g.narrowed_by in LIMITS
        assert set(g.governs) <= set(LIMITS)


def test_connectors_length_bounds_by_pythagoras() -> None:
    """Slant length over the height of the anchorage above the D-ring: reach = sqrt(length² - above²)."""
    assessment = assessed()
    run = next(r for r in assessment.anchors if r.anchor.id == "A-2")
    expected = np.sqrt(run.connector.length**2 - run.above**2)
    assert limit(ground(assessment, "A-2"), CONNECTOR) == pytest.approx(np.full(AROUND, expected))


def test_swing_is_half_the_way_to_what_it_would_strike() -> None:
    job = assessed().job
    stance = next(s for t in job.tasks for s in t.stances if s.anchor == "A-2")
    stated = [s.obstacle for s in stance.sides if s.obstacle is not None]
    expected = min(stated) / 2 if stated else np.inf
    assert limit(ground(assessed(), "A-2"), SWING) == pytest.approx(np.full(AROUND, expected))


def clear_by_hand(assessment: Assessment, thing: str, x: float) -> float:
    """Clearance left over straight below a line at ``x`` m, and the swing drop it leaves room for.

    The pendulum: R - a = d with R² = lateral² + a², so lateral = sqrt(d² + 2 a d); a D-ring above the
    anchorage already counts its height over it in the free fall.
    """
    run = next(r for line in assessment.lines for r in line.runs if r.rig.parts.line.id == thing)
    at = int(np.argmin(np.abs(run.rig.stations - x)))
    side = run.sides[0]
    terms = {name: float(np.broadcast_to(v, run.rig.stations.shape)[at]) for name, v in side.terms.ordered}
    need = sum(value for name, value in terms.items() if name != "swing_drop")
    left = run.rig.dring - float(side.under.elevation[at]) - need
    above = float(run.rig.above[at])
    drop = left + max(-above, 0.0)
    return float(np.sqrt(max(drop**2 + 2 * above * drop, 0.0)))


@pytest.mark.parametrize("grade", ["-1 ft", "-0.4 ft", "0.3 ft"])
@pytest.mark.parametrize("x", [6.0, 18.0, 30.0])
def test_clearance_bounds_where_the_swings_drop_takes_what_is_left(grade: str, x: float) -> None:
    assessment = assessed({"lower_levels.grade.elevation": grade})
    found = ground(assessment, "L-1")
    run = next(r for line in assessment.lines for r in line.runs if r.rig.parts.line.id == "L-1")
    at = int(np.argmin(np.abs(run.rig.stations - x * FOOT)))
    expected = clear_by_hand(assessment, "L-1", x * FOOT)
    looked = float(np.max(limit(found, CONNECTOR)))
    got = limit(found, CLEARANCE)[at]
    if expected > looked + 3 * INCH:
        assert np.isinf(got)
    else:
        assert got == pytest.approx(expected, abs=1e-6)
    # the stance's own clearance agrees: at its reach it meets just where the ground holds it
    side, lateral = run.sides[0], run.rig.lateral[at]
    assert (side.clearance.left_over[at] >= -1e-9) == (got >= lateral - 1e-9)


def test_what_lies_below_one_way_bounds_that_way_only() -> None:
    """A stack of lumber 9 ft high off the east half of the north side."""
    stack = {"id": "pile", "name": "Pile", "kind": "stored material", "elevation": "9 ft"}
    stack["area"] = [["20 ft", "30 ft"], ["30 ft", "30 ft"], ["30 ft", "34 ft"], ["20 ft", "34 ft"]]  # type: ignore[assignment]
    before, after = (ground(assessed(c), "L-1") for c in ({}, {"lower_levels.+": stack}))
    place = shapely.Point(25 * FOOT, 30 * FOOT)
    assert before.area.contains(place)
    assert not after.area.buffer(0.1).contains(place)
    far = shapely.Point(10 * FOOT, 30 * FOOT)
    assert after.area.buffer(1e-6).contains(far) == before.area.buffer(1e-6).contains(far)
    short = finding(assessed({"lower_levels.+": stack}), "edge.ground", "H1 · E-N", "walls")
    assert short.verdict is SHORT
    # 4 ft to each side of the stack a falling body may still strike it
    assert short.value == pytest.approx(18 * FOOT, abs=2.1 * FOOT)
    assert "clearance" in short.note


def test_free_fall_over_its_limit_leaves_no_ground() -> None:
    """The connector's rated free fall lies under its lock-off distance."""
    rated = {"value": "1 ft", "source": "Sheet C p. 9 (invented)"}
    found = ground(assessed({"equipment.connectors.srl.greatest_free_fall": rated}), "L-1")
    assert np.all(limit(found, FREE_FALL) == 0.0)
    assert shapely.is_empty(found.area)
    assert np.all(np.isinf(limit(ground(assessed(), "L-1"), FREE_FALL)))


def test_area_of_a_line_is_its_strip_and_two_half_circles() -> None:
    """Shapely's buffer of the line by the one reach that holds everywhere, swing or connector."""
    changes = {"lower_levels.grade.elevation": "-40 ft", "layout.levels.slab": "0"}
    assessment = assessed(changes)
    found = ground(assessment, "L-1")
    least, most = float(found.reach.min()), float(found.reach.max())
    run = next(r for line in assessment.lines for r in line.runs if r.rig.parts.line.id == "L-1")
    line = shapely.LineString([run.rig.parts.start[:2], run.rig.parts.end[:2]])
    assert found.area.within(line.buffer(most + 0.01, quad_segs=64))
    assert line.buffer(least - 0.05, quad_segs=64).within(found.area)


def test_edge_on_the_ground_meets() -> None:
    for reach in assessed().reaches:
        where = f"{reach.hazard} · {reach.edge}"
        assert finding(assessed(), "edge.ground", where, reach.phase).verdict is MEETS
        edge = next(e for e in assessed().job.layout.edges if e.id == reach.edge)
        line = shapely.LineString(edge.path)
        union = shapely.union_all([g.area for g in reach.grounds])
        assert line.difference(union).length == pytest.approx(reach.left)


def test_guardrail_counts_only_while_it_stands() -> None:
    rail: Changes = {
        "hazards.H3.controls.+": {"system": "guardrail", "uses": ["G-9"], "reason": "A rail."},
        "layout.guardrails.+": {"id": "G-9", "path": [["0", "0"], ["6 ft", "0"]], "level": "second"}
        | {"top": "42 in", "middle": "21 in", "phases": ["walls"]},
        # far below the anchorage's fall: nothing holds over this ground
        "lower_levels.grade.elevation": "8 ft",
    }
    deck = finding(assessed(rail), "edge.ground", "H3 · E-S", "deck")
    assert deck.verdict is SHORT
    assert deck.value == pytest.approx(6 * FOOT)
    assert finding(assessed(rail), "edge.ground", "H3 · E-S", "walls").verdict is MEETS


@pytest.mark.parametrize(("reach", "verdict"), [("2.1 ft", SHORT), ("2.7 ft", MEETS)])
def test_remainder_of_an_edge_prints_what_lets_it_pass(reach: str, verdict: object) -> None:
    """The edge runs 2 ft beside L-1 and 2 ft past each end of it; the remainder is chord by Pythagoras."""
    found = finding(assessed({"tasks.T-N.stances.S-N.reach": reach}), "edge.reach", "H1 · E-N", "walls")
    far = float(reach.removesuffix(" ft"))
    left = 2 * (2 - np.sqrt(far**2 - 4)) * FOOT
    assert found.value == pytest.approx(left, abs=0.03)  # the round ends of the reach are drawn as polygons
    assert found.limit == pytest.approx(0.5 * FOOT)
    assert found.verdict is verdict
    assert found.note.startswith("From 0" if verdict is SHORT else "A remainder of up to 6 in is let pass")
    if verdict is SHORT:
        assert "stays within 2'-1\" of L-1" in found.note
