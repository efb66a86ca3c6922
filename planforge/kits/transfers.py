"""The assignment unit by unit: which serial goes where, and between which two working days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from planforge.errors import CalculationError
from planforge.kits.assignment import Assignment, Flow
from planforge.kits.inventory import DayRules
from planforge.kits.needs import Demand
from planforge.kits.result import Placed
from planforge.kits.stock import UnitClass
from planforge.kits.working_days import FAR


@dataclass(frozen=True, slots=True)
class Transfer:
    """Units of one item that go from one place to another, not before and not after two working days."""

    item: str
    origin: str
    to: str
    quantity: int
    serials: tuple[str, ...]
    earliest: int
    latest: int
    """FAR for what goes back to a yard: no use waits for it there."""


@dataclass
class _Unit:
    """One unit on its way; ``serial`` is empty for counted goods."""

    serial: str
    place: str
    need: int | None = None  # that it served last
    free: int = -FAR  # when it is in the yard, ready


@dataclass
class _Journal:
    """What the units of all classes do."""

    demands: Sequence[Demand]
    rules: DayRules
    today: int
    legs: dict[tuple[str, str, str, int, int], list[str]] = field(default_factory=lambda: defaultdict(list))
    came: dict[int, dict[str, list[str]]] = field(default_factory=lambda: defaultdict(dict))
    strangers: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))

    def leg(self, item: str, unit: _Unit, to: str, earliest: int, latest: int) -> None:
        if unit.place != to:
            self.legs[item, unit.place, to, earliest, latest].append(unit.serial)
        unit.place = to

    def ready(self, need: int) -> int:
        """The first working day on which what served a need may be driven away."""
        return self.demands[need].last + self.rules.taking_down + (self.rules.moving > 0)


def transfers(
    demands: Sequence[Demand],
    assignment: Assignment,
    rules: DayRules,
    yards: tuple[str, ...],
    today: int,
) -> tuple[tuple[Transfer, ...], tuple[Placed, ...]]:
    """Every transfer in order of time, and for each need what serves it and where that comes from."""
    journal = _Journal(demands, rules, today)
    named = {(c.item, lot) for c in assignment.classes for lot in c.named_by}
    for held, flow in zip(assignment.classes, assignment.flows, strict=True):
        _follow(journal, held, flow, yards, named)
    found = [
        Transfer(item, origin, to, len(serials), tuple(sorted(s for s in serials if s)), earliest, latest)
        for (item, origin, to, earliest, latest), serials in journal.legs.items()
    ]
    return tuple(found), tuple(_placed(journal, assignment.lacking))


def _follow(
    journal: _Journal,
    held: UnitClass,
    flow: Flow,
    yards: tuple[str, ...],
    named: set[tuple[str, str]],
) -> None:
    """Lead each unit of a class through its needs, in order of time, the first serials first."""
    demands, home = journal.demands, held.at if held.at in yards else yards[0]
    names = held.serials or ("",) * held.quantity
    units = [_Unit(name, held.at) for name in names]
    waiting = [] if held.at in yards else list(units)  # on a lot, not yet used
    pool = list(units) if held.at in yards else []
    reserved: dict[tuple[int, int], list[_Unit]] = {}
    if waiting:
        keep = sum(flow.initial.values())
        over = waiting[keep:]
        waiting = waiting[:keep]
        frees = [n for n, d in enumerate(demands) if d.need.lot == held.at and not d.need.used_up]
        last = max(frees, key=lambda n: demands[n].free, default=None)
        for unit in over:
            earliest = journal.today if last is None else max(journal.ready(last), journal.today)
            journal.leg(held.item, unit, home, earliest, FAR)
            unit.free = journal.today if last is None else demands[last].free
        pool += over
    for n in sorted(flow.serving, key=lambda n: (demands[n].first, n)):
        d = demands[n]
        serving = []
        for m in sorted(m for m, to in flow.straight if to == n):
            for unit in reserved.pop((m, n)):
                _note(journal, n, unit, unit.place)
                latest = d.first - journal.rules.inspection - (journal.rules.moving > 0)
                journal.leg(held.item, unit, d.need.lot, max(journal.ready(m), journal.today), latest)
                serving.append(unit)
        for unit in waiting[: flow.initial.get(n, 0)]:
            _note(journal, n, unit, unit.place)
            journal.leg(held.item, unit, d.need.lot, journal.today, max(d.first, journal.today))
            serving.append(unit)
        waiting = waiting[flow.initial.get(n, 0) :]
        missing = flow.serving[n] - len(serving)
        ready = [unit for unit in pool if unit.free <= d.first][:missing]
        if len(ready) < missing:
            raise CalculationError(
                f"kits: {missing} {held.item} are to come from the yard to {d.need.lot}, of which "
                f"{len(ready)} are there; nothing is planned from this."
            )
        for unit in ready:
            _note(journal, n, unit, home)
            earliest = max(unit.free, journal.today)
            journal.leg(held.item, unit, d.need.lot, earliest, max(d.first, journal.today))
        pool = [unit for unit in pool if not any(unit is one for one in ready)]
        serving += ready
        if (held.item, d.need.lot) in named and d.need.lot not in held.named_by:
            journal.strangers[n] += [unit.serial for unit in serving]
        if d.need.used_up:
            continue
        for to in sorted(to for m, to in flow.straight if m == n):
            count = flow.straight[n, to]
            reserved[n, to], serving = serving[:count], serving[count:]
        for unit in serving:
            journal.leg(held.item, unit, home, max(journal.ready(n), journal.today), FAR)
            unit.free = d.free
        pool += serving


def _note(journal: _Journal, need: int, unit: _Unit, place: str) -> None:
    journal.came[need].setdefault(place, []).append(unit.serial)


def _placed(journal: _Journal, lacking: Sequence[int]) -> Iterator[Placed]:
    for n, d in enumerate(journal.demands):
        came: Mapping[str, list[str]] = journal.came.get(n, {})
        yield Placed(
            lot=d.need.lot,
            item=d.need.item,
            name=d.need.name,
            first=d.need.first,
            last=d.need.last,
            quantity=d.need.quantity,
            sources=tuple(
                (place, len(own), tuple(sorted(s for s in own if s))) for place, own in came.items()
            ),
            unmet=lacking[n],
            not_named=tuple(sorted(s for s in journal.strangers.get(n, []) if s)),
        )
