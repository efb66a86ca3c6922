"""Each kind of conflict appears by one change, and is gone without it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from planforge.job.equipment import Harness
from planforge.job.erection import Inspection
from planforge.job.model import Job
from planforge.kits.due_dates import earlier_due
from planforge.kits.plan import kit_plan
from planforge.kits.result import CLASHES, Conflict

from ..assess.jobs import small
from .sites import WEEK, inventory, job

FIRST, LATER = date(2026, 11, 30), date(2027, 1, 4)
UNIT = {"serial": "P-1 to P-8", "at": "yard", "due": "2027-06-30"}
ITEMS = ("set", "rope", "absorber", "guy", "stud", "srl", "harness")


def _stock(*units: dict[str, Any], worn: bool = True) -> dict[str, Any]:
    rest = [{"id": item, "counted": [{"at": "yard", "quantity": 99}]} for item in ITEMS]
    return {
        "stated": "2026-11-23",
        "stock": [{"id": "post", "units": list(units) or [UNIT]}, *rest],
        "days": {
            "worked": WEEK,
            "lead": 0,
            "taking_down": 1,
            "moving": 0,
            "inspection": 0,
            "waits": 0,
        },
    }


def _named(serial: str, of: Job, **update: Any) -> Job:
    record = Inspection(
        item="post", serial=serial, on=date(2026, 11, 23), by="Larch Avocet", result="fit", **update
    )
    return of.model_copy(update={"inspections": [record]})


def _conflicts(*lots: tuple[str, Job], **update: Any) -> list[Conflict]:
    return list(kit_plan(lots, inventory(**{**_stock(), **update})).conflicts)


def test_lots_apart_in_time_with_one_serial_each_have_none() -> None:
    lots = [("a", _named("P-1 to P-4", job(FIRST))), ("b", _named("P-1 to P-4", job(LATER)))]
    assert _conflicts(*lots) == []


def test_one_serial_named_by_two_lots_at_once() -> None:
    lots = [("a", _named("P-1 to P-4", job(FIRST))), ("b", _named("P-3 to P-6", job(FIRST)))]
    (found,) = _conflicts(*lots)
    assert (found.kind, found.item, found.serial, found.lots) == (
        "serial wanted by two lots",
        "post",
        "P-3 and P-4",
        ("a", "b"),
    )
    assert "a names it for 2026-11-30 to 2026-12-04" in found.note


def test_the_days_between_lots_count() -> None:
    """Friday's kit is taken down on Monday, so that a lot from Monday clashes, and from Tuesday does not."""
    first = ("a", _named("P-1", job(FIRST)))
    assert _conflicts(first, ("b", _named("P-1", job(date(2026, 12, 7)))))
    assert not _conflicts(first, ("b", _named("P-1", job(date(2026, 12, 8)))))


def test_a_serial_that_the_inventory_does_not_hold() -> None:
    (found,) = _conflicts(("a", _named("P-8 and P-9", job(FIRST))))
    assert (found.kind, found.serial) == ("serial not in the inventory", "P-9")


@pytest.mark.parametrize(
    ("state", "serial"),
    [
        ({"state": "removed after a fall event"}, "P-9"),
        ({"state": "away for inspection"}, "P-9"),
        ({"state": "away for inspection", "back": "2026-12-02"}, "P-9"),
    ],
)
def test_a_serial_out_of_service(state: dict[str, str], serial: str) -> None:
    out = {"serial": "P-9", "at": "yard", "due": "2027-06-30", **state}
    (found,) = _conflicts(("a", _named(serial, job(FIRST))), **_stock(UNIT, out))
    assert (found.kind, found.serial) == ("serial not in service", "P-9")


def test_a_serial_that_a_lot_removed_is_not_planned_with() -> None:
    unit = {"serial": "P-1 to P-4", "at": "yard", "due": "2027-06-30", "inspected": "2026-11-20"}
    gone = Inspection(item="post", serial="P-2", on=date(2026, 11, 21), by="Larch Avocet", result="removed")
    lot = job(FIRST).model_copy(update={"inspections": [gone]})
    plan = kit_plan([("a", lot)], inventory(**_stock(unit)))
    (found,) = plan.conflicts
    assert (found.kind, found.serial, found.lots) == ("serial not in service", "P-2", ("a",))
    assert "a removed it on 2026-11-21" in found.note
    assert [(e.item, e.short_by) for e in plan.excess] == [("post", 1)]
    cleared = {**unit, "inspected": "2026-11-22"}
    assert not kit_plan([("a", lot)], inventory(**_stock(cleared))).conflicts
    fit = gone.model_copy(update={"on": date(2026, 11, 22), "result": "fit"})
    again = job(LATER).model_copy(update={"inspections": [fit]})
    assert not kit_plan([("a", lot), ("b", again)], inventory(**_stock(unit))).conflicts


def test_a_serial_that_is_back_in_time_is_none() -> None:
    back = {"serial": "P-9", "at": "yard", "due": "2027-06-30", "state": "away for inspection"}
    assert not _conflicts(("a", _named("P-9", job(FIRST))), **_stock(UNIT, {**back, "back": "2026-11-30"}))


def test_a_serial_due_before_the_use_ends() -> None:
    due = {"serial": "P-9", "at": "yard", "due": "2026-12-03"}
    (found,) = _conflicts(("a", _named("P-9", job(FIRST))), **_stock(UNIT, due))
    assert (found.kind, found.serial) == ("serial due before the use ends", "P-9")
    on_the_day = {**due, "due": "2026-12-04"}
    assert not _conflicts(("a", _named("P-9", job(FIRST))), **_stock(UNIT, on_the_day))


