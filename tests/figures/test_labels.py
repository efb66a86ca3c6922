"""Placement of labels, as numbers."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planforge.errors import RefusedError
from planforge.figures import labels
from planforge.figures.labels import (
    LEADER_FROM,
    Wanted,
    crossing,
    overlapping,
    place_labels,
    segments_meet,
    spread,
)

FRAME = (0.0, 0.0, 600.0, 400.0)


def _no_overlaps(boxes: np.ndarray) -> bool:
    touching = overlapping(boxes, boxes)
    return not touching[~np.eye(len(boxes), dtype=bool)].any()


@pytest.mark.parametrize("seed", range(6))
def test_a_crowd_never_overlaps_and_stays_inside(seed: int) -> None:
    random = np.random.default_rng(seed)
    wanted = [
        Wanted(str(n), float(random.uniform(15, 70)), float(random.uniform(9, 24)), (float(x), float(y)))
        for n, (x, y) in enumerate(random.uniform((150, 100), (450, 300), (120, 2)))
    ]
    taken = [(float(x), float(y), float(x) + 6, float(y) + 6) for x, y in random.uniform(100, 350, (30, 2))]
    segments = random.uniform(0, 400, (60, 4))
    placed = place_labels(wanted, FRAME, taken, segments)
    boxes = np.array([p.box for p in placed])
    assert [p.key for p in placed] == [w.key for w in wanted]
    assert _no_overlaps(boxes)
    assert not overlapping(boxes, np.array(taken)).any()
    assert (boxes[:, :2] >= 0).all() and (boxes[:, 2] <= 600).all() and (boxes[:, 3] <= 400).all()
    for label, place in zip(wanted, placed, strict=True):
        width, height = place.box[2] - place.box[0], place.box[3] - place.box[1]
        assert (width, height) == pytest.approx((label.width, label.height))


def test_the_same_crowd_is_placed_the_same() -> None:
    wanted = [Wanted(str(n), 40, 10, (100 + n, 100)) for n in range(30)]
    assert place_labels(wanted, FRAME) == place_labels(wanted, FRAME)


def test_a_free_preferred_place_is_taken_without_a_leader() -> None:
    (placed,) = place_labels([Wanted("a", 40, 10, (100, 100), preferred=((200, 200),))], FRAME)
    assert placed.centre == (200, 200)
    assert placed.leader is None


def test_a_displaced_label_has_a_leader_to_what_it_names() -> None:
    wall = [(60.0, 60.0, 140.0, 140.0)]
    (placed,) = place_labels([Wanted("a", 30, 10, (100, 100))], FRAME, wall)
    assert placed.leader is not None
    x, y, at_x, at_y = placed.leader
    assert (at_x, at_y) == (100, 100)
    left, bottom, right, top = placed.box
    assert left <= x <= right and bottom <= y <= top
    assert np.hypot(x - 100, y - 100) > LEADER_FROM


def test_a_label_goes_to_the_side_that_no_line_crosses() -> None:
    line = np.array([[100.0, 100.0, 600.0, 100.0], [100.0, 100.0, 100.0, 400.0]])
    (placed,) = place_labels([Wanted("a", 30, 10, (100, 100))], FRAME, (), line)
    assert not crossing(np.array([placed.box]), line).any()


def test_a_full_frame_is_refused_by_name() -> None:
    with pytest.raises(RefusedError, match="'b'"):
        place_labels([Wanted("a", 90, 90, (50, 50)), Wanted("b", 90, 90, (50, 50))], (0, 0, 100, 100))


@pytest.mark.parametrize(
    ("segment", "touches"),
    [
        ((0, 5, 20, 5), True),  # straight through
        ((12, 2, 18, 8), True),  # inside
        ((0, 0, 9, 20), False),  # passes on the left
        ((9, 11, 21, 12), False),  # above
        ((5, -1, 25, 11), True),  # aslant through
        ((0, 8, 12, 14), False),  # its box overlaps, the line passes the corner
    ],
)
def test_crossing(segment: tuple[float, ...], touches: bool) -> None:
    box = np.array([[10.0, 0.0, 20.0, 10.0]])
    assert crossing(box, np.array([segment], dtype=float))[0, 0] == touches


def test_segments_meet() -> None:
    cross = np.array([[0.0, 0.0, 10.0, 10.0]])
    others = np.array([[0.0, 10.0, 10.0, 0.0], [20.0, 0.0, 30.0, 10.0], [0.0, 1.0, 10.0, 11.0]])
    assert segments_meet(cross, others).tolist() == [[True, False, False]]


def test_spread_keeps_order_and_distance() -> None:
    middles = spread([100, 99, 98, 20], [10, 10, 10, 10], 0, 104)
    assert middles == sorted(middles, reverse=True)
    assert min(-np.diff(middles)) >= 10
    assert middles[0] <= 99 and middles[3] == 20


def test_spread_refuses_what_cannot_fit() -> None:
    with pytest.raises(RefusedError):
        spread([5, 5, 5], [10, 10, 10], 0, 29)


@pytest.mark.parametrize("preferred", [(), ((300.0, 240.0), (260.0, 200.0))])
def test_no_place_costs_less_than_its_round_says(preferred: tuple[tuple[float, float], ...]) -> None:
    """The search ends at a round's least cost: were that too high, a better place would be passed over."""
    label = Wanted("a", 46.0, 11.0, (250.0, 200.0), preferred)
    for least, centres in labels._rounds(label, (0.0, 0.0, 500.0, 400.0)):
        boxes = labels._boxes_at(label, centres)
        cost, _ = labels._cost_of_place(label, boxes, labels._nearest(boxes, label.at))
        new = [centre not in preferred for centre in map(tuple, centres.tolist())]
        if least < labels._RINGS * labels._RING_STEP:  # the last round covers the sheet, near and far
            assert np.all(cost[new] >= least - 1e-9)


