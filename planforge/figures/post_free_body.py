"""The free body of a post under its governing case: elevation in the plane of the pull, a plan, the numbers.

Every force stands twice: at the arrest's own load (1×) and at the factor that the strength checks ask for.
In the elevation the guys are turned into the plane of the pull, at their true angle and length.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.free_body import GuyForces
from planforge.assess.load_path import PostResult
from planforge.figures.clearance_stack import hatch_ground
from planforge.figures.force_arrows import arrow, arrowhead
from planforge.figures.free_body_tables import draw_tables, table_rows, tables_height
from planforge.figures.labels import Box, Placed, place_labels
from planforge.figures.paper import FRAME, HEAVY, LINE, PER_INCH, SYMBOL, Paper, Pen, rectangle
from planforge.figures.plan_drawing import Obstacles
from planforge.figures.plan_guys import GUY, draw_plate_anchor
from planforge.figures.plan_labels import Label, draw_label, text_label
from planforge.figures.post_bodies import PostBodies, post_bodies
from planforge.figures.scale import Drawn, Scale, View, scales
from planforge.figures.sheet_furniture import draw_north
from planforge.figures.text_metrics import LEADING, wrapped
from planforge.units import Display

SIZE_INCHES = (7.0, 8.2)
SIZE = 8.0
AXIS = Pen(0.5, dashes=(10, 2, 2, 2))
SLACK = Pen(0.5, 0.35, dashes=(1.2, 2.4))
_PLAN = 172.0
"""Width of the plan, points."""
_ARROW = 46.0
"""Length of the arrow at the head, points."""
_TOGETHER = 10.0
"""Plate anchors nearer than this on paper share a label, points."""
_GUY_CROSSED = 10
"""For how many lines a guy counts to a label."""
_BELOW = 52.0
"""Room under the base for its reactions, points."""


@dataclass(frozen=True)
class PlannedBody:
    """Where a post's free body is drawn, and its labels."""

    bodies: PostBodies
    view: View
    plan_view: View
    placed: tuple[Placed, ...]  # in the elevation
    plan_placed: tuple[Placed, ...]


def post_free_body(
    assessment: Assessment, result: PostResult, size: tuple[float, float] = SIZE_INCHES
) -> Drawn:
    """Draw the free body of one post on ``size`` inches."""
    paper = Paper(*size)
    planned = plan_post_free_body(assessment, result, size, paper)
    return Drawn(paper, planned.view.scale.text, frozenset({result.id}))


def free_body_scale(
    assessment: Assessment, result: PostResult, size: tuple[float, float] = SIZE_INCHES
) -> str:
    """The elevation's scale as printed."""
    display, bodies = Display(assessment.job.site.units), post_bodies(result)
    return _view(bodies, _boxes(assessment, bodies, size)[0], display).scale.text


def plan_post_free_body(
    assessment: Assessment,
    result: PostResult,
    size: tuple[float, float] = SIZE_INCHES,
    paper: Paper | None = None,
) -> PlannedBody:
    """Draw everything on ``paper`` and return where it went."""
    sheet, display, bodies = paper or Paper(*size), Display(assessment.job.site.units), post_bodies(result)
    box, plan_box = _boxes(assessment, bodies, size)
    _draw_head(sheet, bodies, display)
    view = _view(bodies, box, display)
    placed = _draw_elevation(sheet, bodies, view, box, display)
    plan_view = _plan_view(bodies, plan_box, display)
    plan_placed = _draw_plan(sheet, assessment, bodies, plan_view, plan_box, display)
    draw_tables(sheet, table_rows(bodies, display), sheet.width)
    return PlannedBody(bodies, view, plan_view, placed, plan_placed)


def head_lines(bodies: PostBodies, display: Display, width: float) -> list[str]:
    """What the numbers are and how the elevation is drawn, broken to ``width`` points."""
    told = (
        f"1× at the arrest's own load, {bodies.times} at {bodies.result.factor:g} times it "
        "(29 CFR 1926.502(d)(8)). "
        "Drawn with a pinned base, which loads the guys most; the clamped base is in the table. "
        f"Elevation in the plane of the pull, {display.angle(bodies.azimuth % (2 * np.pi))} "
        "from the plan's x; guys are turned into it, their angles true, from the post's axis. "
        "Directions are from the post, counter-clockwise from the plan's x. Forces of the guys: in the table."
    )
    return wrapped(told, SIZE, width)


