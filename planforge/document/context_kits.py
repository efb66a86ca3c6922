"""What the kit plan prints: what is lacking and what would mend it, days with their loads, hand-overs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from planforge.document.printed import DASH, Printed
from planforge.job.model import Job
from planforge.job.serials import in_words
from planforge.kits.inventory import Inventory, Truck
from planforge.kits.result import (
    CLASHES,
    Conflict,
    Goods,
    KitPlan,
    Move,
    Placed,
    Remedy,
    RemedyKind,
    together,
)


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
    strange: str  # of these, serials that the lot's own inspections don't name
    weight: str
    longest: str


@dataclass(frozen=True, slots=True)
class LotFacts:
    """What a load sheet tells of the lot that it goes to; empty where its job does not state it."""

    called: str
    plan: str
    gate: str
    meets: str  # who receives it, and their telephone
    arrives: str


@dataclass(frozen=True, slots=True)
class LoadView:
    """One truck's trip, or what no truck takes."""

    title: str
    way: str  # the ids of both ends
    truck: str  # its id and trip
    origin: str
    to: str
    facts: LotFacts | None  # None where it goes to a yard
    lacking: str  # what the lot it goes to lacks all the same
    goods: tuple[GoodsRow, ...]
    weight: str
    payload: str
    longest: str
    bed: str
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


@dataclass(frozen=True, slots=True)
class KitFacts:
    """What the document tells beside the plan: lots and trucks by their ids, and what each is called."""

    names: Mapping[str, str]
    lots: Mapping[str, LotFacts]
    trucks: Mapping[str, Truck]


def kit_facts(jobs: Mapping[str, Job], inventory: Inventory) -> KitFacts:
    """From the lots' jobs by the lots' ids, and the inventory."""
    lots = {lot: _lot_facts(job) for lot, job in jobs.items()}
    names = {lot: facts.called for lot, facts in lots.items()}
    names |= {place.id: place.name for place in inventory.places}
    names |= {truck.id: truck.name for truck in inventory.trucks}
    return KitFacts(names, lots, {truck.id: truck for truck in inventory.trucks})


def _lot_facts(job: Job) -> LotFacts:
    lead = next((person for person in job.people if person.id == job.roles.erection_lead), None)
    meets = "" if lead is None else ", ".join(text for text in (lead.name, lead.phone) if text)
    return LotFacts(
        called=job.site.address or job.site.lot,
        plan=f"{job.plan.number} revision {job.plan.revision}",
        gate=job.site.gate or "",
        meets=meets,
        arrives=job.delivery.arrives if job.delivery else "",
    )


def kit_context(plan: KitPlan, site: str, show: Printed, facts: KitFacts) -> dict[str, object]:
    """The values of the templates."""
    place = _Places(facts.names)
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
        "without": tuple((lot, lacking, first) for lot, lacking, first in _without(plan)),
        "remedies": tuple(_remedy(remedy) for remedy in plan.remedies),
        "conflicts": tuple(_conflict(conflict, items, place) for conflict, items in together(plan.conflicts)),
        "day_views": day_views(plan, show, facts),
        "by_lot": tuple(
            (place(lot), tuple(_placed(row) for row in plan.placed if row.lot == lot)) for lot in plan.lots
        ),
        "called": tuple(f"{name}: {called}" for name, called in facts.names.items() if called != name),
        "steps": tuple(
            (STEPS[s.name], f"{s.objective:g}", proof(s.proven, s.bound))
            for s in plan.steps
            if s.name in STEPS
        ),
    }


STEPS: Final[Mapping[str, str]] = {
    "lacking": "pieces that lots go without",
    "not named by the lot": "pieces that the lot's own inspections do not name",
    "runs": "ways from one place to another",
    "units from the yard": "pieces that come from a yard",
    "parts of kits": "parts into which kits are divided",
}
"""The steps of the choice that say something to a reader; the rest settle ties."""


def _without(plan: KitPlan) -> Iterator[tuple[str, str, str]]:
    """Each lot that goes without something: its id, what it lacks, and from when."""
    for lot in plan.lots:
        own = [placed for placed in plan.placed if placed.lot == lot and placed.unmet]
        if own:
            yield lot, lacking_text(own), day_name(min(placed.first for placed in own))


