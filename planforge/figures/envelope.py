"""Per line: sag at arrest, tension and clearance left over against the place along the line, every foot.

Three panels over one axis; the governing stance is drawn heavy, the others thin, each with its name.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.lines import LineResult
from planforge.assess.printed_stack import stack_rows
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array
from planforge.figures.labels import Box, Wanted, place_labels
from planforge.figures.paper import FRAME, HEAVY, LINE, MASK, PER_INCH, Paper, Pen, rectangle
from planforge.figures.plan_drawing import Obstacles
from planforge.figures.sheet_furniture import dot
from planforge.figures.text_metrics import text_width
from planforge.units import FOOT, LBF, Display

SIZE_INCHES = (7.0, 4.6)
SIZE = 8.5
GRID = Pen(0.4, 0.55)
AXIS = Pen(0.7)
LIMIT = Pen(1.0, dashes=(8, 2, 2, 2))
_HEAVIEST = Pen(1.8)
_THIN = (Pen(0.9, dashes=(4, 2)), Pen(0.9, dashes=(1.5, 1.5)), Pen(0.9, dashes=(8, 2)))
_LEFT, _RIGHT, _TOP, _BOTTOM, _BETWEEN = 58.0, 8.0, 16.0, 30.0, 22.0


@dataclass(frozen=True)
class Curve:
    """Values (S,) at stations (S,) of one stance, SI."""

    name: str
    stations: Array
    values: Array
    governs: bool


@dataclass(frozen=True)
class Panel:
    """One quantity along the line; ``unit`` is SI per printed unit, ``limit`` in SI."""

    title: str
    unit: float
    curves: tuple[Curve, ...]
    limit: float | None = None
    limit_name: str = ""
    decimals: int = 1
    least_governs: bool = False
    point: tuple[float, float] | None = None  # (station, value) by the time history, SI
    governs: str = ""  # the governing value as printed elsewhere; empty: rounded up here


@dataclass(frozen=True, slots=True)
class Axes:
    """From station (m) and value (SI) to points."""

    box: Box
    span: float
    low: float
    high: float

    def __call__(self, stations: Array, values: Array) -> Array:
        """Points (S, 2)."""
        left, bottom, right, top = self.box
        x = left + stations / self.span * (right - left)
        y = bottom + (values - self.low) / (self.high - self.low) * (top - bottom)
        return np.column_stack([x, y])


def permitted_tension(assessment: Assessment, result: LineResult) -> float | None:
    """The least stated strength of rope, end parts and posts over the code's factor, N; None if none is."""
    parts, factor = result.parts, assessment.profile.limits["line_factor"].value
    rated = (
        parts.rope.breaking_strength,
        parts.system.end_strength,
        parts.start_kind.line_strength,
        parts.end_kind.line_strength,
    )
    strengths = [r.value for r in rated if r is not None]
    return min(strengths) / factor if strengths else None


def panels(assessment: Assessment, result: LineResult) -> tuple[Panel, Panel, Panel]:
    """The three quantities of a line's stances."""
    display = Display(assessment.job.site.units)
    length, force = (FOOT, LBF) if display.system == "us" else (1.0, 1000.0)
    ft, lbf, digits, whole = ("ft", "lbf", 1, 0) if display.system == "us" else ("m", "kN", 2, 2)
    governing = min(result.runs, key=lambda r: r.worst_side.left_over)

    def curves(values: Sequence[Array]) -> tuple[Curve, ...]:
        return tuple(
            Curve(run.rig.stance.id, run.rig.stations, v, run is governing)
            for run, v in zip(result.runs, values, strict=True)
        )

    permitted = permitted_tension(assessment, result)
    return (
        Panel(
            f"Sag at arrest below the chord ({ft}), soft ends",
            length,
            curves([r.clear.sag for r in result.runs]),
            decimals=digits,
        ),
        Panel(
            f"Tension by energy balance ({lbf}), stiff ends",
            force,
            curves([r.strong.tension_max for r in result.runs]),
            permitted,
            f"limit: least strength / {assessment.profile.limits['line_factor'].value:g} =",
            decimals=whole,
            point=time_history_peak(result),
        ),
        Panel(
            f"Clearance left over ({ft}), worst side and phase",
            length,
            curves([left_over(r) for r in result.runs]),
            0.0,
            "limit",
            decimals=digits,
            least_governs=True,
            governs=stack_rows(governing.worst_side, display).left_over.text,
        ),
    )


