"""Each rated value without its document, or absent, turns the rows that rest on it to `confirm`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from planforge.assess.finding import Finding

from .case import CONFIRM, MEETS, SHORT
from .cases_lines import OPPOSITE
from .jobs import REMOVE, UNGUYED, Changes, assessed, raw

ROPE, ABSORBER = "equipment.ropes.rope", "equipment.line_absorbers.absorber"
SET, SRL, POST = "equipment.lifelines.set", "equipment.connectors.srl", "equipment.posts.post"

GUY, STUD = "equipment.guys.guy", "equipment.base_anchors.stud"
REPORT = ("kc", "steel_tension", "steel_shear", "pullout", "ductile", "category", "critical_edge")
"""What the anchors' reckoning takes from their report."""

BASE = ("base.strength",)

RECKONED = ["line.rope_strength", "line.end_strength", "line.absorber", "line.sag_band", "arrest.clearance"]
RESTS_ON: dict[str, list[str]] = {
    f"{ROPE}.weight_per_length": RECKONED,
    f"{ROPE}.axial_stiffness": RECKONED,
    f"{ROPE}.thermal_expansion": RECKONED,
    f"{ROPE}.breaking_strength": ["line.rope_strength", "line.sag_band"],
    f"{ABSORBER}.lowest_force": RECKONED,
    f"{ABSORBER}.highest_force": RECKONED,
    f"{ABSORBER}.stroke": RECKONED,
    f"{SET}.longest_span": ["line.span"],
    f"{SET}.shortest_span": ["line.span"],
    f"{SET}.most_workers": ["line.workers"],
    f"{SET}.least_sag": ["line.sag", "line.sag_band"],
    f"{SET}.most_sag": ["line.sag", "line.sag_band"],
    f"{SET}.end_strength": ["line.end_strength", "line.sag_band"],
    f"{SET}.lowest_temperature": ["weather.range"],
    f"{SET}.highest_temperature": ["weather.range"],
    f"{SRL}.lock_off": ["arrest.free_fall", *RECKONED],
    f"{SRL}.lowest_force": ["arrest.deceleration", "arrest.stroke", *RECKONED],
    f"{SRL}.highest_force": ["arrest.force", *RECKONED],
    f"{SRL}.peak_force": ["arrest.force"],
    f"{SRL}.stroke": ["arrest.stroke", *RECKONED],
    f"{SRL}.greatest_free_fall": ["arrest.free_fall"],
    f"{SRL}.least_user": ["arrest.user_mass"],
    f"{SRL}.greatest_user": ["arrest.user_mass"],
    f"{SRL}.below_dring": ["arrest.anchor_height"],
    f"{SRL}.on_flexible_line": ["line.connector"],
    f"{SRL}.edge_tested": ["arrest.edge"],
    f"{SRL}.strength": ["kit.strength"],
    f"{POST}.line_strength": ["line.sag_band"],
    f"{POST}.stiffness_low": ["line.stiffness", "line.sag_band", "arrest.clearance"],
    f"{POST}.stiffness_high": RECKONED,
    f"{POST}.anchorage_workers": ["anchor.workers"],
    f"{POST}.anchorage_strength": ["anchor.strength"],
    f"{POST}.worker_opposite_line": ["anchor.opposite_line"],
    "equipment.harnesses.harness.greatest_user": ["arrest.user_mass"],
    "equipment.harnesses.harness.dring_strength": ["kit.strength"],
    "equipment.harnesses.harness.service_life": ["kit.service_life"],
    f"{SRL}.service_life": ["kit.service_life"],
    f"{ROPE}.broken_wires": ["kit.criteria"],
    f"{ROPE}.broken_wires_in": ["kit.criteria"],
    f"{SET}.turnbuckle_threads": ["kit.criteria"],
    f"{POST}.most_bow": ["kit.criteria"],
    f"{POST}.deepest_dent": ["kit.criteria"],
    f"{GUY}.broken_wires": ["kit.criteria"],
    f"{GUY}.broken_wires_in": ["kit.criteria"],
    f"{GUY}.turnbuckle_threads": ["kit.criteria"],
    "delivery.payload": ["kit.load"],
    "layout.anchors.A-2.strength": ["anchor.strength"],
    "user.dring_height": ["line.sag_band", "arrest.clearance"],
    "user.dring_shift": ["line.sag_band", "arrest.clearance"],
    "user.margin": ["line.sag_band", "arrest.clearance"],
    "slab.strength": ["slab.pour", "base.age"],
    f"{POST}.steel_yield": ["post.reckoned", "post.strength", "post.shear", "wind.standing"],
    f"{POST}.joints.0.moment": ["post.joint"],
    f"{GUY}.strength": ["guy.strength", "wind.standing"],
    f"{GUY}.axial_stiffness": ["post.reckoned", "post.strength", "post.shear", *RECKONED],
    f"{GUY}.plate_uplift": ["guy.plate", "wind.standing"],
    f"{GUY}.plate_shear": ["guy.plate", "wind.standing"],
    f"{GUY}.least_angle": ["guy.angle"],
    f"{GUY}.greatest_angle": ["guy.angle"],
    f"{STUD}.hole_depth": ["base.depth"],
    f"{STUD}.effective_depth": ["base.depth", "base.strength"],
    f"{STUD}.least_thickness": ["base.depth"],
    f"{STUD}.least_spacing": ["base.layout"],
    f"{STUD}.least_edge": ["base.layout"],
    f"{STUD}.least_strength": ["base.age"],
    f"{STUD}.removal": ["base.removal"],
    **{f"{STUD}.{name}": list(BASE) for name in REPORT},
    **{f"building.walls.W-{n}.braced_across": ["guy.bracing"] for n in range(1, 10)},
    "building.walls.W-8.braced_along": ["guy.bracing"],
    "slab.clear_of.0.distance": ["base.contents"],
    "hoisting.rated_load": ["hoist.load"],
    "hoisting.deduction": ["hoist.load"],
    "weather.storm": ["wind.standing"],
    "power_lines.lines.PL-1.post_limit": ["power.post"],
}
"""Each rated value of the small lot with the checks that rest on it."""

