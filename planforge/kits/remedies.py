"""The smallest change that leaves nothing short: extra stock, other dates, or both.

With z(l, s) = 1 where lot l moves by s working days within its limits, u(i) extra units of item i, q the
number that a need n of the lot asks for, and a need tying its units up from its first day until it is free:

    sum over s of z(l, s) = 1                                for each lot l
    sum of q z(l, s) over (n, s) that tie up day t  <=  stock(i, t) + u(i)      for each item i and day t

That is exact where the item's units only drop out, or only join: an interval graph needs as many colours as
intervals lie over one point (see ``excess``). Where units of an item both join and drop out, or drop out of
what is used up, y(c, n, s) says how many of class c serve a need:

    sum over c of y(c, n, s) + e(n, s) = q z(l, s)    classes that may be used from its first to its last day
    sum of y(c, n, s) over (n, s) that tie up t <= size(c), of e(n, s) <= u(i)

Units of one class within its size on every day can be told apart again, by the same theorem. Extra units
count as usable throughout.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from planforge.errors import CalculationError
from planforge.kits.catalogue import Kind
from planforge.kits.inventory import Inventory
from planforge.kits.needs import Demand
from planforge.kits.programme import Answer, OutOfTimeError, Programme
from planforge.kits.result import DayCounts, Extra, Remedy, RemedyKind, Shift
from planforge.kits.stock import UnitClass
from planforge.kits.working_days import WorkingDays


@dataclass(frozen=True)
class Problem:
    """Needs, stock and how far each lot's dates may move."""

    demands: Sequence[Demand]
    stock: Mapping[str, Sequence[UnitClass]]
    kinds: Mapping[str, Kind]
    limits: Mapping[str, tuple[int, int]]
    """(most earlier, most later) in working days, by lot; a lot that is not named is fixed."""
    turnaround: int
    day_cost: float | None = None


def limits(demands: Sequence[Demand], inventory: Inventory, today: int) -> dict[str, tuple[int, int]]:
    """How far each lot may move. One whose kit is there already stays; none moves to before ``today``."""
    rules = {rule.id: rule for rule in inventory.lots}
    first: dict[str, int] = {}
    for d in demands:
        first[d.need.lot] = min(d.first, first.get(d.need.lot, d.first))
    return {
        lot: (min(rules[lot].earlier, start - today), rules[lot].later)
        for lot, start in first.items()
        if lot in rules and start > today
    }


@dataclass
class _Model:
    programme: Programme
    moved: dict[tuple[str, int], int] = field(default_factory=dict)
    extra: dict[str, int] = field(default_factory=dict)


def remedies(problem: Problem, days: WorkingDays, *, time_limit: float | None = None) -> tuple[Remedy, ...]:
    """Every remedy; empty where nothing is short.

    Ties go to fewer lots moved, then to moving lots late in the order handed in, then to later rather than
    earlier dates, then to items early in the order of needs.

    Args:
        problem: needs, stock and limits.
        days: the working days, to name dates.
        time_limit: seconds for each remedy.
    """
    stock = _remedy(problem, days, "extra stock", time_limit)
    if stock.possible and not stock.extra:
        return ()
    found = [stock, _remedy(problem, days, "shift", time_limit)]
    lacking = {extra.item for extra in stock.extra}
    if problem.day_cost is not None and all(problem.kinds[item].cost is not None for item in lacking):
        found.append(_remedy(problem, days, "mixture by cost", time_limit))
    else:
        found.append(_remedy(problem, days, "mixture, stock first", time_limit))
        found.append(_remedy(problem, days, "mixture, dates first", time_limit))
    return tuple(found)


def hold_against_peaks(found: Sequence[Remedy], counts: Sequence[DayCounts]) -> None:
    """Hold the extra stock of the programme against the greatest excess of a day, reckoned without it.

    Raises:
        CalculationError: it lies below, which no stock can.
    """
    stock = next((remedy for remedy in found if remedy.kind == "extra stock"), None)
    if stock is not None and not stock.possible:
        return  # the time ran out, and nothing is said of the stock
    extra = {one.item: one.quantity for one in stock.extra} if stock else {}
    for one in counts:
        peak, bought = max(one.short, default=0), extra.get(one.item, 0)
        if bought < peak:
            raise CalculationError(
                f"kits: {bought} more {one.item} by the programme, {peak} by the day it lacks most."
            )