def time_history_peak(result: LineResult) -> tuple[float, float] | None:
    """The place (m) and peak tension (N) of the fall that was run again as a time history."""
    second = result.second
    if second is None:
        return None
    return float(second.strong_run.rig.stations[second.strong_at]), float(second.strong.tension_max)


def left_over(run: RigRun) -> Array:
    """The least clearance left over at each place (S,), m."""
    shape = run.rig.stations.shape
    return np.asarray(np.min([np.broadcast_to(s.clearance.left_over, shape) for s in run.sides], axis=0))


def envelope(assessment: Assessment, result: LineResult, size: tuple[float, float] = SIZE_INCHES) -> Paper:
    """Draw the three panels of one line; the line must have a stance."""
    paper = Paper(*size)
    shown = panels(assessment, result)
    height = (size[1] * PER_INCH - _TOP - _BOTTOM - 2 * _BETWEEN) / 3
    for number, panel in enumerate(shown):
        top = size[1] * PER_INCH - _TOP - number * (height + _BETWEEN)
        box = (_LEFT, top - height, size[0] * PER_INCH - _RIGHT, top)
        _draw_panel(paper, panel, axes_of(panel, box, result.parts.span), lowest=number == len(shown) - 1)
    _draw_stations(paper, assessment, result, size)
    return paper


def axes_of(panel: Panel, box: Box, span: float) -> Axes:
    """Axes that hold every curve, the floor, and the limit where it isn't far above all curves."""
    every = np.concatenate([c.values for c in panel.curves])
    if panel.point is not None:
        every = np.append(every, panel.point[1])
    low, high = float(every.min()), float(every.max())
    low = min(low, 0.0)
    if panel.limit is not None and panel.limit <= 2.5 * high:
        low, high = min(low, panel.limit), max(high, panel.limit)
    step = nice_step((high - low) / panel.unit) * panel.unit
    return Axes(box, span, np.floor(low / step + 1e-9) * step, max(np.ceil(high / step - 1e-9), 1.0) * step)


