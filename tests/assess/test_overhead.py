"""What is overhead and beside: trusses in the way, openings under guys, the lift, wind by hand."""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from planforge.units import FOOT, INCH, LBF, MPH, POUND

from .case import BARE, CONFIRM, MEETS, NOT_APPLICABLE, SHORT
from .cases_load_path import GUY, POST, number
from .jobs import REMOVE, Changes, assessed, finding

TRUSSES = "layout.framing.TR-1"


def clear(where: str, changes: Changes) -> Any:
    return finding(assessed(BARE | changes), "framing.clear", where)


@pytest.mark.parametrize(
    ("changes", "way"),
    [
        ({f"{TRUSSES}.first": ["0", "1 ft 9 in"]}, "90"),  # a truss 3 in below the post: move up the sheet
        ({f"{TRUSSES}.first": ["0", "2 ft 3 in"]}, "270"),
        # trusses up the sheet, 3 in to the post's left: move to the right
        ({f"{TRUSSES}.direction": "90 deg", f"{TRUSSES}.first": ["1 ft 9 in", "0"]}, "0"),
        ({f"{TRUSSES}.direction": "90 deg", f"{TRUSSES}.first": ["2 ft 3 in", "0"]}, "180"),
    ],
)
def test_fouled_truss_says_by_how_much_and_which_way(changes: Changes, way: str) -> None:
    found = clear("P1 · TR-1", changes)
    assert found.verdict is SHORT
    assert found.value == pytest.approx((3 - 0.75 - 2.75) * INCH)
    assert found.note == f"Move it 0.5 in or more towards {way}° counter-clockwise from the plan's x."


def test_moved_as_told_the_post_is_clear() -> None:
    at = {f"{TRUSSES}.first": ["0", "1 ft 9 in"], "layout.posts.P1.at": ["2 ft", "28 ft 0 17/32 in"]}
    assert clear("P1 · TR-1", at).verdict is MEETS


def test_post_below_or_outside_the_trusses_is_not_held_against_them() -> None:
    for changes in (
        {f"{TRUSSES}.bottom": "20 ft 1 in"},
        {f"{TRUSSES}.area": [["10 ft", "0"], ["40 ft", "0"], ["40 ft", "30 ft"], ["10 ft", "30 ft"]]},
        {f"{TRUSSES}.phases": ["deck"], "layout.posts.P1.phases": ["walls"]},
    ):
        every = [f.where for f in assessed(BARE | changes).findings if f.id == "framing.clear"]
        assert "P1 · TR-1" not in every


LOW: Changes = {f"{TRUSSES}.bottom": "8 ft"}


def test_guy_through_a_truss() -> None:
    """P3-1 runs to -y through the truss at y = 1 ft; P3-3 to -x midway between two; both above 8 ft."""
    assert clear("P3 · P3-1 · TR-1", {}).verdict is NOT_APPLICABLE
    through = clear("P3 · P3-1 · TR-1", LOW)
    assert through.verdict is SHORT
    assert number(through.value) == pytest.approx(-0.75 * INCH, abs=0.5 * INCH)
    assert through.note == "Turn the guy so that it runs between two of them."
    between = clear("P3 · P3-3 · TR-1", LOW)
    assert between.verdict is MEETS
    assert between.value == pytest.approx((12 - 0.75) * INCH)


def test_guy_is_held_against_trusses_only_within_their_depth() -> None:
    """P3-1 is at 17 ft where it crosses the truss at y = 1 ft."""
    for bottom, top, verdict in (("16 ft", "18 ft", SHORT), ("17 ft 2 in", "18 ft", MEETS)):
        found = clear("P3 · P3-1 · TR-1", {f"{TRUSSES}.bottom": bottom, f"{TRUSSES}.top": top})
        assert found.verdict is verdict


@pytest.mark.parametrize(
    ("kind", "crosses"), [("stair opening", True), ("floor hole", True), ("wall opening", False)]
)
def test_guy_over_a_stair(kind: str, crosses: bool) -> None:
    opening = {
        "id": "ST-1",
        "kind": kind,
        "outline": [["30 ft", "1 ft"], ["33 ft", "1 ft"], ["33 ft", "4 ft"], ["30 ft", "4 ft"]],
        "level": "second",
    }
    assessment = assessed(BARE | {"layout.openings.+": opening})
    crossed = [f for f in assessment.findings if f.id == "framing.clear" and "ST-1" in f.where]
    assert [f.where for f in crossed] == (["P3 · P3-3 · ST-1"] if crosses else [])
    assert all(f.verdict is CONFIRM and f.value == "crosses ST-1" for f in crossed)