def _remedy(problem: Problem, days: WorkingDays, kind: RemedyKind, time_limit: float | None) -> Remedy:
    model = _model(problem, kind)
    try:
        answer = model.programme.solve(_objectives(problem, model, kind), time_limit=time_limit)
    except OutOfTimeError:
        note = "The time ran out before any choice was found; give it more."
        return Remedy(kind, False, (), (), 0.0, 0.0, False, note)
    if answer is None:
        return Remedy(kind, False, (), (), 0.0, 0.0, True, _why_not(problem))
    return _read(problem, days, kind, model, answer)


def _read(problem: Problem, days: WorkingDays, kind: RemedyKind, model: _Model, answer: Answer) -> Remedy:
    shifts = []
    for (lot, by), place in model.moved.items():
        if by and answer.values[place]:
            first = min(d.first for d in problem.demands if d.need.lot == lot)
            shifts.append(Shift(lot, by, days.date(first + by)))
    extra = tuple(
        Extra(item, problem.kinds[item].name, int(answer.values[place]))
        for item, place in model.extra.items()
        if answer.values[place]
    )
    step = answer.steps[0]
    note = ""
    if kind.startswith("mixture, "):
        note = "State day_cost and the cost of each item lacking, and both are weighed against each other."
    elif kind == "mixture by cost":
        note = "Nothing without a cost in the inventory is bought."
    return Remedy(kind, True, extra, tuple(shifts), step.objective, step.bound, step.proven, note)


def _why_not(problem: Problem) -> str:
    alone = []
    for item, own in _by_item(problem.demands).items():
        held = sum(c.quantity for c in problem.stock.get(item, ()))
        most: dict[str, int] = defaultdict(int)
        for d in own:
            most[d.need.lot] += d.need.quantity
        if own[0].need.used_up and sum(most.values()) > held:
            alone.append(f"{item}: all lots use up {sum(most.values())}, the stock holds {held}")
        elif max(most.values()) > held:
            lot = max(most, key=lambda name: most[name])
            alone.append(f"{item}: {lot} alone needs {most[lot]}, the stock holds {held} that can be used")
    reason = "; ".join(alone)
    return "No dates within the limits that the lots state remove the shortage." + (
        f" {reason}." if reason else ""
    )


def _by_item(demands: Sequence[Demand]) -> dict[str, list[Demand]]:
    found: dict[str, list[Demand]] = {}
    for d in demands:
        found.setdefault(d.need.item, []).append(d)
    return found


def _model(problem: Problem, kind: RemedyKind) -> _Model:
    shifts, extra = kind != "extra stock", kind != "shift"
    priced = kind == "mixture by cost"
    model = _Model(Programme())
    for lot in dict.fromkeys(d.need.lot for d in problem.demands):
        earlier, later = problem.limits.get(lot, (0, 0)) if shifts else (0, 0)
        for by in range(-earlier, later + 1):
            model.moved[lot, by] = model.programme.variable(1.0)
        own = {place: 1.0 for (name, _), place in model.moved.items() if name == lot}
        model.programme.row(own, 1.0, 1.0)
    choices: dict[str, list[int]] = defaultdict(list)
    for lot, by in model.moved:
        choices[lot].append(by)
    for item, own_demands in _by_item(problem.demands).items():
        bought = extra and not (priced and problem.kinds[item].cost is None)
        most = sum(d.need.quantity for d in own_demands) if bought else 0
        model.extra[item] = model.programme.variable(float(most))
        options = [
            (d.moved(by), model.moved[d.need.lot, by]) for d in own_demands for by in choices[d.need.lot]
        ]
        classes = problem.stock.get(item, ())
        if _one_sided(options, classes):
            _by_day(model, item, options, classes, problem.turnaround)
        else:
            _by_class(model, item, options, classes)
    return model


