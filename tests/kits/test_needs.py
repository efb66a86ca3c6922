"""What each lot needs, from when to when."""

from __future__ import annotations

from datetime import date

from planforge.assess.index import Index
from planforge.assess.kit_load import load_items
from planforge.job.model import Job
from planforge.kits.inventory import Inventory
from planforge.kits.needs import NEVER, demands
from planforge.kits.result import Need
from planforge.kits.working_days import WorkingDays

from ..assess.jobs import small
from .sites import WEEK, inventory, phases

DAYS = {"worked": WEEK, "lead": 2, "taking_down": 1, "moving": 1, "inspection": 1, "waits": 0}
DECK = ("deck", date(2026, 12, 1), date(2026, 12, 4))
WALLS = ("walls", date(2026, 12, 7), date(2026, 12, 11))


def _needs(job: Job, own: Inventory) -> list[Need]:
    return [d.need for d in demands([("lot-1", job)], own, WorkingDays(own.days, own.stated))]


def test_every_item_of_the_load_list_is_needed_once_with_its_number() -> None:
    needs = _needs(small(), inventory(days=DAYS))
    assert {n.item: n.quantity for n in needs} == {
        item.id: count for item, count in load_items(Index(small()))
    }


def test_kit_is_there_from_the_lead_before_the_first_phase_until_it_is_inspected_after_the_last() -> None:
    post = next(n for n in _needs(small(), inventory(days=DAYS)) if n.item == "post")
    assert post.first == date(2026, 11, 27)  # a Tuesday less two working days
    assert post.last == date(2026, 12, 11)  # a Friday
    assert post.free == date(2026, 12, 17)  # three working days later begins the fourth
    assert "less 2 working days" in post.why


def test_a_lot_s_own_lead_comes_before_the_site_s() -> None:
    own = inventory(days=DAYS, lots=[{"id": "lot-1", "lead": 0}])
    assert {n.first for n in _needs(small(), own)} == {date(2026, 12, 1)}


def test_the_first_phase_without_a_line_or_anchor_does_not_count() -> None:
    walls = {
        f"layout.{of}.phases": ["walls"] for of in ("lines.L-1", "lines.L-2", "anchors.A-1", "anchors.A-2")
    }
    needs = _needs(small(walls), inventory(days=DAYS))
    assert {n.first for n in needs} == {date(2026, 12, 3)}


def test_anchors_that_serve_once_never_come_free() -> None:
    needs = {n.item: n for n in _needs(small(), inventory(days=DAYS))}
    assert needs["stud"].used_up
    assert needs["stud"].free == NEVER
    again = small({"equipment.base_anchors.stud.reusable": {"value": True, "source": "Report (invented)"}})
    stud = {n.item: n for n in _needs(again, inventory(days=DAYS))}["stud"]
    assert not stud.used_up
    assert stud.free == date(2026, 12, 17)


def test_what_only_a_later_phase_uses_comes_with_the_first_unless_the_inventory_says_by_phase() -> None:
    later = small({"layout.lines.L-2.phases": ["walls"]})
    together = [n for n in _needs(later, inventory(days=DAYS)) if n.item == "set"]
    assert [(n.quantity, n.first) for n in together] == [(2, date(2026, 11, 27))]
    own = inventory(days=DAYS, lots=[{"id": "lot-1", "by_phase": True}])
    apart = [n for n in _needs(later, own) if n.item == "set"]
    assert [(n.quantity, n.first) for n in apart] == [(1, date(2026, 11, 27)), (1, date(2026, 12, 3))]
    assert {n.last for n in apart} == {date(2026, 12, 11)}


def test_by_phase_nothing_leaves_before_the_end_and_nothing_is_lost() -> None:
    turns = small({"layout.lines.L-1.phases": ["deck"], "layout.lines.L-2.phases": ["walls"]})
    own = inventory(days=DAYS, lots=[{"id": "lot-1", "by_phase": True}])
    total: dict[str, int] = {}
    for need in _needs(turns, own):
        total[need.item] = total.get(need.item, 0) + need.quantity
        assert need.last == date(2026, 12, 11)
    assert total == {item.id: count for item, count in load_items(Index(turns))}


def test_days_that_are_not_worked_are_taken_the_demanding_way() -> None:
    saturday, sunday = date(2026, 12, 5), date(2026, 12, 13)
    job = small().model_copy(
        update={"phases": phases(("deck", saturday, saturday), ("walls", WALLS[1], sunday))}
    )
    post = next(n for n in _needs(job, inventory(days=DAYS)) if n.item == "post")
    assert post.first == date(2026, 12, 2)  # two working days before Friday 4
    assert post.last == date(2026, 12, 14)  # held over the Monday after the Sunday
