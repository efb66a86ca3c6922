"""What the rescuer is tied to: stated, reaching, holding; on the small lot."""

from __future__ import annotations

from math import hypot
from typing import Any

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.assess.finding import Finding
from planforge.assess.kit import items_in_use
from planforge.assess.kit_load import load_items
from planforge.assess.post_model import head_bounds, post_parts
from planforge.assess.rescuer_tie import Tie
from planforge.units import FOOT, INCH, LBF, G

from .case import CONFIRM, MEETS, NOT_APPLICABLE, SHORT
from .cases_lot import IN_LIFT
from .jobs import REMOVE, Changes, assessed, finding

M, POST, SRL = "rescue.means.M-1", "equipment.posts.post", "equipment.connectors.srl"
BESIDE: Changes = {f"{POST}.rescuer_beside_line": {"value": True, "source": "Sheet P p. 3 (invented)"}}
TIED: Changes = BESIDE | {
    f"{M}.rescuer": {"tied_to": "post head", "connector": "srl"},
    f"{SRL}.length": "25 ft",
}
LIFT: Changes = {path: value for path, value in IN_LIFT.items() if not path.endswith("serves")}


def tie_off(changes: Changes, where: str = "A-1 · M-1", phase: str | None = None) -> Finding:
    return finding(assessed(TIED | changes), "rescue.tie_off", where, phase)


def tie(assessment: Assessment, thing: str, phase: str = "deck") -> Tie:
    return assessment.rescue.ties["M-1", thing, phase]


def test_what_is_not_stated_is_to_be_confirmed_with_what_to_state() -> None:
    found = finding(assessed(), "rescue.tie_off", "M-1")
    assert found.verdict is CONFIRM
    assert "tied_to" in found.note and "connector" in found.note
    assert tie_off({f"{M}.rescuer": {"tied_to": "post head"}}).verdict is CONFIRM


def test_device_pays_out_to_the_lowest_dring_on_the_ladder() -> None:
    found = tie_off({})
    assert found.verdict is MEETS
    hang = assessed(TIED).hangs["A-1"]
    # the farthest place is 4 ft along and 2 ft out from P4; the rung 1 ft farther, its ladder at four to one;
    # hands 4 ft and D-ring 5 ft above it, at the lowest that someone hangs
    down = 20 * FOOT - (hang.lowest - 4 * FOOT + 5 * FOOT)
    assert found.value == pytest.approx(hypot(hypot(4, 2) * FOOT + 1 * FOOT, down), rel=1e-9)
    assert found.limit == pytest.approx(25 * FOOT)


def test_room_below_the_rescuer_re_added_by_hand() -> None:
    every = assessed(TIED)
    places, hang = tie(every, "A-1").places, every.hangs["A-1"]
    assert places is not None
    at = int(np.argmax(places.lateral))
    user, index = every.job.user, every.index
    stiffness = head_bounds(index, "P4", post_parts(index, index.posts["P4"]).directions(24)).low
    weight, force, fall = user.mass * G, 700 * LBF, 18 * INCH
    # m g (h + d + s) = F s + k d^2 / 2 with F = k d
    give = force / stiffness
    stroke = (weight * (fall + give) - force * give / 2) / (force - weight)
    above = 20 * FOOT - (hang.highest - 4 * FOOT + 5 * FOOT)
    swing = hypot(places.lateral[at], above) - above
    below = user.dring_shift.value + user.dring_height.value + user.margin.value
    assert places.required[at] == pytest.approx(fall + give + stroke + swing + below, rel=1e-9)
    # down to grade, 1 ft below the slab
    assert places.available[at] == pytest.approx(hang.highest + 1 * FOOT + 1 * FOOT, rel=1e-9)


def test_device_that_is_too_short_is_short() -> None:
    found = tie_off({f"{SRL}.length": "7 ft"})
    assert found.verdict is SHORT
    assert found.value > 7 * FOOT
    assert "does not reach" in found.note
    # nobody ties on to an anchorage whose rescuer can't be tied
    assert assessed(TIED | {f"{SRL}.length": "7 ft"}).allowed("A-1") == 0


def test_swing_from_a_far_post_strikes_below() -> None:
    every = assessed(TIED | {"equipment.connectors.srl.length": "60 ft"})
    far = finding(every, "rescue.tie_off", "A-2 · M-1")
    assert far.verdict is SHORT and far.value < far.limit
    assert "swing counted" in far.note


