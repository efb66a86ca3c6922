"""The clearance stack drawn to one scale: terms from the D-ring down, datums, what is left or short.

Elevations in m; the drawing uses the unrounded numbers, the labels the printed ones.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planforge.assess.printed_stack import TERM_NAMES, PrintedStack, stack_rows
from planforge.assess.sides import SideRun
from planforge.figures.dimensions import STRING, TICK
from planforge.figures.drafting import FINE, LEAST_MARK, LEAST_TEXT, LEAST_WEIGHT
from planforge.figures.labels import spread
from planforge.figures.paper import FILL, FRAME, HEAVY, LINE, MASK, Paper, Pen, hatch_lines, rectangle
from planforge.figures.scale import Scale
from planforge.figures.text_metrics import LEADING, text_width, wrapped_to
from planforge.units import Display

SIZE = LEAST_TEXT
ROW = SIZE * LEADING + 1.5
GROUND = FINE
DATUM = Pen(LEAST_WEIGHT, dashes=(6, 2, 1, 2))
_BAR = 26.0
_LABELS = 112.0
_DATUMS = 111.0
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Datum:
    """A named height."""

    name: str
    elevation: float


@dataclass(frozen=True)
class Stack:
    """What the stack of one place shows; elevations in m."""

    printed: PrintedStack
    terms: tuple[tuple[str, float], ...]  # m, unrounded, from the D-ring down
    dring: float
    surface: float
    anchorage: float
    anchorage_name: str
    lower: float
    lower_name: str

    @property
    def foot(self) -> float:
        """Where the stack ends: the elevation that must still be free."""
        return self.dring - sum(value for _, value in self.terms)

    def told(self, key: str, value: float, display: Display) -> str:
        """``value`` (m) as the stack prints it where it is that term: one thing has one number on a sheet."""
        if math.isclose(value, dict(self.terms)[key], abs_tol=_SAME):
            return self.printed.term(key).text
        return display.feet(value, "up")

    @property
    def lowest(self) -> float:
        """The lowest elevation shown."""
        return min(self.foot, self.lower)

    @property
    def highest(self) -> float:
        """The highest elevation shown."""
        return max(self.dring, self.anchorage, self.surface)

    @property
    def breaks(self) -> tuple[float, ...]:
        """Elevations between the terms, from the D-ring to the foot."""
        out = [self.dring]
        for _, value in self.terms:
            out.append(out[-1] - value)
        return tuple(out)


def stack_of(
    side: SideRun,
    heights: tuple[float, float, float],
    anchorage_name: str,
    display: Display,
    names: Mapping[str, str] = TERM_NAMES,
) -> Stack:
    """The stack at the governing place; ``heights``: D-ring, surface and anchorage at rest, m."""
    dring, surface, anchorage = heights
    return Stack(
        printed=stack_rows(side, display, names),
        terms=side.stack,
        dring=dring,
        surface=surface,
        anchorage=anchorage,
        anchorage_name=anchorage_name,
        lower=float(side.under.elevation[side.governs]),
        lower_name=str(side.under.name[side.governs]),
    )


@dataclass(frozen=True, slots=True)
class Upright:
    """A vertical axis: elevation ``at`` (m) stands at ``on`` (points)."""

    scale: Scale
    at: float
    on: float

    def __call__(self, elevation: float) -> float:
        """The height on paper, points."""
        return self.on + (elevation - self.at) * self.scale.points


STACK_WIDTH = _DATUMS + _BAR + _LABELS + 118.0
"""Width that :func:`draw_stack` takes, points."""


def draw_stack(paper: Paper, left: float, axis: Upright, stack: Stack, display: Display) -> None:
    """Draw the stack in :data:`STACK_WIDTH` points from ``left``."""
    bar = left + _DATUMS
    right = left + STACK_WIDTH
    _draw_ground(paper, (bar - 14.0, right), axis, stack)
    _draw_terms(paper, bar, axis, stack)
    _draw_term_labels(paper, bar, axis, stack)
    _draw_datums(paper, left, bar, right, axis, stack, display)
    _draw_sums(paper, bar + _BAR + _LABELS, axis, stack)


def _draw_ground(paper: Paper, across: tuple[float, float], axis: Upright, stack: Stack) -> None:
    y = axis(stack.lower)
    low = min(axis(stack.lowest), y) - 16.0
    hatch_ground(paper, [(across[0], y), (across[1], y)], y - low)


def hatch_ground(paper: Paper, top: Sequence[tuple[float, float]], depth: float) -> None:
    """A heavy surface with slanting hatch below it, ``depth`` points deep."""
    paper.stroke(top, Pen(1.8), layer=HEAVY)
    outline = [*top, *((x, y - depth) for x, y in reversed(top))]
    paper.strokes(hatch_lines(outline, 4.5, 45.0), GROUND, layer=FILL)


def _draw_terms(paper: Paper, bar: float, axis: Upright, stack: Stack) -> None:
    for (name, value), (top, bottom) in zip(stack.terms, pairwise(stack.breaks), strict=True):
        if value <= 0.0:
            continue
        corners = rectangle(bar, axis(bottom), bar + _BAR, axis(top))
        paper.fill(corners, 0.82 if name == "margin" else 1.0, pen=Pen(0.9), layer=MASK)
        if name != "margin":
            spacing, angle = _HATCHES[name]
            paper.strokes(hatch_lines(corners, spacing, angle), FINE, layer=MASK)
    if stack.printed.short:
        corners = rectangle(bar, axis(stack.foot), bar + _BAR, axis(stack.lower))
        for angle in (45.0, -45.0):
            paper.strokes(hatch_lines(corners, 3.0, angle), Pen(0.8), layer=FRAME)
        paper.stroke(corners, Pen(2.2), closed=True, layer=FRAME)


_HATCHES = {
    "free_fall": (1e9, 0.0),
    "line_drop": (4.0, 45.0),
    "deceleration": (4.0, 0.0),
    "dring_shift": (4.0, -45.0),
    "dring_height": (1e9, 0.0),
    "swing_drop": (4.0, 90.0),
}
"""Spacing (points) and angle of each term's hatch; the margin is shaded."""


