"""Where the lots' jobs and the inventory can't stand together, and what they leave open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import combinations

from planforge.assess.index import Index
from planforge.assess.kit import fit_records
from planforge.assess.kit_load import uncounted
from planforge.job.serials import in_words, serials
from planforge.kits.catalogue import Kind
from planforge.kits.due_dates import differing_dates, earlier_due
from planforge.kits.inventory import Inventory, Unit
from planforge.kits.needs import Demand, Lots
from planforge.kits.result import Conflict
from planforge.kits.stock import usable
from planforge.units import Display


def named_by(lots: Lots) -> dict[tuple[str, str], frozenset[str]]:
    """The lots whose inspections found a serial fit, by item and serial."""
    found: dict[tuple[str, str], set[str]] = defaultdict(set)
    for lot, job in lots:
        index = Index(job)
        for item in dict.fromkeys(record.item for record in job.inspections or []):
            for record in fit_records(index, item):
                for serial in serials(record.serial):
                    found[item, serial].add(lot)
    return {key: frozenset(names) for key, names in found.items()}


def taken_out(lots: Lots, inventory: Inventory) -> dict[tuple[str, str], tuple[str, date]]:
    """Serials in service by the inventory that a lot's inspection removed since: the lot and the day.

    The inventory clears one by an inspection of its own after that day, another lot by finding it fit then.
    """
    last: dict[tuple[str, str], tuple[date, bool, str]] = {}
    for lot, job in lots:
        for record in job.inspections or []:
            for serial in serials(record.serial):
                key, new = (record.item, serial), (record.on, record.result == "removed", lot)
                last[key] = max(last.get(key, new), new)
    found = {}
    for item in inventory.stock:
        for unit in item.units:
            for serial in serials(unit.serial):
                on, removed, lot = last.get((item.id, serial), (date.min, False, ""))
                cleared = unit.inspected is not None and unit.inspected > on
                if removed and usable(unit) and not cleared:
                    found[item.id, serial] = (lot, on)
    return found


def conflicts(
    lots: Lots,
    inventory: Inventory,
    demands: Sequence[Demand],
    kinds: Mapping[str, Kind],
    named: Mapping[tuple[str, str], frozenset[str]],
) -> tuple[Conflict, ...]:
    """Every conflict; serials with the same one are named together."""
    uses = _uses(demands)
    units = {
        (item.id, serial): unit
        for item in inventory.stock
        for unit in item.units
        for serial in serials(unit.serial)
    }
    with_serials = {item.id for item in inventory.stock if item.units}
    return (
        *_wanted_twice(named, uses),
        *_not_usable(named, uses, units, with_serials, earlier_due(lots, inventory)),
        *_located_elsewhere(named, uses, units),
        *_taken_out(taken_out(lots, inventory)),
        *differing_dates(lots, inventory),
        *_undated(units, kinds),
        *_differ(kinds, Display(lots[0][1].site.units if lots else "us")),
        *_unknown_places(lots, inventory),
        *(
            Conflict(
                "item not in stock",
                kind.id,
                "",
                tuple(dict.fromkeys(d.need.lot for d in demands if d.need.item == kind.id)),
                f"The inventory holds no {kind.id}; add it under stock, or correct the id.",
            )
            for kind in kinds.values()
            if kind.id not in {item.id for item in inventory.stock}
        ),
        *(
            Conflict(
                "number not settled",
                item.id,
                "",
                (lot,),
                f"{lot} lists several harnesses and does not say who wears which; {item.id} is not counted.",
            )
            for lot, job in lots
            for item in uncounted(Index(job))
        ),
    )


def _uses(demands: Sequence[Demand]) -> dict[tuple[str, str], tuple[date, date, date]]:
    """By item and lot: the first day, the last, and the day it is free."""
    uses: dict[tuple[str, str], tuple[date, date, date]] = {}
    for need in (d.need for d in demands):
        first, last, free = uses.get((need.item, need.lot), (need.first, need.last, need.free))
        uses[need.item, need.lot] = (min(first, need.first), max(last, need.last), max(free, need.free))
    return uses


def _wanted_twice(
    named: Mapping[tuple[str, str], frozenset[str]],
    uses: Mapping[tuple[str, str], tuple[date, date, date]],
) -> Iterator[Conflict]:
    found: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for (item, serial), lots in named.items():
        for one, other in combinations(sorted(lots), 2):
            a, b = uses.get((item, one)), uses.get((item, other))
            if a and b and a[0] < b[2] and b[0] < a[2]:
                found[item, one, other].append(serial)
    for (item, one, other), own in found.items():
        a, b = uses[item, one], uses[item, other]
        yield Conflict(
            "serial wanted by two lots",
            item,
            in_words(tuple(sorted(own))),
            (one, other),
            f"{one} names it for {a[0]} to {a[1]} and {other} for {b[0]} to {b[1]}, with less than the days "
            "between lots left. Name other serials under inspections of one of them.",
        )


def _not_usable(
    named: Mapping[tuple[str, str], frozenset[str]],
    uses: Mapping[tuple[str, str], tuple[date, date, date]],
    units: Mapping[tuple[str, str], Unit],
    with_serials: set[str],
    sooner: Mapping[tuple[str, str], date],
) -> Iterator[Conflict]:
    missing: dict[tuple[str, str], list[str]] = defaultdict(list)
    out: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    late: dict[tuple[str, str, date], list[str]] = defaultdict(list)
    for (item, serial), lots in named.items():
        unit = units.get((item, serial))
        due = sooner.get((item, serial), unit.due if unit else None)
        for lot in sorted(lots):
            use = uses.get((item, lot))
            if unit is None:
                missing[item, lot].append(serial)
            elif not usable(unit) or (unit.back is not None and use is not None and unit.back > use[0]):
                out[item, lot, unit.state].append(serial)
            elif use is not None and due is not None and due < use[1]:
                late[item, lot, due].append(serial)
    for (item, lot), own in missing.items():
        why = (
            "The inventory holds other serials of it"
            if item in with_serials
            else "The inventory holds no serials of it"
        )
        note = f"{lot} found it fit. {why}; add it under stock, or correct the serial."
        yield Conflict("serial not in the inventory", item, in_words(tuple(own)), (lot,), note)
    for (item, lot, state), own in out.items():
        note = f"{lot} names it, the inventory says: {state}. Name another under inspections of {lot}."
        yield Conflict("serial not in service", item, in_words(tuple(own)), (lot,), note)
    for (item, lot, due), own in late.items():
        note = (
            f"{lot} uses it to {uses[item, lot][1]}, its inspection is due on {due}. "
            "Inspect it again before, and state the new dates, or name another."
        )
        yield Conflict("serial due before the use ends", item, in_words(tuple(own)), (lot,), note)


def _located_elsewhere(
    named: Mapping[tuple[str, str], frozenset[str]],
    uses: Mapping[tuple[str, str], tuple[date, date, date]],
    units: Mapping[tuple[str, str], Unit],
) -> Iterator[Conflict]:
    found: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for (item, serial), unit in units.items():
        there = uses.get((item, unit.at))
        for lot in sorted(named.get((item, serial), frozenset()) - {unit.at}):
            use = uses.get((item, lot))
            if there and use and use[0] < there[2] and there[0] < use[2]:
                found[item, unit.at, lot].append(serial)
    for (item, at, lot), own in found.items():
        yield Conflict(
            "serial located on a lot that another lot names it for",
            item,
            in_words(tuple(own)),
            (at, lot),
            f"It is on {at}, which needs this item to {uses[item, at][1]}, and {lot} names it from "
            f"{uses[item, lot][0]}. Name others for {lot}, or state where it really is.",
        )


def _taken_out(out: Mapping[tuple[str, str], tuple[str, date]]) -> Iterator[Conflict]:
    found: dict[tuple[str, str, date], list[str]] = defaultdict(list)
    for (item, serial), (lot, on) in out.items():
        found[item, lot, on].append(serial)
    for (item, lot, on), own in found.items():
        note = (
            f"{lot} removed it on {on}; the inventory has it in service. It is not planned with: correct "
            "its state, or state the inspection that cleared it since."
        )
        yield Conflict("serial not in service", item, in_words(tuple(own)), (lot,), note)


def _undated(units: Mapping[tuple[str, str], Unit], kinds: Mapping[str, Kind]) -> Iterator[Conflict]:
    found: dict[str, list[str]] = defaultdict(list)
    for (item, serial), unit in units.items():
        if unit.due is None and usable(unit) and item in kinds and kinds[item].worn:
            found[item].append(serial)
    for item, own in found.items():
        note = "It is planned with as if never due; state under due when it is to be inspected next."
        yield Conflict("due date not stated", item, in_words(tuple(own)), (), note)


def _differ(kinds: Mapping[str, Kind], show: Display) -> Iterator[Conflict]:
    for kind in kinds.values():
        if len(kind.names) > 1:
            note = f"Lots call it {' and '.join(kind.names)}; give different things different ids."
            yield Conflict("statements differ", kind.id, "", (), note)
        if len(kind.weights) > 1:
            note = (
                f"Lots state weights from {show.mass(kind.weights[0])} to {show.mass(kind.weights[-1])}; "
                "the greatest is taken. Weigh one."
            )
            yield Conflict("statements differ", kind.id, "", (), note)


def _unknown_places(lots: Lots, inventory: Inventory) -> Iterator[Conflict]:
    known = {lot for lot, _ in lots} | {place.id for place in inventory.places}
    at: dict[str, list[str]] = defaultdict(list)
    for item in inventory.stock:
        for place in (*(unit.at for unit in item.units), *(goods.at for goods in item.counted)):
            if place not in known:
                at[place].append(item.id)
    for place, items in at.items():
        note = (
            f"{', '.join(dict.fromkeys(items))}: {place} is neither a place of the inventory nor a lot here."
        )
        yield Conflict("lot not known", "", "", (place,), note + " Correct it, or add the lot.")
    for rule in inventory.lots:
        if rule.id not in known:
            note = "The inventory has rules for it; no lot here has this id."
            yield Conflict("lot not known", "", "", (rule.id,), note)
