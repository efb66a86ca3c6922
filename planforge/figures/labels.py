"""Where labels go: near what they name, inside the frame, over no other box, across few lines.

Pure geometry in points. A box is (left, bottom, right, top); a segment is (x1, y1, x2, y2).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from planforge.calc.arrays import Array, Bools
from planforge.errors import RefusedError

Box = tuple[float, float, float, float]

GAP = 1.5
"""Clear space kept between boxes, points."""
LEADER_FROM = 9.0
"""A box whose nearest point lies farther than this from what it names gets a leader, points.
A box at a preferred place needs none: it stands plainly beside what it names."""

_DIRECTIONS = 16
_RING_STEP = 7.0
_RINGS = 26
_CROSSED = 22.0  # points of distance that crossing one line weighs
_NOT_PREFERRED = 12.0
_LED = 6.0  # a leader costs this alone
_LEADER_CROSSED = 5.0
_LEADER_OVER_BOX = 45.0
_KEPT = 1024  # drawings, and sizes of labels, for which what was found is kept


@dataclass(frozen=True, slots=True)
class Wanted:
    """A label to place: its size and what it names; ``preferred`` are centres to try first."""

    key: str
    width: float
    height: float
    at: tuple[float, float]
    preferred: tuple[tuple[float, float], ...] = ()
    gap: float = 4.0  # between what it names and the box
    on_lines: bool = False  # a mark that may sit on the line it belongs to


@dataclass(frozen=True, slots=True)
class Placed:
    """A label's box, and the leader from its edge to what it names where it stands apart."""

    key: str
    box: Box
    leader: tuple[float, float, float, float] | None = None

    @property
    def centre(self) -> tuple[float, float]:
        """The middle of the box."""
        return (self.box[0] + self.box[2]) / 2, (self.box[1] + self.box[3]) / 2


@dataclass
class _Field:
    """What is taken so far."""

    frame: Box
    boxes: Array
    segments: Array


def place_labels(
    wanted: Sequence[Wanted], frame: Box, taken: Sequence[Box] = (), segments: Array | None = None
) -> tuple[Placed, ...]:
    """Place labels in their order, the first with the freest choice.

    No box overlaps another or one of ``taken``, and all lie in ``frame``. Segments, shape (m, 4), and
    other labels' leaders are crossed only where every way round is longer.

    Raises:
        RefusedError: the frame has no room left for a label.
    """
    boxes = np.asarray(taken, dtype=float).tobytes()
    lines = b"" if segments is None else np.asarray(segments, dtype=float).tobytes()
    return _all_placed(tuple(wanted), frame, boxes, lines)


@lru_cache(maxsize=_KEPT)
def _all_placed(wanted: tuple[Wanted, ...], frame: Box, taken: bytes, lines: bytes) -> tuple[Placed, ...]:
    """Where labels go: lots of one design ask the same. ``taken``, ``lines``: the bytes of arrays (n, 4)."""
    ground = _Field(frame, np.frombuffer(taken).reshape(-1, 4), np.frombuffer(lines).reshape(-1, 4))
    return tuple(_place(label, ground) for label in wanted)


def _place(label: Wanted, ground: _Field) -> Placed:
    best: tuple[float, Box] | None = None
    for least, centres in _rounds(label, ground.frame):
        if best is not None and best[0] <= least:
            break
        limit = np.inf if best is None else best[0]
        best = _cheapest(label, _boxes_at(label, centres), ground, limit) or best
    if best is None:
        raise RefusedError(
            f"drawing: no room is left for the label of {label.key!r}; "
            "divide what one sheet shows among more phases."
        )
    placed = Placed(label.key, best[1], None if _is_preferred(label, best[1]) else _leader(label, best[1]))
    ground.boxes = np.concatenate([ground.boxes, [placed.box]])
    if placed.leader is not None:
        ground.segments = np.concatenate([ground.segments, [placed.leader]])
    return placed


_ANGLES = np.arange(_DIRECTIONS) * (2.0 * np.pi / _DIRECTIONS)
_WAYS = np.column_stack([np.cos(_ANGLES), np.sin(_ANGLES)])
_STEEP = np.maximum(np.abs(_WAYS), 1e-9)
_RING_ROUNDS = np.split(np.arange(_RINGS), [2, 8])  # looking at several takes hardly longer than at one


def _rounds(label: Wanted, frame: Box) -> Iterator[tuple[float, Array]]:
    """Rounds of candidate centres (k, 2), each with the least cost any of its new places can have."""
    if label.preferred:
        yield 0.0, np.asarray(label.preferred, dtype=float)
    for number, rings in enumerate(_RING_ROUNDS):
        apart = label.gap + _RING_STEP * float(rings[0])
        yield _least_cost(label, apart), label.at + _ring(label.width, label.height, label.gap, number)
    yield _RINGS * _RING_STEP, _grid(label, frame)


