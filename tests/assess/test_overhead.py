"""What is overhead and beside: trusses in the way, openings under guys, the lift, wind by hand."""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from planforge.assess.finding import Finding, Verdict
from planforge.assess.hoist_radius import radius_findings
from planforge.assess.standing_wind import Storm, _guy_drag, _heads, _line_end
from planforge.calc.wind_on_post import EXPOSURES
from planforge.units import FOOT, INCH, LBF, MPH, POUND

from .case import BARE, CONFIRM, MEETS, NOT_APPLICABLE, SHORT
from .cases_overhead import EAST_OF_22, SLING
from .jobs import REMOVE, Changes, assessed, demo, finding
from .small_posts import GUY, POST, STUD, number

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
    assert found.note == f"Move it 1/2\" or more towards {way}° counter-clockwise from the plan's x."


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
    assert found.verdict is CONFIRM
    assert found.value == pytest.approx(470 * POUND)


CHART = [
    {"radius": "16 ft", "rated_load": {"value": "2000 lb", "source": "Chart TH p. 2 (invented)"}},
    {"radius": "24 ft", "rated_load": {"value": "900 lb", "source": "Chart TH p. 2 (invented)"}},
    {"radius": "30 ft", "rated_load": {"value": "465 lb", "source": "Chart TH p. 2 (invented)"}},
]


@pytest.mark.parametrize(
    ("radius", "limit", "verdict"),
    [
        ("15 ft", 2000, MEETS),
        ("16 ft", 2000, MEETS),
        ("16 ft 1 in", 900, MEETS),
        ("24 ft", 900, MEETS),
        ("24 ft 1 in", 465, SHORT),
        ("30 ft", 465, SHORT),
    ],
)
def test_between_two_points_of_the_chart_the_lower_rated_load_holds(
    radius: str, limit: float, verdict: Verdict
) -> None:
    chart: Changes = {"hoisting.load_chart": CHART, "hoisting.rated_load": REMOVE, "hoisting.radius": radius}
    found = finding(assessed(BARE | chart), "hoist.load", "lift")
    assert found.limit == pytest.approx(limit * POUND)
    assert found.verdict is verdict


def test_beyond_the_chart_the_machine_lifts_nothing() -> None:
    beyond = {"hoisting.load_chart": CHART, "hoisting.radius": "31 ft"}
    found = finding(assessed(BARE | beyond), "hoist.load", "lift")
    assert (found.verdict, found.limit) == (SHORT, "no rated load: the radius lies beyond the chart")


def test_of_chart_and_rated_load_the_lower_holds() -> None:
    chart = {"hoisting.load_chart": CHART, "hoisting.radius": "16 ft"}
    found = finding(assessed(BARE | chart), "hoist.load", "lift")
    assert found.limit == pytest.approx(1600 * POUND)
    at_24 = finding(assessed(BARE | chart | {"hoisting.radius": "24 ft"}), "hoist.load", "lift")
    assert at_24.limit == pytest.approx(900 * POUND)


def test_a_point_of_the_chart_without_a_source_is_to_confirm() -> None:
    bare = [CHART[0], {"radius": "24 ft", "rated_load": "900 lb"}, CHART[2]]
    chart = {"hoisting.load_chart": bare, "hoisting.radius": "20 ft"}
    assert finding(assessed(BARE | chart), "hoist.load", "lift").verdict is CONFIRM


# ---------------------------------------------------------------- radius to each post

STANDS = [EAST_OF_22]


def radius(changes: Changes, where: str = "P1") -> Finding:
    return finding(assessed(BARE | {"hoisting.stands": STANDS} | changes), "hoist.radius", where)


def test_without_a_place_for_the_machine_its_radius_is_to_confirm() -> None:
    found = finding(assessed(BARE | {"hoisting.stands": []}), "hoist.radius", "lift")
    assert found.verdict is CONFIRM
    assert "hoisting.stands" in found.note


def test_a_proposals_ground_for_the_hoist_serves_where_the_job_states_no_other() -> None:
    """Heron lot 17 proposes for a hoist on the strip from 44 ft to 58 ft and on one west of the house."""
    proposed = demo("heron_lot_17").proposal
    assert proposed is not None and len(proposed.hoists) == 2
    bare = assessed(BARE | {"hoisting.stands": []})
    job = bare.job.model_copy(update={"proposal": proposed})
    assert job.hoisting is not None
    posts = [*(result.parts for result in bare.posts), *bare.open_posts]
    of = {f.where: f for f in radius_findings(job, job.hoisting, posts)}
    assert of["P2"].value == pytest.approx(6 * FOOT), "at (38, 28)"
    assert of["P1"].value == pytest.approx(6 * FOOT), "at (2, 28), from the strip that ends at -4 ft"


