"""The cover against published optima, textbook graphs with known answers, and brute force on small
instances.
"""

from __future__ import annotations

from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest
import scipy.sparse as sp
from hypothesis import given, settings
from hypothesis import strategies as st

from planforge.proposal.cover import (
    Conflict,
    Cover,
    cliques,
    essential_rows,
    greatest_level,
    least_uncovered,
    solve,
)

CAP71 = np.loadtxt(Path(__file__).with_name("or_library_cap71.txt"))


def set_cover(rows: np.ndarray, cost: np.ndarray, **more: object) -> Cover:
    """A set-covering problem: no facilities."""
    return Cover(
        sp.csr_matrix(rows.astype(float)),
        sp.csr_matrix((rows.shape[1], 0)),
        np.asarray(cost, dtype=float),
        np.empty(0),
        **more,  # type: ignore[arg-type]
    )


def facility_location(cost: np.ndarray, fixed: np.ndarray, *, most: int | None = None) -> Cover:
    """Customers (rows) by facilities (columns): each pair is an option; ``most`` facilities may open."""
    customers, facilities = cost.shape
    option = np.arange(customers * facilities)
    covers = sp.csr_matrix((np.ones(len(option)), (option // facilities, option)))
    needs = sp.csr_matrix((np.ones(len(option)), (option, option % facilities)))
    limit = () if most is None else (Conflict(facilities=tuple(range(facilities)), limit=most),)
    return Cover(covers, needs, cost.ravel(), fixed, limit)


# The fixed cost in each of the problems and its optimum, from the library's file `uncapopt`; the serving
# costs are the same in all four. Their fixed costs are 7500, 12500, 17500 and 25000, that of warehouse 11 is
# 0.
@pytest.mark.parametrize(
    ("fixed", "optimum"),
    [(7500, 932615.750), (12500, 977799.400), (17500, 1010641.450), (25000, 1034976.975)],
)
def test_uncapacitated_warehouse_location_of_the_or_library(fixed: float, optimum: float) -> None:
    opening = np.full(16, float(fixed))
    opening[10] = 0.0
    answer = solve(facility_location(CAP71, opening))
    assert answer is not None and answer.proven
    assert answer.objective == pytest.approx(optimum, abs=5e-3)
    assert answer.bound == answer.objective
    assert answer.gap == 0.0


def test_queens_that_guard_a_chessboard() -> None:
    """Five queens dominate the 8 x 8 board: W. W. Rouse Ball, Mathematical Recreations and Essays."""
    squares = list(product(range(8), repeat=2))
    sees = np.array([[a == c or b == d or abs(a - c) == abs(b - d) for c, d in squares] for a, b in squares])
    answer = solve(set_cover(sees, np.ones(64)))
    assert answer is not None and answer.proven
    assert answer.objective == 5.0


def test_dominating_set_of_the_petersen_graph() -> None:
    """Its domination number is 3 (Haynes, Hedetniemi, Slater, Fundamentals of Domination; from memory)."""
    vertices = list(combinations(range(5), 2))
    near = np.array([[set(u).isdisjoint(v) or u == v for v in vertices] for u in vertices])
    answer = solve(set_cover(near, np.ones(10)))
    assert answer is not None
    assert answer.objective == 3.0


@pytest.mark.parametrize(("medians", "total"), [(1, 12.0), (2, 6.0), (3, 4.0)])
def test_medians_of_a_path(medians: int, total: float) -> None:
    """p-median of seven places a unit apart: by hand, 3+2+1+0+1+2+3; two blocks of 3 and 4; three of 2, 2,
    3.
    """
    at = np.arange(7.0)
    answer = solve(facility_location(np.abs(at[:, None] - at), np.zeros(7), most=medians))
    assert answer is not None
    assert answer.objective == total
    assert len(answer.facilities) <= medians


RANDOM = st.integers(0, 10_000)


@given(RANDOM)
@settings(max_examples=60, deadline=None)
def test_small_covers_as_by_brute_force(seed: int) -> None:
    """Every choice of options and facilities is tried: same cost, or none in both."""
    rng = np.random.default_rng(seed)
    rows, options, facilities = int(rng.integers(1, 5)), int(rng.integers(1, 7)), int(rng.integers(1, 4))
    covers = rng.random((rows, options)) < 0.5
    needs = rng.random((options, facilities)) < 0.5
    cost, opening = rng.integers(1, 9, options).astype(float), rng.integers(0, 9, facilities).astype(float)
    pair = tuple(int(n) for n in rng.choice(options, 2, replace=False)) if options > 1 else ()
    conflicts = (Conflict(options=pair),) if pair else ()
    barred = (int(rng.integers(options)),) if rng.random() < 0.3 else ()
    cover = Cover(
        sp.csr_matrix(covers.astype(float)),
        sp.csr_matrix(needs.astype(float)),
        cost,
        opening,
        conflicts,
        barred=barred,
    )
    best = np.inf
    for choice in product((False, True), repeat=options):
        x = np.array(choice)
        allowed = not x[list(barred)].any() and not (pair and x[list(pair)].all())
        if allowed and np.all(covers @ x >= 1):
            best = min(best, float(cost @ x + opening @ (needs.T @ x > 0)))
    answer = solve(cover)
    if np.isinf(best):
        assert answer is None
    else:
        assert answer is not None
        assert answer.objective == pytest.approx(best)


@given(RANDOM)
@settings(max_examples=40, deadline=None)
def test_covering_the_essential_rows_covers_all(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows = rng.random((8, 6)) < 0.4
    kept = essential_rows(rows)
    for choice in product((False, True), repeat=6):
        x = np.array(choice)
        assert np.all(rows[kept] @ x >= 1) == np.all(rows @ x >= 1)


def test_what_is_fixed_stays_and_what_is_barred_is_left_out() -> None:
    rows = np.array([[1, 1, 0], [0, 1, 1]])
    cheap = solve(set_cover(rows, np.array([5.0, 1.0, 5.0])))
    assert cheap is not None and cheap.options.tolist() == [1]
    barred = solve(set_cover(rows, np.array([5.0, 1.0, 5.0]), barred=(1,)))
    assert barred is not None and barred.options.tolist() == [0, 2]
    fixed = solve(set_cover(rows, np.array([5.0, 1.0, 5.0]), fixed_options=(0,)))
    assert fixed is not None and fixed.options.tolist() == [0, 1]
    assert solve(set_cover(rows, np.ones(3), barred=(0, 1))) is None


def test_least_uncovered_leaves_the_lightest_rows() -> None:
    """Options 0 and 1 exclude each other; each covers one row: the lighter one stays open."""
    rows = np.array([[1, 0], [0, 1]])
    cover = set_cover(rows, np.ones(2), conflicts=(Conflict(options=(0, 1)),))
    assert solve(cover) is None
    assert least_uncovered(cover, np.array([2.0, 1.0])).tolist() == [1]


def test_greatest_level_is_found_by_bisection() -> None:
    rows = np.array([[1, 1, 0], [0, 1, 1]])
    margins = np.array([0.5, 0.2, 0.4])

    def works(level: float) -> object:
        return solve(set_cover(rows, np.ones(3), barred=tuple(np.flatnonzero(margins < level).tolist())))

    found = greatest_level(margins, works)  # type: ignore[arg-type]
    assert found is not None
    level, answer = found
    assert level == 0.4
    assert answer.options.tolist() == [0, 2]


@given(RANDOM)
@settings(max_examples=60, deadline=None)
def test_greatest_level_is_the_same_from_the_top_and_with_answers_that_do_better(seed: int) -> None:
    """The level named is the greatest that works, whatever the order in which levels are tried."""
    rng = np.random.default_rng(seed)
    levels = np.round(rng.uniform(0.0, 1.0, int(rng.integers(1, 12))), 2)
    most = float(rng.uniform(-0.2, 1.2))
    tried: list[float] = []

    def works(level: float) -> float | None:
        tried.append(level)
        return float(rng.uniform(level, most)) if level <= most else None

    expected = max((float(v) for v in levels if v <= most), default=None)
    for near in (False, True):
        for reached in (lambda _: -np.inf, lambda answer: answer):
            found = greatest_level(levels, works, reached, near_the_top=near)  # type: ignore[arg-type]
            assert (None if found is None else found[0]) == expected
    assert len(tried) <= 4 * 2 * (np.log2(len(levels)) + 2)


@given(RANDOM)
@settings(max_examples=40, deadline=None)
def test_cliques_hold_every_pair_and_no_other(seed: int) -> None:
    rng = np.random.default_rng(seed)
    every = list(combinations(range(9), 2))
    pairs = [p for p in every if rng.random() < 0.5]
    held = {p for clique in cliques(pairs) for p in combinations(clique, 2)}
    assert held == set(pairs)