@lru_cache(maxsize=_KEPT)
def _ring(width: float, height: float, gap: float, number: int) -> Array:
    """The ways (k, 2) from what a label names to the middle of its box in a round; not to be written to."""
    half = np.array([width, height]) / 2.0
    apart = gap + _RING_STEP * _RING_ROUNDS[number]
    # in every direction one side of the box stands just this far off
    off = np.min((half + apart[:, None, None]) / _STEEP, axis=-1)
    ways: Array = (_WAYS * off[..., None]).reshape(-1, 2)
    ways.flags.writeable = False
    return ways


def _least_cost(label: Wanted, apart: float) -> float:
    """What a place costs at least whose box stands ``apart`` off, and not where it is preferred."""
    passed_over = _NOT_PREFERRED if label.preferred else 0.0
    return apart - label.gap + passed_over + (_LED if apart > LEADER_FROM else 0.0)


def _grid(label: Wanted, frame: Box) -> Array:
    left, bottom, right, top = frame
    x = np.arange(left + label.width / 2, right - label.width / 2 + 1e-9, max(label.width / 2, 6.0))
    y = np.arange(bottom + label.height / 2, top - label.height / 2 + 1e-9, max(label.height / 2, 6.0))
    grid: Array = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return grid


def _boxes_at(label: Wanted, centres: Array) -> Array:
    half = np.array([label.width, label.height]) / 2.0
    return np.concatenate([centres - half, centres + half], axis=1)


def _inside(boxes: Array, frame: Box) -> Bools:
    left, bottom, right, top = frame
    return np.asarray(
        (boxes[:, 0] >= left) & (boxes[:, 1] >= bottom) & (boxes[:, 2] <= right) & (boxes[:, 3] <= top)
    )


def _around(label: Wanted, candidates: Array, ends: Array) -> Array:
    """Of segments or boxes (m, 4), those that candidates or their leaders can meet: the others needn't be
    looked at one by one."""
    low = np.minimum(candidates[:, :2].min(axis=0), label.at) - GAP
    high = np.maximum(candidates[:, 2:].max(axis=0), label.at) + GAP
    start, end = ends[:, :2], ends[:, 2:]
    met = (np.maximum(start, end) >= low) & (np.minimum(start, end) <= high)
    return np.asarray(ends[met.all(axis=1)])


def _cheapest(label: Wanted, candidates: Array, ground: _Field, limit: float) -> tuple[float, Box] | None:
    """The free candidate that costs least, and less than ``limit``, with its cost; None where there is none.

    Crossings only add to what the place itself costs, so that they are looked for only where a candidate
    is still below the limit.
    """
    near = _nearest(candidates, label.at)
    cost, led = _cost_of_place(label, candidates, near)
    left = np.flatnonzero((cost < limit) & _inside(candidates, ground.frame))
    if not len(left):
        return None
    boxes = _around(label, candidates[left], ground.boxes)
    left = left[~overlapping(candidates[left], boxes, GAP).any(axis=1)]
    if not len(left):
        return None
    segments = _around(label, candidates[left], ground.segments)
    if not label.on_lines:
        cost[left] += _CROSSED * crossing(candidates[left], segments).sum(axis=1)
        left = left[cost[left] < limit]
    leaderless = left[~led[left]]
    if len(leaderless):
        limit = min(limit, np.nextafter(cost[leaderless].min(), np.inf))  # what costs as much may come first
        left = left[cost[left] < limit]
    leading = left[led[left]]
    if len(leading):
        leaders = np.empty((len(leading), 4))
        leaders[:, :2], leaders[:, 2:] = near[leading], label.at
        over = crossing(boxes, leaders).sum(axis=0)
        met = segments_meet(leaders, segments).sum(axis=1)
        cost[leading] += _LEADER_OVER_BOX * over + _LEADER_CROSSED * met
        left = left[cost[left] < limit]
    if not len(left):
        return None
    chosen = left[np.argmin(cost[left])]
    box_left, bottom, right, top = (float(v) for v in candidates[chosen])
    return float(cost[chosen]), (box_left, bottom, right, top)