_Options = Sequence[tuple[Demand, int]]
"""Needs at dates that a choice may give them, each with the variable that says so."""


def _one_sided(options: _Options, classes: Sequence[UnitClass]) -> bool:
    """Whether the units only drop out, or only join, over the days in question."""
    start, end = min(d.first for d, _ in options), max(d.last for d, _ in options)
    drops = any(c.until < end for c in classes)
    joins = any(c.since > start for c in classes)
    return not drops or (not joins and not options[0][0].need.used_up)


def _by_day(
    model: _Model, item: str, options: _Options, classes: Sequence[UnitClass], turnaround: int
) -> None:
    end = max(d.last for d, _ in options)
    ends = {c.until + turnaround + 1 for c in classes if c.until < end}
    for day in sorted({d.first for d, _ in options} | ends):
        terms = _tied(options, day)
        if terms:
            lasting = [c for c in classes if c.until >= end or day <= c.until + turnaround]
            held = sum(c.quantity for c in lasting if c.since <= day)
            model.programme.row({**terms, model.extra[item]: -1.0}, high=float(held))


def _tied(options: _Options, day: int) -> dict[int, float]:
    terms: dict[int, float] = defaultdict(float)
    for d, place in options:
        if d.first <= day < d.free:
            terms[place] += d.need.quantity
    return terms


def _by_class(model: _Model, item: str, options: _Options, classes: Sequence[UnitClass]) -> None:
    serving: list[tuple[int | None, Demand, int]] = []  # class, need at its dates, how many
    for d, chosen in options:
        own = [n for n, c in enumerate(classes) if c.serves(d.first, d.last)]
        places: list[tuple[int | None, int]] = [
            (n, model.programme.variable(float(min(classes[n].quantity, d.need.quantity)))) for n in own
        ]
        places.append((None, model.programme.variable(float(d.need.quantity))))
        terms = {place: 1.0 for _, place in places}
        model.programme.row({**terms, chosen: -float(d.need.quantity)}, 0.0, 0.0)
        serving += [(n, d, place) for n, place in places]
    for day in sorted({d.first for d, _ in options}):
        for n in (None, *range(len(classes))):
            sums = {place: 1.0 for c, d, place in serving if c == n and d.first <= day < d.free}
            if n is None:
                model.programme.row({**sums, model.extra[item]: -1.0}, high=0.0)
            elif sums:
                model.programme.row(sums, high=float(classes[n].quantity))


def _objectives(problem: Problem, model: _Model, kind: RemedyKind) -> Iterator[tuple[str, dict[int, float]]]:
    moved = {place: float(abs(by)) for (_, by), place in model.moved.items() if by}
    extra = dict.fromkeys(model.extra.values(), 1.0)
    match kind:
        case "extra stock":
            yield "extra items", extra
        case "shift":
            yield "lot-days", moved
        case "mixture, stock first":
            yield "extra items", extra
            yield "lot-days", moved
        case "mixture, dates first":
            yield "lot-days", moved
            yield "extra items", extra
        case "mixture by cost":
            yield "cost", _costs(problem, model, moved)
            yield "lot-days", moved
    if moved:
        yield "lots moved", dict.fromkeys(moved, 1.0)
    yield "order", _order(model)


def _costs(problem: Problem, model: _Model, moved: Mapping[int, float]) -> dict[int, float]:
    assert problem.day_cost is not None
    cost = {place: days * problem.day_cost for place, days in moved.items()}
    known = [kind.cost for kind in problem.kinds.values() if kind.cost is not None]
    dearest = (
        max(known, default=1.0) * 1e3
    )  # what lacks without a cost is bought last: it does not lack as dated
    for item, place in model.extra.items():
        own = problem.kinds[item].cost
        cost[place] = own if own is not None else dearest
    return cost


def _order(model: _Model) -> dict[int, float]:
    lots = list(dict.fromkeys(lot for lot, _ in model.moved))
    order = {
        place: float(2 * (len(lots) - lots.index(lot)) * abs(by) + (by < 0))
        for (lot, by), place in model.moved.items()
    }
    return {**order, **{place: float(n) for n, place in enumerate(model.extra.values(), start=1)}}