def test_along_a_line_only_places_near_its_posts_are_held() -> None:
    every = assessed(TIED)
    found = finding(every, "rescue.tie_off", "L-1 · M-1")
    assert found.verdict is MEETS and "at 16 of 35 places" in found.note
    it = tie(every, "L-1")
    assert it.places is not None and set(it.reach_of_points) == {"P1", "P2"}
    for name, far in it.reach_of_points.items():
        nearer = (it.places.point == name) & (it.places.lateral <= far)
        assert nearer.any() and it.holds[nearer].all()
    left = it.places.available - it.places.required
    assert (it.holds == ((left >= -1e-9) & (it.places.length <= 25 * FOOT + 1e-9))).all()
    # the middle is reached by nobody's rescuer, so the means as a whole does not reach
    reach = finding(every, "rescue.reach", "L-1")
    assert reach.verdict is SHORT
    assert "At 19 of 35 places along it its rescuer's own tie-off" in reach.note


def test_another_means_serves_where_the_tie_off_does_not_hold() -> None:
    lift: dict[str, Any] = {
        "id": "M-2",
        "kind": "lift",
        "name": "Lift",
        "serves": ["L-1"],
        "stands_on": "slab",
        "lift": LIFT[f"{M}.lift"],
        "rescuer": {"tied_to": "lift", "connector": "srl"},
    }
    assert finding(assessed(TIED | {"rescue.means.+": lift}), "rescue.reach", "L-1").verdict is MEETS


def test_maker_who_lets_no_rescuer_beside_a_line_bars_its_posts() -> None:
    found = tie_off({f"{POST}.rescuer_beside_line.value": False}, "L-1 · M-1")
    assert found.verdict is SHORT
    it = tie(assessed(TIED | {f"{POST}.rescuer_beside_line.value": False}), "L-1")
    assert {b.partition(":")[0] for b in it.barred} == {"P1", "P2", "P3"}
    # P4 carries no line: what stands there meets as before
    assert tie_off({f"{POST}.rescuer_beside_line.value": False}).verdict is MEETS


@pytest.mark.parametrize(
    "path",
    [
        f"{POST}.rescuer_beside_line",
        f"{POST}.anchorage_workers",
        f"{POST}.anchorage_strength",
        f"{SRL}.edge_tested",
        f"{SRL}.greatest_free_fall",
        f"{SRL}.least_user",
        f"{SRL}.greatest_user",
        f"{SRL}.lock_off",
    ],
)
def test_value_without_a_document_is_to_be_confirmed(path: str) -> None:
    found = tie_off({f"{path}.source": REMOVE}, "L-1 · M-1")
    assert found.verdict is CONFIRM
    assert "State" in found.note
    if path != f"{SRL}.lock_off":  # the reader refuses a job without it
        assert tie_off({path: None if path in TIED else REMOVE}, "L-1 · M-1").verdict is CONFIRM


def test_people_on_the_head_count_with_the_rescuer() -> None:
    assert "Most people on one of them: 2, rated for 2" in tie_off({}).note
    full = tie_off({"layout.anchors.A-1.workers": 2}, "L-1 · M-1")
    assert full.verdict is MEETS and "P4" not in full.note  # 3 on P4: the others serve
    assert tie_off({"layout.anchors.A-1.workers": 2}).verdict is SHORT
    two = tie_off({f"{M}.rescuer": {"tied_to": "post head", "connector": "srl", "number": 2}})
    assert two.verdict is SHORT
    weak = tie_off({f"{POST}.anchorage_strength.value": "9999 lbf"})
    assert weak.verdict is CONFIRM and "qualified person" in weak.note


def test_post_that_is_gone_in_a_phase_holds_nobody() -> None:
    gone: Changes = {"layout.posts.P4.phases": ["deck"], f"{M}.rescuer.of": ["P4"]}
    assert tie_off(gone, phase="deck").verdict is MEETS
    walls = tie_off(gone, phase="walls")
    assert walls.verdict is SHORT
    assert "no such point stands in this phase" in walls.note


@pytest.mark.parametrize(
    "changes",
    [
        {f"{SRL}.edge_tested.value": False},
        {f"{SRL}.greatest_user.value": "200 lb"},
        {f"{SRL}.greatest_free_fall.value": "12 in"},
        {f"{SRL}.stroke.value": "1 in"},
    ],
)
def test_device_that_code_or_maker_refuses_is_short(changes: Changes) -> None:
    assert tie_off(changes).verdict is SHORT