def _cost_of_place(label: Wanted, candidates: Array, near: Array) -> tuple[Array, Bools]:
    """What each candidate costs by where it stands, and which want a leader."""
    distance = np.hypot(*(near - np.asarray(label.at)).T)
    led = distance > LEADER_FROM
    cost = np.maximum(distance - label.gap, 0.0) + np.where(led, _LED, 0.0)
    if not label.preferred:
        return cost, led
    # a preferred place costs only its rank
    centre = (candidates[:, :2] + candidates[:, 2:]) / 2.0
    gaps = np.hypot(*(centre[:, None, :] - np.asarray(label.preferred)[None]).transpose(2, 0, 1))
    rank = np.argmin(gaps, axis=1)
    chosen = gaps.min(axis=1) < 1e-6
    return np.where(chosen, rank * 0.5, cost + _NOT_PREFERRED), led & ~chosen


def _is_preferred(label: Wanted, box: Box) -> bool:
    centre = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return any(np.hypot(x - centre[0], y - centre[1]) < 1e-6 for x, y in label.preferred)


def _nearest(boxes: Array, at: tuple[float, float]) -> Array:
    point = np.asarray(at)
    return np.asarray(np.minimum(np.maximum(point, boxes[:, :2]), boxes[:, 2:]))


def _leader(label: Wanted, box: Box) -> tuple[float, float, float, float] | None:
    x = min(max(label.at[0], box[0]), box[2])
    y = min(max(label.at[1], box[1]), box[3])
    if np.hypot(x - label.at[0], y - label.at[1]) <= LEADER_FROM:
        return None
    return x, y, label.at[0], label.at[1]


def overlapping(first: Array, second: Array, gap: float = 0.0) -> Bools:
    """Which boxes of ``first`` (k, 4) come nearer than ``gap`` to which of ``second`` (m, 4): (k, m)."""
    a, b = first[:, None, :], second[None, :, :]
    return np.asarray(
        (a[..., 0] < b[..., 2] + gap)
        & (b[..., 0] < a[..., 2] + gap)
        & (a[..., 1] < b[..., 3] + gap)
        & (b[..., 1] < a[..., 3] + gap)
    )


def crossing(boxes: Array, segments: Array) -> Bools:
    """Which boxes (k, 4) are touched by which segments (m, 4): (k, m), by separating axes."""
    left, bottom, right, top = boxes.T[:, :, None]
    x1, y1, x2, y2 = segments.T
    touched = (
        (np.maximum(x1, x2) > left)
        & (np.minimum(x1, x2) < right)
        & (np.maximum(y1, y2) > bottom)
        & (np.minimum(y1, y2) < top)
    )
    # the segment's own normal is an axis too; few pairs come so far
    box, segment = np.nonzero(touched)
    b, s = boxes[box], segments[segment]
    across_x, across_y = s[:, 3] - s[:, 1], s[:, 0] - s[:, 2]
    middle_x, middle_y = (b[:, 0] + b[:, 2]) / 2.0 - s[:, 0], (b[:, 1] + b[:, 3]) / 2.0 - s[:, 1]
    reach = np.abs(across_x) * (b[:, 2] - b[:, 0]) / 2.0 + np.abs(across_y) * (b[:, 3] - b[:, 1]) / 2.0
    touched[box, segment] = np.abs(across_x * middle_x + across_y * middle_y) < reach
    return np.asarray(touched)


def segments_meet(first: Array, second: Array) -> Bools:
    """Which segments of ``first`` (k, 4) properly cross which of ``second`` (m, 4): (k, m)."""
    met = _parted(first.T[:, :, None], second.T)
    # few have their ends on two sides of a first one: only those are looked at the other way round
    one, other = np.nonzero(met)
    met[one, other] = _parted(second[other].T, first[one].T)
    return met


def _parted(lines: Array, ends: Array) -> Bools:
    """Where the ends of a segment lie on two sides of a line: (4, ...) each, broadcast together."""
    x, y, to_x, to_y = lines
    along_x, along_y = to_x - x, to_y - y
    start = along_x * (ends[1] - y) - along_y * (ends[0] - x)
    end = along_x * (ends[3] - y) - along_y * (ends[2] - x)
    return np.asarray(start * end < 0)


def spread(wanted: Sequence[float], heights: Sequence[float], low: float, high: float) -> list[float]:
    """Middles of boxes on one axis, in their order from the top, as near ``wanted`` as no overlap allows.

    ``wanted`` falls from first to last. Raises :class:`RefusedError` where low..high can't hold them.
    """
    if sum(heights) > high - low + 1e-9:
        raise RefusedError(
            f"drawing: {len(heights)} labels need {sum(heights):.0f} pt of {high - low:.0f} pt."
        )
    middles: list[float] = []
    ceiling = high
    for middle, height in zip(wanted, heights, strict=True):
        middles.append(min(middle, ceiling - height / 2))
        ceiling = middles[-1] - height / 2
    floor = low
    for i in reversed(range(len(middles))):
        middles[i] = max(middles[i], floor + heights[i] / 2)
        floor = middles[i] + heights[i] / 2
    return middles
