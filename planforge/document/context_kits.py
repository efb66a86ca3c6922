"""What the kit plan prints: what is lacking and what would mend it, days with their loads, hand-overs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from planforge.document.printed import DASH, Printed
from planforge.job.serials import in_words
from planforge.kits.result import CLASHES, Conflict, DayLoad, Goods, KitPlan, Move, Placed, Remedy, together

TIES: Final = "order"
"""The step that only settles ties, for the same answer to the same input; it says nothing to a reader."""


@dataclass(frozen=True, slots=True)
class ExcessRow:
    """Days on which an item is lacking."""

    item: str
    days: str
    short_by: int
    lots: str


@dataclass(frozen=True, slots=True)
class RemedyRow:
    """One way of mending it."""

    kind: str
    does: str
    amount: str
    least: str  # how far it is proven


@dataclass(frozen=True, slots=True)
class ConflictRow:
    """Statements that can't stand together (``short``), or something left open (``confirm``)."""

    verdict: str
    what: str
    item: str
    lots: str
    note: str


@dataclass(frozen=True, slots=True)
class GoodsRow:
    """One item of a load, to be ticked off at both ends."""

    item: str
    quantity: int
    serials: str
    weight: str
    longest: str


@dataclass(frozen=True, slots=True)
class LoadView:
    """One truck's trip, or what no truck takes."""

    title: str
    way: str  # the ids of both ends
    truck: str  # its id and trip
    origin: str
    to: str
    goods: tuple[GoodsRow, ...]
    weight: str
    longest: str
    verdict: str
    note: str


@dataclass(frozen=True, slots=True)
class DayView:
    """A day's loads."""

    day: str
    loads: tuple[LoadView, ...]
    trips: str


@dataclass(frozen=True, slots=True)
class HandOver:
    """What comes down on one lot on one day, and where it goes."""

    lot: str
    day: str
    rows: tuple[tuple[str, int, str, str], ...]  # item, number, serials, goes to


@dataclass(frozen=True, slots=True)
class PlacedRow:
    """Which units serve a lot's need."""

    item: str
    days: str
    quantity: int
    sources: str
    lacking: str


def kit_context(plan: KitPlan, site: str, show: Printed, names: Mapping[str, str]) -> dict[str, object]:
    """The values of the templates; ``names`` says what a lot, a place or a truck is called, by its id."""
    place = _Places(names)
    return {
        "site": site,
        "as_of": day_name(plan.as_of),
        "stated": day_name(plan.stated),
        "verdict_of_kits": plan.verdict.value,
        "count": len(plan.lots),
        "excess": tuple(
            ExcessRow(f"{e.item} · {e.name}", days(e.first, e.last), e.short_by, place.all(e.lots))
            for e in plan.excess
        ),
        "remedies": tuple(_remedy(remedy, place) for remedy in plan.remedies),
        "conflicts": tuple(_conflict(conflict, items, place) for conflict, items in together(plan.conflicts)),
        "day_views": day_views(plan, show, names),
        "by_lot": tuple(
            (place(lot), tuple(_placed(row) for row in plan.placed if row.lot == lot)) for lot in plan.lots
        ),
        "called": tuple(f"{name}: {called}" for name, called in names.items() if called != name),
        "steps": tuple(
            (step.name, f"{step.objective:g}", proof(step.proven, step.bound)) for step in plan.steps
        ),
    }


@dataclass(frozen=True, slots=True)
class _Places:
    names: Mapping[str, str]

    def __call__(self, name: str) -> str:
        """A lot, place or truck by id, with what it is called where that says more."""
        called = self.names.get(name, "")
        return f"{name} · {called}" if called and called != name else name

    def all(self, names: Iterable[str]) -> str:
        return ", ".join(names)


def day_name(day: dt.date) -> str:
    """A day with its day of the week."""
    return f"{_WEEK[day.weekday()]} {day.isoformat()}"


_WEEK: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def days(first: dt.date, last: dt.date) -> str:
    """One day or a stretch of them."""
    return day_name(first) if first == last else f"{day_name(first)} – {day_name(last)}"


