"""The remedies against a search through every choice, on small cases."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from itertools import product

import pytest

from planforge.errors import CalculationError
from planforge.kits.needs import Demand
from planforge.kits.remedies import Problem, hold_against_peaks, limits, remedies
from planforge.kits.result import DayCounts, Remedy
from planforge.kits.stock import UnitClass
from planforge.kits.working_days import FAR, WorkingDays

from .sites import MONDAY, demand, inventory, kind, units

DAYS = WorkingDays(inventory().days, MONDAY)


def _problem(
    demands: Sequence[Demand],
    stock: Mapping[str, Sequence[UnitClass]],
    limits: Mapping[str, tuple[int, int]] | None = None,
    *,
    costs: Mapping[str, float] | None = None,
    day_cost: float | None = None,
    turnaround: int = 0,
) -> Problem:
    items = dict.fromkeys(d.need.item for d in demands)
    kinds = {item: kind(item, (costs or {}).get(item)) for item in items}
    return Problem(demands, stock, kinds, limits or {}, turnaround, day_cost)


def _by_kind(problem: Problem) -> dict[str, Remedy]:
    return {remedy.kind: remedy for remedy in remedies(problem, DAYS)}


def lacking(demands: Sequence[Demand], stock: Sequence[UnitClass]) -> int:
    """The fewest extra units for one item, by trying every unit for every piece in turn."""
    pieces = sorted(
        ((d.first, d.last, d.free) for d in demands for _ in range(d.need.quantity)), key=lambda p: p[0]
    )
    windows = [(c.since, c.until) for c in stock for _ in range(c.quantity)]

    def fits(place: int, free: tuple[int, ...], extra: tuple[int, ...], most: int) -> bool:
        if place == len(pieces):
            return True
        first, last, after = pieces[place]
        tried = set()
        for n, (since, until) in enumerate(windows):
            key = (free[n], since, until)
            if free[n] <= first and since <= first and last <= until and key not in tried:
                tried.add(key)
                if fits(place + 1, (*free[:n], after, *free[n + 1 :]), extra, most):
                    return True
        for n, ready in enumerate(extra):
            if ready <= first:
                return fits(place + 1, free, (*extra[:n], after, *extra[n + 1 :]), most)
        return len(extra) < most and fits(place + 1, free, (*extra, after), most)

    start = tuple(-FAR for _ in windows)
    return next(n for n in range(len(pieces) + 1) if fits(0, start, (), n))


def _random_case(
    seed: int, *, joins: bool
) -> tuple[list[Demand], list[UnitClass], dict[str, tuple[int, int]]]:
    draw = random.Random(seed)
    turnaround = draw.randrange(3)
    demands = []
    for n in range(4):
        first = draw.randrange(12)
        demands.append(
            demand(
                f"lot-{n}", first, first + draw.randrange(2, 7), draw.randrange(1, 3), turnaround=turnaround
            )
        )
    stock = []
    for _ in range(2):
        since = draw.choice([-FAR, draw.randrange(8)]) if joins else -FAR
        until = draw.choice([FAR, draw.randrange(8, 18)])
        stock.append(units(draw.randrange(1, 3), since=since, until=until))
    limits = {f"lot-{n}": (draw.randrange(2), draw.randrange(4)) for n in range(4)}
    return demands, stock, limits


@pytest.mark.parametrize("joins", [False, True], ids=["units drop out", "units join and drop out"])
@pytest.mark.parametrize("seed", range(6))
def test_each_remedy_is_the_best_of_all_choices(seed: int, joins: bool) -> None:
    demands, stock, limits = _random_case(seed, joins=joins)
    turnaround = demands[0].free - demands[0].last - 1
    as_dated = lacking(demands, stock)
    problem = _problem(
        demands, {"post": stock}, limits, costs={"post": 250.0}, day_cost=100.0, turnaround=turnaround
    )
    found = _by_kind(problem)
    if not as_dated:
        assert found == {}
        return
    assert found["extra stock"].objective == as_dated
    outcomes = []
    for shift in product(*(range(-a, b + 1) for a, b in limits.values())):
        moved = [d.moved(by) for d, by in zip(demands, shift, strict=True)]
        outcomes.append((lacking(moved, stock), sum(map(abs, shift))))
    possible = [days for lack, days in outcomes if not lack]
    assert found["shift"].possible == bool(possible)
    if possible:
        assert found["shift"].objective == min(possible)
    assert found["mixture by cost"].objective == min(250 * lack + 100 * days for lack, days in outcomes)
    assert all(remedy.proven for remedy in found.values())


def test_without_costs_both_orders_are_given() -> None:
    demands = [demand("a", 0, 4), demand("b", 2, 6), demand("c", 3, 5)]
    found = _by_kind(_problem(demands, {"post": [units(1)]}, {"b": (0, 3)}))
    stock_first, dates_first = found["mixture, stock first"], found["mixture, dates first"]
    assert [(e.item, e.quantity) for e in stock_first.extra] == [("post", 1)]
    assert [(s.lot, s.days) for s in stock_first.shifts] == [("b", 3)]
    assert [(e.item, e.quantity) for e in dates_first.extra] == [("post", 2)]
    assert dates_first.shifts == ()
    assert "State day_cost" in stock_first.note
    assert not found["shift"].possible


def test_the_exchange_decides_between_a_purchase_and_a_move() -> None:
    demands = [demand("a", 0, 4), demand("b", 3, 6)]
    for cost, bought, moved in ((150.0, 1, 0), (250.0, 0, 2)):
        problem = _problem(demands, {"post": [units(1)]}, {"b": (0, 5)}, costs={"post": cost}, day_cost=100.0)
        mixture = _by_kind(problem)["mixture by cost"]
        assert sum(e.quantity for e in mixture.extra) == bought
        assert sum(s.days for s in mixture.shifts) == moved
        assert mixture.objective == min(cost, 200.0)
        assert mixture.gap == 0.0


def test_one_move_can_mend_two_items() -> None:
    demands = [
        demand("a", 0, 4, 2),
        demand("a", 0, 4, 3, item="guy"),
        demand("b", 4, 6, 2),
        demand("b", 4, 6, 3, item="guy"),
    ]
    stock = {"post": [units(3)], "guy": [units(4, item="guy")]}
    found = _by_kind(_problem(demands, stock, {"b": (0, 2)}))
    assert found["extra stock"].objective == 3
    assert [(s.lot, s.days) for s in found["shift"].shifts] == [("b", 1)]


def test_ties_move_the_lot_named_last_and_later_rather_than_earlier() -> None:
    demands = [demand("a", 5, 9), demand("b", 5, 9)]
    shift = _by_kind(_problem(demands, {"post": [units(1)]}, {"a": (9, 9), "b": (9, 9)}))["shift"]
    assert [(s.lot, s.days) for s in shift.shifts] == [("b", 5)]
    again = _by_kind(_problem(demands, {"post": [units(1)]}, {"a": (9, 9), "b": (9, 9)}))["shift"]
    assert shift == again


def test_what_no_dates_can_mend_is_named() -> None:
    demands = [demand("a", 0, 4, 3), demand("b", 9, 12, 2, item="stud", used_up=True)]
    found = _by_kind(_problem(demands, {"post": [units(1)]}, {"a": (0, 9), "b": (0, 9)}))
    note = found["shift"].note
    assert "post: a alone needs 3, the stock holds 1" in note
    assert "stud: all lots use up 2, the stock holds 0" in note


def test_lots_under_way_stay_and_none_moves_into_the_past() -> None:
    own = inventory(lots=[{"id": "a", "earlier": 9, "later": 9}, {"id": "b", "earlier": 9, "later": 4}])
    found = limits([demand("a", -2, 4), demand("b", 3, 6), demand("c", 5, 6)], own, 0)
    assert found == {"b": (3, 4)}


def test_units_that_join_and_drop_out_can_lack_where_every_day_has_enough() -> None:
    """One unit to day 5 and another from day 6 are never both there: days 4 to 7 find neither."""
    stock = [units(1, until=5), units(1, since=6)]
    found = _by_kind(_problem([demand("a", 4, 7)], {"post": stock}, {"a": (0, 2)}))
    assert found["extra stock"].objective == 1
    assert [(s.lot, s.days) for s in found["shift"].shifts] == [("a", 2)]


def test_the_random_cases_ask_for_something() -> None:
    """A brute-force test that never meets a shortage would prove nothing."""
    for joins in (False, True):
        cases = [_random_case(seed, joins=joins) for seed in range(6)]
        assert sum(lacking(demands, stock) > 0 for demands, stock, _ in cases) >= 4


def test_what_is_used_up_in_time_need_not_last_beyond_its_due_date() -> None:
    once = [demand("a", 0, 4, 3, item="stud", used_up=True)]
    assert _by_kind(_problem(once, {"stud": [units(3, item="stud", until=4)]})) == {}
    late = _by_kind(_problem(once, {"stud": [units(3, item="stud", until=3)]}))
    assert late["extra stock"].objective == 3


def test_extra_stock_below_the_day_that_lacks_most_is_refused() -> None:
    found = remedies(_problem([demand("a", 0, 4, 3)], {"post": [units(1)]}), DAYS)
    (stock, *_) = found
    assert stock.objective == 2

    def lacks(number: int) -> list[DayCounts]:
        return [DayCounts("post", "post", (1, 1), (3, 3), (0, 0), (0, number), ())]

    hold_against_peaks(found, lacks(2))
    with pytest.raises(CalculationError, match="2 more post by the programme, 3 by the day"):
        hold_against_peaks(found, lacks(3))
    with pytest.raises(CalculationError, match="0 more post"):
        hold_against_peaks((), lacks(1))
