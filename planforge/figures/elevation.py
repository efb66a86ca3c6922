"""Per line: a vertical section along it to scale, and beside it the clearance stack where it governs.

Horizontal and vertical scale of the section are the same, so the sag is shown as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.lines import LineResult
from planforge.assess.printed_stack import stack_rows
from planforge.assess.sides import SideRun
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array
from planforge.figures.clearance_stack import (
    ROW,
    SIZE,
    STACK_WIDTH,
    Stack,
    Upright,
    draw_stack,
    hatch_ground,
    stack_of,
)
from planforge.figures.dimensions import string_labels
from planforge.figures.drafting import LEAST_TEXT, LEAST_WEIGHT
from planforge.figures.labels import Box, Placed, place_labels
from planforge.figures.paper import FRAME, HEAVY, LINE, PER_INCH, SYMBOL, Paper, Pen, rectangle, ring
from planforge.figures.plan_drawing import LIFELINE, Obstacles, PlanPicture
from planforge.figures.plan_guys import draw_guy_in_section, guys_near_plane
from planforge.figures.plan_labels import Label, draw_label, sag_band, text_label
from planforge.figures.scale import Drawn, Scale, View, scales
from planforge.figures.text_metrics import cut, wrapped_to
from planforge.units import FOOT, Display

SIZE_INCHES = (15.8, 8.9)
_TITLE = 34.0
_FOOT_ROOM = 78.0
_NAMED = 0.35  # of the section, what the name of a lower level may take
_ABOVE, _BELOW = 1.5 * FOOT, 2.0 * FOOT
_SIDE = 2.5 * FOOT
LOADED = Pen(2.0)
CHORD = Pen(LEAST_WEIGHT, dashes=(10, 2, 2, 2))
BODY = Pen(1.3)


@dataclass(frozen=True)
class Section:
    """The governing place of a line, and the heights along it; m."""

    result: LineResult
    run: RigRun
    side: SideRun
    stack: Stack

    @property
    def station(self) -> float:
        """Where along the line it governs, m from its start."""
        return float(self.run.rig.stations[self.side.governs])

    @property
    def line_drop(self) -> float:
        """How far the line comes down at the governing place, m."""
        return dict(self.stack.terms)["line_drop"]

    @property
    def fallen(self) -> float:
        """How far the D-ring comes down, m."""
        terms = dict(self.stack.terms)
        return terms["free_fall"] + terms["line_drop"] + terms["deceleration"] + terms["swing_drop"]

    def at_rest(self, stations: Array) -> Array:
        """Elevation (S,) of the unloaded line on the warmest day: a parabola through the governing place."""
        parts = self.result.parts
        span, x = parts.span, self.station
        sag = float(parts.chord(np.array([x]))[0]) - self.stack.anchorage
        return np.asarray(parts.chord(stations) - sag * (stations * (span - stations)) / (x * (span - x)))

    def lower(self) -> list[LowerRun]:
        """What lies below along the line, each thing for as far as it is the one that would be struck."""
        stations, parts = self.run.rig.stations, self.result.parts
        bounds = np.concatenate([[0.0], (stations[1:] + stations[:-1]) / 2, [parts.span]])
        heights, names = self.side.under.elevation, [str(n) for n in self.side.under.name]
        runs = []
        for name, group in groupby(range(len(names)), key=names.__getitem__):
            own = list(group)
            start, end = float(bounds[own[0]]), float(bounds[own[-1] + 1])
            inner = [(float(stations[n]), float(heights[n])) for n in own]
            profile = [(start, inner[0][1]), *inner, (end, inner[-1][1])]
            level = len({height for _, height in inner}) == 1
            runs.append(LowerRun(name, tuple([profile[0], profile[-1]] if level else profile)))
        return runs


@dataclass(frozen=True, slots=True)
class LowerRun:
    """One thing below along the line, with its profile: distances from the line's start and elevations, m."""

    name: str
    profile: tuple[tuple[float, float], ...]

    @property
    def lowest(self) -> float:
        """Its lowest elevation, m."""
        return min(height for _, height in self.profile)

    @property
    def highest(self) -> float:
        """Its highest elevation, m."""
        return max(height for _, height in self.profile)


def governing(result: LineResult, display: Display) -> Section:
    """The stance, side, phase and place of a line with the least clearance left over."""
    run = min(result.runs, key=lambda r: r.worst_side.left_over)
    side = run.worst_side
    rig = run.rig
    stack = stack_of(
        side, (rig.dring, rig.surface, float(rig.anchorage[side.governs])), "Line at rest", display
    )
    return Section(result, run, side, stack)