def _boxes(assessment: Assessment, bodies: PostBodies, size: tuple[float, float]) -> tuple[Box, Box]:
    width, height = size[0] * PER_INCH, size[1] * PER_INCH
    display = Display(assessment.job.site.units)
    top = height - 20.0 - SIZE * LEADING * len(head_lines(bodies, display, width))
    bottom = tables_height(table_rows(bodies, display)) + 6.0
    left = width - _PLAN - 1.0
    return (1.0, bottom, left - 8.0, top), (left, max(top - _PLAN - 40.0, bottom), width - 1.0, top - 14.0)


def _draw_head(paper: Paper, bodies: PostBodies, display: Display) -> None:
    y = paper.height - 12.0
    paper.text(0.0, y, f"{bodies.result.id}: free body under {bodies.name}", 11.0, bold=True)
    for number, line in enumerate(head_lines(bodies, display, paper.width), 1):
        paper.text(0.0, y - 2.0 - SIZE * LEADING * number, line, SIZE)


def side_of(guy: GuyForces, azimuth: float) -> float:
    """1 where a guy is turned to the side that the pull goes to, -1 where it holds against it."""
    return 1.0 if np.cos(guy.azimuth - azimuth) > 1e-9 else -1.0


def anchor_place(guy: GuyForces, azimuth: float) -> tuple[float, float]:
    """A guy's plate anchor in the elevation: m from the post's axis and above its base."""
    reach = guy.length * float(np.sin(guy.angle))
    return side_of(guy, azimuth) * reach, guy.height - guy.length * float(np.cos(guy.angle))


def _view(bodies: PostBodies, box: Box, display: Display) -> View:
    places = np.array([anchor_place(g, bodies.azimuth) for g in bodies.own.guys])
    head = bodies.result.parts.kind.head_height
    low = min(0.0, float(places[:, 1].min()))
    left, right = min(float(places[:, 0].min()), 0.0), max(float(places[:, 0].max()), 0.0)
    room = box[2] - box[0] - 60.0, box[3] - box[1] - _BELOW - 26.0
    scale = _fitting(right - left, head - low, room, display)
    middle = (box[0] + box[2]) / 2 - (left + right) / 2 * scale.points
    spare = room[1] - (head - low) * scale.points
    return View(scale, (0.0, low), (middle, box[1] + _BELOW + max(spare, 0.0) / 2))


def _fitting(wide: float, high: float, room: tuple[float, float], display: Display) -> Scale:
    listed = scales(display.system)
    fits = (s for s in listed if wide * s.points <= room[0] and high * s.points <= room[1])
    return next(fits, listed[-1])


def _both(bodies: PostBodies, display: Display, name: str, own: float, twice: float) -> tuple[str, str]:
    """A force at both loads, a line each."""
    if np.isnan(own) or np.isnan(twice):
        return name, "not reckoned"
    return f"{name} 1× {display.force(own, 'up')}", f"{bodies.times} {display.force(twice, 'up')}"


def _draw_elevation(
    paper: Paper, bodies: PostBodies, view: View, box: Box, display: Display
) -> tuple[Placed, ...]:
    paper.stroke(rectangle(*box), Pen(0.5), closed=True, layer=FRAME)
    obstacles = Obstacles()
    if not bodies.own.stands or not bodies.twice.stands:
        note = "No equilibrium with these guys: the numbers are not reckoned."
        paper.text((box[0] + box[2]) / 2, box[3] - 14.0, note, 9.0, align="center", bold=True)
        obstacles.boxes.append((box[0], box[3] - 18.0, box[2], box[3]))
    labels = [
        *_draw_pull(paper, bodies, view, obstacles, display),
        *_draw_post(paper, bodies, view, obstacles, display),
        *_draw_guys(paper, bodies, view, obstacles, display),
        *_draw_reactions(paper, bodies, view, obstacles, display),
    ]
    paper.text(box[0] + 4.0, box[1] + 4.0, f"Scale {view.scale.text}", SIZE)
    obstacles.boxes.append((box[0], box[1], box[0] + 110.0, box[1] + 13.0))
    return _placed(paper, labels, box, obstacles)


def _placed(paper: Paper, labels: Sequence[Label], box: Box, obstacles: Obstacles) -> tuple[Placed, ...]:
    inner = (box[0] + 3.0, box[1] + 3.0, box[2] - 3.0, box[3] - 3.0)
    placed = place_labels([label.wanted for label in labels], inner, obstacles.boxes, obstacles.segments)
    for label, where in zip(labels, placed, strict=True):
        draw_label(paper, label, where)
    return placed


