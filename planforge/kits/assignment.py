"""Which units serve which need, straight from lot to lot where dates allow: a flow with charges for runs.

For each item, class of units c, and need n: x(c, n) units serve it, of which d(c, m, n) come straight from
need m, i(c, n) from the lot where they are now, and the others from the yard; e(n) are lacking:

    sum over c of x(c, n) + e(n) = q(n)                          x only where c may be used throughout n
    d(c, m, n) summed over m, plus i(c, n)  <=  x(c, n);         d(c, m, n) summed over n  <=  x(c, m)
    x tying up day t, plus d and i waiting over it  <=  size(c)  for each day t

What a need does not pass on goes back to the yard. A run is a load from one place to another between the same
two dates; y(run) = 1 where anything goes on it. Objectives in order: fewest lacking, those at lots that begin
late, fewest not named by the lot's own inspections, fewest runs, fewest units that come from the yard. With
these runs and no more of anything before, units are then told apart by kit: fewest kits on each lot. What is
still alike is told apart in the inventory's order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from planforge.kits.needs import Demand
from planforge.kits.programme import Answer, Programme
from planforge.kits.result import Step
from planforge.kits.stock import UnitClass

Run = tuple[str, str, int, int]
"""Origin, destination, the last day of use at the origin (or -1), the day on which it is needed (or -1)."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What the assignment keeps to, in working days."""

    waits: int
    yards: tuple[str, ...]
    today: int


@dataclass(frozen=True)
class Flow:
    """How many units of a class serve a need, and where they come from."""

    serving: Mapping[int, int]
    """By need."""
    straight: Mapping[tuple[int, int], int]
    """By need and the next."""
    initial: Mapping[int, int]
    """By need: from the lot where they are."""


@dataclass(frozen=True)
class Assignment:
    """Flows by class, what is lacking by need, and how far it is proven."""

    classes: tuple[UnitClass, ...]
    flows: tuple[Flow, ...]
    lacking: tuple[int, ...]
    """By need."""
    steps: tuple[Step, ...]


