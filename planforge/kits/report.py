"""The kit plan in words for a terminal, and as plain data for programs."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from planforge.job.serials import in_words
from planforge.kits.needs import NEVER
from planforge.kits.result import CLASHES, DayLoad, Goods, KitPlan, Move, Need, Remedy, Shift, together
from planforge.units import Display


def record(plan: KitPlan) -> dict[str, Any]:
    """Everything as plain data: numbers in SI, dates year-month-day, null for a day that never comes."""
    data: dict[str, Any] = _plain(dataclasses.asdict(plan))
    return {"verdict": plan.verdict.value, **data}


def _plain(value: Any) -> Any:
    match value:
        case dict():
            return {key: _plain(item) for key, item in value.items()}
        case list() | tuple():
            return [_plain(item) for item in value]
        case date():
            return None if value == NEVER else value.isoformat()
        case _:
            return value


def report(plan: KitPlan, show: Display) -> Iterator[str]:
    """Lines: needs, shortages, conflicts, remedies, moves, how far it is proven, the verdict."""
    yield f"Kits from {plan.as_of}, {len(plan.lots)} lot(s); where everything is, as stated on {plan.stated}."
    yield from _open_dates(plan)
    yield from _section("Needs", _needs(plan.needs))
    yield from _section("Shortages", _shortages(plan) if plan.remedies else ["none: the stock suffices"])
    yield from _section("Conflicts and open statements", _conflicts(plan))
    if plan.remedies:
        yield from _section("What would mend it", [_remedy(remedy) for remedy in plan.remedies])
    yield from _section("Lacking after the best assignment", _lacking(plan))
    yield from _section("Units that the lot's inspections don't name: record them there", _strangers(plan))
    yield from _section("Moves", [line for load in plan.loads for line in _day(load, show)])
    yield from _section("How far the assignment is proven", [_step(plan, n) for n in range(len(plan.steps))])
    yield ""
    yield f"Kits: {plan.verdict.value}. The coordinator decides; nothing here releases a line or a truck."


def _open_dates(plan: KitPlan) -> Iterator[str]:
    """What the plan's days rest on beyond the files' own dates."""
    for shift in plan.moved:
        yield (
            f"A trial: {shift.lot} {moved(shift)}, first kit on {shift.first}. Its job states other dates: "
            "change them there if it is to hold."
        )
    if plan.as_of > plan.stated and any(need.first < plan.as_of for need in plan.needs):
        yield (
            "confirm: kit has gone to lots since the inventory was stated; bring stated and every at up to "
            "date. Until then it is taken to be where the inventory says."
        )


def moved(shift: Shift) -> str:
    """How a lot's dates are moved, in words."""
    return f"{abs(shift.days)} working day(s) {'later' if shift.days > 0 else 'earlier'}"


def _section(title: str, lines: Iterator[str] | Sequence[str]) -> Iterator[str]:
    own = list(lines)
    if own:
        yield ""
        yield title
        yield from (f"  {line}" for line in own)


def _needs(needs: Sequence[Need]) -> Iterator[str]:
    """A line for each lot and stretch of days; what is used up apart."""
    groups: dict[tuple[str, date, date, date], list[str]] = {}
    for need in needs:
        key = (need.lot, need.first, need.last, need.free)
        groups.setdefault(key, []).append(f"{need.quantity} {need.item}")
    for (lot, first, last, free), items in groups.items():
        after = "used up" if free == NEVER else f"free for another lot from {free}"
        yield f"{lot}: {first} to {last}, {after}: {', '.join(items)}"


def _shortages(plan: KitPlan) -> Iterator[str]:
    for excess in plan.excess:
        yield (
            f"short: {excess.item} ({excess.name}): {excess.short_by} lacking, {excess.first} to "
            f"{excess.last}: {', '.join(excess.lots)}"
        )
    stock = next(remedy for remedy in plan.remedies if remedy.kind == "extra stock")
    peak = {excess.item for excess in plan.excess}
    for extra in stock.extra:
        if extra.item not in peak:
            yield (
                f"short: {extra.item} ({extra.name}): {extra.quantity} lacking, though each day by itself "
                "has enough: no unit is in service from the first day of a use to its last"
            )


def _conflicts(plan: KitPlan) -> Iterator[str]:
    """A line for each clash; the items of one between the same lots for the same reason in one line."""
    for conflict, items in together(plan.conflicts):
        verdict = "short" if conflict.kind in CLASHES else "confirm"
        about = ": ".join(part for part in (", ".join(conflict.lots), "; ".join(items)) if part)
        yield f"{verdict}: {conflict.kind}: {about}: {conflict.note}"


def _remedy(remedy: Remedy) -> str:
    if not remedy.possible:
        return f"{remedy.kind}: {remedy.note}"
    parts = [f"{extra.quantity} more {extra.item}" for extra in remedy.extra]
    parts += [f"{shift.lot} {moved(shift)}, first kit on {shift.first}" for shift in remedy.shifts]
    proof = proven(remedy.objective, remedy.bound, remedy.gap, is_proven=remedy.proven)
    note = f" {remedy.note}" if remedy.note else ""
    return f"{remedy.kind}: {'; '.join(parts) or 'nothing'} ({proof}).{note}"


def proven(value: float, bound: float, gap: float, *, is_proven: bool) -> str:
    """A value with its bound and the gap between them, in words."""
    if is_proven:
        return f"{value:g}, bound {bound:g}, gap 0: proven the least"
    return f"{value:g}, bound {bound:g}, gap {100 * gap:.0f}%: the time ran out"


def _lacking(plan: KitPlan) -> Iterator[str]:
    for placed in plan.placed:
        if placed.unmet:
            yield (
                f"short: {placed.lot}: {placed.unmet} of {placed.quantity} {placed.item} lacking, "
                f"{placed.first} to {placed.last}"
            )


def _strangers(plan: KitPlan) -> Iterator[str]:
    for lot in plan.lots:
        own = [f"{p.item} {in_words(p.not_named)}" for p in plan.placed if p.lot == lot and p.not_named]
        if own:
            yield f"{lot}: {'; '.join(own)}"


def _day(load: DayLoad, show: Display) -> Iterator[str]:
    gap = "" if load.proven else f", at least {load.bound}: the fewest is not proven"
    yield f"{load.day:%A} {load.day}: {load.trips} trip(s){gap}"
    for move in load.moves:
        yield f"  {_move(move, show)}"


def _move(move: Move, show: Display) -> str:
    truck = f"{move.truck}, trip {move.trip}" if move.truck else "no truck"
    longest = "longest piece not stated" if move.longest is None else f"longest {show.length(move.longest)}"
    goods = "; ".join(_goods(one) for one in move.items)
    note = f" {move.note}" if move.note else ""
    way = f"{move.origin} to {move.to}"
    return f"{move.verdict.value}: {way}, {truck}, {show.mass(move.weight)}, {longest}: {goods}.{note}"


def _goods(goods: Goods) -> str:
    named = f" ({in_words(goods.serials)})" if goods.serials else ""
    return f"{goods.quantity} {goods.item}{named}"


def _step(plan: KitPlan, number: int) -> str:
    step = plan.steps[number]
    gap = abs(step.objective - step.bound) / max(abs(step.objective), 1e-12)
    return f"{step.name}: {proven(step.objective, step.bound, gap, is_proven=step.proven)}"
