"""Each rated value without its document, or absent, turns the rows that rest on it to `confirm`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.finding import Finding, Verdict

from .case import CONFIRM, MEETS, SHORT
from .cases_lines import OPPOSITE
from .jobs import REMOVE, Changes, assessed, raw

ROPE, ABSORBER = "equipment.ropes.rope", "equipment.line_absorbers.absorber"
SET, SRL, POST = "equipment.lifelines.set", "equipment.connectors.srl", "equipment.posts.post"

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
    "layout.anchors.A-2.strength": ["anchor.strength"],
    "user.dring_height": ["line.sag_band", "arrest.clearance"],
    "user.dring_shift": ["line.sag_band", "arrest.clearance"],
    "user.margin": ["line.sag_band", "arrest.clearance"],
    "slab.strength": ["slab.pour"],
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
}
"""The reader refuses a job without these."""

ABSENT_IS_SHORT = {"slab.strength": "a lot's own fact", f"{POST}.worker_opposite_line": "off unless allowed"}


def _base(path: str) -> Changes:
    if path == f"{SRL}.below_dring":  # only where the D-ring is above the anchorage
        return {
            "tasks.T-A.stances.S-A2.elevation": "14'-4\"",
            "tasks.T-A.stances.S-A1.elevation": "15'-4\"",
            "tasks.T-N.stances.S-N.elevation": "15'-4\"",
            "tasks.T-E.stances.S-E.elevation": "15'-4\"",
        }
    return OPPOSITE if path == f"{POST}.worker_opposite_line" else {}


def _places(assessment: Assessment, check: str, verdict: Verdict) -> set[tuple[str, str]]:
    return {(f.where, f.phase) for f in assessment.findings if f.id == check and f.verdict is verdict}


def _touched(path: str, check: str, found: Finding) -> bool:
    """Whether a check's row rests on the value: a harness has no connector, an anchorage no rope."""
    if check in {"anchor.strength", "anchor.workers"}:
        return (found.where == "A-2") == path.startswith("layout.anchors.A-2")
    if check in ("kit.strength", "arrest.user_mass"):
        return (found.where == "harness") == ("harnesses" in path)
    of_line = path.startswith((ROPE, ABSORBER, f"{POST}.stiffness_high"))
    if check == "arrest.clearance" and path == f"{POST}.stiffness_low":
        return not found.where.startswith("A-2")
    return not (check == "arrest.clearance" and of_line) or found.where.startswith("L-")


def _open(path: str, changes: Changes) -> Iterator[Finding]:
    before, after = assessed(_base(path)), assessed(_base(path) | changes)
    for check in RESTS_ON[path]:
        rows = [f for f in before.findings if f.id == check and _touched(path, check, f)]
        assert rows, check
        for row in rows:
            (now,) = [f for f in after.findings if (f.id, f.where, f.phase) == (check, row.where, row.phase)]
            assert row.verdict is (CONFIRM if check == "anchor.opposite_line" else MEETS), row
            yield now


@pytest.mark.parametrize("path", sorted(RESTS_ON))
def test_value_without_a_document_is_to_be_confirmed(path: str) -> None:
    for found in _open(path, {f"{path}.source": REMOVE}):
        assert found.verdict is CONFIRM, found
        assert found.decides in {
            "manufacturer and qualified person",
            "qualified person",
            "competent person",
        }


@pytest.mark.parametrize("path", sorted(set(RESTS_ON) - REQUIRED))
def test_absent_value_is_never_met(path: str) -> None:
    for found in _open(path, {path: REMOVE}):
        if path in CAREFUL_WHEN_ABSENT:
            continue
        assert found.verdict is (SHORT if path in ABSENT_IS_SHORT else CONFIRM), found


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
    """The qualified person's own release of A-1 answers for its strength; another's waits for it."""
    by_another = {"releases.0.by": "dunlin", f"{POST}.anchorage_strength.source": REMOVE}
    released, opened = assessed(), assessed(by_another)
    assert _places(released, "release.state", MEETS) == {("A-1", "")}
    assert not _places(opened, "release.state", MEETS)
    (found,) = [f for f in opened.findings if f.id == "release.state" and f.where == "A-1"]
    assert found.note == "2 item(s) to confirm: the qualified person signs beside the release."