@dataclass(frozen=True)
class ElevationPlan:
    """Where an elevation is drawn: the section's view and the stack's axis."""

    section: Section
    view: View
    axis: Upright
    window: Box

    @property
    def scales(self) -> str:
        """The scale as printed, or both where section and stack differ."""
        section, stack = self.view.scale, self.axis.scale
        return section.text if section == stack else f"section {section.text}, stack {stack.text}"


def plan_elevation(section: Section, size: tuple[float, float], display: Display) -> ElevationPlan:
    """Choose the scales: one for both where the section allows 1/4 in to the foot (1:50), else one each."""
    width, height = size[0] * PER_INCH, size[1] * PER_INCH
    window = (1.0, _FOOT_ROOM, width - STACK_WIDTH - 20.0, height - _TITLE)
    parts, stack = section.result.parts, section.stack
    top = max(parts.start[2], parts.end[2], stack.highest + 1.2 * FOOT) + _ABOVE
    bottom = (
        min(stack.lowest, *(run.lowest for run in section.lower()), _base(section, 0), _base(section, 1))
        - _BELOW
    )
    room = window[2] - window[0], window[3] - window[1] - 30.0
    own = _largest(top - bottom, parts.span + 2 * _SIDE, room, display)
    alone = _largest(top - bottom, 0.0, room, display)
    shared = own if own.ratio >= 1 / 50.0 else alone
    low = window[1] + 30.0
    view = View(own, (parts.span / 2, bottom), ((window[0] + window[2]) / 2, low))
    return ElevationPlan(section, view, Upright(shared, bottom, low), window)


def _largest(high: float, wide: float, room: tuple[float, float], display: Display) -> Scale:
    fitting = (s for s in scales(display.system) if wide * s.points <= room[0] and high * s.points <= room[1])
    return next(fitting)


def _base(section: Section, end: int) -> float:
    parts = section.result.parts
    kind, head = (parts.start_kind, parts.start) if end == 0 else (parts.end_kind, parts.end)
    return head[2] - kind.head_height


def elevation(assessment: Assessment, result: LineResult, size: tuple[float, float] = SIZE_INCHES) -> Drawn:
    """Draw the section and the stack of one line on ``size`` inches; the line must have a stance."""
    display = Display(assessment.job.site.units)
    section = governing(result, display)
    plan = plan_elevation(section, size, display)
    paper = Paper(*size)
    _draw_title(paper, assessment, plan, display)
    _draw_section(paper, assessment, plan, display)
    draw_stack(paper, plan.window[2] + 20.0, plan.axis, section.stack, display)
    _draw_others(paper, result, plan, display)
    return Drawn(paper, plan.scales, frozenset({result.id}))


def _draw_title(paper: Paper, assessment: Assessment, plan: ElevationPlan, display: Display) -> None:
    section = plan.section
    rig, side = section.run.rig, section.side
    y = paper.height - 14.0
    paper.text(1.0, y, f"{section.result.id}: section along the line", 12.0, bold=True)
    start = section.result.parts.line.start
    room = plan.window[2] - 10.0
    task, phase = (cut(name, SIZE, 0.6 * room) for name in (rig.task.name, side.phase.name))
    told = (
        f"Governing: {task}, on the {rig.stance.surface} ({rig.stance.id}), "
        f"{side.side.direction} side, "
        f"phase {phase}, {display.length(section.station)} from {start}, "
        f"{rig.count} worker{'s' if rig.count > 1 else ''}. Scale {plan.view.scale.text}."
    )
    for n, line in enumerate(wrapped_to(told, SIZE, room, 2)):
        paper.text(1.0, y - 13.0 - n * 11.0, line, SIZE)
    x = plan.window[2] + 20.0
    paper.text(x, y, "Clearance at the governing place", 12.0, bold=True)
    paper.text(x, y - 13.0, f"Scale {plan.axis.scale.text}. Heights over the top of the slab.", SIZE)


def _draw_section(
    paper: Paper, assessment: Assessment, plan: ElevationPlan, display: Display
) -> tuple[Placed, ...]:
    section, view = plan.section, plan.view
    obstacles = Obstacles()
    labels = [
        *_draw_line(paper, plan, obstacles, display),
        *_draw_posts(paper, plan, obstacles),
        *_draw_guys(paper, assessment, plan, obstacles),
        *_draw_surfaces(paper, assessment, plan, obstacles, display),
    ]
    _draw_worker(paper, plan, obstacles)
    low = min(*(run.lowest for run in section.lower()), _base(section, 0), _base(section, 1))
    y = float(view((0.0, low))[1]) - 26.0
    ends = [(float(view((s, 0.0))[0]), s) for s in (0.0, section.station, section.result.parts.span)]
    labels += string_labels(paper, ends, 0, y, display, "span")
    obstacles.lines.append((ends[0][0], y, ends[-1][0], y))
    placed = place_labels(
        [label.wanted for label in labels], plan.window, obstacles.boxes, obstacles.segments
    )
    for label, where in zip(labels, placed, strict=True):
        draw_label(paper, label, where)
    return placed


