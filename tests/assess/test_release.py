"""An issued plan is not yet a line in use: planned, erected, measured, released, on hold."""

from __future__ import annotations

from typing import Any

import pytest

from .case import CONFIRM, MEETS
from .jobs import Changes, assessed, finding

RELEASED: dict[str, Any] = {
    "of": "L-1",
    "state": "released for use",
    "by": "dunlin",
    "on": "2026-12-02",
    "revision": 0,
    "measured_sag": "3 1/2 in",
    "temperature": "40 F",
    "within_tolerances": True,
}


def note(release: dict[str, Any], changes: Changes | None = None) -> str:
    found = finding(assessed({"releases": [release], **(changes or {})}), "release.state", release["of"])
    assert found.verdict is CONFIRM
    assert found.value == release["state"]
    return found.note


ONE_OPEN = "1 item(s) to confirm: the qualified person signs beside the release."
OUTSIDE = "the measured sag is outside the card's band for its temperature"


@pytest.mark.parametrize("state", ["planned", "erected", "measured"])
def test_states_before_release_are_open(state: str) -> None:
    assert note({"of": "A-1", "state": state}) == "the release block is not signed."


def test_anchor_released_by_the_qualified_person_under_this_revision_is_released() -> None:
    assessment = assessed()
    assert finding(assessment, "anchor.load_path", "A-1").verdict is CONFIRM
    found = finding(assessment, "release.state", "A-1")
    assert found.verdict is MEETS
    assert found.note == ""
    assert assessment.released("A-1")
    assert not assessment.released("A-2")
    assert not assessment.all_released


def test_line_on_hold_gives_the_reason() -> None:
    held = {"of": "L-1", "state": "on hold", "by": "dunlin", "on": "2026-12-02", "reason": "A guy was moved."}
    assert note(held) == "on hold: A guy was moved."


def test_line_with_strength_items_open_needs_the_qualified_persons_signature() -> None:
    # both its posts, and the post that also carries L-2
    assert note(RELEASED) == "3 item(s) to confirm: the qualified person signs beside the release."


def test_anchor_released_by_another_waits_for_the_load_path() -> None:
    assert note(RELEASED | {"of": "A-1"}) == ONE_OPEN


def test_line_released_by_the_qualified_person_is_released() -> None:
    line = RELEASED | {"by": "kestrel"}
    assessment = assessed({"releases": [line]})
    assert finding(assessment, "release.state", "L-1").verdict is MEETS
    assert assessment.released("L-1")


def test_qualified_persons_release_leaves_open_what_others_decide() -> None:
    # what a swing would strike, in two phases, is the competent person's
    changes = {"tasks.T-A.stances.S-A1.sides.0.obstacle": "<remove>"}
    two_open = ONE_OPEN.replace("1 item(s)", "2 item(s)")
    assert note(RELEASED | {"of": "A-1", "by": "kestrel"}, changes) == two_open
    nobody = {"roles.qualified_person": "<remove>"}
    assert ONE_OPEN in note(RELEASED | {"of": "A-1", "by": "kestrel"}, nobody)


def test_a_release_by_someone_without_the_role_does_not_hold() -> None:
    said = "released by someone who is neither the competent nor the qualified person"
    assert said in note(RELEASED | {"by": "avocet"})
    assert said not in note(RELEASED | {"by": "plover"}), "the competent person's alternate may"


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"revision": 1}, "released under revision 1, this is 0"),
        ({"within_tolerances": False}, "measured outside the tolerances"),
        ({"measured_sag": "5 5/8 in"}, OUTSIDE),
        ({"measured_sag": "1 3/8 in"}, OUTSIDE),
        # within the maker's 1 1/2 to 5 1/2 in, but on so cold a morning it grows too slack by noon
        ({"measured_sag": "5 in", "temperature": "25 F"}, OUTSIDE),
    ],
)
def test_release_that_does_not_hold(change: dict[str, Any], reason: str) -> None:
    assert reason in note(RELEASED | change)
    assert reason not in note(RELEASED)


def test_the_same_sag_holds_on_the_warmest_hour() -> None:
    assert OUTSIDE not in note(RELEASED | {"measured_sag": "5 in", "temperature": "60 F"})


def test_release_of_something_short_does_not_hold() -> None:
    changes = {"lower_levels.grade.elevation": "6 ft"}
    anchor = RELEASED | {"of": "A-1"}
    assert "short: clearance" in note(anchor, changes)
    assert not assessed({"releases": [anchor], **changes}).released("A-1")


def test_open_item_of_another_anchor_with_a_longer_name_does_not_count() -> None:
    other = {"id": "A-10", "at": ["20 ft", "20 ft"], "elevation": "19 ft", "fitting": "Clamp", "workers": 1}
    assessment = assessed({"layout.anchors.+": other})
    assert finding(assessment, "anchor.strength", "A-10").verdict is CONFIRM
    assert finding(assessment, "release.state", "A-1").verdict is MEETS


def test_nothing_is_released_in_a_draft() -> None:
    draft = assessed({"rescue.care": "<remove>"})
    assert draft.draft
    assert finding(draft, "release.state", "A-1").verdict is MEETS
    assert not draft.released("A-1")