def _draw_pull(
    paper: Paper, bodies: PostBodies, view: View, obstacles: Obstacles, display: Display
) -> list[Label]:
    if not np.any(bodies.own.pull):
        return []
    x, y = view.one((0.0, bodies.result.parts.kind.head_height))
    obstacles.add_lines(arrow(paper, (x, y), (x + _ARROW, y)))
    force = [float(np.hypot(*body.pull[:2])) for body in (bodies.own, bodies.twice)]
    told = _both(bodies, display, "pull", *force)
    labels = [text_label("pull", told, (x + _ARROW, y), size=SIZE, bold=True)]
    down = [-float(body.pull[2]) for body in (bodies.own, bodies.twice)]
    if down[0] > 0.0:
        obstacles.add_lines(arrow(paper, (x, y + 0.6 * _ARROW), (x, y + 3.0)))
        told = _both(bodies, display, "pressed down", *down)
        labels.append(text_label("down", told, (x, y + 0.6 * _ARROW), size=SIZE, bold=True))
    return labels


def _draw_post(
    paper: Paper, bodies: PostBodies, view: View, obstacles: Obstacles, display: Display
) -> list[Label]:
    kind = bodies.result.parts.kind
    foot, head = view.one((0.0, 0.0)), view.one((0.0, kind.head_height))
    half = max(0.5 * (kind.outer_diameter or 0.0) * view.scale.points, 1.8)
    post = (foot[0] - half, foot[1], foot[0] + half, head[1])
    paper.fill(rectangle(*post), 1.0, pen=Pen(1.0), layer=LINE)
    paper.stroke([(foot[0], foot[1] - 6.0), (head[0], head[1] + 10.0)], AXIS, layer=HEAVY)
    paper.fill(rectangle(foot[0] - 9.0, foot[1] - 2.0, foot[0] + 9.0, foot[1]), 0.0, layer=SYMBOL)
    hatch_ground(paper, [(foot[0] - 26.0, foot[1] - 2.0), (foot[0] + 26.0, foot[1] - 2.0)], 6.0)
    obstacles.boxes += [post, (foot[0] - 26.0, foot[1] - 9.0, foot[0] + 26.0, foot[1])]
    labels = []
    for number, ((height, own), (_, twice)) in enumerate(
        zip(bodies.own.joints, bodies.twice.joints, strict=True), 1
    ):
        x, y = view.one((0.0, height))
        paper.stroke([(x - half - 4.0, y), (x + half + 4.0, y)], Pen(1.6), layer=SYMBOL)
        told = (
            f"joint {number} at {display.length(height)}",
            f"1× {_moment(display, own)}",
            f"{bodies.times} {_moment(display, twice)}",
        )
        labels.append(text_label(f"joint {number}", told, (x + half + 4.0, y), size=SIZE))
    return labels


def _moment(display: Display, value: float) -> str:
    return "not reckoned" if np.isnan(value) else display.moment(value, "up")


def _draw_guys(
    paper: Paper, bodies: PostBodies, view: View, obstacles: Obstacles, display: Display
) -> list[Label]:
    """Each with its pull up and across at its plate anchor; those that end together are named together.

    Their forces stand in the table.
    """
    named: list[tuple[tuple[float, float], list[str]]] = []
    for own, twice in zip(bodies.own.guys, bodies.twice.guys, strict=True):
        start = np.asarray(view((0.0, own.height)))
        end = np.asarray(view(anchor_place(own, bodies.azimuth)))
        pulls = bool(max(own.tension, twice.tension) > 0.0)
        paper.stroke(np.array([start, end]), GUY if pulls else SLACK, layer=HEAVY)
        for _ in range(_GUY_CROSSED):
            obstacles.add_lines(np.array([start, end]))
        x, y = float(end[0]), float(end[1])
        draw_plate_anchor(paper, x, y)
        obstacles.boxes.append((x - 3.0, y - 3.0, x + 3.0, y + 3.0))
        told = f"{own.id}  {display.angle(own.angle)}{'' if pulls else ', slack'}"
        at, beside = next((one for one in named if np.hypot(*(end - one[0])) < _TOGETHER), ((x, y), []))
        if not beside:
            named.append((at, beside))
        beside.append(told)
        if pulls:
            way = end - start
            arrowhead(paper, start + way * min(26.0 / float(np.hypot(*way)), 1.0), way)
            side = side_of(own, bodies.azimuth)
            for tip in ((x, y + 24.0), (x - side * 24.0, y)):
                obstacles.add_lines(arrow(paper, (x, y), tip, Pen(1.0)))
    return [text_label(told[0], tuple(told), (x, y - 3.0), size=SIZE) for (x, y), told in named]


