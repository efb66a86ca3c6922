"""What a plan rests on that ends on a day of its own: one change of the small lot for each kind.

The small lot's work goes from 2026-12-01 to 2026-12-11; its phase of walls begins on 2026-12-07.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from planforge.assess.as_of import Lapse, lapsed, lapses, profile_lapses
from planforge.assess.index import Index
from planforge.codes.profile import load_profile

from .jobs import REMOVE, small

END = dt.date(2026, 12, 11)


def of(changes: dict[str, Any]) -> tuple[Lapse, ...]:
    return lapses(Index(small(changes)))


def on(found: tuple[Lapse, ...], day: int) -> list[str]:
    """The checks of what no longer holds on a day of December."""
    return [lapse.check for lapse in lapsed(found, dt.date(2026, 12, day), END)]


def expiring(day: str) -> list[dict[str, str]]:
    return [{"course": "Use", "on": "2026-02-18", "trainer": "J. Siskin", "expires": day}]


def test_the_small_lot_lapses_in_nothing() -> None:
    assert of({}) == ()


def test_a_worker_s_training_holds_through_the_day_it_expires() -> None:
    found = of({"people.godwit.training": expiring("2026-12-05")})
    (lapse,) = found
    assert str(lapse) == (
        "Training holds over the work, Sorrel Godwit: training expired on 2026-12-05. Train again, or take "
        "this worker off the work."
    )
    assert [on(found, day) for day in (5, 6, 11)] == [[], ["people.training"], ["people.training"]]


def test_a_plan_whose_work_is_over_lapses_no_more() -> None:
    assert on(of({"people.godwit.training": expiring("2026-12-05")}), 12) == []


def test_the_first_of_several_records_to_expire_counts() -> None:
    found = of({"people.godwit.training": [*expiring("2026-12-05"), *expiring("2027-12-05")]})
    assert on(found, 6) == ["people.training"]


@pytest.mark.parametrize(("until", "lapses_then"), [("2026-12-03", True), ("2026-12-04", False)])
def test_a_worker_s_training_is_needed_in_their_own_phases(until: str, lapses_then: bool) -> None:
    """The phase of the deck ends on 2026-12-04."""
    found = of({"people.godwit.training": expiring(until), "people.godwit.phases": ["deck"]})
    assert bool(found) == lapses_then


def test_who_answers_for_the_work_needs_training_to_its_end_though_never_tied_on() -> None:
    found = of({"people.kestrel.training": expiring("2026-12-09")})
    assert on(found, 9) == []
    (lapse,) = lapsed(found, dt.date(2026, 12, 10), END)
    assert (lapse.where, lapse.check) == ("Jasper Kestrel, qualified person", "people.training")


def test_so_does_who_signs() -> None:
    new = {"id": "owner", "name": "Alder Wagtail", "training": expiring("2026-12-02")}
    changes = {"people.+": new, "sign_offs.+": {"role": "Owner", "person": "owner"}}
    (lapse,) = of(changes)
    assert (lapse.where, lapse.since) == ("Alder Wagtail, Owner", dt.date(2026, 12, 3))
    assert of({"people.+": new}) == ()  # who neither signs nor is tied on does not matter


def test_an_inspection_is_overdue_from_the_day_after_it_is_due() -> None:
    found = of({"inspections.0.due": "2026-12-08"})
    assert [on(found, day) for day in (8, 9)] == [[], ["kit.inspected"]]
    assert str(found[0]).startswith(
        "Items inspected, set: the inspection of L1 and L2 was due on 2026-12-08."
    )


def test_the_newest_inspection_of_a_serial_counts() -> None:
    newer = {"item": "set", "serial": "L1 and L2", "on": "2026-11-30", "by": "L. Avocet", "result": "fit"}
    assert of({"inspections.0.due": "2026-12-08", "inspections.+": {**newer, "due": "2027-05-30"}}) == ()
    assert of({"inspections.0.due": "2026-12-08", "inspections.+": {**newer, "on": "2026-11-01"}}) != ()


def test_an_item_taken_out_of_the_kit_is_not_overdue() -> None:
    removed = {
        "item": "set",
        "serial": "L1 and L2",
        "on": "2026-11-30",
        "by": "L. Avocet",
        "result": "removed",
    }
    assert of({"inspections.0.due": "2026-12-08", "inspections.+": removed}) == ()


def test_a_serial_serves_through_the_last_day_of_its_life() -> None:
    """The retracting device lasts 10 years from its first day of service."""
    found = of({"inspections.4.in_service": "2016-12-05"})
    assert [on(found, day) for day in (5, 6)] == [[], ["kit.service_life"]]
    assert of({"inspections.4.in_service": "2016-12-11"}) == ()


def test_posts_bear_on_tested_concrete_from_their_first_day() -> None:
    reckoned = {"slab.strength": REMOVE, "slab.strength_28": "4000 psi", "slab.cement": "I moist"}
    found = of(reckoned)
    assert [on(found, day) for day in (1, 2)] == [["slab.pour"], ["slab.pour"]]
    assert lapsed(found, dt.date(2026, 11, 30), END) == ()
    later = of({**reckoned, **{f"layout.posts.P{n}.phases": ["walls"] for n in (1, 2, 3, 4)}})
    assert [on(later, day) for day in (6, 7)] == [[], ["slab.pour"]]


SCAN = {
    "by": "Example Scanning (invented)",
    "on": "2026-11-10",
    "method": "Radar",
    "tolerance": "1 in",
    "holds_until": "2026-12-03",
    "voided_by": [{"what": "Hole cored"}, {"what": "Topping laid"}],
}


def test_a_scan_lapses_by_its_day_while_a_base_is_still_to_be_drilled() -> None:
    """Posts stand from 2026-12-01; the last one from 2026-12-07."""
    assert of({"slab.scan": SCAN}) == ()
    found = of({"slab.scan": SCAN, "layout.posts.P2.phases": ["walls"]})
    assert [on(found, day) for day in (3, 4)] == [[], ["slab.scan"]]
    assert "held until 2026-12-03, and bases are drilled up to 2026-12-07. Nobody drills" in str(found[0])


def test_a_scan_is_void_from_the_day_on_which_something_that_voids_it_was_done() -> None:
    done = [
        {"what": "Hole cored", "happened": "2026-12-09"},
        {"what": "Topping laid", "happened": "2026-12-08"},
    ]
    found = of({"slab.scan": {**SCAN, "voided_by": done}})
    assert [on(found, day) for day in (7, 8)] == [[], ["slab.scan"]]
    assert "the scan of 2026-11-10 is void: Topping laid." in str(found[0])


def test_each_role_that_signs_has_a_person_once_work_begins() -> None:
    found = of({"sign_offs.+": {"role": "Owner"}})
    assert on(found, 1) == ["plan.sign_offs"]
    assert lapsed(found, dt.date(2026, 11, 30), END) == ()


def test_a_code_profile_compared_again_since_the_plan_was_issued() -> None:
    profile = replace(load_profile("us-federal"), checked="2026-12-03")
    assert profile_lapses(profile, dt.date(2026, 12, 3)) == ()
    found = profile_lapses(profile, dt.date(2026, 12, 2))
    assert on(found, 2) == []
    assert on(found, 3) == ["code.contents"]
    assert "compared with its text again on 2026-12-03, after the plan was issued on 2026-12-02" in str(
        found[0]
    )


@pytest.mark.parametrize("name", ["us-federal", "us-california", "us-oregon", "us-washington", "ca-ontario"])
def test_every_profile_says_when_it_was_checked(name: str) -> None:
    assert profile_lapses(load_profile(name), dt.date(2100, 1, 1)) == ()


def test_the_earliest_comes_first() -> None:
    found = of({"inspections.0.due": "2026-12-03", "people.godwit.training": expiring("2026-12-02")})
    assert [lapse.check for lapse in found] == ["people.training", "kit.inspected"]
