"""Power lines by their way in plan: measured to posts, guys, lines and the lift; the smaller counts."""

from __future__ import annotations

from typing import Any

import pytest

from planforge.units import FOOT

from .case import CONFIRM, MEETS, SHORT
from .jobs import REMOVE, Changes, assessed, finding

LINE = "power_lines.lines.PL-1"


def runs(y: float, **other: Any) -> Changes:
    """The power line along the north side at y ft."""
    return {f"{LINE}.path": [["-50 ft", f"{y} ft"], ["90 ft", f"{y} ft"]]} | other


def test_without_a_way_the_stated_distances_count() -> None:
    assert finding(assessed(), "power.post", "PL-1").value == pytest.approx(50 * FOOT)
    assert finding(assessed(), "power.distance", "PL-1").value == pytest.approx(46 * FOOT)


def test_the_nearest_guy_counts_where_it_is_nearer_than_stated() -> None:
    """Guys end at y = 37 ft: 12 ft from a line at 49 ft, against 50 ft stated and 15 ft asked for."""
    found = finding(assessed(runs(49)), "power.post", "PL-1")
    assert found.verdict is SHORT
    assert found.value == pytest.approx(12 * FOOT)
    assert "Measured in plan to guy" in found.note
    assert found.note.endswith("stated are more, and the smaller counts: survey again.")


def test_a_line_farther_than_stated_leaves_the_stated_distance() -> None:
    """58 ft in plan to the guys' ends, 50 ft stated: a tied worker may be that much nearer."""
    found = finding(assessed(runs(95)), "power.post", "PL-1")
    assert (found.verdict, found.value, found.note) == (MEETS, pytest.approx(50 * FOOT), "")


def test_a_line_drawn_much_farther_than_stated_is_told() -> None:
    """83 ft in plan to the guys' ends, 50 ft stated: drawing and survey differ, the smaller counts."""
    found = finding(assessed(runs(120)), "power.post", "PL-1")
    assert (found.verdict, found.value) == (MEETS, pytest.approx(50 * FOOT))
    assert found.note.startswith("Drawn, guy ")
    assert found.note.endswith("is 83'-0\" away; the 50'-0\" stated count: correct the path or the survey.")


def test_ten_feet_farther_is_a_tied_worker_no_longer() -> None:
    """Guys end at y = 37 ft: drawn 59.8 ft off a worker may be the 50 ft surveyed, drawn 60.3 ft none is."""
    near, far = (finding(assessed(runs(y)), "power.post", "PL-1").note for y in (96.8, 97.3))
    assert near == ""
    assert far.startswith("Drawn, guy ")


def test_the_way_speaks_where_no_distance_is_stated() -> None:
    found = finding(assessed(runs(77, **{f"{LINE}.post_distance": REMOVE})), "power.post", "PL-1")
    assert found.value == pytest.approx(40 * FOOT)
    assert "no surveyed distance is stated" in found.note


def test_the_lift_reaches_as_far_as_its_radius() -> None:
    """A lift 60 ft from the line with a radius of 20 ft, of a hoisting zone 45 ft away: 40 ft."""
    lift = {"id": "K-9", "kind": "lift", "at": ["60 ft", "40 ft"], "name": "Lift"}
    zone = {
        "id": "Z-9",
        "kind": "hoisting",
        "outline": [["50 ft", "40 ft"], ["70 ft", "40 ft"], ["70 ft", "55 ft"]],
        "rule": "None.",
    }
    both: Changes = {"layout.places.+": lift, "layout.zones.+": zone}
    found = finding(assessed(runs(100, **both)), "power.distance", "PL-1")
    assert found.value == pytest.approx(40 * FOOT)
    assert "Measured in plan to lift K-9 at its radius" in found.note
    zoned = finding(assessed(runs(100, **{"layout.zones.+": zone})), "power.distance", "PL-1")
    assert zoned.value == pytest.approx(45 * FOOT)
    assert "zone Z-9" in zoned.note


def test_measured_within_the_survey_distance_asks_for_a_control() -> None:
    bare = runs(46, **{f"{LINE}.control": REMOVE})
    found = finding(assessed(bare), "power.distance", "PL-1")
    assert found.verdict is CONFIRM
    assert "state the control" in found.note