def test_each_post_has_its_own_radius_within_the_outline_none() -> None:
    assert radius({}).value == pytest.approx(20 * FOOT)
    assert radius({}, "P2").value == 0.0, "P2 stands at (38, 28), on that very ground"
    second = [{"outline": [["-2 ft", "0"], ["0", "0"], ["0", "60 ft"], ["-2 ft", "60 ft"]]}]
    assert radius({"hoisting.stands": STANDS + second}).value == pytest.approx(2 * FOOT)


@pytest.mark.parametrize(
    ("weight", "limit", "verdict"),
    [
        ("455 lb", 24, MEETS),
        ("456 lb", 24, MEETS),
        ("889 lb", 24, MEETS),
        ("891 lb", 16, SHORT),
        ("1991 lb", None, SHORT),
    ],
)
def test_heavier_post_is_set_from_nearer_by_the_chart(
    weight: str, limit: float | None, verdict: Verdict
) -> None:
    """The chart: 2,000 lb to 16 ft, 900 lb to 24 ft, 465 lb to 30 ft; 10 lb of rigging hang with the post."""
    chart = {"hoisting.load_chart": CHART, "hoisting.radius": "24 ft", f"{POST}.weight": weight}
    found = radius(chart)
    assert found.verdict is verdict
    assert found.limit == (pytest.approx(limit * FOOT) if limit else "no radius of the chart lifts it")


def test_radius_rests_on_the_charts_source_and_on_what_is_stated() -> None:
    bare = [CHART[0], {"radius": "24 ft", "rated_load": "900 lb"}, CHART[2]]
    chart = {"hoisting.load_chart": bare, "hoisting.radius": "24 ft"}
    assert radius(chart).verdict is CONFIRM
    for missing in ("hoisting.rigging_weight", "hoisting.deduction", f"{POST}.weight"):
        assert (
            radius({"hoisting.load_chart": CHART, "hoisting.radius": "24 ft", missing: REMOVE}).verdict
            is CONFIRM
        )
    assert radius({"hoisting.radius": REMOVE}).verdict is CONFIRM


# ---------------------------------------------------------------- wind

DIAMETER, HEIGHT = 5.5 * INCH, 20 * FOOT


def per_length(speed: float) -> float:
    """ASCE 7-16 26.10-1 and 29.4-1 by hand: exposure C at 20 ft, Kd 1, G 0.85, Cf 1.2. N/m."""
    Kz: float = 2.01 * (HEIGHT / (900 * FOOT)) ** (2 / 9.5)
    return 0.613 * Kz * speed**2 * 0.85 * 1.2 * DIAMETER


def bending_strength() -> float:
    d = 4.75 * INCH
    return 0.9 * 344.738e6 * (DIAMETER**3 - d**3) / 6


NO_BASE: Changes = {f"{STUD}.kc": REMOVE}
"""Leaves the base out of the storm's reckoning."""

ON_GUYS = 9 * sqrt(2) * FOOT / 2 * (0.5 * INCH) / DIAMETER
"""Half the drag of one 1/2 in guy over the tube's drag per length, m."""


def test_guyed_post_in_a_storm_bends_most_between_base_and_guys() -> None:
    """A beam on two supports 18 ft apart with 2 ft over: M = R^2/(2 w), R its base's share; all doubled.

    Clamped at its base with guys that do not give: w L^2/8 less a quarter of w a^2, here the same moment.
    """
    w = 2 * per_length(90 * MPH)
    reaction = w * HEIGHT * (18 - 10) * FOOT / (18 * FOOT)
    expected = reaction**2 / (2 * w) / bending_strength()
    stiff: Changes = {f"{GUY}.axial_stiffness.value": "22000000 lbf"}
    strong = {f"{GUY}.{name}.value": "200000 lbf" for name in ("strength", "plate_uplift", "plate_shear")}
    found = finding(assessed(BARE | NO_BASE | strong | stiff), "wind.standing", "P2")
    assert found.verdict is CONFIRM
    assert "Governs: the tube." in found.note
    assert "Its base anchors are not reckoned." in found.note
    assert found.value == pytest.approx(expected, rel=0.02)


def test_storms_on_guys_and_their_plate_anchors() -> None:
    """w h 10/18 and half of four guys' drag at 18 ft, over the sine of 45 degrees: uplift and shear alike."""
    w = 2 * per_length(90 * MPH)
    pull = w * HEIGHT * 10 / 18 + 4 * w * ON_GUYS
    weak: Changes = {f"{GUY}.plate_uplift.value": "2000 lbf"}
    found = finding(assessed(BARE | NO_BASE | weak), "wind.standing", "P2")
    assert "plate anchor of P2-" in found.note and ", uplift" in found.note
    assert found.value == pytest.approx(pull / (2000 * LBF), rel=0.02)
    unsized = finding(assessed(BARE | {f"{GUY}.diameter": REMOVE}), "wind.standing", "P2")
    assert unsized.verdict is CONFIRM
    assert "State the guys' diameter" in unsized.note