def lacking_text(placed: Iterable[Placed]) -> str:
    """What lacks of needs, in words."""
    return ", ".join(f"{one.unmet} of {one.quantity} {one.item}" for one in placed if one.unmet)


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


UNITS: Final[Mapping[RemedyKind, str]] = {
    "extra stock": "pieces",
    "shift": "working days of lots",
    "mixture, stock first": "pieces",
    "mixture, dates first": "working days of lots",
    "mixture by cost": "in the money of the inventory",
}


def _remedy(remedy: Remedy) -> RemedyRow:
    if not remedy.possible:
        return RemedyRow(remedy.kind, "nothing within the stated limits", DASH, remedy.note or DASH)
    does = [f"{extra.quantity} more {extra.item}" for extra in remedy.extra]
    does += [
        f"{shift.lot} {abs(shift.days)} working day(s) {'later' if shift.days > 0 else 'earlier'}, "
        f"kit from {day_name(shift.first)}"
        for shift in remedy.shifts
    ]
    least = "; ".join(text for text in (proof(remedy.proven, remedy.bound), remedy.note) if text)
    amount = f"{remedy.objective:,.12g} {UNITS.get(remedy.kind, '')}".strip()
    return RemedyRow(remedy.kind, "\n".join(does) or "nothing", amount, least)


def _conflict(conflict: Conflict, items: tuple[str, ...], place: _Places) -> ConflictRow:
    verdict = "short" if conflict.kind in CLASHES else "confirm"
    return ConflictRow(
        verdict, conflict.kind, "; ".join(items) or DASH, place.all(conflict.lots) or DASH, conflict.note
    )


def day_views(plan: KitPlan, show: Printed, facts: KitFacts) -> tuple[DayView, ...]:
    """Every day on which something moves."""
    return tuple(
        DayView(
            day=day_name(load.day),
            loads=tuple(_load(move, plan, show, facts) for move in load.moves),
            trips=f"{load.trips} trip(s), {proof(load.proven, load.bound)}",
        )
        for load in plan.loads
    )


def _load(move: Move, plan: KitPlan, show: Printed, facts: KitFacts) -> LoadView:
    place, truck = _Places(facts.names), facts.trucks.get(move.truck or "")
    weight = show.mass(move.weight)
    if move.unweighed:
        weight += f" without {', '.join(move.unweighed)}, whose weight is not stated"
    own = [placed for placed in plan.placed if placed.lot == move.to]
    strange = {placed.item: frozenset(placed.not_named) for placed in own}
    return LoadView(
        title=f"{place(move.truck)}, trip {move.trip}" if move.truck else "NO TRUCK",
        way=f"{move.origin} → {move.to}",
        truck=f"{move.truck}, trip {move.trip}" if move.truck else "NO TRUCK",
        origin=place(move.origin),
        to=place(move.to),
        facts=facts.lots.get(move.to),
        lacking=lacking_text(own),
        goods=tuple(_goods(goods, strange.get(goods.item, frozenset()), show) for goods in move.items),
        weight=weight,
        payload=show.mass(truck.payload.value) if truck and truck.payload else "",
        longest=show.length(move.longest, "up") if move.longest is not None else "not stated",
        bed=show.length(truck.bed.value, "down") if truck and truck.bed else "",
        verdict=move.verdict.value,
        note=move.note,
    )


def _goods(goods: Goods, strange: frozenset[str], show: Printed) -> GoodsRow:
    return GoodsRow(
        item=f"{goods.item} · {goods.name}",
        quantity=goods.quantity,
        serials=serial_text(goods.serials),
        strange=in_words(tuple(serial for serial in goods.serials if serial in strange)),
        weight=show.weight(goods.weight) if goods.weight is not None else DASH,
        longest=show.length(goods.longest, "up") if goods.longest is not None else DASH,
    )


def serial_text(serials: tuple[str, ...]) -> str:
    """Serial numbers in words, runs of them as ranges; all of them."""
    return in_words(serials) if serials else DASH


def hand_overs(plan: KitPlan, facts: KitFacts) -> Iterator[HandOver]:
    """A sheet for each lot and day on which something leaves it."""
    place = _Places(facts.names)
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