def _dearest_last(label: Wanted, candidates: np.ndarray, ground: labels._Field) -> tuple[float, int] | None:
    """The cheapest free candidate, with everything looked at of all: its cost and its number."""
    near = labels._nearest(candidates, label.at)
    cost, led = labels._cost_of_place(label, candidates, near)
    free = labels._inside(candidates, ground.frame)
    free &= ~overlapping(candidates, ground.boxes, labels.GAP).any(axis=1)
    if not label.on_lines:
        cost = cost + labels._CROSSED * crossing(candidates, ground.segments).sum(axis=1)
    leaders = np.hstack([near, np.tile(label.at, (len(near), 1))])
    over = crossing(ground.boxes, leaders).sum(axis=0)
    met = segments_meet(leaders, ground.segments).sum(axis=1)
    cost = cost + np.where(led, labels._LEADER_OVER_BOX * over + labels._LEADER_CROSSED * met, 0.0)
    if not free.any():
        return None
    number = int(np.argmin(np.where(free, cost, np.inf)))
    return float(cost[number]), number


@pytest.mark.parametrize("seed", range(12))
def test_the_cheapest_place_is_that_of_a_search_without_shortcuts(seed: int) -> None:
    random = np.random.default_rng(seed)
    corners = random.uniform(100, 400, (25, 2))
    ground = labels._Field(FRAME, np.hstack([corners, corners + 20]), random.uniform(50, 450, (40, 4)))
    for _ in range(12):
        x, y = random.uniform(120, 380, 2)
        wishes = tuple((float(x + dx), float(y + dy)) for dx, dy in random.uniform(-40, 40, (seed % 3, 2)))
        label = Wanted("a", 40.0, 11.0, (float(x), float(y)), wishes, on_lines=bool(seed % 2))
        for _, centres in labels._rounds(label, FRAME):
            boxes = labels._boxes_at(label, centres)
            expected = _dearest_last(label, boxes, ground)
            found = labels._cheapest(label, boxes, ground, np.inf)
            assert (found is None) == (expected is None)
            if found is not None and expected is not None:
                assert found == (pytest.approx(expected[0]), tuple(boxes[expected[1]]))


def test_segments_that_meet_cross_for_shapely_too() -> None:
    ends = np.random.default_rng(5).uniform(0, 100, (60, 4))
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    expected = shapely.crosses(lines[:, None], lines[None, :])
    assert segments_meet(ends, ends).tolist() == expected.tolist()
    assert 0.05 < expected.mean() < 0.95


def test_labels_asked_for_again_are_those_found_before() -> None:
    wanted = [Wanted(str(n), 40, 10, (100 + 9 * n, 100)) for n in range(9)]
    taken, lines = [(100.0, 100.0, 120.0, 110.0)], np.array([[90.0, 95.0, 200.0, 140.0]])
    first = place_labels(wanted, FRAME, taken, lines)
    assert place_labels(wanted, FRAME, taken, lines.copy()) is first
    assert place_labels(wanted, FRAME, taken, lines + 1e-12) is not first
    assert place_labels(wanted, (0.0, 0.0, 600.0, 400.5), taken, lines) is not first
    assert isinstance(first, tuple)


def test_ways_round_a_label_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        labels._ring(40.0, 10.0, 4.0, 0)[0] = 0.0