def proof(proven: bool, bound: float) -> str:
    """How far a number is the least there is."""
    return "proven least" if proven else f"not proven; none below {bound:g}"


def _remedy(remedy: Remedy, place: _Places) -> RemedyRow:
    if not remedy.possible:
        return RemedyRow(remedy.kind, "nothing within the stated limits", DASH, remedy.note or DASH)
    does = [f"{extra.quantity} more {extra.item}" for extra in remedy.extra]
    does += [
        f"{shift.lot} {abs(shift.days)} working day(s) {'later' if shift.days > 0 else 'earlier'}, "
        f"kit from {day_name(shift.first)}"
        for shift in remedy.shifts
    ]
    least = "; ".join(text for text in (proof(remedy.proven, remedy.bound), remedy.note) if text)
    return RemedyRow(remedy.kind, "\n".join(does) or "nothing", f"{remedy.objective:g}", least)


def _conflict(conflict: Conflict, items: tuple[str, ...], place: _Places) -> ConflictRow:
    verdict = "short" if conflict.kind in CLASHES else "confirm"
    return ConflictRow(
        verdict, conflict.kind, "; ".join(items) or DASH, place.all(conflict.lots) or DASH, conflict.note
    )


def day_views(plan: KitPlan, show: Printed, names: Mapping[str, str]) -> tuple[DayView, ...]:
    """Every day on which something moves."""
    return tuple(_day(load, show, _Places(names)) for load in plan.loads)


def _day(load: DayLoad, show: Printed, place: _Places) -> DayView:
    return DayView(
        day=day_name(load.day),
        loads=tuple(_load(move, show, place) for move in load.moves),
        trips=f"{load.trips} trip(s), {proof(load.proven, load.bound)}",
    )


def _load(move: Move, show: Printed, place: _Places) -> LoadView:
    weight = show.mass(move.weight)
    if move.unweighed:
        weight += f" without {', '.join(move.unweighed)}, whose weight is not stated"
    return LoadView(
        title=f"{place(move.truck)}, trip {move.trip}" if move.truck else "NO TRUCK",
        way=f"{move.origin} → {move.to}",
        truck=f"{move.truck}, trip {move.trip}" if move.truck else "NO TRUCK",
        origin=place(move.origin),
        to=place(move.to),
        goods=tuple(_goods(goods, show) for goods in move.items),
        weight=weight,
        longest=show.length(move.longest, "up") if move.longest is not None else "not stated",
        verdict=move.verdict.value,
        note=move.note,
    )


def _goods(goods: Goods, show: Printed) -> GoodsRow:
    return GoodsRow(
        item=f"{goods.item} · {goods.name}",
        quantity=goods.quantity,
        serials=serial_text(goods.serials),
        weight=show.weight(goods.weight) if goods.weight is not None else DASH,
        longest=show.length(goods.longest, "up") if goods.longest is not None else DASH,
    )


def serial_text(serials: tuple[str, ...]) -> str:
    """Serial numbers in words, runs of them as ranges; all of them."""
    return in_words(serials) if serials else DASH


def hand_overs(plan: KitPlan, names: Mapping[str, str]) -> Iterator[HandOver]:
    """A sheet for each lot and day on which something leaves it."""
    place = _Places(names)
    for load in plan.loads:
        for lot in dict.fromkeys(move.origin for move in load.moves if move.origin in plan.lots):
            rows = [
                (f"{goods.item} · {goods.name}", goods.quantity, serial_text(goods.serials), move.to)
                for move in load.moves
                if move.origin == lot
                for goods in move.items
            ]
            yield HandOver(place(lot), day_name(load.day), tuple(rows))


def _placed(row: Placed) -> PlacedRow:
    sources = [
        f"{'there already' if origin == row.lot else origin}: {number}"
        + (f" ({serial_text(serials)})" if serials else "")
        for origin, number, serials in row.sources
    ]
    if row.not_named:
        sources.append(f"not named by the lot's own inspections: {serial_text(row.not_named)}")
    return PlacedRow(
        item=f"{row.item} · {row.name}",
        days=days(row.first, row.last),
        quantity=row.quantity,
        sources="\n".join(sources) or DASH,
        lacking=str(row.unmet) if row.unmet else "",
    )