# ---------------------------------------------------------------- the lift


@pytest.mark.parametrize("name", ["retention", "tag_line", "signals", "below", "hook_released", "lift_point"])
def test_lift_is_written_in_full(name: str) -> None:
    found = finding(assessed(BARE | {f"hoisting.{name}": REMOVE}), "hoist.plan", "lift")
    assert (found.verdict, found.value) == (SHORT, f"not written: {name}")


def test_lift_point_at_the_middle_is_the_limit() -> None:
    for height, verdict in (("10 ft", MEETS), ("9 ft 11 in", SHORT)):
        found = finding(assessed(BARE | {"hoisting.lift_point": height}), "hoist.plan", "lift point")
        assert found.verdict is verdict


def test_load_chart_without_its_radius_is_asked_for() -> None:
    found = finding(assessed(BARE | {"hoisting.radius": REMOVE}), "hoist.load", "lift")
    assert found.note == "State the radius used."
    assert found.value == pytest.approx(460 * POUND)


# ---------------------------------------------------------------- wind

DIAMETER, HEIGHT = 5.5 * INCH, 20 * FOOT


def per_length(speed: float) -> float:
    """ASCE 7-16 26.10-1 and 29.4-1 by hand: exposure C at 20 ft, Kd 1, G 0.85, Cf 1.2. N/m."""
    Kz: float = 2.01 * (HEIGHT / (900 * FOOT)) ** (2 / 9.5)
    return 0.613 * Kz * speed**2 * 0.85 * 1.2 * DIAMETER


def bending_strength() -> float:
    d = 4.75 * INCH
    return 0.9 * 344.738e6 * (DIAMETER**3 - d**3) / 6


def test_guyed_post_in_a_storm_bends_most_between_base_and_guys() -> None:
    """A beam on two supports 18 ft apart with 2 ft over: M = R^2/(2 w), R its base's share."""
    w = per_length(90 * MPH)
    reaction = w * HEIGHT * (18 - 10) * FOOT / (18 * FOOT)
    expected = reaction**2 / (2 * w) / bending_strength()
    strong: Changes = {f"{GUY}.strength.value": "90000 lbf"}
    found = finding(assessed(BARE | strong), "wind.standing", "P2")
    assert found.verdict is MEETS
    assert found.value == pytest.approx(expected, rel=0.01)
    # the small lot's own guys are nearer to their strength: w h 10/18 over the sine, twice
    weak = finding(assessed(BARE), "wind.standing", "P2")
    assert weak.value == pytest.approx(2 * w * HEIGHT * 10 / 18 * sqrt(2) / (26600 * LBF), rel=0.01)


def test_post_that_guys_hold_from_three_sides_leans_on_its_base() -> None:
    """P3 has no guy towards +y: from there the tube stands on its base alone, w h^2 / 2 at most."""
    found = finding(assessed(BARE), "wind.standing", "P3")
    assert found.verdict is CONFIRM
    assert "no guy holds it" in found.note
    cantilever = per_length(90 * MPH) * HEIGHT**2 / 2 / bending_strength()
    assert found.value == pytest.approx(cantilever, rel=0.02)


def test_unguyed_post_uses_half_its_strength_at_the_limit() -> None:
    """V = sqrt(M / (w1 h^2)), w1 the force of 1 m/s: half of the base moment that bends it."""
    limit = sqrt(bending_strength() / (per_length(1.0) * HEIGHT**2))
    found = finding(assessed(BARE), "wind.unguyed", "P2")
    assert found.verdict is CONFIRM, "joints and anchors are the maker's"
    assert found.limit == pytest.approx(limit, rel=1e-4)
    assert found.value == pytest.approx(20 * MPH)
    faster: Changes = {"weather.wind_stops_erection": f"{1.01 * limit / MPH:.3f} mph"}
    assert finding(assessed(BARE | faster), "wind.unguyed", "P2").verdict is SHORT


def test_wind_wants_the_tubes_strength_and_the_speed_that_stops_erection() -> None:
    for path in (f"{POST}.steel_yield", "weather.wind_stops_erection"):
        found = finding(assessed(BARE | {path: REMOVE}), "wind.unguyed", "P2")
        assert (found.verdict, found.value) == (CONFIRM, "not reckoned")
