"""Small sites for the tests: a job of which only dates and number of pieces matter, and a stock for it."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from typing import Any

from planforge.job.model import Job
from planforge.job.site import Phase
from planforge.kits.catalogue import Kind
from planforge.kits.inventory import Inventory
from planforge.kits.needs import NEVER, Demand
from planforge.kits.result import Need
from planforge.kits.stock import UnitClass
from planforge.kits.working_days import FAR

from ..assess.jobs import small

MONDAY = date(2026, 11, 30)
WEEK = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday"]


@cache
def _small() -> Job:
    return small()


def job(first: date, *, days: int = 5, **update: Any) -> Job:
    """The small lot with one phase, or with the phases of ``update``; nothing recorded as inspected."""
    phase = _small().phases[0]
    own = [phase.model_copy(update={"start": first, "end": first + timedelta(days - 1)})]
    return _small().model_copy(update={"phases": own, "inspections": [], **update})


def phases(*spans: tuple[str, date, date]) -> list[Phase]:
    """Phases by id with their first and last day."""
    first = _small().phases[0]
    return [
        first.model_copy(update={"id": name, "name": name, "start": start, "end": end})
        for name, start, end in spans
    ]


def inventory(**update: Any) -> Inventory:
    """A yard, a truck, five days a week, no days lost between lots, one wrench; changed by ``update``."""
    data: dict[str, Any] = {
        "format": "planforge kits 1",
        "stated": "2026-11-23",
        "places": [{"id": "yard", "name": "Yard"}],
        "days": {
            "worked": WEEK,
            "lead": 0,
            "taking_down": 0,
            "moving": 0,
            "inspection": 0,
            "waits": 3,
        },
        "stock": [{"id": "wrench", "counted": [{"at": "yard", "quantity": 1}]}],
    }
    return Inventory.model_validate({**data, **update})


def demand(
    lot: str,
    first: int,
    last: int,
    quantity: int = 1,
    *,
    item: str = "post",
    turnaround: int = 0,
    used_up: bool = False,
) -> Demand:
    """A need by working days; its dates count them from a Monday as if every day were worked."""

    def day(number: int) -> date:
        return MONDAY + timedelta(number)

    free = FAR if used_up else last + turnaround + 1
    need = Need(
        lot=lot,
        item=item,
        name=item,
        quantity=quantity,
        first=day(first),
        last=day(last),
        free=NEVER if used_up else day(free),
        used_up=used_up,
        why="",
    )
    return Demand(need, first, last, free)


def units(
    quantity: int,
    *,
    item: str = "post",
    at: str = "yard",
    kit: str = "",
    since: int = -FAR,
    until: int = FAR,
    named_by: tuple[str, ...] = (),
) -> UnitClass:
    """A class of units with serials that tell what they are."""
    serials = tuple(f"{kit or item}@{at}:{since}:{until}-{n}" for n in range(1, quantity + 1))
    return UnitClass(item, at, kit, since, until, frozenset(named_by), quantity, serials)


def kind(item: str = "post", cost: float | None = None, weight: float | None = 100.0) -> Kind:
    """An item of which everything is stated."""
    return Kind(item, item, weight, 2.0, True, cost, (item,), (weight,) if weight else ())


__all__ = ["MONDAY", "demand", "inventory", "job", "kind", "phases", "units"]