def _draw_line(paper: Paper, plan: ElevationPlan, obstacles: Obstacles, display: Display) -> list[Label]:
    section, view, parts = plan.section, plan.view, plan.section.result.parts
    ends = np.array([0.0, parts.span])
    chord = view(np.column_stack([ends, parts.chord(ends)]))
    x = np.linspace(0.0, parts.span, 41)
    rest = view(np.column_stack([x, section.at_rest(x)]))
    grip = (section.station, section.stack.anchorage - section.line_drop)
    loaded = np.array([chord[0], view(grip), chord[1]])
    paper.stroke(chord, CHORD)
    paper.stroke(rest, replace(LIFELINE, width=1.2), layer=LINE)
    paper.stroke(loaded, LOADED, layer=HEAVY)
    for points in (chord, rest[::8], loaded):
        obstacles.add_lines(points)
    quarter = float(x[10 if section.station > parts.span / 2 else 30])
    on_rest = view.one((quarter, float(section.at_rest(np.array([quarter]))[0])))
    on_loaded = loaded[0] + 0.5 * (loaded[1] - loaded[0])
    at = display.temperature(parts.line.installed_at)
    target = f"{display.inches(parts.line.sag)} at {at}"
    band = section.result.card.at_installation
    if band is not None:
        target += f", band {sag_band(display, band)}"
    return [
        text_label(
            "at rest",
            (f"{parts.line.id} at rest, target sag {target}",),
            on_rest,
            gap=6.0,
        ),
        text_label(
            "loaded",
            (f"at arrest, {section.stack.told('line_drop', section.line_drop, display)} down",),
            (float(on_loaded[0]), float(on_loaded[1])),
            gap=5.0,
        ),
    ]


def _draw_posts(paper: Paper, plan: ElevationPlan, obstacles: Obstacles) -> list[Label]:
    parts, view = plan.section.result.parts, plan.view
    labels = []
    for end, (name, station, head) in enumerate(
        ((parts.line.start, 0.0, parts.start), (parts.line.end, parts.span, parts.end))
    ):
        foot, top = view.one((station, _base(plan.section, end))), view.one((station, head[2]))
        paper.fill(
            rectangle(foot[0] - 2.2, foot[1], foot[0] + 2.2, top[1] + 3.0), 1.0, pen=Pen(1.2), layer=SYMBOL
        )
        paper.fill(rectangle(foot[0] - 9.0, foot[1], foot[0] + 9.0, foot[1] + 2.5), 0.0, layer=SYMBOL)
        obstacles.boxes.append((foot[0] - 3.0, foot[1], foot[0] + 3.0, top[1] + 4.0))
        labels.append(text_label(name, (name,), (top[0], top[1] + 4.0), size=LEAST_TEXT, bold=True))
    return labels


def _draw_guys(
    paper: Paper, assessment: Assessment, plan: ElevationPlan, obstacles: Obstacles
) -> list[Label]:
    """The guys that lie near the line's plane, as far as the window shows them."""
    parts, view = plan.section.result.parts, plan.view
    start = np.asarray(parts.start[:2])
    along = (np.asarray(parts.end[:2]) - start) / parts.span
    picture = PlanPicture(paper, view, plan.window, obstacles)
    labels = []
    for end, name in enumerate((parts.line.start, parts.line.end)):
        post = assessment.index.posts[name]
        for guy, ends in guys_near_plane(post, _base(plan.section, end), start, along):
            whole = view(ends)
            for shown in picture.visible(whole, closed=False):
                draw_guy_in_section(paper, shown, whole=bool(np.allclose(shown[-1], whole[1])))
                obstacles.add_lines(shown)
                x, y = shown[0] + 0.6 * (shown[1] - shown[0])
                labels.append(text_label(f"{name} · {guy}", (guy,), (float(x), float(y))))
    return labels


