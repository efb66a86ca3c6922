"""The stock as classes of units that are alike: where they are, with which kit, from when to when usable."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from planforge.job.serials import serials
from planforge.kits.inventory import Inventory, StockItem, Unit
from planforge.kits.working_days import FAR, WorkingDays


@dataclass(frozen=True, slots=True)
class UnitClass:
    """Units of one item that may stand in for each other."""

    item: str
    at: str
    """The place or lot where they are."""
    kit: str
    """The kit that they are kept with; empty for none."""
    since: int
    """The first working day on which they can be used."""
    until: int
    """The last one; FAR where they are never due."""
    named_by: frozenset[str]
    """The lots whose inspections name them."""
    quantity: int
    serials: tuple[str, ...]
    """In order; empty for counted goods."""

    def serves(self, first: int, last: int) -> bool:
        """Whether they may be used from one working day to another."""
        return self.since <= first and last <= self.until


Named = Mapping[tuple[str, str], frozenset[str]]
"""The lots whose inspections found a serial fit, by item and serial."""


def usable(unit: Unit) -> bool:
    """Whether a unit can be planned with: in service, or away with a day on which it is back."""
    return unit.state == "in service" or (unit.state == "away for inspection" and unit.back is not None)


def classes(
    inventory: Inventory,
    days: WorkingDays,
    named: Named,
    out: Collection[tuple[str, str]] = (),
    sooner: Mapping[tuple[str, str], date] = MappingProxyType({}),
) -> dict[str, tuple[UnitClass, ...]]:
    """The classes of units by item, in the order of the file; unusable units are in none.

    ``out`` are units, by item and serial, that are out of service whatever the inventory says; ``sooner``
    those that are due before the day that it states.
    """
    return {item.id: tuple(_classes(item, days, named, out, sooner)) for item in inventory.stock}


def _classes(
    item: StockItem,
    days: WorkingDays,
    named: Named,
    out: Collection[tuple[str, str]],
    sooner: Mapping[tuple[str, str], date],
) -> Iterator[UnitClass]:
    found: dict[tuple[str, str, int, int, frozenset[str]], list[str]] = defaultdict(list)
    for unit in item.units:
        if not usable(unit):
            continue
        since = -FAR if unit.back is None else days.at_or_after(unit.back)
        for serial in (s for s in serials(unit.serial) if (item.id, s) not in out):
            due = sooner.get((item.id, serial), unit.due)
            until = FAR if due is None else days.at_or_before(due)
            lots = named.get((item.id, serial), frozenset())
            found[unit.at, unit.kit or "", since, until, lots].append(serial)
    for (at, kit, since, until, lots), own in found.items():
        yield UnitClass(item.id, at, kit, since, until, lots, len(own), tuple(own))
    for goods in item.counted:
        until = FAR if goods.due is None else days.at_or_before(goods.due)
        yield UnitClass(item.id, goods.at, "", -FAR, until, frozenset(), goods.quantity, ())
