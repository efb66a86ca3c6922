"""Pieces joined end to end: outlines from lines in any order; scipy counts the parts of their graph."""

from __future__ import annotations

import random

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from planforge.cad.chains import Chain, join


def piece(*points: tuple[float, float], handle: str = "1", closed: bool = False) -> Chain:
    return Chain(np.array([(x, y, 0.0) for x, y in points]), closed, (handle,))


@settings(deadline=None, max_examples=60)
@given(st.integers(3, 30), st.randoms(use_true_random=False))
def test_a_ring_in_any_order_and_direction(count: int, chance: random.Random) -> None:
    angles = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
    corners = [(5 * float(np.cos(a)), 5 * float(np.sin(a))) for a in angles]
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    chance.shuffle(sides)
    pieces = [
        piece(*(side if chance.random() < 0.5 else side[::-1]), handle=f"{n:X}")
        for n, side in enumerate(sides, 16)
    ]
    joined = join(pieces, 1e-4)
    (ring,) = joined.chains
    assert ring.closed
    assert not joined.forks
    assert shapely.Polygon(ring.points).area == pytest.approx(
        0.5 * count * 25 * np.sin(2 * np.pi / count), rel=1e-9
    )
    assert set(ring.handles) == {p.handle for p in pieces}


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=25, unique=True))
def test_no_length_is_lost_and_chains_break_only_at_forks(edges: list[tuple[int, int]]) -> None:
    places = [(0.0, 0.0), (3.0, 1.0), (7.0, 0.5), (2.0, 6.0), (8.0, 7.0), (5.0, 3.0)]
    distinct = sorted({(min(e), max(e)) for e in edges if e[0] != e[1]})
    pieces = [piece(places[a], places[b], handle=f"{n:X}") for n, (a, b) in enumerate(distinct, 16)]
    joined = join(pieces, 1e-4)
    assert sum(c.length for c in joined.chains) == pytest.approx(sum(p.length for p in pieces))
    ends = np.array(distinct, dtype=int).reshape(-1, 2)
    degree = np.bincount(ends.ravel(), minlength=len(places))
    graph = coo_array((np.ones(len(ends)), ends.T), shape=(len(places), len(places)))
    _, part = connected_components(graph, directed=False)
    # between places where chains must end there is one chain per run, and one ring per plain cycle
    runs = int(degree[degree != 2].sum()) // 2
    rings = sum(1 for n in set(part) if (degree[part == n] == 2).all())
    assert len(joined.chains) == runs + rings
    assert sum(c.closed for c in joined.chains) == rings
    assert len(joined.forks) == (degree > 2).sum()


def test_ends_within_the_distance_meet_and_the_move_is_told() -> None:
    joined = join([piece((0, 0), (1, 0), handle="A"), piece((1.0005, 0), (2, 0), handle="B")], 1e-3)
    (chain,) = joined.chains
    assert chain.points[:, 0].tolist() == [0, 1, 2]
    assert chain.moved == pytest.approx(5e-4)
    assert len(join([piece((0, 0), (1, 0)), piece((1.002, 0), (2, 0), handle="B")], 1e-3).chains) == 2


def test_what_is_drawn_twice_or_has_no_length_is_left_out_and_told() -> None:
    joined = join(
        [
            piece((0, 0), (1, 0), handle="A"),
            piece((1, 0), (0, 0), handle="B"),
            piece((5, 5), (5, 5), handle="C"),
            piece((0, 0), (4, 0), (4, 4), handle="D", closed=True),
            piece((4, 4), (4, 0), (0, 0), handle="E", closed=True),
        ],
        1e-4,
    )
    assert [c.handle for c in joined.chains] == ["A", "D"]
    assert [c.handle for c in joined.twice] == ["B", "E"]
    assert [c.handle for c in joined.empty] == ["C"]
