"""The stock against the lots' needs, day by day, and the days on which it does not suffice.

Where every unit is usable from the start and drops out, if ever, on its due date, the greatest excess of a
day is exactly how many units are lacking: read backwards in time, units only join, and whoever comes to a
need finds one free. That is the colouring of an interval graph, whose least number of colours is the
greatest number of intervals over one point (Kleinberg and Tardos, Algorithm Design, section 4.1, interval
partitioning; from memory). With units that join later the excess is a lower bound; ``remedies`` settles it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from planforge.kits.needs import Demand
from planforge.kits.result import DayCounts, Excess
from planforge.kits.stock import UnitClass
from planforge.kits.working_days import FAR, WorkingDays

Counts = NDArray[np.int64]


def calendar(demands: Sequence[Demand], days: WorkingDays) -> tuple[date, ...]:
    """Every calendar day from the first that is needed to the last that is tied up by what comes back."""
    if not demands:
        return ()
    first = min(d.need.first for d in demands)
    ends = [d.last if d.need.used_up else d.free - 1 for d in demands]
    last = max(days.date(max(ends)), *(d.need.last for d in demands))
    return tuple(first + timedelta(n) for n in range((last - first).days + 1))


def day_counts(
    item: str,
    demands: Sequence[Demand],
    stock: Sequence[UnitClass],
    calendar: Sequence[date],
    days: WorkingDays,
    turnaround: int,
) -> DayCounts:
    """One item's counts over the calendar. On a day that is not worked the stock is as on the one before it.

    Args:
        item: its id.
        demands: all demands; those of other items are passed over.
        stock: the item's classes.
        calendar: (D,) days.
        days: the working days.
        turnaround: working days that a unit still is tied up after its last day of use; its due date may
            fall among them.
    """
    own = [d for d in demands if d.need.item == item]
    number = np.array([days.at_or_before(day) for day in calendar], dtype=np.int64)
    lots = dict.fromkeys(d.need.lot for d in own)
    by_lot = tuple((lot, _on_lots(calendar, [d for d in own if d.need.lot == lot])) for lot in lots)
    on_lots = _on_lots(calendar, own)
    tied = np.zeros_like(number)
    for d in own:
        tied += d.need.quantity * ((number >= d.first) & (number < d.free))
    once = bool(own) and own[0].need.used_up
    held = np.zeros_like(number)
    lasting = np.zeros_like(number)
    for c in stock:
        held += c.quantity * ((number >= c.since) & (number <= c.until))
        lasting += c.quantity * ((number >= c.since) & (number <= _released(c, turnaround, once=once)))
    short = np.maximum(tied - lasting, 0)
    return DayCounts(
        item=item,
        name=own[0].need.name if own else item,
        in_service=_tuple(held),
        on_lots=_tuple(on_lots),
        turning=_tuple(tied - on_lots),
        short=_tuple(short),
        by_lot=tuple((lot, _tuple(counts)) for lot, counts in by_lot),
    )


def _released(c: UnitClass, turnaround: int, *, once: bool) -> int:
    """The last day on which a unit of the class can still be tied up by a use that it may serve."""
    return FAR if once or c.until == FAR else c.until + turnaround


def _on_lots(calendar: Sequence[date], demands: Sequence[Demand]) -> Counts:
    total = np.zeros(len(calendar), dtype=np.int64)
    for need in (d.need for d in demands):
        total += need.quantity * np.array(
            [need.first <= day <= need.last for day in calendar], dtype=np.int64
        )
    return total


def _tuple(counts: Counts) -> tuple[int, ...]:
    return tuple(int(n) for n in counts)


def excesses(counts: DayCounts, calendar: Sequence[date], demands: Sequence[Demand]) -> Iterator[Excess]:
    """The stretches of days on which an item is lacking, in order."""
    start: int | None = None
    for place, short in enumerate((*counts.short, 0)):
        if short and start is None:
            start = place
        elif not short and start is not None:
            stretch = counts.short[start:place]
            worst = start + stretch.index(max(stretch))
            day = calendar[worst]
            own = [d.need for d in demands if d.need.item == counts.item]
            lots = tuple(dict.fromkeys(n.lot for n in own if n.first <= day < n.free))
            yield Excess(counts.item, counts.name, calendar[start], calendar[place - 1], max(stretch), lots)
            start = None
