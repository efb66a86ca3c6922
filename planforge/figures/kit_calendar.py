"""The kits as a calendar: which lot holds kit when and what moves between them; each item against its stock.

Days run to the right, at most :data:`DAYS` on a page. On the lots' pages a framed bar is kit that the lot
needs, a dashed one before it kit that is there early, the hatched one behind it kit that is taken down, moved
or inspected, black at its foot where the lot goes without some; an arrow is a move, on its day, from its
origin's row to the row of where it goes. On the items' pages grey is on lots, hatched turning or used up, the
heavy line what is in service, and black what is lacking, with the most that is lacking in figures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from itertools import pairwise
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array
from planforge.figures.drafting import FINE
from planforge.figures.figure_set import Drawing
from planforge.figures.paper import FILL, HEAVY, LINE, SYMBOL, Paper, Pen, hatch_lines, rectangle
from planforge.figures.text_metrics import cut, text_width
from planforge.kits.result import DayCounts, KitPlan

SIZE_INCHES = (7.0, 8.0)
DAYS = 126
"""Days on one page: eighteen weeks."""
LOT_ROW, ITEM_ROW = 30.0, 34.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 118.0, 8.0, 30.0, 34.0
_SIZE, _SMALL = 9.3, 8.0
_GRID = Pen(0.35, 0.6)
_EDGE = Pen(1.1)
_HATCH = Pen(0.5, 0.2)
_STOCK = Pen(1.7)
_EARLY = Pen(0.8, dashes=(3.0, 2.0))
_ARROW = Pen(0.9)
_OFF, _OUT = 0.94, 0.62
"""Greys: days not worked, kit on lots."""
_HEAD = 4.0
_LOTS_KEY = (
    ("kit needed", "bar"),
    ("there early", "early"),
    ("down, moving, inspected", "hatch"),
    ("a move", "arrow"),
    ("goes without some", "short"),
)
_ITEMS_KEY = (
    ("on lots", "out"),
    ("turning, or used up", "hatch"),
    ("in service", "stock"),
    ("lacking, the most", "short"),
)


Counts = NDArray[np.int64]
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Axis:
    """A stretch of the calendar across the page."""

    start: int  # of plan.days
    stop: int
    left: float
    right: float

    def x(self, day: float) -> float:
        """The left edge of a day by its place in the calendar, points; within the page."""
        part = (day - self.start) / (self.stop - self.start)
        return self.left + min(max(part, 0.0), 1.0) * (self.right - self.left)


def kit_calendar(plan: KitPlan) -> dict[str, Drawing]:
    """The pages by name, drawn when asked for: ``lots-1`` and on, then ``items-1`` and on."""
    rows = [*plan.lots, *_places(plan)]
    lots = [partial(_lots_page, plan, own, start) for own, start in _pages(plan, rows, LOT_ROW)]
    items = [partial(_items_page, plan, own, start) for own, start in _pages(plan, plan.counts, ITEM_ROW)]
    pages = {f"lots-{number}": Drawing(draw) for number, draw in enumerate(lots, start=1)}
    return pages | {f"items-{number}": Drawing(draw) for number, draw in enumerate(items, start=1)}


def _pages(plan: KitPlan, rows: Sequence[Row], height: float) -> Iterator[tuple[Sequence[Row], int]]:
    """The rows of each page and the place of its first day."""
    most = int((72.0 * SIZE_INCHES[1] - _TOP - _BOTTOM) // height)
    for first in range(0, len(rows), most):
        for start in range(0, len(plan.days), DAYS):
            yield rows[first : first + most], start


def _places(plan: KitPlan) -> list[str]:
    """What moves name beside the lots, such as the yard, in order of first use."""
    ends = [end for move in plan.moves for end in (move.origin, move.to)]
    return [end for end in dict.fromkeys(ends) if end not in plan.lots]


def _sheet(plan: KitPlan, rows: int, height: float, start: int) -> tuple[Paper, Axis]:
    """An empty page with its days: weeks ruled and dated, days that are not worked shaded."""
    tall = _TOP + rows * height + _BOTTOM
    paper = Paper(SIZE_INCHES[0], tall / 72.0)
    axis = Axis(start, min(start + DAYS, len(plan.days)), _LEFT, paper.width - _RIGHT)
    top, bottom = paper.height - _TOP, _BOTTOM
    for day in range(axis.start, axis.stop):
        if not plan.working[day]:
            paper.fill(rectangle(axis.x(day), bottom, axis.x(day + 1), top), _OFF)
    free, told = 0.0, 0
    for day in range(axis.start, axis.stop):
        if plan.days[day].weekday() == 0 or day == axis.start:
            x = axis.x(day)
            paper.stroke([(x, bottom), (x, top)], _GRID)
            year = plan.days[day].year
            label = _short(plan.days[day]) if year == told else f"{year}-{_short(plan.days[day])}"
            if x >= free and x + text_width(label, _SMALL) <= axis.right + _RIGHT:
                paper.text(x, top + 6.0, label, _SMALL)
                told = year
                free = x + text_width(label, _SMALL) + 6.0
    paper.stroke(rectangle(axis.left, bottom, axis.right, top), FINE, closed=True)
    for row in range(1, rows):
        y = top - row * height
        paper.stroke([(0.0, y), (axis.right, y)], _GRID)
    return paper, axis


def _short(day: date) -> str:
    return f"{day:%m-%d}"


# -- lots --------------------------------------------------------------------------------------


def _lots_page(plan: KitPlan, rows: Sequence[str], start: int) -> Paper:
    paper, axis = _sheet(plan, len(rows), LOT_ROW, start)
    top = paper.height - _TOP
    middle = {name: top - (row + 0.5) * LOT_ROW for row, name in enumerate(rows)}
    for name, y in middle.items():
        paper.text(0.0, y + 2.0, cut(name, _SIZE, _LEFT - 6.0, True), _SIZE, bold=True)
        if name in plan.lots:
            _lot_bar(paper, plan, axis, name, y)
        else:
            paper.text(0.0, y - 9.0, "kept here", _SMALL)
    for nth, origin, to, day in _arrows(plan):
        if axis.start <= day < axis.stop:
            x = axis.x(day) + 2.5 + 2.4 * (nth % 6)
            _arrow(paper, x, middle.get(origin), middle.get(to), (_BOTTOM, top))
    _legend(paper, _LOTS_KEY)
    return paper


def _lot_bar(paper: Paper, plan: KitPlan, axis: Axis, lot: str, y: float) -> None:
    own = [need for need in plan.needs if need.lot == lot]
    if not own:
        paper.text(0.0, y - 9.0, "needs no kit", _SMALL)
        return
    first, last = min(n.first for n in own), max(n.last for n in own)
    back = [n.free for n in own if not n.used_up]
    free = max([last + timedelta(1), *back])
    paper.text(0.0, y - 9.0, f"{_short(first)} – {_short(last)}", _SMALL)
    low, high = y - 8.0, y + 8.0
    place = {day: n for n, day in enumerate(plan.days)}
    on, off = place[first], place[last] + 1
    back_at = place.get(free, len(plan.days))
    if on < axis.stop and off > axis.start:
        paper.fill(rectangle(axis.x(on), low, axis.x(off), high), 1.0, pen=_EDGE, layer=HEAVY)
    if off < axis.stop and back_at > axis.start and back_at > off:
        box = rectangle(axis.x(off), low, axis.x(back_at), high)
        _hatched(paper, box)
    there = min((move.day for move in plan.moves if move.to == lot), default=first)
    early = place.get(there, on)
    if early < on and early < axis.stop and on > axis.start:
        paper.fill(rectangle(axis.x(early), y - 3.0, axis.x(on), y + 3.0), 1.0, pen=_EARLY, layer=HEAVY)
    for lacking in (placed for placed in plan.placed if placed.lot == lot and placed.unmet):
        left, right = place[lacking.first], place[lacking.last] + 1
        if left < axis.stop and right > axis.start:
            paper.fill(rectangle(axis.x(left), low, axis.x(right), low + 4.0), 0.0, layer=SYMBOL)


def _arrows(plan: KitPlan) -> Iterator[tuple[int, str, str, int]]:
    """Every way that something goes on a day, once: its number on that day, origin, end, the day's place."""
    place = {day: n for n, day in enumerate(plan.days)}
    for load in plan.loads:
        ways = dict.fromkeys((move.origin, move.to) for move in load.moves)
        for nth, (origin, to) in enumerate(ways):
            if load.day in place:
                yield nth, origin, to, place[load.day]


