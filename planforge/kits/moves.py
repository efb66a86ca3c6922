"""The moves of each day: transfers gathered by day, origin and destination, loaded on trucks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import fsum, inf

from planforge.assess.finding import Verdict, vouched, worst
from planforge.kits.catalogue import Kind
from planforge.kits.inventory import Inventory, Truck
from planforge.kits.result import DayLoad, Goods, Move
from planforge.kits.transfers import Transfer
from planforge.kits.trucks import Carrier, Load, Loading, load_day
from planforge.kits.working_days import FAR, WorkingDays, weekday

_SEARCHED = 30
"""Working days that are looked through for a truck to bring kit back to its yard."""


@dataclass(frozen=True, slots=True)
class _Run:
    origin: str
    to: str
    transfers: tuple[Transfer, ...]


def day_loads(
    transfers: Sequence[Transfer],
    inventory: Inventory,
    kinds: Mapping[str, Kind],
    days: WorkingDays,
    *,
    time_limit: float | None = 10.0,
) -> tuple[DayLoad, ...]:
    """Every day's moves, in order.

    What is taken from a lot goes on the first day within its bounds on which a truck can be had, what comes
    from a yard on the last. Where no day within the bounds has a truck it goes on that day without one.
    """
    places = [place.id for place in inventory.places]
    by_day: dict[int, dict[tuple[str, str], list[Transfer]]] = defaultdict(lambda: defaultdict(list))
    for one in transfers:
        by_day[_day(one, inventory, days, from_yard=one.origin in places)][one.origin, one.to].append(one)
    found = []
    for number in sorted(by_day):
        runs = [_Run(origin, to, tuple(own)) for (origin, to), own in sorted(by_day[number].items())]
        found.append(_load(days.date(number), runs, inventory, kinds, time_limit))
    return tuple(found)


def _trucks(inventory: Inventory, day: date) -> list[Truck]:
    """The trucks of a day; one without payload or bed stated serves only where no other can be had."""
    had = [truck for truck in inventory.trucks if not truck.days or weekday(day) in truck.days]
    stated = [truck for truck in had if truck.payload is not None and truck.bed is not None]
    return stated or had


def _day(one: Transfer, inventory: Inventory, days: WorkingDays, *, from_yard: bool) -> int:
    latest = one.earliest + _SEARCHED if one.latest == FAR else max(one.latest, one.earliest)
    order = range(latest, one.earliest - 1, -1) if from_yard else range(one.earliest, latest + 1)
    for number in order:
        if _trucks(inventory, days.date(number)):
            return number
    return latest if from_yard else one.earliest


def _load(
    day: date,
    runs: Sequence[_Run],
    inventory: Inventory,
    kinds: Mapping[str, Kind],
    time_limit: float | None,
) -> DayLoad:
    trucks = _trucks(inventory, day)
    carriers = [
        Carrier(
            truck.id,
            truck.payload.value if truck.payload else inf,
            truck.bed.value if truck.bed else inf,
            truck.trips,
        )
        for truck in trucks
    ]
    loads = [_pieces(run, kinds) for run in runs]
    if carriers:
        loading = load_day(loads, carriers, time_limit=time_limit)
    else:
        left = {(r, load.item): load.quantity for r, own in enumerate(loads) for load in own}
        loading = Loading((), left, 0, False)
    moves = tuple(_moves(day, runs, loading, trucks, kinds))
    return DayLoad(day, moves, len(loading.trips), loading.bound, loading.proven and not loading.left)


def _pieces(run: _Run, kinds: Mapping[str, Kind]) -> list[Load]:
    count: dict[str, int] = defaultdict(int)
    for one in run.transfers:
        count[one.item] += one.quantity
    return [
        Load(item, quantity, kinds[item].weight or 0.0, kinds[item].longest or 0.0)
        for item, quantity in count.items()
    ]


def _moves(
    day: date,
    runs: Sequence[_Run],
    loading: Loading,
    trucks: Sequence[Truck],
    kinds: Mapping[str, Kind],
) -> Iterator[Move]:
    """A move for each trip, and one without a truck for what is left of a run; serials in their order."""
    serials = {
        (r, item): [s for one in run.transfers if one.item == item for s in one.serials]
        for r, run in enumerate(runs)
        for item in {one.item for one in run.transfers}
    }
    made: dict[str, int] = defaultdict(int)
    known = {truck.id: truck for truck in trucks}
    for r, run in enumerate(runs):
        for trip in (trip for trip in loading.trips if trip.run == r):
            made[trip.truck] += 1
            goods = _goods(r, trip.pieces, serials, kinds)
            yield _move(day, run, goods, known[trip.truck], made[trip.truck])
        left = {item: count for (run_, item), count in loading.left.items() if run_ == r}
        if left:
            yield _move(day, run, _goods(r, left, serials, kinds), None, 0)


def _goods(
    run: int,
    pieces: Mapping[str, int],
    serials: Mapping[tuple[int, str], list[str]],
    kinds: Mapping[str, Kind],
) -> tuple[Goods, ...]:
    found = []
    for item in (name for name in kinds if name in pieces):
        count = pieces[item]
        own = serials[run, item]
        taken = tuple(own[:count])
        del own[:count]
        kind = kinds[item]
        weight = None if kind.weight is None else count * kind.weight
        found.append(Goods(item, kind.name, count, taken, weight, kind.longest))
    return tuple(found)


def _move(day: date, run: _Run, goods: tuple[Goods, ...], truck: Truck | None, trip: int) -> Move:
    unweighed = tuple(one.item for one in goods if one.weight is None)
    unmeasured = tuple(one.item for one in goods if one.longest is None)
    longest = None if unmeasured else max(one.longest or 0.0 for one in goods)
    notes = []
    if truck is None:
        verdict = Verdict.SHORT
        notes.append("No truck takes this on that day: state another truck or day, or divide the piece.")
    else:
        lacking = [name for name in ("payload", "bed") if getattr(truck, name) is None]
        verdict = worst(
            vouched(Verdict.MEETS, truck.payload),
            vouched(Verdict.MEETS, truck.bed),
            Verdict.CONFIRM if unweighed or unmeasured or lacking else Verdict.MEETS,
        )
        if lacking:
            notes.append(f"State {' and '.join(lacking)} of {truck.id}.")
        unsourced = [n for n in ("payload", "bed") if (v := getattr(truck, n)) and v.source is None]
        if unsourced:
            notes.append(f"Name the source of {' and '.join(unsourced)} of {truck.id}.")
    if unweighed:
        notes.append(f"Weight not stated: {', '.join(unweighed)}.")
    if unmeasured:
        notes.append(f"Longest piece not stated: {', '.join(unmeasured)}.")
    return Move(
        day=day,
        origin=run.origin,
        to=run.to,
        items=goods,
        weight=fsum(one.weight or 0.0 for one in goods),
        unweighed=unweighed,
        longest=longest,
        truck=truck.id if truck else None,
        trip=trip,
        verdict=verdict,
        note=" ".join(notes),
    )