def _draw_term_labels(paper: Paper, bar: float, axis: Upright, stack: Stack) -> None:
    shown = [
        (printed, (axis(top) + axis(bottom)) / 2)
        for printed, (_, value), (top, bottom) in zip(
            stack.printed.terms, stack.terms, pairwise(stack.breaks), strict=True
        )
        if value > 0.0
    ]
    wanted = [y for _, y in shown]
    middles = spread(wanted, [ROW] * len(shown), axis(stack.lowest) - 60.0, axis(stack.dring) + 30.0)
    x = bar + _BAR
    for (printed, middle), y in zip(shown, middles, strict=True):
        paper.stroke([(x, middle), (x + 6.0, middle), (x + 12.0, y), (x + 16.0, y)], FINE, layer=FRAME)
        paper.fill(rectangle(x + 17.0, y - 5.0, x + _LABELS - 5.0, y + 5.0), 1.0, layer=MASK)
        paper.text(x + 18.0, y - 0.33 * SIZE, printed.name, SIZE)
        paper.text(x + _LABELS - 6.0, y - 0.33 * SIZE, printed.text, SIZE, align="right", bold=True)


def _draw_datums(
    paper: Paper, left: float, bar: float, right: float, axis: Upright, stack: Stack, display: Display
) -> None:
    datums = sorted(
        (
            Datum(stack.anchorage_name, stack.anchorage),
            Datum("D-ring before the fall", stack.dring),
            Datum("Walking surface", stack.surface),
        ),
        key=lambda d: -d.elevation,
    )
    lower = Datum(stack.lower_name, stack.lower)
    rows = [
        (d, [*wrapped_to(d.name, SIZE, bar - left - 24.0, 5), display.length(d.elevation)])
        for d in (*datums, lower)
    ]
    rows.sort(key=lambda row: -row[0].elevation)
    heights = [len(lines) * SIZE * LEADING + 3.0 for _, lines in rows]
    wanted = [axis(d.elevation) for d, _ in rows]
    middles = spread(wanted, heights, axis(stack.lowest) - 80.0, axis(stack.highest) + 60.0)
    for (datum, lines), y in zip(rows, middles, strict=True):
        level = axis(datum.elevation)
        paper.stroke([(bar - 20.0, y), (bar - 14.0, level), (bar, level)], STRING)
        if datum is not lower:
            end = bar if datum.elevation > stack.dring else right
            paper.stroke([(bar, level), (end, level)], DATUM, layer=LINE)
        for number, line in enumerate(lines):
            down = (number - (len(lines) - 1) / 2) * SIZE * LEADING
            paper.text(bar - 22.0, y - down - 0.33 * SIZE, line, SIZE, align="right")


def _draw_sums(paper: Paper, x: float, axis: Upright, stack: Stack) -> None:
    printed = stack.printed
    _sum(paper, x + 14.0, axis(stack.dring), axis(stack.foot), f"Required {printed.required.text}")
    _sum(paper, x + 36.0, axis(stack.dring), axis(stack.lower), f"Available {printed.available.text}")
    low, high = sorted((axis(stack.foot), axis(stack.lower)))
    title = "SHORT" if printed.short else "Left over"
    value = printed.left_over.text.lstrip("-")
    size = LEAST_MARK if printed.short else SIZE
    middle, at = (low + high) / 2, x + 56.0
    _ends(paper, at, low, high)
    for number, text in enumerate((title, value)):
        baseline = middle + size * 0.2 - number * size * 1.1
        width = text_width(text, size, bold=True)
        paper.fill(
            rectangle(at + 5.0, baseline - size * 0.25, at + 9.0 + width, baseline + size * 0.8),
            1.0,
            layer=MASK,
        )
        paper.text(at + 7.0, baseline, text, size, bold=True)


def _ends(paper: Paper, x: float, low: float, high: float) -> None:
    paper.stroke([(x, low), (x, high)], STRING, layer=FRAME)
    for y in (low, high):
        paper.stroke([(x - 2.6, y - 2.6), (x + 2.6, y + 2.6)], TICK, layer=FRAME)


def _sum(paper: Paper, x: float, high: float, low: float, text: str) -> None:
    _ends(paper, x, low, high)
    width = text_width(text, SIZE)
    middle = (low + high) / 2
    paper.fill(rectangle(x - 12.0, middle - width / 2, x - 3.0, middle + width / 2), 1.0, layer=MASK)
    paper.text(x - 4.0, middle - width / 2, text, SIZE, angle=90.0)