def _arrow(
    paper: Paper, x: float, start: float | None, end: float | None, edges: tuple[float, float]
) -> None:
    """From one row to another; from or to the page's edge where a row stands on another page."""
    if start is None and end is None:
        return
    bottom, top = edges
    ends = [bottom if place is None else place for place in (start, end)]
    ends = [min(max(place, bottom), top) for place in ends]
    paper.stroke([(x, ends[0]), (x, ends[1])], _ARROW, layer=SYMBOL)
    down = -1.0 if ends[1] < ends[0] else 1.0
    tip = ends[1]
    head = [(x, tip), (x - 0.5 * _HEAD, tip - down * _HEAD), (x + 0.5 * _HEAD, tip - down * _HEAD)]
    paper.fill(head, 0.0, layer=SYMBOL)
    paper.circle(x, ends[0], 1.2, None, 0.0)


# -- items -------------------------------------------------------------------------------------


def _items_page(plan: KitPlan, rows: Sequence[DayCounts], start: int) -> Paper:
    paper, axis = _sheet(plan, len(rows), ITEM_ROW, start)
    top = paper.height - _TOP
    for row, counts in enumerate(rows):
        _item_strip(paper, axis, counts, top - (row + 1) * ITEM_ROW)
    _legend(paper, _ITEMS_KEY)
    return paper


