"""Counts day by day, and the textbook result that the most intervals over a point are the machines needed.

Interval scheduling on identical machines: the least number of machines is the depth, the greatest number of
intervals over one point (Kleinberg and Tardos, Algorithm Design, section 4.1, interval partitioning; from
memory). The colouring below is written out by hand, by a search that knows nothing of depth.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date, timedelta

import pytest

from planforge.kits.excess import calendar, day_counts, excesses
from planforge.kits.needs import Demand
from planforge.kits.result import DayCounts
from planforge.kits.stock import UnitClass
from planforge.kits.working_days import WorkingDays

from .sites import MONDAY, demand, inventory, units

EVERY_DAY = inventory().days.model_copy(
    update={
        "worked": ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"],
    }
)
DAYS = WorkingDays(EVERY_DAY, MONDAY)


def _counts(demands: Sequence[Demand], stock: Sequence[UnitClass], turnaround: int = 0) -> DayCounts:
    return day_counts("post", demands, stock, calendar(demands, DAYS), DAYS, turnaround)


def fewest_colours(spans: list[tuple[int, int]]) -> int:
    """The chromatic number of the intervals (first and last day, both included), by search."""

    def colours(place: int, given: list[list[tuple[int, int]]], most: int) -> bool:
        if place == len(spans):
            return True
        first, last = spans[place]
        for own in given:
            if all(last < a or b < first for a, b in own):
                own.append(spans[place])
                if colours(place + 1, given, most):
                    return True
                own.pop()
        if len(given) < most:
            given.append([spans[place]])
            if colours(place + 1, given, most):
                return True
            given.pop()
        return False

    return next(n for n in range(len(spans) + 1) if colours(0, [], n))


@pytest.mark.parametrize("seed", range(8))
def test_the_peak_is_the_least_number_of_machines(seed: int) -> None:
    draw = random.Random(seed)
    spans = []
    for _ in range(9):
        first = draw.randrange(20)
        spans.append((first, first + draw.randrange(1, 9)))
    demands = [demand(f"lot-{n}", a, b) for n, (a, b) in enumerate(spans)]
    assert max(_counts(demands, ()).short) == fewest_colours(spans)


def test_days_between_lots_tie_units_up() -> None:
    touching = [demand("a", 0, 4, 3, turnaround=2), demand("b", 6, 9, 3, turnaround=2)]
    counts = _counts(touching, [units(3)], 2)
    assert counts.on_lots == (3, 3, 3, 3, 3, 0, 3, 3, 3, 3, 0, 0)
    assert counts.turning == (0, 0, 0, 0, 0, 3, 3, 0, 0, 0, 3, 3)
    assert counts.short == (0, 0, 0, 0, 0, 0, 3, 0, 0, 0, 0, 0)
    (excess,) = excesses(counts, calendar(touching, DAYS), touching)
    assert (excess.first, excess.last, excess.short_by) == (MONDAY + timedelta(6), MONDAY + timedelta(6), 3)
    assert excess.lots == ("a", "b")


def test_a_unit_drops_out_after_its_due_date_but_may_come_down_after_it() -> None:
    use = [demand("a", 0, 4, turnaround=2)]
    due_at_the_end = _counts(use, [units(1, until=4)], 2)
    assert due_at_the_end.in_service == (1, 1, 1, 1, 1, 0, 0)
    assert not any(due_at_the_end.short)
    due_before = _counts(use, [units(1, until=3)], 2)
    assert due_before.short[-1] == 1


def test_what_is_used_up_stays_tied_up() -> None:
    once = [demand("a", 0, 2, 4, used_up=True), demand("b", 5, 6, 4, used_up=True)]
    counts = _counts(once, [units(6)])
    assert counts.on_lots == (4, 4, 4, 0, 0, 4, 4)
    assert counts.turning == (0, 0, 0, 4, 4, 4, 4)
    assert counts.short == (0, 0, 0, 0, 0, 2, 2)


def test_counts_by_lot_add_up() -> None:
    demands = [demand("a", 0, 4, 2), demand("b", 2, 6, 5), demand("a", 3, 4, 1)]
    counts = _counts(demands, [units(7)])
    assert [lot for lot, _ in counts.by_lot] == ["a", "b"]
    for day, total in enumerate(counts.on_lots):
        assert total == sum(own[day] for _, own in counts.by_lot)


def test_over_a_weekend_kit_is_not_free_yet() -> None:
    days = WorkingDays(inventory().days, MONDAY)
    use = [demand("a", 0, 4)]  # Monday to Friday
    shown = [MONDAY + timedelta(n) for n in range(8)]
    counts = day_counts("post", use, [], shown, days, 0)
    assert shown[5] == date(2026, 12, 5)  # a Saturday
    assert counts.on_lots == (1, 1, 1, 1, 1, 0, 0, 0)
    assert counts.turning == (0, 0, 0, 0, 0, 1, 1, 0)
