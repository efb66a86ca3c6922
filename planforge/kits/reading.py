"""Reading an inventory file, with every fault of it at once: file, line, field, remedy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from planforge.errors import Problem
from planforge.job.cross_references import entries, known_ids
from planforge.job.positions import FieldPath, Locator
from planforge.job.reading import Loaded, load_model
from planforge.job.serials import serials
from planforge.job.unread import where_read
from planforge.job.wording import listed, shown
from planforge.kits.inventory import Inventory, LotRules, StockItem, Truck, Unit


def load_inventory(path: Path | str) -> Loaded[Inventory]:
    """Read an inventory and what it extends. Raises JobFileError with every problem found."""
    return load_model(Path(path), Inventory, checks=check_inventory)


def check_inventory(inventory: Inventory, locator: Locator) -> Iterator[Problem]:
    """Yield what does not fit together within the file; lots are held against it in ``conflicts``."""
    yield from _places(inventory, locator)
    yield from _serials(inventory, locator)
    yield from _dates(inventory, locator)


def _places(inventory: Inventory, locator: Locator) -> Iterator[Problem]:
    for path, truck in entries(inventory, "trucks"):
        yield from _at(inventory, locator, (*path, "at"), truck)
        yield from _idle(inventory, locator, (*path, "days"), truck)
    for path, lot in entries(inventory, "lots"):
        yield from _no_place(inventory, locator, (*path, "id"), lot)


@where_read
def _at(inventory: Inventory, locator: Locator, path: FieldPath, truck: Truck) -> Iterator[Problem]:
    places = [place.id for place in inventory.places]
    if truck.at not in places:
        yield locator.problem(
            path,
            expected=f"the id of a place: {listed(places)}",
            remedy="Correct it, or add the place under places.",
        )


@where_read
def _idle(inventory: Inventory, locator: Locator, path: FieldPath, truck: Truck) -> Iterator[Problem]:
    idle = [day for day in truck.days if day not in inventory.days.worked]
    if idle:
        yield locator.problem(
            path,
            found=listed(idle, "and"),
            expected=f"days that are worked: {listed(inventory.days.worked, 'and')}",
            remedy="Take the day out, or add it under days.worked.",
        )


@where_read
def _no_place(inventory: Inventory, locator: Locator, path: FieldPath, lot: LotRules) -> Iterator[Problem]:
    if lot.id in known_ids(inventory, "places"):
        yield locator.problem(
            path,
            expected="the id of a lot, which no place has",
            remedy="Give the lot or the place another id.",
        )


def _serials(inventory: Inventory, locator: Locator) -> Iterator[Problem]:
    for path, item in entries(inventory, "stock"):
        first: dict[str, int] = {}
        for place, unit in entries(item, "units"):
            yield from _serial_once(locator, (*path, *place), first, item, unit)
        yield from _empty(locator, path, item)


@where_read
def _serial_once(
    locator: Locator, path: FieldPath, first: dict[str, int], item: StockItem, unit: Unit
) -> Iterator[Problem]:
    own = serials(unit.serial)
    twice = [s for place, s in enumerate(own) if s in first or s in own[:place]]
    if twice:
        other = first.get(twice[0])
        where = "in the same text" if other is None else f"in units[{other}]"
        yield locator.problem(
            (*path, "serial"),
            found=f"the serial {shown(twice[0])} of {item.id} a second time (also {where})",
            expected="each serial of an item once",
            remedy="Keep it where the unit is and take it out elsewhere.",
        )
    first.update(dict.fromkeys(own, int(path[-1])))


@where_read
def _empty(locator: Locator, path: FieldPath, item: StockItem) -> Iterator[Problem]:
    if not item.units and not item.counted:
        yield locator.problem(
            path,
            found=f"{item.id} without units or counted",
            expected="what the stock holds of it",
            remedy="List its units by serial, or counted with place and quantity; or delete the item.",
        )


def _dates(inventory: Inventory, locator: Locator) -> Iterator[Problem]:
    for path, unit in entries(inventory, "stock.units"):
        yield from _due(locator, (*path, "due"), unit)
        yield from _inspected(inventory, locator, (*path, "inspected"), unit)
        yield from _back(locator, (*path, "back"), unit)


@where_read
def _due(locator: Locator, path: FieldPath, unit: Unit) -> Iterator[Problem]:
    if unit.inspected is not None and unit.due is not None and unit.due < unit.inspected:
        yield locator.problem(
            path,
            expected=f"a date on or after the inspection, {shown(unit.inspected)}",
            remedy="Correct due, or the date under inspected.",
        )


@where_read
def _inspected(inventory: Inventory, locator: Locator, path: FieldPath, unit: Unit) -> Iterator[Problem]:
    if unit.inspected is not None and unit.inspected > inventory.stated:
        yield locator.problem(
            path,
            expected=f"a date on or before the file's own day, {shown(inventory.stated)}",
            remedy="State an inspection once it has been done; bring stated up to date with it.",
        )


@where_read
def _back(locator: Locator, path: FieldPath, unit: Unit) -> Iterator[Problem]:
    if unit.back is not None and unit.state != "away for inspection":
        yield locator.problem(
            path,
            found=f"back beside the state {shown(unit.state)}",
            expected="back only where the state is away for inspection",
            remedy="Correct the state, or delete back.",
        )
