"""A check is for a task at a place: the top plate, the deck behind it, stored lumber, the hour of day."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.assess.sides import SideRun
from planforge.units import FOOT, INCH, Display

from .case import CONFIRM, MEETS, SHORT
from .jobs import REMOVE, Changes, assessed, finding

SRL = "equipment.connectors.srl"
DECK, PLATE, ASTRIDE = (11 + 4 / 12) * FOOT, (19 + 5 / 12) * FOOT, (2 + 2 / 12) * FOOT

ON_PLATE: Changes = {
    "tasks.+": {
        "id": "T-P",
        "name": "Nailing the upper plate of the east wall",
        "phases": ["walls"],
        "level": "plate",
        "workers": 1,
        "stances": [
            {
                "id": "S-P",
                "surface": "top plate",
                "dring_height": "2'-2\"",
                "line": "L-2",
                "connector": "srl",
                "reach": "2 ft",
                "edge": "E-E",
                "sides": [
                    {"direction": "outward", "onto": ["grade"]},
                    {"direction": "inward", "onto": ["second"]},
                ],
            }
        ],
    }
}
STANCE = "L-2 · T-P/S-P"


def side(changes: Changes, stance: str, direction: str, phase: str) -> SideRun:
    sides = [
        s for line in assessed(changes).lines for r in line.runs if r.rig.label == stance for s in r.sides
    ]
    (found,) = [s for s in sides if s.side.direction == direction and s.phase.id == phase]
    return found


def free_fall(changes: Changes) -> tuple[float, float]:
    """The check's value, and the line's least height at rest along the stance, m."""
    assessment = assessed(changes)
    (run,) = [r for line in assessment.lines for r in line.runs if r.rig.label == STANCE]
    value = finding(assessment, "arrest.free_fall", STANCE).value
    assert isinstance(value, float)
    return value, float(run.rig.anchorage.min())


def test_top_plate_dring_above_the_line_adds_the_difference_to_the_free_fall() -> None:
    value, line = free_fall(ON_PLATE)
    dring = PLATE + ASTRIDE
    assert line < 20 * FOOT < dring
    # lock-off of 18 in, and the drop to the line's height first
    assert value == pytest.approx(1.5 * FOOT + dring - line)
    higher, same_line = free_fall(ON_PLATE | {"tasks.T-P.stances.S-P.dring_height": "3'-2\""})
    assert same_line == line
    assert higher - value == pytest.approx(1 * FOOT)
    # the deck below the same line: its D-ring is under the line, and the lock-off is all there is
    assert finding(assessed(ON_PLATE), "arrest.free_fall", "L-2 · T-E/S-E").value == pytest.approx(1.5 * FOOT)


@pytest.mark.parametrize(
    ("change", "verdict", "limit"),
    [
        ({}, MEETS, "allowed by the maker"),
        ({f"{SRL}.below_dring.source": REMOVE}, CONFIRM, "allowed by the maker"),
        ({f"{SRL}.below_dring": REMOVE}, CONFIRM, "maker's word"),
        ({f"{SRL}.below_dring.value": False}, SHORT, "maker's word"),
    ],
)
def test_anchorage_below_the_dring_needs_the_makers_word(
    change: Changes, verdict: object, limit: str
) -> None:
    found = finding(assessed(ON_PLATE | change), "arrest.anchor_height", STANCE)
    assert found.verdict is verdict
    assert found.limit == limit
    assert isinstance(found.value, float)
    assert found.value == pytest.approx(free_fall(ON_PLATE)[1] - PLATE - ASTRIDE)
    assert found.decides == "manufacturer and qualified person"


def test_inward_fall_strikes_the_deck_behind_the_wall() -> None:
    assessment = assessed(ON_PLATE)
    inward = finding(assessment, "arrest.clearance", f"{STANCE} · inward")
    outward = finding(assessment, "arrest.clearance", f"{STANCE} · outward")
    assert inward.value == pytest.approx(PLATE + ASTRIDE - DECK)
    assert outward.value == pytest.approx(PLATE + ASTRIDE + 1 * FOOT)
    assert inward.limit == outward.limit
    assert inward.verdict is SHORT
    assert "down to second" in inward.note
    assert "down to Grade" in outward.note
    # the deck passing says nothing about the plate
    assert finding(assessment, "arrest.clearance", "L-2 · T-E/S-E · outward").verdict is MEETS


LUMBER: Changes = {
    "lower_levels.+": {
        "id": "lumber",
        "name": "Lift of lumber",
        "kind": "stored material",
        "elevation": "4 ft",
        "area": [["10 ft", "31 ft"], ["16 ft", "31 ft"], ["16 ft", "33 ft"], ["10 ft", "33 ft"]],
        "start": "2026-12-07",
        "end": "2026-12-09",
    }
}
NORTH = "L-1 · T-N/S-N"


def test_stored_lumber_counts_on_its_dates_only() -> None:
    assessment = assessed(LUMBER)
    where = f"{NORTH} · outward"
    before, during = (finding(assessment, "arrest.clearance", where, p) for p in ("deck", "walls"))
    assert before.value == pytest.approx(DECK + 5 * FOOT + 1 * FOOT)
    assert during.value == pytest.approx(DECK + 5 * FOOT - 4 * FOOT)
    assert before.verdict is MEETS
    assert during.verdict is SHORT
    assert "Lift of lumber" in during.note
    assert "Grade" in before.note
    later = assessed(LUMBER | {"lower_levels.lumber.start": "2026-12-12", "lower_levels.lumber.end": REMOVE})
    assert finding(later, "arrest.clearance", where, "walls").verdict is MEETS
    # there on the phase's last day alone is there in the phase
    last = assessed(LUMBER | {"lower_levels.lumber.start": "2026-12-11", "lower_levels.lumber.end": REMOVE})
    assert finding(last, "arrest.clearance", where, "walls").verdict is SHORT


def test_stored_lumber_counts_only_where_it_lies() -> None:
    run = side(LUMBER, NORTH, "outward", "walls")
    (rig,) = [r.rig for line in assessed(LUMBER).lines for r in line.runs if r.rig.label == NORTH]
    # 1 ft off the edge in plan, so that within 4 ft of it the edge runs from 10 - 3.87 to 16 + 3.87 ft
    along = rig.spots[:, 0]
    over = (along > (10 - 3.87) * FOOT) & (along < (16 + 3.87) * FOOT)
    assert over.any() and not over.all()
    assert np.allclose(run.under.elevation, np.where(over, 4 * FOOT, -1 * FOOT))
    assert set(run.under.name[over]) == {"Lift of lumber"}
    assert set(run.under.name[~over]) == {"Grade"}
    assert over[run.governs]
    left = run.clearance.left_over
    bare = side({}, NORTH, "outward", "walls").clearance.left_over
    assert np.allclose(bare - left, np.where(over, 5 * FOOT, 0.0))


NOON: Changes = {
    "layout.lines.L-1.sag": "1 15/16 in",
    "layout.lines.L-1.installed_at": "60 F",
    "weather.coldest": "60 F",
    "weather.warmest": "60 F",
}


def test_line_that_passes_at_noon_and_not_at_dawn() -> None:
    dawn = NOON | {"weather.coldest": "0 F"}
    at_noon, at_dawn = (finding(assessed(c), "line.sag_band", "L-1") for c in (NOON, dawn))
    assert at_noon.verdict is MEETS
    assert at_dawn.verdict is SHORT
    assert at_noon.value == at_dawn.value == pytest.approx((1 + 15 / 16) * INCH)
    assert isinstance(at_noon.limit, float) and isinstance(at_dawn.limit, float)
    assert at_noon.limit < at_noon.value < at_dawn.limit
    card_noon, card_dawn = (next(r.card for r in assessed(c).lines if r.id == "L-1") for c in (NOON, dawn))
    assert card_noon.coldest_sag == pytest.approx((1 + 15 / 16) * INCH, rel=1e-6)
    # the cold line is below its maker's least sag of 1 1/2 in
    assert card_dawn.coldest_sag < 1.5 * INCH
    assert finding(assessed(dawn), "weather.range", "set").verdict is MEETS


def test_what_to_set_is_the_job_s_own_target_at_each_temperature() -> None:
    """Not the middle of the band: clearance and strength are reckoned with the target."""
    around: Changes = {"weather.coldest": "20 F", "weather.warmest": "60 F"}  # the target is stated for 40 °F
    card = next(r.card for r in assessed(around).lines if r.id == "L-1")
    cold, middle, warm = card.rows
    assert middle.target == pytest.approx(3.5 * INCH, rel=1e-9)
    assert (cold.target, warm.target) == (card.coldest_sag, card.warmest_sag)
    assert cold.target < middle.target < warm.target
    assert middle.target != pytest.approx(0.5 * (middle.lower + middle.upper), abs=0.1 * INCH)


def test_strength_that_passes_at_noon_and_not_at_dawn() -> None:
    # no line absorber: the colder, tighter line is loaded more
    bare: Changes = {
        "equipment.lifelines.set.absorber": REMOVE,
        "layout.lines.L-1.absorber_at": REMOVE,
        "layout.lines.L-2.absorber_at": REMOVE,
        "weather.coldest": "60 F",
        "layout.lines.L-1.installed_at": "60 F",
    }
    noon = finding(assessed(bare), "line.rope_strength", "L-1").value
    assert isinstance(noon, float)
    strength = f"{12400 * 2.0 / noon + 1:.2f} lbf"  # just enough at noon
    tight = bare | {"equipment.ropes.rope.breaking_strength.value": strength}
    dawn = tight | {"weather.coldest": "-5 F"}
    assert finding(assessed(tight), "line.rope_strength", "L-1").verdict is MEETS
    assert finding(assessed(dawn), "line.rope_strength", "L-1").verdict is SHORT
    assert finding(assessed(dawn), "line.sag_band", "L-1").verdict is SHORT


LANYARD: Changes = {f"{SRL}.kind": "lanyard", f"{SRL}.length": "4 ft", f"{SRL}.lock_off": REMOVE}


def test_warm_hour_takes_clearance_from_a_lanyard() -> None:
    cool, warm = (
        finding(assessed(LANYARD | {"weather.warmest": t}), "arrest.clearance", f"{NORTH} · outward", "deck")
        for t in ("40 F", "100 F")
    )
    assert isinstance(cool.limit, float) and isinstance(warm.limit, float)
    assert cool.value == warm.value
    assert warm.limit > cool.limit


def test_reach_beside_the_line_swings_a_retracting_device_lower() -> None:
    near, far = (
        side({"tasks.T-E.stances.S-E.reach": reach}, "L-2 · T-E/S-E", "outward", "deck")
        for reach in ("2 ft", "4 ft")
    )
    rig = next(r.rig for line in assessed().lines for r in line.runs if r.rig.label == "L-2 · T-E/S-E")
    above = rig.above[far.governs]
    drop = dict(far.stack)["swing_drop"]
    assert drop == pytest.approx(np.hypot(4 * FOOT, above) - above)
    assert drop > dict(near.stack)["swing_drop"] > 0


def test_anchorage_without_edge_or_stretch_is_checked_all_around() -> None:
    # lumber on any side of the anchorage governs alike
    free: Changes = {"tasks.T-A.stances.S-A2.stretch": REMOVE, "tasks.T-A.stances.S-A2.reach": "5 ft"}
    values = []
    for x, y in ((27, 15), (13, 15), (20, 22), (20, 8)):
        corner = [
            [f"{x - 1} ft", f"{y - 1} ft"],
            [f"{x + 1} ft", f"{y - 1} ft"],
            [f"{x + 1} ft", f"{y + 1} ft"],
        ]
        pile = {"id": "pile", "name": "Pile", "kind": "stored material", "elevation": "2 ft", "area": corner}
        found = finding(
            assessed(free | {"lower_levels.+": pile}), "arrest.clearance", "A-2 · T-A/S-A2 · inward"
        )
        values.append(found.value)
    assert values == [pytest.approx(DECK + 5 * FOOT - 2 * FOOT)] * 4


def test_worker_off_to_one_side_of_an_anchorage_swings_lower() -> None:
    nearer: Changes = {"tasks.T-A.stances.S-A1.reach": "4 ft"}
    (run,) = [r for r in assessed(nearer).anchors if r.anchor.id == "A-1"]
    (chosen,) = [s for s in run.sides if s.phase.id == "deck"]
    # farthest off is the edge's end (6, 0) from the post at (2, 2); the head is 20 ft up, the D-ring 16'-4"
    above = 20 * FOOT - DECK - 5 * FOOT
    lateral = np.hypot(4, 2) * FOOT
    assert dict(chosen.stack)["swing_drop"] == pytest.approx(np.hypot(lateral, above) - above)


def test_swing_says_why_the_clearance_adds_another_drop() -> None:
    """By the pendulum: from a low line the free fall holds the height that the D-ring is above it."""
    assessment = assessed(ON_PLATE)
    (run,) = [r for line in assessment.lines for r in line.runs if r.rig.label == STANCE]
    (outward,) = [s for s in run.sides if s.side.direction == "outward"]
    note = finding(assessment, "arrest.swing", f"{STANCE} · outward").note
    above = run.rig.above[outward.governs]
    assert above < 0.0
    counted = np.hypot(run.rig.lateral[outward.governs], above)  # the slant alone: it hangs so far below
    assert dict(outward.stack)["swing_drop"] == pytest.approx(counted)
    greatest = np.max(np.hypot(run.rig.lateral, run.rig.above) - run.rig.above)
    show = Display("us")
    assert note.startswith(f"Drop of the swing {show.feet(float(greatest), 'up')} at most; ")
    assert f"the free fall holds the other {show.feet(float(-above))} already" in note


@pytest.mark.parametrize("reach", ["3 ft", "5 ft", "6 ft", REMOVE])
def test_nobody_may_go_farther_from_an_anchorage_than_was_reckoned(reach: object) -> None:
    """The edge's places lie up to 4.47 ft off; a stated reach beyond that is what is reckoned."""
    assessment = assessed({"tasks.T-A.stances.S-A1.reach": reach})
    (run,) = [r for r in assessment.anchors if r.anchor.id == "A-1"]
    permitted = assessment.stay_within("A-1", "deck")
    assert permitted is not None
    assert permitted <= run.lateral.max() + 1e-9
    above = 20 * FOOT - DECK - 5 * FOOT
    for chosen in run.sides:
        assert dict(chosen.stack)["swing_drop"] >= np.hypot(permitted, above) - above - 1e-9
    # the swing goes as far to the other side
    swung = finding(assessment, "arrest.swing", "A-1 · T-A/S-A1 · outward").value
    assert isinstance(swung, float)
    assert swung >= 2 * permitted - 1e-9