TWO_LINES = f"{SET}.most_workers_two_lines"
"""Rests on two lines of one span: tested with common practice."""

CAREFUL_WHEN_ABSENT = {
    f"{SET}.shortest_span": "no shortest span is asked for",
    f"{POST}.stiffness_high": "the head is taken as rigid, the demanding case",
}
REQUIRED = {
    f"{ROPE}.weight_per_length",
    f"{ROPE}.axial_stiffness",
    f"{ABSORBER}.lowest_force",
    f"{ABSORBER}.highest_force",
    f"{ABSORBER}.stroke",
    f"{SRL}.lowest_force",
    f"{SRL}.highest_force",
    f"{SRL}.stroke",
    f"{SRL}.lock_off",
    "user.dring_height",
    "user.dring_shift",
    "user.margin",
    "slab.clear_of.0.distance",
}
"""The reader refuses a job without these."""

ABSENT_IS_SHORT = {"slab.pour": "a lot's own fact", "anchor.opposite_line": "off unless allowed"}
"""By check."""

ABSENT_LEAVES = {f"{GUY}.axial_stiffness": ["post.reckoned"]}
"""Absent, nothing is reckoned with it any more; one row says so."""


def _base(path: str) -> Changes:
    if path == f"{SRL}.below_dring":  # only where the D-ring is above the anchorage
        return {
            "tasks.T-A.stances.S-A2.elevation": "14'-4\"",
            "tasks.T-A.stances.S-A1.elevation": "15'-4\"",
            "tasks.T-N.stances.S-N.elevation": "15'-4\"",
            "tasks.T-E.stances.S-E.elevation": "15'-4\"",
        }
    if path.startswith(f"{POST}.stiffness"):  # else the guys speak for an absent one
        return UNGUYED
    return OPPOSITE if path == f"{POST}.worker_opposite_line" else {}