def test_from_the_deck_the_dring_may_come_down_to_the_deck() -> None:
    deck: Changes = {f"{M}.kind": "from the deck", f"{M}.ladder": REMOVE, f"{M}.stands_on": "second"}
    found = tie_off(deck)
    assert found.verdict is MEETS
    second = assessed().job.layout.levels["second"]
    assert found.value == pytest.approx(hypot(hypot(4, 2) * FOOT, 20 * FOOT - second), rel=1e-9)
    kit = tie_off(deck | {f"{M}.kind": "rope kit"})
    assert kit.verdict is CONFIRM and "where the rescuer stands" in kit.note


def test_fitting_holds_whom_its_strength_does() -> None:
    fitting: Changes = {f"{M}.rescuer": {"tied_to": "anchorage", "of": ["A-2"], "connector": "srl"}}
    strong: Changes = {"layout.anchors.A-2.strength": {"value": "10000 lbf", "source": "Letter (invented)"}}
    assert tie_off(fitting | strong, "A-2 · M-1").verdict is MEETS
    weak: Changes = {"layout.anchors.A-2.strength": {"value": "9000 lbf", "source": "Letter (invented)"}}
    assert tie_off(fitting | weak, "A-2 · M-1").verdict is CONFIRM


def test_lift_holds_the_rescuer_and_the_one_taken_over() -> None:
    found = finding(assessed(LIFT), "rescue.tie_off", "M-1")
    assert (found.verdict, found.value, found.limit) == (MEETS, 2.0, 3.0)
    one = finding(assessed(LIFT | {f"{M}.lift.holds.value": 1}), "rescue.tie_off", "M-1")
    assert one.verdict is SHORT
    for missing in ({f"{M}.lift.holds": REMOVE}, {f"{M}.rescuer.connector": REMOVE}):
        assert finding(assessed(LIFT | missing), "rescue.tie_off", "M-1").verdict is CONFIRM


def test_who_stays_below_is_tied_to_nothing() -> None:
    below = assessed({f"{M}.rescuer": {"tied_to": "stays below"}})
    assert finding(below, "rescue.tie_off", "M-1").verdict is NOT_APPLICABLE


def test_device_is_on_the_load_list_and_inspected() -> None:
    device = {"id": "srl-far", "name": "Far device", "kind": "lanyard", "length": "6 ft"} | {
        name: {"value": value, "source": "Sheet F (invented)"}
        for name, value in (("lowest_force", "700 lbf"), ("highest_force", "900 lbf"), ("stroke", "40 in"))
    }
    changes = LIFT | {f"{M}.rescuer.connector": "srl-far", "equipment.connectors.+": device}
    index = assessed(changes).index
    assert "srl-far" in items_in_use(index)
    assert {item.id: n for item, n in load_items(index)}["srl-far"] == 2
    assert finding(assessed(changes), "kit.inspected", "srl-far").verdict is SHORT


ON_LINE: Changes = {
    f"{M}.kind": "from the deck",
    f"{M}.ladder": REMOVE,
    f"{M}.stands_on": "second",
    f"{M}.rescuer": {"tied_to": "line", "connector": "srl"},
}


def test_on_the_casualtys_line_its_own_stances_are_what_is_reckoned() -> None:
    every = assessed(ON_LINE)
    found = finding(every, "rescue.tie_off", "L-1 · M-1")
    assert found.verdict is CONFIRM and "qualified person" in found.note
    (run,) = [r for line in every.lines for r in line.runs if r.rig.parts.line.id == "L-1"]
    assert found.value == pytest.approx(float(np.hypot(run.rig.lateral, run.rig.above).max()))
    assert found.limit == pytest.approx(8 * FOOT)
    places = tie(every, "L-1").places
    assert places is not None
    left = float((places.available - places.required).min())
    assert left == pytest.approx(run.worst_side.left_over)
    assert "Most people on one of them: 2, rated for 2" in found.note


def test_line_for_one_holds_no_rescuer_beside_the_casualty() -> None:
    one = finding(assessed(ON_LINE), "rescue.tie_off", "L-2 · M-1")
    assert one.verdict is SHORT and "2 people on it with the casualty" in one.note
    assert "A-1 is no line" in finding(assessed(ON_LINE), "rescue.tie_off", "A-1 · M-1").note


@pytest.mark.parametrize("change", [{f"{M}.kind": "rope kit"}, {f"{M}.stands_on": "slab"}])
def test_rescuer_elsewhere_than_the_lines_stances_is_not_reckoned_on_it(change: Changes) -> None:
    found = finding(assessed(ON_LINE | change), "rescue.tie_off", "L-1 · M-1")
    assert found.verdict is CONFIRM and "none is reckoned" in found.note
