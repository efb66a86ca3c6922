"""A stated height of the fall against what the layout's levels give."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely

from planforge.assess.fall_height import _greatest
from planforge.assess.finding import Verdict
from planforge.units import FOOT, INCH

from .case import BARE, MEETS, SHORT
from .jobs import Changes, assessed, finding

NORTH = 12 * FOOT + 4 * INCH
"""From the second level at 11'-4" down to grade at -1 ft, which the stance at E-N names outward."""


def height(changes: Changes, hazard: str = "H1") -> Any:
    return finding(assessed(changes), "hazard.height", hazard)


@pytest.mark.parametrize(
    ("inches", "verdict"), [(-2.01, SHORT), (-2.0, MEETS), (-1.99, MEETS), (0.0, MEETS), (24.0, MEETS)]
)
def test_two_inches_are_allowed(inches: float, verdict: Verdict) -> None:
    found = height({"hazards.H1.height": f"{NORTH + inches * INCH!r} m"})
    assert found.verdict is verdict
    assert found.value == pytest.approx(NORTH + inches * INCH)
    assert found.limit == pytest.approx(NORTH if verdict is SHORT else 6 * FOOT)
    assert "Grade" in found.note
    assert ("Overstated: by geometry and levels it is 12'-4\"" in found.note) == (inches > 2.0)


def test_lowest_of_what_is_named_outward_counts() -> None:
    pit = {"id": "pit", "name": "Trench", "kind": "excavation", "elevation": "-4 ft"}
    onto = "tasks.T-N.stances.S-N.sides.0.onto"
    deeper = {"lower_levels.+": pit, onto: ["grade", "pit"]}
    found = height(deeper)
    assert found.verdict is SHORT
    assert found.limit == pytest.approx(NORTH + 3 * FOOT)
    assert "Trench" in found.note
    filled = {"lower_levels.+": pit | {"end": "2026-11-30"}, onto: ["grade", "pit"]}
    assert height(filled).verdict is MEETS
    along = {"lower_levels.+": pit, "tasks.T-N.stances.S-N.sides.1.onto": ["pit"]}
    assert height(along).verdict is MEETS


@pytest.mark.parametrize("hazard", ["H4", "H6"])
def test_without_a_stance_the_phases_lower_level_counts(hazard: str) -> None:
    """H4 is an opening, H6 an edge; the phases' lower level is the slab, 11'-4" down."""
    found = height(BARE | {f"hazards.{hazard}.height": "11 ft"}, hazard)
    assert found.verdict is SHORT
    assert found.limit == pytest.approx((11 + 4 / 12) * FOOT)
    assert "slab" in found.note
    assert height(BARE | {f"hazards.{hazard}.height": "11'-2\""}, hazard).verdict is MEETS


BANK = {"id": "bank", "name": "Bank", "kind": "grade", "elevation": "6'-4\""}
"""5 ft below the second level."""


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        ({}, MEETS),
        ({"kind": "stored material"}, SHORT),
        ({"end": "2026-12-31"}, SHORT),
        ({"elevation": "6 ft"}, SHORT),
    ],
)
def test_smaller_height_stands_only_on_a_lasting_lower_level(change: Changes, verdict: Verdict) -> None:
    found = height(BARE | {"hazards.H6.height": "5 ft", "lower_levels.+": BANK | change}, "H6")
    assert found.verdict is verdict


def test_stance_that_names_the_ground_leaves_no_choice() -> None:
    assert height({"hazards.H1.height": "5 ft", "lower_levels.+": BANK}).verdict is SHORT


def test_trigger_goes_by_the_larger_of_stated_and_reckoned() -> None:
    bank = BANK | {"elevation": "5'-4\""}  # 6 ft below the edge, an inch more than stated
    changes = BARE | {"hazards.H6.height": "5'-11\"", "hazards.H6.controls": [], "lower_levels.+": bank}
    assert height(changes, "H6").verdict is MEETS
    assert finding(assessed(changes), "hazard.controls", "H6", "walls").verdict is SHORT


def test_hazard_without_edge_or_opening_has_nothing_to_compare_with() -> None:
    loose = {"hazards.H6.edge": "<remove>", "hazards.H6.height": "7 ft"}
    found = height(BARE | loose, "H6")
    assert found.verdict is MEETS
    assert found.note == ""


def greatest(changes: Changes, hazard: str) -> float | None:
    every = assessed(changes)
    return every.greatest_height(next(h for h in every.job.hazards if h.id == hazard))


def test_register_tells_the_greatest_fall_of_its_lines_and_anchors() -> None:
    """H3 is guarded by A-1, an anchorage; a stance of its own, higher than the deck, falls farther."""
    stated = next(h.height for h in assessed().job.hazards if h.id == "H3")
    assert greatest({}, "H3") == pytest.approx(stated, abs=2 * INCH)
    plate = greatest({"tasks.T-A.stances.S-A1.elevation": "15'-4\""}, "H3")
    # from the elevation stood on down to grade, 1 ft below the slab
    assert plate == pytest.approx((15 + 4 / 12 + 1) * FOOT)


def test_stance_at_another_hazards_edge_tells_that_one_alone() -> None:
    """L-1 guards H1 alone; let H2's edge be worked from it too, at a height of its own."""
    both: Changes = {
        "hazards.H2.controls.0.uses": ["L-1", "L-2"],
        "tasks.T-E.stances.S-E.line": "L-1",
        "tasks.T-E.stances.S-E.elevation": "14 ft",
    }
    assert greatest(both, "H2") == pytest.approx(15 * FOOT)
    assert greatest(both, "H1") == pytest.approx(NORTH, abs=2 * INCH)


def test_hazard_without_a_stated_height_tells_none() -> None:
    assert greatest({"hazards.H3.height": None}, "H3") is None


@pytest.mark.parametrize(("start", "stop", "highest"), [(2.0, 6.0, 5.0), (0.0, 2.0, 4.0), (6.0, 8.0, 4.0)])
def test_greatest_height_over_a_part_of_a_drop_off(start: float, stop: float, highest: float) -> None:
    """Heights of 3, 5 and 2 m at 0, 4 and 10 m along: straight between, so 4 m at 2 m and at 6 m."""
    path = np.array([[0.0, 0.0], [4.0, 0.0], [10.0, 0.0]])
    drop = SimpleNamespace(line=shapely.LineString(path), path=path, height=np.array([3.0, 5.0, 2.0]))
    part = shapely.LineString([[start, 0.0], [stop, 0.0]])
    assert _greatest(drop, part) == pytest.approx(highest)  # type: ignore[arg-type]