def test_a_line_in_the_wind_pulls_its_head() -> None:
    """L-2 alone, wind square to it: an elastic parabola under weight and drag on heads that stand.

    H from (q L)^2 L / (24 H^2) = slack + H L / EA with the rope's length as installed on the coldest day.
    """
    assessment = assessed()
    result = next(r for r in assessment.lines if r.id == "L-2")
    span, EA = result.parts.span, 700000 * LBF
    drag = per_length(90 * MPH) / DIAMETER * 0.375 * INCH
    q = np.hypot(0.24 * LBF / FOOT, drag)
    storm = Storm(assessment.job.weather.storm, EXPOSURES["C"])
    force = _line_end(result, "P3", storm, np.array([0.0]))[0]
    H = brentq(
        lambda H: (q * span) ** 2 * span / (24 * H**2) - (result.unstretched - span) - H * span / EA, 10, 1e6
    )
    assert force[1] == pytest.approx(H, rel=5e-3)
    assert force[0] == pytest.approx(drag * span / 2, rel=1e-9)
    along = _line_end(result, "P3", storm, np.array([0.5 * pi]))[0]
    assert along[0] == pytest.approx(0.0, abs=1e-6)
    assert along[1] < force[1]


def test_wind_on_a_guy_is_that_on_a_tube_as_thin() -> None:
    """0.5 in over 5.5 in of the tube's drag, at the head's height; and each line's pull on the head once."""
    lot = assessed()
    assert lot.job.weather and lot.job.weather.storm
    storm = Storm(lot.job.weather.storm, EXPOSURES["C"])
    parts = next(p.parts for p in lot.posts if p.id == "P3")
    assert _guy_drag(0.5 * INCH, parts, storm) == pytest.approx(per_length(90 * MPH) * 0.5 / 5.5, rel=1e-4)
    blows = np.array([0.0, 1.0, 2.5])
    own = _line_end(next(r for r in lot.lines if r.id == "L-2"), "P3", storm, blows)
    heads = _heads(lot.index, parts, lot.lines, storm, blows)
    assert heads == pytest.approx(np.stack([np.zeros((3, 3)), own]))


def test_post_that_guys_hold_from_three_sides_leans_on_its_base() -> None:
    """P3 has no guy towards +y: from there the tube stands on its base alone, w h^2 / 2 at most."""
    found = finding(assessed(BARE | NO_BASE), "wind.standing", "P3")
    assert found.verdict is CONFIRM
    assert "no guy holds it" in found.note
    w = 2 * per_length(90 * MPH)
    cantilever = (w * HEIGHT**2 / 2 + 3 * w * ON_GUYS * 18 * FOOT) / bending_strength()
    assert found.value == pytest.approx(cantilever, rel=0.02)
    # its anchors bear that moment too, and far less of it is left over
    with_base = finding(assessed(BARE), "wind.standing", "P3")
    assert "Governs: base anchors." in with_base.note
    assert isinstance(with_base.value, float) and with_base.value > found.value


def test_unguyed_post_uses_half_its_strength_at_the_limit() -> None:
    """V = sqrt(M / (w1 h^2)), w1 the force of 1 m/s: half of the base moment that bends it."""
    limit = sqrt(bending_strength() / (per_length(1.0) * HEIGHT**2))
    found = finding(assessed(BARE), "wind.unguyed", "P2")
    assert found.verdict is CONFIRM, "joints and anchors are the maker's"
    assert found.limit == pytest.approx(limit, rel=1e-4)
    assert found.value == pytest.approx(20 * MPH)
    faster: Changes = {"weather.wind_stops_erection": f"{1.01 * limit / MPH:.3f} mph"}
    assert finding(assessed(BARE | faster), "wind.unguyed", "P2").verdict is SHORT


def test_unguyed_post_on_an_upper_floor_stands_in_more_wind() -> None:
    """On a level of 11'-4" its head is at 31'-4": exposure C's (31.33/20)^(2/9.5) of the pressure below."""
    low = finding(assessed(BARE), "wind.unguyed", "P2").limit
    high = finding(assessed(BARE | {"layout.posts.P2.stands_on": "second"}), "wind.unguyed", "P2").limit
    assert high == pytest.approx(low * (20.0 / (20.0 + 11.0 + 1.0 / 3.0)) ** (1.0 / 9.5), rel=1e-6)


def test_wind_wants_the_tubes_strength_and_the_speed_that_stops_erection() -> None:
    for path in (f"{POST}.steel_yield", "weather.wind_stops_erection"):
        found = finding(assessed(BARE | {path: REMOVE}), "wind.unguyed", "P2")
        assert (found.verdict, found.value) == (CONFIRM, "not reckoned")


def test_a_tag_line_lifts_nothing_and_is_held_against_nothing() -> None:
    every = [f.where for f in assessed(SLING).findings if f.id == "hoist.load"]
    assert every == ["lift", "sling"]
    no_post = assessed(SLING | {"layout.posts": []})
    assert finding(no_post, "hoist.load", "sling").verdict is MEETS