@dataclass
class _Model:
    demands: Sequence[Demand]
    rules: Rules
    classes: list[UnitClass]
    programme: Programme = field(default_factory=Programme)
    serving: dict[tuple[int, int], int] = field(default_factory=dict)  # class, need
    straight: dict[tuple[int, int, int], int] = field(default_factory=dict)  # class, need, next
    initial: dict[tuple[int, int], int] = field(default_factory=dict)  # class, need
    lacking: list[int] = field(default_factory=list)
    arriving: dict[tuple[int, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    leaving: dict[tuple[int, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    back: dict[tuple[int, int], int] = field(default_factory=dict)  # class, need
    pooled: dict[tuple[int, int], int] = field(default_factory=dict)  # class, need


def assign(
    demands: Sequence[Demand],
    stock: Mapping[str, Sequence[UnitClass]],
    rules: Rules,
    *,
    time_limit: float | None = None,
) -> Assignment:
    """The best assignment of the stock to the needs as dated.

    Raises:
        OutOfTimeError: no assignment within ``time_limit`` seconds.
    """
    classes = [c for own in stock.values() for c in own]
    model = _Model(demands, rules, _without_kits(classes))
    runs = _prepare(model, None)
    answer = _solved(model, _objectives(model, runs), time_limit)
    steps = answer.steps
    if any(c.kit for c in classes):
        opened = frozenset(run for run, place in runs.items() if answer.values[place])
        whole = _Model(demands, rules, classes)
        objectives = _objectives(whole, _prepare(whole, opened))
        for (_, terms), step in zip(objectives, steps, strict=True):
            whole.programme.row(terms, high=step.objective)
        model, answer = whole, _solved(whole, [("parts of kits", _parts(whole))], time_limit)
        steps += answer.steps
    values = answer.values
    flows = tuple(
        Flow(
            {n: int(values[p]) for (c, n), p in model.serving.items() if c == k and values[p]},
            {(m, n): int(values[p]) for (c, m, n), p in model.straight.items() if c == k and values[p]},
            {n: int(values[p]) for (c, n), p in model.initial.items() if c == k and values[p]},
        )
        for k in range(len(model.classes))
    )
    lacking = tuple(int(values[p]) for p in model.lacking)
    return Assignment(tuple(model.classes), flows, lacking, steps)


def _without_kits(classes: Sequence[UnitClass]) -> list[UnitClass]:
    """The classes with those joined that differ by their kit alone."""
    found: dict[UnitClass, list[UnitClass]] = defaultdict(list)
    for c in classes:
        found[replace(c, kit="", quantity=0, serials=())].append(c)
    return [
        replace(key, quantity=sum(c.quantity for c in own), serials=tuple(s for c in own for s in c.serials))
        for key, own in found.items()
    ]


def _prepare(model: _Model, allowed: frozenset[Run] | None) -> dict[Run, int]:
    _variables(model)
    _days(model)
    return _runs(model, allowed)


def _solved(
    model: _Model, objectives: Sequence[tuple[str, dict[int, float]]], time_limit: float | None
) -> Answer:
    answer = model.programme.solve(objectives, time_limit=time_limit)
    assert answer is not None  # everything lacking is always a choice
    return answer


def _variables(model: _Model) -> None:
    """What serves which need, and the balance at each need."""
    add, row = model.programme.variable, model.programme.row
    model.lacking = [add(float(d.need.quantity)) for d in model.demands]
    by_item: dict[str, list[int]] = defaultdict(list)
    for n, d in enumerate(model.demands):
        by_item[d.need.item].append(n)
    for c, held in enumerate(model.classes):
        own = [n for n in by_item[held.item] if held.serves(model.demands[n].first, model.demands[n].last)]
        for n in own:
            model.serving[c, n] = add(float(min(held.quantity, model.demands[n].need.quantity)))
        for m in own:
            nexts = [n for n in own if _straight(model.demands[m], model.demands[n], model.rules.waits)]
            for n in nexts:
                place = add(float(held.quantity))
                model.straight[c, m, n] = place
                model.arriving[c, n].append(place)
                model.leaving[c, m].append(place)
        if held.at not in model.rules.yards:
            for n in own:
                model.initial[c, n] = add(float(held.quantity))
                model.arriving[c, n].append(model.initial[c, n])
            row({model.initial[c, n]: 1.0 for n in own}, high=float(held.quantity))
    served: dict[int, dict[int, float]] = {n: {p: 1.0} for n, p in enumerate(model.lacking)}
    for (_, n), place in model.serving.items():
        served[n][place] = 1.0
    for n, d in enumerate(model.demands):
        row(served[n], float(d.need.quantity), float(d.need.quantity))
    for (c, n), place in model.serving.items():
        _balance(model, c, n, place)


def _straight(one: Demand, other: Demand, waits: int) -> bool:
    return one.need.lot != other.need.lot and 0 <= other.first - one.free <= waits


def _balance(model: _Model, c: int, n: int, serving: int) -> None:
    """What comes to a need from the yard, and what goes back there from it."""
    add, row = model.programme.variable, model.programme.row
    arriving = dict.fromkeys(model.arriving[c, n], 1.0)
    leaving = dict.fromkeys(model.leaving[c, n], 1.0)
    upper = model.programme.upper[serving]
    model.pooled[c, n] = add(upper)
    row({**arriving, model.pooled[c, n]: 1.0, serving: -1.0}, 0.0, 0.0)
    if not model.demands[n].need.used_up:
        model.back[c, n] = add(upper)
        row({**leaving, model.back[c, n]: 1.0, serving: -1.0}, 0.0, 0.0)


def _days(model: _Model) -> None:
    """No class is tied up beyond its size on any day."""
    serving: dict[int, dict[int, int]] = defaultdict(dict)
    straight: dict[int, dict[tuple[int, int], int]] = defaultdict(dict)
    for (c, n), place in model.serving.items():
        serving[c][n] = place
    for (c, m, n), place in model.straight.items():
        straight[c][m, n] = place
    for c, held in enumerate(model.classes):
        own, moving = serving[c], straight[c]
        starts = {model.demands[n].first for n in own} | {model.demands[m].free for m, _ in moving}
        leftover = _leaves(model, held)
        for day in sorted(starts):
            terms: dict[int, float] = {
                p: 1.0 for n, p in own.items() if model.demands[n].first <= day < model.demands[n].free
            }
            for (m, n), p in moving.items():
                if model.demands[m].free <= day < model.demands[n].first:
                    terms[p] = 1.0
            room = float(held.quantity)
            # what goes to no need from the lot where it is comes to the yard once that lot is done
            early = held.at not in model.rules.yards and day < leftover
            for n in own:
                started = model.demands[n].first <= day
                if (c, n) in model.initial and started == early:
                    terms[model.initial[c, n]] = -1.0 if early else 1.0
            if early:
                room = 0.0
            model.programme.row(terms, high=room)


def _leaves(model: _Model, held: UnitClass) -> int:
    """The day from which what is left on a lot, and goes to no need from there, is in the yard."""
    if held.at in model.rules.yards:
        return model.rules.today
    frees = [d.free for d in model.demands if d.need.lot == held.at and not d.need.used_up]
    return max(frees, default=model.rules.today)


def _home(model: _Model, held: UnitClass) -> str:
    return held.at if held.at in model.rules.yards else model.rules.yards[0]


def _runs(model: _Model, allowed: frozenset[Run] | None) -> dict[Run, int]:
    """The runs that something may go on, each opened by one variable; those not allowed stay closed."""
    demands = model.demands
    loads: dict[Run, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
    for (_, m, n), place in model.straight.items():
        one, other = demands[m], demands[n]
        loads[one.need.lot, other.need.lot, one.last, other.first][other.need.item].append(place)
    for (c, n), place in model.initial.items():
        held, d = model.classes[c], demands[n]
        if held.at != d.need.lot:
            loads[held.at, d.need.lot, -1, d.first][held.item].append(place)
    for (c, n), place in model.pooled.items():
        held, d = model.classes[c], demands[n]
        loads[_home(model, held), d.need.lot, -1, d.first][held.item].append(place)
    for (c, n), place in model.back.items():
        held, d = model.classes[c], demands[n]
        loads[d.need.lot, _home(model, held), d.last, -1][held.item].append(place)
    needed: dict[tuple[str, str], float] = defaultdict(float)
    for d in demands:
        needed[d.need.lot, d.need.item] += d.need.quantity
    opened = {}
    for run, items in loads.items():
        opened[run] = model.programme.variable(float(allowed is None or run in allowed))
        for item, places in items.items():
            ends = [needed[lot, item] for lot in run[:2] if (lot, item) in needed]
            most = min(sum(model.programme.upper[p] for p in places), *ends)
            model.programme.row({**dict.fromkeys(places, 1.0), opened[run]: -most}, high=0.0)
    return opened


def _objectives(model: _Model, runs: Mapping[Run, int]) -> list[tuple[str, dict[int, float]]]:
    named_lots = {(c.item, lot) for c in model.classes for lot in c.named_by}
    stranger = {}
    for (c, n), place in model.serving.items():
        held, d = model.classes[c], model.demands[n]
        there = held.at == d.need.lot and d.first <= model.rules.today
        if (held.item, d.need.lot) in named_lots and d.need.lot not in held.named_by and not there:
            stranger[place] = 1.0
    lots = list(dict.fromkeys(d.need.lot for d in sorted(model.demands, key=lambda d: d.first)))
    early = {
        p: float(len(lots) - lots.index(d.need.lot))
        for p, d in zip(model.lacking, model.demands, strict=True)
    }
    return [
        ("lacking", dict.fromkeys(model.lacking, 1.0)),
        ("lacking early", early),
        ("not named by the lot", stranger),
        ("runs", dict.fromkeys(runs.values(), 1.0)),
        ("units from the yard", dict.fromkeys(model.pooled.values(), 1.0)),
    ]


def _parts(model: _Model) -> dict[int, float]:
    """One for each kit and lot where any of the kit serves the lot."""
    kits: dict[tuple[str, str], list[int]] = defaultdict(list)
    for (c, n), place in model.serving.items():
        if model.classes[c].kit:
            kits[model.classes[c].kit, model.demands[n].need.lot].append(place)
    parted = {}
    for places in kits.values():
        opened = model.programme.variable(1.0)
        parted[opened] = 1.0
        for place in places:
            model.programme.row({place: 1.0, opened: -model.programme.upper[place]}, high=0.0)
    return parted