def _touched(path: str, check: str, found: Finding) -> bool:
    """Whether a check's row rests on the value: a harness has no connector, an anchorage no rope."""
    places = {"A-2": "anchors.A-2", "harness": "harnesses"}
    if check in {"anchor.strength", "anchor.workers", "kit.strength", "arrest.user_mass"}:
        return all((found.where == where) == (part in path) for where, part in places.items())
    if check == "guy.bracing":
        wall, side = path.split(".")[2], path.rsplit("_", 1)[1]
        return found.where.endswith(f"· {wall} · {side}")
    if check == "guy.plate":
        return found.where.endswith(path.rsplit("_", 1)[1]) and found.value != "not loaded"
    if check in ("guy.strength", "wind.standing"):  # guys that pull; posts that guys surround
        return found.value != "not loaded" and found.where not in ("P1", "P3")
    if check != "arrest.clearance":
        return check not in {"kit.criteria", "kit.service_life"} or found.where == path.split(".")[2]
    of_line = path.startswith((ROPE, ABSORBER, f"{POST}.stiffness_high"))
    of_post = path in (f"{POST}.stiffness_low", f"{GUY}.axial_stiffness")
    return found.where.startswith("L-") or not (of_line or (of_post and found.where.startswith("A-2")))


def _open(path: str, changes: Changes, checks: list[str]) -> Iterator[Finding]:
    before, after = assessed(_base(path)), assessed(_base(path) | changes)
    for check in checks:
        rows = [f for f in before.findings if f.id == check and _touched(path, check, f)]
        assert rows, check
        for row in rows:
            (now,) = [f for f in after.findings if (f.id, f.where, f.phase) == (check, row.where, row.phase)]
            assert row.verdict is (
                CONFIRM if check in ("anchor.opposite_line", "base.strength") else MEETS
            ), row
            yield now


@pytest.mark.parametrize("path", sorted(RESTS_ON))
def test_value_without_a_document_is_to_be_confirmed(path: str) -> None:
    for found in _open(path, {f"{path}.source": REMOVE}, RESTS_ON[path]):
        assert found.verdict is CONFIRM, found
        assert found.decides in {
            "manufacturer and qualified person",
            "qualified person",
            "competent person",
            "safety coordinator",
            "utility and competent person",
        }


@pytest.mark.parametrize("path", sorted(set(RESTS_ON) - REQUIRED))
def test_absent_value_is_never_met(path: str) -> None:
    for found in _open(path, {path: REMOVE}, ABSENT_LEAVES.get(path, RESTS_ON[path])):
        if path in CAREFUL_WHEN_ABSENT:
            continue
        assert found.verdict is (SHORT if found.id in ABSENT_IS_SHORT else CONFIRM), found


def test_every_rated_value_of_the_lot_is_held_against_a_check() -> None:
    def rated(data: Any, path: str) -> Iterator[str]:
        entries = (
            data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
        )
        for key, value in entries:
            name = value.get("id", key) if isinstance(value, dict) else key
            below = f"{path}.{name}".lstrip(".")
            if isinstance(value, dict) and {"value", "source"} <= set(value):
                yield below
            else:
                yield from rated(value, below)

    assert set(rated(raw(), "")) == set(RESTS_ON) | {TWO_LINES}


def test_release_waits_for_what_is_to_be_confirmed() -> None:
    opened = assessed({"releases.0.beside": REMOVE, f"{POST}.anchorage_strength.source": REMOVE})
    (found,) = [f for f in opened.findings if f.id == "release.state" and f.where == "A-1"]
    assert found.note == "5 item(s) to confirm: the qualified person signs beside the release."
