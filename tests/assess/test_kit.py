"""Service life by the calendar, who works when, and what the truck carries."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta

from planforge.assess.finding import Finding, Verdict
from planforge.assess.index import Index
from planforge.assess.kit import end_of_life, removed_serials
from planforge.assess.kit_load import load_items, uncounted
from planforge.assess.removal_order import needed_stages
from planforge.units import AGE, parse

from .case import BARE
from .jobs import assessed, finding, small


@pytest.mark.parametrize(
    ("start", "life", "months"),
    [
        (date(2023, 2, 1), "5 years", 60),
        (date(2024, 2, 29), "5 years", 60),
        (date(2024, 2, 29), "4 years", 48),
        (date(2026, 8, 31), "18 months", 18),
        (date(2026, 12, 31), "2 months", 2),
        (date(2026, 1, 15), "11 months", 11),
    ],
)
def test_end_of_life_by_the_calendar(start: date, life: str, months: int) -> None:
    """Against dateutil's calendar arithmetic."""
    assert end_of_life(start, parse(life, AGE)) == start + relativedelta(months=months)


def test_a_life_ends_on_its_last_day() -> None:
    on_the_day = assessed(BARE | {"inspections.5.made": "2021-12-11"})
    assert finding(on_the_day, "kit.service_life", "harness").verdict is Verdict.MEETS


def test_a_worker_needs_training_only_for_their_own_phases() -> None:
    """The record lapses after the deck and before the walls: it holds for who leaves with the deck."""
    lapses = {"people.dunlin.training.0.expires": "2026-12-05"}
    own = {**BARE, **lapses, "people.dunlin.phases": ["deck"]}
    assert finding(assessed({**BARE, **lapses}), "people.training", "Aspen Dunlin").verdict is Verdict.SHORT
    assert finding(assessed(own), "people.training", "Aspen Dunlin").verdict is Verdict.MEETS


def test_crew_of_a_phase_counts_who_works_in_it() -> None:
    away = {f"people.{p}.phases": ["walls"] for p in ("dunlin", "plover")}
    deck = finding(assessed(away), "people.capacity", "crew", "deck")
    assert (deck.verdict, deck.value, deck.limit) == (Verdict.SHORT, 4.0, 2.0)
    assert finding(assessed(away), "people.capacity", "crew", "walls").verdict is Verdict.MEETS


def test_guys_are_counted_as_laid_out() -> None:
    """Every guy of the layout, whatever its kind: another kind is another line of the list."""
    index = Index(small())
    laid = sum(len(post.guys) for post in index.job.layout.posts)
    assert {item.id: n for item, n in load_items(index)}["guy"] == laid
    other = {"id": "guy-b", "name": "Other guy (invented)"}
    kinds = {"equipment.guys.+": other, "layout.posts.P1.guys.0.kind": "guy-b"}
    counted = {item.id: n for item, n in load_items(Index(small(kinds)))}
    assert (counted["guy"], counted["guy-b"]) == (laid - 1, 1)


def test_two_harnesses_are_left_open() -> None:
    other = {
        "equipment.harnesses.+": {"id": "harness-b", "name": "Other harness (invented)", "weight": "4 lb"}
    }
    assert [h.id for h in uncounted(Index(small(other)))] == ["harness", "harness-b"]
    load = finding(assessed(BARE | other), "kit.load", "truck")
    assert load.verdict is Verdict.CONFIRM
    assert "Other harness" in load.note


def test_stages_follow_from_the_layout() -> None:
    no_line = needed_stages(Index(small(BARE)))
    assert "line released" not in no_line
    assert "everyone off" not in no_line
    assert no_line[0] == "hoist holds post"


def _inspected(*records: dict[str, str]) -> Finding:
    """The finding on the posts P1 to P4, inspected on 2026-11-18 and again as ``records`` say."""
    again = [{"item": "post", "by": "L. Avocet", "result": "fit", **record} for record in records]
    old = [item.model_dump(mode="json", exclude_none=True) for item in small(BARE).inspections or []]
    return finding(assessed({**BARE, "inspections": [*old, *again]}), "kit.inspected", "post")


ALL = {"serial": "P1 to P4", "on": "2026-12-01", "due": "2027-06-01"}


def test_the_newest_inspection_of_each_serial_decides() -> None:
    soon = {**ALL, "on": "2026-11-28", "due": "2026-12-05"}
    assert _inspected(soon).verdict is Verdict.SHORT
    newer = _inspected(soon, ALL)
    assert (newer.verdict, newer.value) == (Verdict.MEETS, "4 found fit, last 2026-12-01")
    assert _inspected(ALL, soon) == newer, "in whatever order they are listed"


def test_a_newer_inspection_of_some_leaves_the_others_overdue() -> None:
    soon = {**ALL, "on": "2026-11-28", "due": "2026-12-05"}
    left = _inspected(soon, {**ALL, "serial": "P2 and P3"})
    assert (left.verdict, left.value) == (Verdict.SHORT, "due before the work ends: P1, P4")


def test_a_newest_inspection_that_fails_counts() -> None:
    removed = {**ALL, "serial": "P2", "result": "removed"}
    lacking = _inspected(removed)
    assert (lacking.verdict, lacking.value) == (Verdict.SHORT, "3 found fit, 1 lacking")
    assert _inspected(ALL, removed) == lacking, "of one day the removal counts"
    again = _inspected(removed, {**ALL, "serial": "P2", "on": "2026-12-02"})
    assert again.verdict is Verdict.MEETS, "found fit again since"


def test_of_two_inspections_of_one_day_the_first_to_be_due_counts() -> None:
    soon = {**ALL, "due": "2026-12-05"}
    assert _inspected(ALL, soon) == _inspected(soon, ALL)
    assert _inspected(ALL, soon).verdict is Verdict.SHORT


def test_a_life_counts_from_the_earliest_day_that_any_record_states() -> None:
    """Ensures that a newer inspection without the label's date does not hide it."""
    newer = {"item": "harness", "serial": "H1 to H4", "on": "2026-12-01", "by": "X", "result": "fit"}
    old = {"inspections.5.made": "2021-12-10", "inspections.+": {**newer, "due": "2027-06-01"}}
    over = finding(assessed(BARE | old), "kit.service_life", "harness")
    assert (over.verdict, over.value) == (Verdict.SHORT, "H1 to H4, over on 2026-12-10")


def test_only_what_is_removed_still_is_left_out_of_the_pick_list() -> None:
    record = {"item": "post", "serial": "P2", "by": "X", "on": "2026-11-20"}
    removed = {**record, "result": "removed"}
    assert removed_serials(Index(small({"inspections.+": removed})), "post") == ("P2",)
    old = [item.model_dump(mode="json", exclude_none=True) for item in small().inspections or []]
    again = [*old, removed, {**record, "on": "2026-11-22", "result": "fit", "due": "2027-05-22"}]
    assert removed_serials(Index(small({"inspections": again})), "post") == ()