def _draw_reactions(
    paper: Paper, bodies: PostBodies, view: View, obstacles: Obstacles, display: Display
) -> list[Label]:
    """The base's force on the post: vertical from below, horizontal at its foot."""
    if not bodies.twice.stands:
        return []
    x, y = view.one((0.0, 0.0))
    along = np.array([np.cos(bodies.azimuth), np.sin(bodies.azimuth)])
    vertical = [float(abs(body.base_force[2])) for body in (bodies.own, bodies.twice)]
    shear = [float(np.hypot(*body.base_force[:2])) for body in (bodies.own, bodies.twice)]
    up = bool(bodies.twice.base_force[2] >= 0.0)
    ends = ((x, y - 36.0), (x, y - 10.0))
    obstacles.add_lines(arrow(paper, *(ends if up else ends[::-1])))
    side = 1.0 if float(bodies.twice.base_force[:2] @ along) >= 0.0 else -1.0
    tail, tip = (x - side * 60.0, y - 5.0), (x - side * 30.0, y - 5.0)
    obstacles.add_lines(arrow(paper, tail, tip, Pen(1.0)))
    obstacles.boxes.append((x - 3.0, y - 36.0, x + 3.0, y - 8.0))
    obstacles.boxes.append((min(tail[0], tip[0]), y - 8.0, max(tail[0], tip[0]), y - 2.0))
    word = "base presses up" if up else "base holds down"
    return [
        text_label("base vertical", _both(bodies, display, word, *vertical), (x, y - 34.0), size=SIZE),
        text_label("base shear", _both(bodies, display, "shear", *shear), tail, size=SIZE),
    ]


def _plan_view(bodies: PostBodies, box: Box, display: Display) -> View:
    reach = max(g.length * float(np.sin(g.angle)) for g in bodies.own.guys)
    room = min(box[2] - box[0], box[3] - box[1]) - 48.0
    scale = _fitting(2 * reach, 2 * reach, (room, room), display)
    return View(scale, (0.0, 0.0), ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2))


def _draw_plan(
    paper: Paper, assessment: Assessment, bodies: PostBodies, view: View, box: Box, display: Display
) -> tuple[Placed, ...]:
    """All guys and lines from above, one number each, at the factored load."""
    paper.stroke(rectangle(*box), Pen(0.5), closed=True, layer=FRAME)
    heading = f"Plan, numbers at {bodies.times}, scale {view.scale.text}"
    paper.text(box[0], box[3] + 4.0, heading, SIZE, bold=True)
    obstacles = Obstacles()
    centre = np.asarray(view((0.0, 0.0)))
    x, y = float(centre[0]), float(centre[1])
    labels: list[Label] = []
    for guy in bodies.twice.guys:
        way = np.array([np.cos(guy.azimuth), np.sin(guy.azimuth)])
        end = np.asarray(view(guy.length * np.sin(guy.angle) * way))
        paper.stroke(np.array([centre, end]), GUY if guy.tension > 0.0 else SLACK)
        draw_plate_anchor(paper, float(end[0]), float(end[1]))
        obstacles.add_lines(np.array([centre, end]))
        told = display.force(guy.tension, "up") if guy.tension > 0.0 else "slack"
        at = (float(end[0]), float(end[1]))
        obstacles.boxes.append((at[0] - 3.0, at[1] - 3.0, at[0] + 3.0, at[1] + 3.0))
        labels.append(text_label(guy.id, (guy.id, told), at, size=SIZE))
    for name, force in bodies.result.cases[bodies.case].parts:
        if not np.any(force[:2]):
            continue
        tip = centre + 44.0 * force[:2] / np.hypot(*force[:2])
        obstacles.add_lines(arrow(paper, (x, y), (float(tip[0]), float(tip[1]))))
        number = display.force(bodies.result.factor * float(np.hypot(*force[:2])), "up")
        labels.append(text_label(name, (name, number), (float(tip[0]), float(tip[1])), size=SIZE, bold=True))
    plane = 0.46 * (box[2] - box[0]) * np.array([np.cos(bodies.azimuth), np.sin(bodies.azimuth)])
    paper.stroke(np.array([centre - plane, centre + plane]), AXIS)
    paper.fill(rectangle(x - 3.0, y - 3.0, x + 3.0, y + 3.0), 0.0, layer=SYMBOL)
    obstacles.boxes.append((x - 4.0, y - 4.0, x + 4.0, y + 4.0))
    draw_north(paper, box[0] + 18.0, box[1] + 20.0, assessment.job.site.north, 9.0)
    obstacles.boxes.append((box[0], box[1], box[0] + 36.0, box[1] + 42.0))
    return _placed(paper, labels, box, obstacles)