def _draw_surfaces(
    paper: Paper, assessment: Assessment, plan: ElevationPlan, obstacles: Obstacles, display: Display
) -> list[Label]:
    section, view = plan.section, plan.view
    rig, span = section.run.rig, section.result.parts.span
    labels = []
    left, right = (float(view((x, 0.0))[0]) for x in (-_SIDE * 0.7, span + _SIDE * 0.7))
    surface = float(view((0.0, rig.surface))[1])
    paper.stroke([(left, surface), (right, surface)], Pen(2.6), layer=HEAVY)
    obstacles.lines.append((left, surface, right, surface))
    text = f"Walking surface ({rig.stance.surface}) {display.length(rig.surface)}"
    labels.append(text_label("surface", (text,), (left + (right - left) * 0.27, surface), gap=3.0))
    dated = {level.name: level for level in assessment.job.lower_levels or []}
    for run in section.lower():
        name, ends = run.name, (run.profile[0][0], run.profile[-1][0])
        points = [(float(x), float(y)) for x, y in view(run.profile)]
        if ends[0] == 0.0:
            points[0] = (left, points[0][1])
        if ends[1] == span:
            points[-1] = (right, points[-1][1])
        hatch_ground(paper, points, 9.0)
        for (x1, y1), (x2, y2) in pairwise(points):
            obstacles.boxes.append((x1, min(y1, y2) - 10.0, x2, max(y1, y2) + 1.0))
        height = display.length(run.highest)
        if run.lowest < run.highest:
            height = f"{display.length(run.lowest)} to {height}"
        lines = [*wrapped_to(name, SIZE, _NAMED * (right - left), 2)]
        lines[-1] = f"{lines[-1]} {height}"
        level = dated.get(name)
        if level is not None and (level.start or level.end):
            lines.append(
                " ".join(
                    f"{word} {day.isoformat()}"
                    for word, day in (("from", level.start), ("to", level.end))
                    if day
                )
            )
        at = points[0][0] + (points[-1][0] - points[0][0]) * 0.3
        y = float(np.interp(at, [x for x, _ in points], [y for _, y in points]))
        labels.append(text_label(f"lower {ends[0]:.2f}", tuple(lines), (at, y), gap=3.0))
    return labels


def _draw_worker(paper: Paper, plan: ElevationPlan, obstacles: Obstacles) -> None:
    section, view, stack = plan.section, plan.view, plan.section.stack
    x, anchorage = section.station, stack.anchorage
    terms = dict(stack.terms)
    low = stack.dring - section.fallen
    feet = low - terms["dring_shift"] - terms["dring_height"]
    for dring, soles, grip, pen in (
        (stack.dring, stack.surface, anchorage, Pen(1.2, dashes=(2.5, 1.8))),
        (low, feet, anchorage - section.line_drop, BODY),
    ):
        points = view([(x, grip), (x, dring), (x, soles)])
        paper.stroke(points[:2], Pen(0.8, pen.grey), layer=SYMBOL)
        _draw_body(paper, points[1], points[2], pen, 1.0 * FOOT * view.scale.points)
        box = float(points[1][0]), float(min(points[2][1], points[1][1])), float(points[1][1])
        obstacles.boxes.append((box[0] - 10.0, box[1], box[0] + 10.0, box[2] + 16.0))


def _draw_body(paper: Paper, dring: Array, soles: Array, pen: Pen, foot: float) -> None:
    """A plain figure: head above the D-ring, trunk, two legs; ``foot`` is a foot of length on paper."""
    x, y, ground = float(dring[0]), float(dring[1]), float(soles[1])
    hip = ground + 0.5 * (y - ground)
    paper.stroke([(x, y + 0.2 * foot), (x, hip)], pen, layer=SYMBOL)
    for side in (-1.0, 1.0):
        paper.stroke([(x, hip), (x + side * 0.4 * foot, ground)], pen, layer=SYMBOL)
        paper.stroke([(x, y), (x + side * 0.65 * foot, y - 1.2 * foot)], pen, layer=SYMBOL)
    paper.stroke(ring(x, y + 0.62 * foot, 0.38 * foot, 20), pen, closed=True, layer=SYMBOL)
    paper.fill(ring(x, y, 2.4, 12), 0.0, layer=FRAME)


def _draw_others(paper: Paper, result: LineResult, plan: ElevationPlan, display: Display) -> None:
    rows = _all_sides(result, display)
    columns = max(int((plan.window[2] - plan.window[0]) // 240.0), 1)
    room = int((_FOOT_ROOM - 20.0) // ROW)
    y = _FOOT_ROOM - 14.0
    paper.text(1.0, y, "Least left over of every stance, side and phase on this line", SIZE, bold=True)
    fits = columns * room
    shown: Sequence[str] = (
        rows if len(rows) <= fits else [*rows[: fits - 1], f"{len(rows) - fits + 1} more in the calculations"]
    )
    for number, row in enumerate(shown):
        paper.text(1.0 + 240.0 * (number // room), y - ROW * (number % room + 1), row, SIZE)


def _all_sides(result: LineResult, display: Display) -> list[str]:
    sides = sorted(
        ((side, run) for run in result.runs for side in run.sides), key=lambda pair: pair[0].left_over
    )
    rows = []
    for side, run in sides:
        printed = stack_rows(side, display)
        verdict = "SHORT " if printed.short else ""
        text = printed.left_over.text.lstrip("-") if printed.short else printed.left_over.text
        rows.append(f"{verdict}{text}  {run.rig.stance.id}, {side.side.direction}, {side.phase.id}")
    return rows
