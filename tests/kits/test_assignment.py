"""The assignment against a search through every way to lead single units through the needs."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest

from planforge.errors import CalculationError
from planforge.kits.assignment import Assignment, Flow, Rules, assign
from planforge.kits.inventory import DayRules
from planforge.kits.needs import Demand
from planforge.kits.stock import UnitClass
from planforge.kits.transfers import Transfer, transfers

from .sites import demand, inventory, units

YARD = ("yard",)
INSTANT: DayRules = inventory().days


def _assign(
    demands: Sequence[Demand], stock: Sequence[UnitClass], waits: int = 3, today: int = 0
) -> Assignment:
    by_item: dict[str, list[UnitClass]] = {}
    for c in stock:
        by_item.setdefault(c.item, []).append(c)
    return assign(demands, by_item, Rules(waits, YARD, today))


def _legs(
    demands: Sequence[Demand], assignment: Assignment, rules: DayRules = INSTANT, today: int = 0
) -> tuple[Transfer, ...]:
    return transfers(demands, assignment, rules, YARD, today)[0]


def _steps(assignment: Assignment) -> dict[str, float]:
    return {step.name: step.objective for step in assignment.steps}


# ------------------------------------------------------------------ every way, by search


def _ways(
    demands: Sequence[Demand], classes: Sequence[UnitClass], waits: int
) -> Iterator[tuple[int, int, int]]:
    """(lacking, runs, units from the yard) of every way to serve unit needs with single units."""
    fleet = [c for c in classes for _ in range(c.quantity)]
    order = sorted(range(len(demands)), key=lambda n: demands[n].first)

    def serve(
        place: int, chains: tuple[tuple[tuple[int, bool], ...], ...], lack: int
    ) -> Iterator[tuple[int, int, int]]:
        if place == len(order):
            yield (lack, *_cost(demands, fleet, chains))
            return
        n = order[place]
        d = demands[n]
        yield from serve(place + 1, chains, lack + 1)
        for u, chain in enumerate(chains):
            last = demands[chain[-1][0]] if chain else None
            if not fleet[u].serves(d.first, d.last) or (last is not None and last.free > d.first):
                continue
            ways = [False]
            near = last is not None and last.need.lot != d.need.lot and d.first - last.free <= waits
            if near or (last is None and fleet[u].at not in YARD):
                ways.append(True)
            for straight in ways:
                yield from serve(place + 1, (*chains[:u], (*chain, (n, straight)), *chains[u + 1 :]), lack)

    yield from serve(0, tuple(() for _ in fleet), 0)


def _cost(
    demands: Sequence[Demand],
    fleet: Sequence[UnitClass],
    chains: Sequence[Sequence[tuple[int, bool]]],
) -> tuple[int, int]:
    runs: set[tuple[str, str, int, int]] = set()
    pooled = 0
    for held, chain in zip(fleet, chains, strict=True):
        for place, (n, straight) in enumerate(chain):
            d = demands[n]
            before = demands[chain[place - 1][0]] if place else None
            if straight and before is not None:
                runs.add((before.need.lot, d.need.lot, before.last, d.first))
            elif straight and held.at != d.need.lot:
                runs.add((held.at, d.need.lot, -1, d.first))
            elif not straight:
                pooled += 1
                runs.add(("yard", d.need.lot, -1, d.first))
            after = chain[place + 1][1] if place + 1 < len(chain) else False
            if not after:
                runs.add((d.need.lot, "yard", d.last, -1))
    return len(runs), pooled


@pytest.mark.parametrize("seed", range(8))
def test_the_assignment_is_the_best_of_all_ways(seed: int) -> None:
    draw = random.Random(seed)
    turnaround = draw.randrange(2)
    demands = []
    for n in range(4):
        first = draw.randrange(14)
        demands.append(demand(f"lot-{n}", first, first + draw.randrange(1, 4), turnaround=turnaround))
    stock = [units(draw.randrange(1, 3)), units(1, kit="other", until=draw.choice([8, 99]))]
    waits = draw.randrange(5)
    best = min(_ways(demands, stock, waits))
    steps = _steps(_assign(demands, stock, waits))
    assert (steps["lacking"], steps["runs"], steps["units from the yard"]) == best


def test_units_on_a_finished_lot_go_straight_to_the_next() -> None:
    demands = [demand("b", 4, 6, 2)]
    stock = [units(2, at="a"), units(2)]
    assignment = _assign(demands, stock)
    best = min(_ways([demand("b", 4, 6), demand("b", 4, 6)], stock, 3))
    assert (0, _steps(assignment)["runs"]) == best[:2]
    (there, back) = _legs(demands, assignment)
    assert (there.origin, there.to, there.quantity) == ("a", "b", 2)
    assert (back.origin, back.to) == ("b", "yard")


# ------------------------------------------------------------------ what it keeps to


def _follows(demands: Sequence[Demand], legs: Sequence[Transfer], stock: Sequence[UnitClass]) -> None:
    """Each unit is where its next transfer begins, and each serial is in one place at a time."""
    at = {(c.item, serial): c.at for c in stock for serial in c.serials}
    for leg in sorted(legs, key=lambda one: (one.earliest, one.latest)):
        for serial in leg.serials:
            assert at[leg.item, serial] == leg.origin, (serial, leg)
            at[leg.item, serial] = leg.to
    assert set(at.values()) <= {"yard", *(d.need.lot for d in demands)}


@pytest.mark.parametrize("seed", range(4))
def test_every_serial_is_where_its_next_move_begins(seed: int) -> None:
    draw = random.Random(100 + seed)
    demands = []
    for n in range(7):
        first = draw.randrange(25)
        for item in ("post", "guy"):
            quantity = draw.randrange(1, 6)
            demands.append(demand(f"lot-{n}", first, first + 4, quantity, item=item, turnaround=1))
    stock = [
        units(n, item=item, kit=kit, at=at)
        for item, n in (("post", 4), ("guy", 5))
        for kit, at in (("A", "yard"), ("B", "yard"), ("C", "lot-3"))
    ]
    rules = INSTANT.model_copy(update={"moving": 1})
    assignment = _assign(demands, stock)
    legs, placed = transfers(demands, assignment, rules, YARD, 0)
    _follows(demands, legs, stock)
    for one in placed:
        assert sum(count for _, count, _ in one.sources) + one.unmet == one.quantity
        assert all(len(serials) == count for _, count, serials in one.sources)


def test_what_the_lot_s_inspections_name_is_used_before_what_saves_a_run() -> None:
    demands = [demand("a", 0, 3, 2), demand("b", 4, 6, 2)]
    stock = [units(2, named_by=("a",)), units(2, kit="n", named_by=("b",))]
    steps = _steps(_assign(demands, stock))
    assert (steps["not named by the lot"], steps["runs"]) == (0, 4)
    alone = _steps(_assign(demands, [units(2), units(2, kit="n")]))
    assert alone["runs"] == 3


def test_strangers_are_named_where_the_named_ones_do_not_suffice() -> None:
    demands = [demand("a", 0, 3, 3)]
    stock = [units(2, named_by=("a",)), units(2, kit="other")]
    assignment = _assign(demands, stock)
    (placed,) = transfers(demands, assignment, INSTANT, YARD, 0)[1]
    assert len(placed.not_named) == 1
    assert placed.not_named[0].startswith("other")


def test_whole_kits_stay_together() -> None:
    demands = [
        demand(lot, 0, 5, quantity, item=item)
        for lot in ("a", "b")
        for item, quantity in (("post", 2), ("guy", 3))
    ]
    stock = [
        units(quantity, item=item, kit=kit)
        for kit in ("K1", "K2")
        for item, quantity in (("post", 2), ("guy", 3))
    ]
    assert _steps(_assign(demands, stock))["parts of kits"] == 2


def test_where_something_lacks_the_earlier_lot_is_whole() -> None:
    demands = [demand("late", 2, 6, 4), demand("early", 0, 5, 4)]
    assert _assign(demands, [units(5)]).lacking == (3, 0)


def test_a_move_takes_place_between_taking_down_and_inspection() -> None:
    rules = INSTANT.model_copy(update={"taking_down": 1, "moving": 1, "inspection": 2, "waits": 9})
    demands = [demand("a", 0, 4, turnaround=4), demand("b", 11, 12, turnaround=4)]
    legs = _legs(demands, _assign(demands, [units(1)], waits=9), rules)
    straight = next(one for one in legs if (one.origin, one.to) == ("a", "b"))
    assert straight.earliest == 6  # day 5 taken down
    assert straight.latest == 8  # days 9 and 10 inspected


def test_kit_that_would_wait_too_long_goes_through_the_yard() -> None:
    demands = [demand("a", 0, 4), demand("b", 9, 12)]
    near = _legs(demands, _assign(demands, [units(1)], waits=4))
    assert ("a", "b") in {(one.origin, one.to) for one in near}
    far = _legs(demands, _assign(demands, [units(1)], waits=3))
    assert [(one.origin, one.to) for one in sorted(far, key=lambda one: one.earliest)] == [
        ("yard", "a"),
        ("a", "yard"),
        ("yard", "b"),
        ("b", "yard"),
    ]


def test_what_waits_for_its_next_lot_serves_no_other_meanwhile() -> None:
    """Runs a to b and yard to c are open for others' sake: the one y can't be on both."""
    demands = [
        demand("a", 0, 4, item="x"),
        demand("b", 8, 9, item="x"),
        demand("c", 5, 7, item="z"),
        *(demand(lot, first, last, item="y") for lot, first, last in (("a", 0, 4), ("c", 5, 7), ("b", 8, 9))),
    ]
    stock = [units(1, item=item) for item in "xyz"]
    legs, placed = transfers(demands, _assign(demands, stock), INSTANT, YARD, 0)
    assert [one.unmet for one in placed] == [0] * 6
    assert all(sum(n for _, n, _ in one.sources) == 1 for one in placed)
    _follows(demands, legs, stock)


def test_a_flow_that_takes_more_than_there_is_is_refused() -> None:
    demands = [demand("a", 0, 4), demand("b", 2, 6)]
    sound = _assign(demands, [units(1)])
    impossible = replace(sound, flows=(Flow({0: 1, 1: 1}, {}, {}),), lacking=(0, 0))
    with pytest.raises(CalculationError, match="1 post are to come from the yard to b, of which 0 are there"):
        transfers(demands, impossible, INSTANT, YARD, 0)


def test_what_is_used_up_does_not_come_back() -> None:
    demands = [
        demand("a", 0, 4, 3, item="stud", used_up=True),
        demand("b", 8, 9, 3, item="stud", used_up=True),
    ]
    assignment = _assign(demands, [units(5, item="stud")])
    assert assignment.lacking == (0, 1)
    assert {one.origin for one in _legs(demands, assignment)} == {"yard"}