def nice_step(extent: float) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides ``extent`` into 2 to 5 parts."""
    rough = max(extent, 1e-9) / 3.0
    power = 10.0 ** np.floor(np.log10(rough))
    return float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * 0.8))


def _draw_panel(paper: Paper, panel: Panel, axes: Axes, *, lowest: bool) -> None:
    left, bottom, right, top = axes.box
    step = nice_step((axes.high - axes.low) / panel.unit) * panel.unit
    for level in np.arange(np.ceil(axes.low / step - 1e-9), axes.high / step + 1e-6) * step:
        y = float(axes(np.zeros(1), np.array([level]))[0, 1])
        paper.stroke([(left, y), (right, y)], GRID)
        paper.text(
            left - 4.0, y - 0.33 * SIZE, f"{round(level / panel.unit, 9) + 0.0:,.10g}", SIZE, align="right"
        )
    paper.stroke([(left, top), (left, bottom), (right, bottom)], AXIS)
    paper.text(left, top + 5.0, panel.title, 9.0, bold=True)
    obstacles = Obstacles()
    wanted: list[tuple[Wanted, str, bool]] = []
    thin = 0
    for curve in panel.curves:
        points = axes(curve.stations, curve.values)
        if curve.governs:
            paper.stroke(points, _HEAVIEST, layer=HEAVY)
        else:
            paper.stroke(points, _THIN[thin % len(_THIN)], layer=LINE)
            thin += 1
        if len(points) == 1:
            dot(paper, *points[0])
        obstacles.add_lines(points)
        at = points[int(len(points) * 0.22)]
        wanted.append((_wanted(curve.name, at, curve.governs), curve.name, curve.governs))
    wanted += _extremes(paper, panel, axes, obstacles)
    wanted += _time_history(paper, panel, axes, obstacles)
    _draw_limit(paper, panel, axes, obstacles)
    placed = place_labels(
        [w for w, _, _ in wanted],
        (left + 2.0, bottom - 4.0, right, top + 3.0),
        obstacles.boxes,
        obstacles.segments,
    )
    for where, (_, text, bold) in zip(placed, wanted, strict=True):
        paper.fill(rectangle(*where.box), 1.0, layer=MASK)
        if where.leader:
            x1, y1, x2, y2 = where.leader
            paper.stroke([(x1, y1), (x2, y2)], Pen(0.55), layer=FRAME)
        x, y = where.centre
        paper.block(x, y, (text,), SIZE, bold=bold)


def _wanted(text: str, at: Array, bold: bool, key: str = "") -> Wanted:
    return Wanted(
        key or text, text_width(text, SIZE, bold) + 2.0, SIZE * 0.95, (float(at[0]), float(at[1])), gap=4.6
    )


def _extremes(paper: Paper, panel: Panel, axes: Axes, obstacles: Obstacles) -> list[tuple[Wanted, str, bool]]:
    """Mark the place that governs: the least where the limit lies below, else the greatest."""
    least = panel.least_governs
    pick = np.argmin if least else np.argmax
    curve = (min if least else max)(panel.curves, key=lambda c: float(c.values[pick(c.values)]))
    at = int(pick(curve.values))
    point = axes(curve.stations[at : at + 1], curve.values[at : at + 1])[0]
    dot(paper, float(point[0]), float(point[1]), 2.6)
    obstacles.boxes.append(_round(point))
    text = panel.governs or f"{_up(curve.values[at] / panel.unit, panel.decimals):,.{panel.decimals}f}"
    return [(_wanted(text, point, True, f"{panel.title} governs"), text, True)]


def _time_history(
    paper: Paper, panel: Panel, axes: Axes, obstacles: Obstacles
) -> list[tuple[Wanted, str, bool]]:
    if panel.point is None:
        return []
    station, value = panel.point
    point = axes(np.array([station]), np.array([value]))[0]
    paper.circle(float(point[0]), float(point[1]), 3.0, Pen(1.2), 1.0)
    obstacles.boxes.append(_round(point))
    text = f"time history {_up(value / panel.unit, panel.decimals):,.{panel.decimals}f}"
    return [(_wanted(text, point, True), text, True)]


def _round(point: Array) -> Box:
    x, y = float(point[0]), float(point[1])
    return x - 3.0, y - 3.0, x + 3.0, y + 3.0


def _up(value: float, decimals: int) -> float:
    scale: int = 10**decimals
    return math.ceil(value * scale - 1e-6) / scale


def _draw_limit(paper: Paper, panel: Panel, axes: Axes, obstacles: Obstacles) -> None:
    if panel.limit is None:
        return
    left, _, right, top = axes.box
    value = math.floor(panel.limit / panel.unit * 10**panel.decimals + 1e-6) / 10**panel.decimals
    text = f"{panel.limit_name} {value:,.{panel.decimals}f}"
    if axes.low <= panel.limit <= axes.high:
        y = float(axes(np.zeros(1), np.array([panel.limit]))[0, 1])
        paper.stroke([(left, y), (right, y)], LIMIT, layer=HEAVY)
        obstacles.lines.append((left, y, right, y))
        start = right - text_width(text, SIZE) - 38.0
        paper.stroke([(start, top + 8.0), (start + 32.0, top + 8.0)], LIMIT, layer=HEAVY)
    else:
        text += ", above the panel"
    paper.text(right, top + 5.0, text, SIZE, align="right")


def _draw_stations(
    paper: Paper, assessment: Assessment, result: LineResult, size: tuple[float, float]
) -> None:
    display = Display(assessment.job.site.units)
    unit, name = (FOOT, "ft") if display.system == "us" else (1.0, "m")
    left, right = _LEFT, size[0] * PER_INCH - _RIGHT
    span = result.parts.span
    step = nice_step(span / unit * 0.5) * unit
    for station in np.arange(0.0, span + 1e-6, step):
        x = left + station / span * (right - left)
        paper.stroke([(x, _BOTTOM), (x, _BOTTOM - 3.0)], AXIS)
        paper.text(x, _BOTTOM - 12.0, f"{station / unit:g}", SIZE, align="center")
    line = result.parts.line
    paper.text(left, _BOTTOM - 24.0, f"{name} from {line.start} to {line.end}", SIZE)
    paper.text(
        right, _BOTTOM - 24.0, f"{line.id}, span {display.length(span)}", SIZE, align="right", bold=True
    )
