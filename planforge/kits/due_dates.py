"""The day on which a serial is due again, as the inventory states it and as the lots' inspections do.

Where they differ the difference is told, and the plan goes by the earlier day. A lot's record made before the
inspection that the inventory states is out of date: its day is told as well, and does not count.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from planforge.assess.index import Index
from planforge.assess.kit import fit_records
from planforge.job.erection import Inspection
from planforge.job.serials import in_words, serials
from planforge.kits.inventory import Inventory, Unit
from planforge.kits.needs import Lots
from planforge.kits.result import Conflict


@dataclass(frozen=True, slots=True)
class _Differs:
    item: str
    serial: str
    unit: Unit
    lot: str
    record: Inspection

    @property
    def counts(self) -> bool:
        """Whether the lot's day may hold: its record is no older than the inventory's inspection."""
        return self.unit.inspected is None or self.record.on >= self.unit.inspected


def earlier_due(lots: Lots, inventory: Inventory) -> dict[tuple[str, str], date]:
    """Serials, by item, that are due sooner by a lot's inspection than by the inventory, and on which day."""
    found: dict[tuple[str, str], date] = {}
    for one in _differing(lots, inventory):
        due, stated = one.record.due, one.unit.due
        if due is not None and stated is not None and due < stated and one.counts:
            found[one.item, one.serial] = min(due, found.get((one.item, one.serial), due))
    return found


def differing_dates(lots: Lots, inventory: Inventory) -> Iterator[Conflict]:
    """Each difference of a lot's day and the inventory's, serials that share it together."""
    found: dict[tuple[str, str, date | None, date | None, date | None, date], list[str]] = defaultdict(list)
    for one in _differing(lots, inventory):
        key = (one.item, one.lot, one.unit.due, one.record.due, one.unit.inspected, one.record.on)
        found[key].append(one.serial)
    for (item, lot, due, lot_due, inspected, on), own in found.items():
        of = f" (inspected {inspected})" if inspected else ""
        note = (
            f"Due on {due} by the inventory{of}, on {lot_due} by the inspections of {lot} (of {on}). "
            f"{_remedy(inspected, on, lot)}"
        )
        yield Conflict("due dates differ", item, in_words(tuple(own)), (lot,), note)


def _remedy(inspected: date | None, on: date, lot: str) -> str:
    if inspected is not None and inspected > on:
        return (
            f"The inventory's inspection is the newer and counts; record it under inspections of {lot} too."
        )
    if inspected == on:
        return "The earlier counts; look at that inspection's record and correct the other."
    return "The earlier counts until the inventory states that inspection too."


def _differing(lots: Lots, inventory: Inventory) -> Iterator[_Differs]:
    units = {
        (item.id, serial): unit
        for item in inventory.stock
        for unit in item.units
        for serial in serials(unit.serial)
        if unit.due is not None
    }
    for lot, job in lots:
        index = Index(job)
        for item in dict.fromkeys(record.item for record in job.inspections or []):
            for record in fit_records(index, item):
                for serial in serials(record.serial) if record.due is not None else ():
                    unit = units.get((item, serial))
                    if unit is not None and unit.due != record.due:
                        yield _Differs(item, serial, unit, lot, record)
