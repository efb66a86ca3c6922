"""What goes on which truck: the fewest trips of a day within payload and bed length.

Each trip serves one origin and destination. With a(t, k, j, i) pieces of item i on trip j of truck k for run
t, and b(t, k, j) = 1 where that trip is made:

    sum over k, j of a(t, k, j, i) = quantity(t, i)
    sum of weight(i) a(t, k, j, i)  <=  payload(k) b(t, k, j);   a = 0 where longest(i) > bed(k)
    sum over t, j of b(t, k, j)  <=  the truck's trips in a day

minimise the sum of b: bin packing with bins of several sizes. First fit decreasing (Johnson and others, 1974;
from memory) gives the most trips that need be looked at, and the answer where the time runs out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planforge.kits.programme import OutOfTimeError, Programme


@dataclass(frozen=True, slots=True)
class Carrier:
    """A truck as far as loading goes. Infinite where the inventory states no limit."""

    id: str
    payload: float
    bed: float
    trips: int | None


@dataclass(frozen=True, slots=True)
class Load:
    """Pieces of one item: how many, the weight of one (0 where not stated), the longest piece (likewise)."""

    item: str
    quantity: int
    weight: float
    longest: float


@dataclass(frozen=True, slots=True)
class Trip:
    """One trip for one run: the truck, and how many of each item."""

    run: int
    truck: str
    pieces: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Loading:
    """A day's trips; ``left`` are pieces that no truck takes, by run and item."""

    trips: tuple[Trip, ...]
    left: Mapping[tuple[int, str], int]
    bound: int
    proven: bool


def load_day(
    runs: Sequence[Sequence[Load]], trucks: Sequence[Carrier], *, time_limit: float | None = 10.0
) -> Loading:
    """Load the runs of a day, (R,) lists of pieces, on the trucks that can be had."""
    left = {
        (r, load.item): load.quantity
        for r, loads in enumerate(runs)
        for load in loads
        if not any(_takes(truck, load) for truck in trucks)
    }
    fitting = [[load for load in loads if (r, load.item) not in left] for r, loads in enumerate(runs)]
    rough = [_first_fit(r, loads, trucks) for r, loads in enumerate(fitting)]
    most = [len(trips) for trips in rough]
    bound = sum(_least(loads, trucks) for loads in fitting)
    trips = tuple(trip for own in rough for trip in own)
    if len(trips) == bound and _within(trips, trucks):
        return Loading(trips, left, bound, True)
    try:
        found = _exact(fitting, trucks, most, time_limit)
    except OutOfTimeError:
        found = None
    if found is not None:
        exact, least, proven = found
        return Loading(exact, left, max(least, bound), proven)
    return _curtailed(trips, trucks, left, bound)


def _takes(truck: Carrier, load: Load) -> bool:
    return load.weight <= truck.payload and load.longest <= truck.bed


def _first_fit(run: int, loads: Sequence[Load], trucks: Sequence[Carrier]) -> list[Trip]:
    """Pieces from the heaviest down, each on the first trip that takes it; the largest truck first."""
    size = sorted(trucks, key=lambda k: (-k.payload, -k.bed, k.id))
    open_: list[tuple[Carrier, float, dict[str, int]]] = []
    for load in sorted(loads, key=lambda one: (-one.weight, -one.longest, one.item)):
        remaining = load.quantity
        for place, (truck, room, pieces) in enumerate(open_):
            count = min(remaining, _fits(load, room)) if _takes(truck, load) else 0
            if count:
                pieces[load.item] = pieces.get(load.item, 0) + count
                open_[place] = (truck, room - count * load.weight, pieces)
                remaining -= count
        while remaining:
            truck = next(k for k in size if _takes(k, load))
            count = min(remaining, _fits(load, truck.payload))
            open_.append((truck, truck.payload - count * load.weight, {load.item: count}))
            remaining -= count
    return [Trip(run, truck.id, pieces) for truck, _, pieces in open_]


def _fits(load: Load, room: float) -> int:
    if load.weight <= 0.0 or math.isinf(room):
        return load.quantity
    return int(room / load.weight * (1.0 + 1e-12))