@pytest.mark.parametrize(
    ("lot_due", "inspected", "until", "remedy"),
    [
        (date(2026, 12, 31), None, date(2026, 12, 31), "The earlier counts until the inventory states"),
        (date(2027, 9, 30), "2026-11-20", date(2027, 6, 30), "The earlier counts until the inventory states"),
        (date(2026, 12, 31), "2026-11-23", date(2026, 12, 31), "look at that inspection's record"),
        (date(2026, 12, 31), "2026-11-24", date(2027, 6, 30), "The inventory's inspection is the newer"),
    ],
)
def test_due_dates_that_differ(lot_due: date, inspected: str | None, until: date, remedy: str) -> None:
    """The lot found P-2 and P-3 fit on 2026-11-23; the inventory has them due on 2027-06-30."""
    stock = _stock({**UNIT, **({"inspected": inspected} if inspected else {})}, worn=True)
    stock["stated"] = "2026-11-30"
    lots = [("a", _named("P-2 and P-3", job(FIRST), due=lot_due))]
    (found,) = _conflicts(*lots, **stock)
    assert (found.kind, found.item, found.serial, found.lots) == (
        "due dates differ",
        "post",
        "P-2 and P-3",
        ("a",),
    )
    assert "Due on 2027-06-30 by the inventory" in found.note
    assert f"on {lot_due} by the inspections of a (of 2026-11-23)" in found.note
    assert remedy in found.note
    assert found.kind not in CLASHES, "to be confirmed"
    held = inventory(**stock)
    assert dict.fromkeys([("post", "P-2"), ("post", "P-3")], until) == {
        (item, serial): earlier_due(lots, held).get((item, serial), date(2027, 6, 30))
        for item, serial in (("post", "P-2"), ("post", "P-3"))
    }


def test_due_dates_that_agree_or_are_stated_once_differ_in_nothing() -> None:
    same = _named("P-2", job(FIRST), due=date(2027, 6, 30))
    assert _conflicts(("a", same)) == []
    assert _conflicts(("a", _named("P-2", job(FIRST)))) == []


def test_the_earlier_due_date_counts_for_the_use_and_for_the_stock() -> None:
    lots = [("a", _named("P-2", job(FIRST), due=date(2026, 12, 3)))]
    kinds = {c.kind for c in _conflicts(*lots)}
    assert kinds == {"due dates differ", "serial due before the use ends"}
    later = [*lots, ("b", job(LATER))]
    (posts,) = [c for c in kit_plan(later, inventory(**_stock())).counts if c.item == "post"]
    assert posts.in_service[0] == 8 and posts.in_service[-1] == 7, "P-2 is out of date by then"


def test_a_serial_on_a_lot_that_needs_it_while_another_names_it() -> None:
    there = {"serial": "P-9 to P-12", "at": "a", "due": "2027-06-30"}
    lots = [("a", job(FIRST)), ("b", _named("P-9", job(FIRST)))]
    (found,) = _conflicts(*lots, **_stock(UNIT, there))
    assert found.kind == "serial located on a lot that another lot names it for"
    assert found.lots == ("a", "b")


def test_a_worn_item_without_a_due_date_is_to_confirm() -> None:
    (found,) = _conflicts(("a", job(FIRST)), **_stock({"serial": "P-1 to P-4", "at": "yard"}))
    assert (found.kind, found.serial) == ("due date not stated", "P-1 to P-4")
    assert found.kind not in CLASHES


def test_lots_that_name_or_weigh_an_item_differently() -> None:
    other = small({"equipment.posts.post.name": "Another post", "equipment.posts.post.weight": "900 lb"})
    lots = [("a", job(FIRST)), ("b", job(LATER, equipment=other.equipment))]
    notes = [c.note for c in _conflicts(*lots) if c.kind == "statements differ"]
    assert len(notes) == 2
    assert "Another post" in notes[0]
    assert "900 lb" in notes[1]


def test_places_and_rules_for_unknown_lots() -> None:
    stray = {**UNIT, "serial": "P-9", "at": "lot-99"}
    found = _conflicts(("a", job(FIRST)), **_stock(UNIT, stray), lots=[{"id": "lot-77"}])
    assert [(c.kind, c.lots) for c in found] == [
        ("lot not known", ("lot-99",)),
        ("lot not known", ("lot-77",)),
    ]


def test_an_item_that_the_stock_does_not_list_lacks() -> None:
    stock = [entry for entry in _stock()["stock"] if entry["id"] != "guy"]
    plan = kit_plan([("a", job(FIRST))], inventory(**{**_stock(), "stock": stock}))
    (found,) = plan.conflicts
    assert (found.kind, found.item, found.lots) == ("item not in stock", "guy", ("a",))
    assert [(e.item, e.short_by) for e in plan.excess] == [("guy", 15)]


def test_a_number_that_the_job_leaves_open() -> None:
    kit = job(FIRST).equipment
    two: list[Harness] = [*kit.harnesses, kit.harnesses[0].model_copy(update={"id": "harness-2"})]
    lot = job(FIRST, equipment=kit.model_copy(update={"harnesses": two}))
    found = _conflicts(("a", lot))
    assert [(c.kind, c.item) for c in found] == [
        ("number not settled", "harness"),
        ("number not settled", "harness-2"),
    ]