def test_two_workers_fall_together_on_an_anchorage() -> None:
    one, two = (
        next(r for r in assessed({"layout.anchors.A-1.workers": n}).anchors if r.anchor.id == "A-1")
        for n in (1, 2)
    )
    assert two.load == pytest.approx(2 * one.load)


WEAK: Changes = {"equipment.line_absorbers.absorber.lowest_force.value": "1200 lbf"}
"""The first fall opens this line absorber far; the second worker falls on to a line that hangs low."""


@pytest.mark.parametrize(("changes", "in_turn_governs"), [({}, False), (WEAK, True)])
def test_two_workers_together_or_in_turn_whichever_falls_farther(
    changes: Changes, in_turn_governs: bool
) -> None:
    (run,) = [r for line in assessed(changes).lines for r in line.runs if r.rig.label == NORTH]
    assert run.clear_sequence is not None
    in_turn, together = float(run.clear_sequence.second.total_fall), float(run.clear.total_fall.max())
    assert (in_turn > together) is in_turn_governs
    terms = dict(next(s for s in run.sides if s.phase.id == "deck").stack)
    fall = terms["free_fall"] + terms["line_drop"] + terms["deceleration"]
    assert fall == pytest.approx(max(in_turn, together))


def test_lone_worker_has_nobody_to_follow() -> None:
    (alone,) = [r for line in assessed().lines for r in line.runs if r.rig.label == "L-2 · T-E/S-E"]
    assert alone.clear_sequence is None
    assert alone.strong_sequence is None
