"""The fewest trips against a search through every packing, and trucks that are too short or too small."""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import inf

import pytest

from planforge.kits.trucks import Carrier, Load, Loading, load_day

BIG, SMALL = Carrier("big", 1000.0, 6.0, None), Carrier("small", 400.0, 3.0, None)


def _pieces(loads: Sequence[Load]) -> list[tuple[float, float]]:
    return [(load.weight, load.longest) for load in loads for _ in range(load.quantity)]


def fewest(pieces: list[tuple[float, float]], trucks: Sequence[Carrier]) -> int:
    """The fewest trips for one run, by trying every trip for every piece."""

    def packs(place: int, trips: tuple[tuple[float, float], ...], most: int) -> bool:
        if place == len(pieces):
            return True
        weight, longest = pieces[place]
        for n, (room, bed) in enumerate(trips):
            left = (*trips[:n], (room - weight, bed), *trips[n + 1 :])
            if weight <= room and longest <= bed and packs(place + 1, left, most):
                return True
        return len(trips) < most and any(
            packs(place + 1, (*trips, (k.payload - weight, k.bed)), most)
            for k in trucks
            if weight <= k.payload and longest <= k.bed
        )

    return next(n for n in range(len(pieces) + 1) if packs(0, (), n))


def _holds(loading: Loading, runs: Sequence[Sequence[Load]], trucks: Sequence[Carrier]) -> None:
    """Every trip is within its truck, and everything travels or is named as left."""
    known = {k.id: k for k in trucks}
    for trip in loading.trips:
        own = {load.item: load for load in runs[trip.run]}
        assert sum(own[i].weight * n for i, n in trip.pieces.items()) <= known[trip.truck].payload + 1e-9
        assert all(own[i].longest <= known[trip.truck].bed for i in trip.pieces)
    for r, loads in enumerate(runs):
        for load in loads:
            carried = sum(t.pieces.get(load.item, 0) for t in loading.trips if t.run == r)
            assert carried + loading.left.get((r, load.item), 0) == load.quantity


@pytest.mark.parametrize("seed", range(8))
def test_the_trips_are_the_fewest_there_are(seed: int) -> None:
    draw = random.Random(seed)
    loads = [
        Load(
            f"i{n}", draw.randrange(1, 4), draw.choice([180.0, 260.0, 390.0, 510.0]), draw.choice([2.0, 5.0])
        )
        for n in range(4)
    ]
    loading = load_day([loads], [BIG, SMALL])
    _holds(loading, [loads], [BIG, SMALL])
    assert len(loading.trips) == fewest(_pieces(loads), [BIG, SMALL])
    assert loading.proven
    assert loading.bound == len(loading.trips)


def test_first_fit_alone_would_take_a_trip_more() -> None:
    """440 + 350 + 210 and 440 + 350 + 190 are two trips of 1000; first fit decreasing pairs 440 with 440."""
    loads = [
        Load("a", 1, 210.0, 1.0),
        Load("b", 1, 190.0, 1.0),
        Load("c", 2, 350.0, 1.0),
        Load("d", 2, 440.0, 1.0),
    ]
    loading = load_day([loads], [BIG])
    _holds(loading, [loads], [BIG])
    assert len(loading.trips) == 2
    assert loading.proven


def test_a_piece_that_no_truck_takes_is_left_and_named() -> None:
    loads = [Load("long", 2, 50.0, 7.0), Load("heavy", 1, 1200.0, 1.0), Load("fine", 3, 50.0, 1.0)]
    loading = load_day([loads], [BIG, SMALL])
    assert loading.left == {(0, "long"): 2, (0, "heavy"): 1}
    assert [dict(t.pieces) for t in loading.trips] == [{"fine": 3}]


def test_long_pieces_go_on_the_long_bed() -> None:
    loads = [Load("long", 1, 50.0, 5.0)]
    small_first = [Carrier("small", 2000.0, 3.0, None), BIG]
    assert [t.truck for t in load_day([loads], small_first).trips] == ["big"]


def test_a_day_s_trips_are_shared_among_runs() -> None:
    one = Carrier("one", 1000.0, 6.0, 2)
    runs = [[Load("a", 2, 900.0, 1.0)], [Load("b", 1, 300.0, 1.0)]]
    loading = load_day(runs, [one])
    assert not loading.proven
    assert len(loading.trips) == 2
    assert sum(loading.left.values()) == 1
    helped = load_day(runs, [one, SMALL])
    assert helped.proven
    assert helped.left == {}
    assert sorted(t.truck for t in helped.trips) == ["one", "one", "small"]


def test_without_a_stated_weight_one_trip_is_counted() -> None:
    loading = load_day([[Load("a", 40, 0.0, 0.0)]], [Carrier("t", inf, inf, None)])
    assert len(loading.trips) == 1