def _least(loads: Sequence[Load], trucks: Sequence[Carrier]) -> int:
    """No loading of these takes fewer trips: all of the weight on the largest truck, over and over."""
    if not loads:
        return 0
    payload = max(k.payload for k in trucks)
    weight = math.fsum(load.quantity * load.weight for load in loads)
    return max(1, 0 if math.isinf(payload) else math.ceil(weight / payload - 1e-9))


def _within(trips: Sequence[Trip], trucks: Sequence[Carrier]) -> bool:
    """Whether no truck makes more trips than it does in a day."""
    return all(k.trips is None or sum(t.truck == k.id for t in trips) <= k.trips for k in trucks)


def _exact(
    runs: Sequence[Sequence[Load]],
    trucks: Sequence[Carrier],
    most: Sequence[int],
    time_limit: float | None,
) -> tuple[tuple[Trip, ...], int, bool] | None:
    """The fewest trips, their bound, whether they are proven; None where the trucks' trips don't suffice."""
    programme = Programme()
    made: dict[tuple[int, int, int], int] = {}
    pieces: dict[tuple[int, int, int, int], int] = {}
    for r, loads in enumerate(runs):
        for k, truck in enumerate(trucks):
            own = [n for n, load in enumerate(loads) if _takes(truck, load)]
            alone = len(_first_fit(r, [loads[n] for n in own], [truck]))
            for j in range(min(max(most[r], alone), truck.trips or alone + most[r]) if own else 0):
                made[r, k, j] = programme.variable(1.0)
                weights = {made[r, k, j]: -min(truck.payload, _total(loads))}
                for n in own:
                    place = programme.variable(float(loads[n].quantity))
                    pieces[r, k, j, n] = place
                    weights[place] = loads[n].weight
                    programme.row({place: 1.0, made[r, k, j]: -float(loads[n].quantity)}, high=0.0)
                programme.row(weights, high=0.0)
                if j:
                    programme.row({made[r, k, j]: 1.0, made[r, k, j - 1]: -1.0}, high=0.0)
        for n, load in enumerate(loads):
            terms = {place: 1.0 for key, place in pieces.items() if (key[0], key[3]) == (r, n)}
            programme.row(terms, float(load.quantity), float(load.quantity))
    for k, truck in enumerate(trucks):
        if truck.trips is not None:
            terms = {place: 1.0 for key, place in made.items() if key[1] == k}
            programme.row(terms, high=float(truck.trips))
    objective = ("trips", dict.fromkeys(made.values(), 1.0))
    answer = programme.solve([objective], time_limit=time_limit)
    if answer is None:
        return None
    trips = []
    for (r, k, j), place in made.items():
        taken = {
            runs[r][n].item: int(answer.values[p])
            for (a, b, c, n), p in pieces.items()
            if (a, b, c) == (r, k, j) and answer.values[p]
        }
        if answer.values[place] and taken:
            trips.append(Trip(r, trucks[k].id, taken))
    step = answer.steps[0]
    return tuple(trips), math.ceil(step.bound - 1e-6), step.proven


def _total(loads: Sequence[Load]) -> float:
    return math.fsum(load.quantity * load.weight for load in loads)


def _curtailed(
    trips: Sequence[Trip],
    trucks: Sequence[Carrier],
    left: Mapping[tuple[int, str], int],
    bound: int,
) -> Loading:
    """First fit as far as the trucks' trips of the day go; what is on no trip is left."""
    made: dict[str, int] = {}
    most = {k.id: k.trips for k in trucks}
    kept, remaining = [], dict(left)
    for trip in trips:
        limit = most[trip.truck]
        if limit is not None and made.get(trip.truck, 0) >= limit:
            for item, count in trip.pieces.items():
                remaining[trip.run, item] = remaining.get((trip.run, item), 0) + count
            continue
        made[trip.truck] = made.get(trip.truck, 0) + 1
        kept.append(trip)
    return Loading(tuple(kept), remaining, bound, False)