def _item_strip(paper: Paper, axis: Axis, counts: DayCounts, bottom: float) -> None:
    own = slice(axis.start, axis.stop)
    out, turning = np.array(counts.on_lots[own]), np.array(counts.turning[own])
    held, short = np.array(counts.in_service[own]), np.array(counts.short[own])
    most = max(int(np.max(out + turning)), int(np.max(held)), 1)
    unit = (ITEM_ROW - 9.0) / most
    paper.text(0.0, bottom + 20.0, cut(counts.item, _SIZE, _LEFT - 6.0, True), _SIZE, bold=True)
    paper.text(0.0, bottom + 11.0, cut(counts.name, _SMALL, _LEFT - 6.0), _SMALL)
    least = f"needed {int(np.max(out + turning))} of {int(np.max(held))}"
    paper.text(0.0, bottom + 2.5, cut(least, _SMALL, _LEFT - 6.0), _SMALL)
    _area(paper, axis, bottom, np.zeros_like(out), out, unit, _OUT)
    _hatch(paper, axis, bottom, out, out + turning, unit)
    _area(paper, axis, bottom, out + turning - short, out + turning, unit, 0.0)
    paper.stroke(_steps(axis, held, bottom, unit), _STOCK, layer=SYMBOL)
    for first, last in _stretches(short):
        worst = int(np.max(short[first:last]))
        x = 0.5 * (axis.x(axis.start + first) + axis.x(axis.start + last))
        y = bottom + unit * float(np.max((out + turning)[first:last])) + 1.5
        paper.text(x, min(y, bottom + ITEM_ROW - 7.5), f"−{worst}", _SMALL, align="center", bold=True)


def _area(paper: Paper, axis: Axis, base: float, low: Counts, high: Counts, unit: float, grey: float) -> None:
    """Between two courses of whole numbers, day by day."""
    for first, last in _stretches(high > low):
        for day in range(first, last):
            box = rectangle(
                axis.x(axis.start + day),
                base + unit * float(low[day]),
                axis.x(axis.start + day + 1),
                base + unit * float(high[day]),
            )
            paper.fill(box, grey, layer=FILL if grey else LINE)


def _hatch(paper: Paper, axis: Axis, base: float, low: Counts, high: Counts, unit: float) -> None:
    """The same hatched, each stretch of like days as one."""
    for first, last in _stretches(high > low):
        cuts = [
            first,
            *(d for d in range(first + 1, last) if (low[d], high[d]) != (low[d - 1], high[d - 1])),
            last,
        ]
        for start, stop in pairwise(cuts):
            box = rectangle(
                axis.x(axis.start + start),
                base + unit * float(low[start]),
                axis.x(axis.start + stop),
                base + unit * float(high[start]),
            )
            _hatched(paper, box)


def _steps(axis: Axis, values: Counts, base: float, unit: float) -> list[tuple[float, float]]:
    """A course of whole numbers as a line with steps."""
    points: list[tuple[float, float]] = []
    for day, value in enumerate(values):
        y = base + unit * float(value)
        points += [(axis.x(axis.start + day), y), (axis.x(axis.start + day + 1), y)]
    return points


def _stretches(marks: NDArray[np.generic]) -> Iterator[tuple[int, int]]:
    """Where marks stand one after the other: first, and one past the last."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], marks.astype(bool).astype(int), [0]])))
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        yield int(first), int(last)


# -- the key -----------------------------------------------------------------------------------


def _legend(paper: Paper, entries: Sequence[tuple[str, str]]) -> None:
    x, y = 0.0, 8.0
    for label, kind in entries:
        box = rectangle(x, y, x + 20.0, y + 8.0)
        _SAMPLES[kind](paper, box, x, y)
        paper.text(x + 25.0, y + 0.5, label, _SIZE)
        x += 25.0 + text_width(label, _SIZE) + 16.0


def _hatched(paper: Paper, box: Array) -> None:
    paper.strokes(hatch_lines(box, 3.5), _HATCH)
    paper.stroke(box, FINE, closed=True)


_SAMPLES: dict[str, Callable[[Paper, Array, float, float], None]] = {
    "bar": lambda paper, box, x, y: paper.fill(box, 1.0, pen=_EDGE),
    "hatch": lambda paper, box, x, y: _hatched(paper, box),
    "arrow": lambda paper, box, x, y: _arrow(paper, x + 10.0, y - 3.0, y + 10.0, (y - 3.0, y + 10.0)),
    "short": lambda paper, box, x, y: paper.fill(rectangle(x, y, x + 20.0, y + 4.0), 0.0),
    "out": lambda paper, box, x, y: paper.fill(box, _OUT),
    "early": lambda paper, box, x, y: paper.fill(rectangle(x, y + 2.0, x + 20.0, y + 6.0), 1.0, pen=_EARLY),
    "stock": lambda paper, box, x, y: paper.stroke([(x, y + 4.0), (x + 20.0, y + 4.0)], _STOCK),
}
