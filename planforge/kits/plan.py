"""The kits of a site from the inventory and the lots' jobs: everything that ``result`` names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from planforge.errors import PlanforgeError
from planforge.job.wording import listed
from planforge.kits.assignment import Rules, assign
from planforge.kits.catalogue import catalogue
from planforge.kits.conflicts import conflicts, named_by, taken_out
from planforge.kits.due_dates import earlier_due
from planforge.kits.excess import calendar, day_counts, excesses
from planforge.kits.inventory import Inventory
from planforge.kits.moves import day_loads
from planforge.kits.needs import NEVER, Demand, Lots, demands
from planforge.kits.remedies import Problem, hold_against_peaks, limits, remedies
from planforge.kits.result import KitPlan, Shift
from planforge.kits.stock import classes
from planforge.kits.transfers import transfers
from planforge.kits.working_days import WorkingDays

TIME_LIMIT = 60.0
"""Seconds for the assignment and for each remedy; beyond it the best so far is given with its bound."""


def kit_plan(
    lots: Lots,
    inventory: Inventory,
    as_of: date | None = None,
    *,
    shifts: Mapping[str, int] | None = None,
    time_limit: float | None = TIME_LIMIT,
) -> KitPlan:
    """Plan the kits from a day on.

    Args:
        lots: the lots' ids and jobs, in the site's order.
        inventory: the stock, as of the day it states.
        as_of: the day to plan from; the inventory's own where none is given. Lots whose kit is free by then
            count no longer; of a lot that is under way, the need stands as if its kit were still to come.
        shifts: what if the dates of these lots were moved by so many working days, later positive. Dates are
            changed in the jobs; the inspections they record stay as they are.
        time_limit: seconds for the assignment and for each remedy.

    Raises:
        OutOfTimeError: no assignment within the time.
        PlanforgeError: a lot of ``shifts`` is none of ``lots``.
    """
    start = as_of or inventory.stated
    days = WorkingDays(inventory.days, start)
    today = days.at_or_after(start)
    moved = shifts or {}
    unknown = [lot for lot in moved if lot not in {name for name, _ in lots}]
    if unknown:
        raise PlanforgeError(
            f"No lot is called {unknown[0]}; there are {listed((n for n, _ in lots), 'and')}."
        )
    dated = (_dated(d, moved.get(d.need.lot, 0), days) for d in demands(lots, inventory, days))
    needs = tuple(d for d in dated if _still(d, today))
    kinds = catalogue(lots, inventory)
    named = named_by(lots)
    held = classes(inventory, days, named, taken_out(lots, inventory), earlier_due(lots, inventory))
    stock = {item: own for item, own in held.items() if item in kinds}
    shown = calendar(needs, days)
    items = dict.fromkeys(d.need.item for d in sorted(needs, key=lambda d: d.first))
    turnaround = inventory.days.turnaround
    counts = tuple(day_counts(item, needs, stock.get(item, ()), shown, days, turnaround) for item in items)
    problem = Problem(needs, stock, kinds, limits(needs, inventory, today), turnaround, inventory.day_cost)
    mended = remedies(problem, days, time_limit=time_limit)
    hold_against_peaks(mended, counts)
    yards = tuple(place.id for place in inventory.places)
    assignment = assign(needs, stock, Rules(inventory.days.waits, yards, today), time_limit=time_limit)
    legs, placed = transfers(needs, assignment, inventory.days, yards, today)
    return KitPlan(
        as_of=start,
        stated=inventory.stated,
        lots=tuple(lot for lot, _ in lots),
        days=shown,
        working=tuple(days.works(day) for day in shown),
        needs=tuple(d.need for d in needs),
        counts=counts,
        excess=tuple(e for one in counts for e in excesses(one, shown, needs)),
        conflicts=conflicts(lots, inventory, needs, kinds, named),
        remedies=mended,
        placed=placed,
        steps=assignment.steps,
        loads=day_loads(legs, inventory, kinds, days, time_limit=time_limit),
        moved=tuple(
            Shift(lot, by, min(d.need.first for d in needs if d.need.lot == lot))
            for lot, by in moved.items()
            if by and any(d.need.lot == lot for d in needs)
        ),
    )


def _dated(d: Demand, by: int, days: WorkingDays) -> Demand:
    """A demand later by working days, its need with the dates that this gives."""
    if not by:
        return d
    later = d.moved(by)
    free = NEVER if d.need.used_up else days.date(later.free)
    need = replace(
        d.need,
        first=days.date(later.first),
        last=days.date(later.last),
        free=free,
        why=f"{d.need.why}; moved by {by:+d} working days",
    )
    return replace(later, need=need)


def _still(d: Demand, today: int) -> bool:
    """Whether a need still matters: its kit is not yet free, and what is used up not yet all used."""
    return d.last >= today if d.need.used_up else d.free > today
