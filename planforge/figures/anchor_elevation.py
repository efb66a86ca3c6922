"""Per stance on a single-point anchorage: its clearance stack with swing, and a plan of the swing."""

from __future__ import annotations

import numpy as np

from planforge.assess.anchors import AnchorRun
from planforge.assess.assessment import Assessment
from planforge.assess.printed_stack import ANCHORAGE_NAMES
from planforge.assess.sides import SideRun
from planforge.figures.clearance_stack import STACK_WIDTH, Stack, Upright, draw_stack, stack_of
from planforge.figures.labels import Box, place_labels
from planforge.figures.paper import FRAME, HEAVY, LINE, MASK, PER_INCH, Paper, Pen, rectangle, ring
from planforge.figures.plan_content import plan_content
from planforge.figures.plan_drawing import Obstacles, PlanPicture, draw_anchor, draw_building
from planforge.figures.plan_labels import draw_label, text_label
from planforge.figures.scale import Drawn, View, scales
from planforge.figures.sheet_furniture import dot
from planforge.figures.text_metrics import cut, wrapped, wrapped_to
from planforge.units import FOOT, Display

SIZE_INCHES = (7.0, 5.4)
SIZE = 9.0
_HEAD = 46.0
_FOOT_ROOM = 26.0
ARC = Pen(0.8, dashes=(3, 2))


def anchor_stack(run: AnchorRun, display: Display) -> tuple[SideRun, Stack]:
    """The side and phase with the least clearance left over, and its stack."""
    side = run.worst_side
    heights = run.dring, run.surface, run.place[2]
    return side, stack_of(side, heights, f"Anchorage {run.anchor.id}", display, ANCHORAGE_NAMES)


def anchor_scales(run: AnchorRun, display: Display, size: tuple[float, float] = SIZE_INCHES) -> str:
    """The scales of the drawing, as printed."""
    stack = anchor_stack(run, display)[1]
    plan = swing_view(run, _box(size), display)
    return f"stack {_axis(stack, display, size).scale.text}, plan {plan.scale.text}"


def _box(size: tuple[float, float]) -> Box:
    return STACK_WIDTH + 8.0, _FOOT_ROOM, size[0] * PER_INCH - 1.0, size[1] * PER_INCH - _HEAD


def _axis(stack: Stack, display: Display, size: tuple[float, float]) -> Upright:
    high, room = stack.highest - stack.lowest + 2.0 * FOOT, size[1] * PER_INCH - _HEAD - _FOOT_ROOM
    scale = next(s for s in scales(display.system) if high * s.points <= room)
    return Upright(scale, stack.lowest, _FOOT_ROOM)


def anchor_elevation(
    assessment: Assessment, run: AnchorRun, size: tuple[float, float] = SIZE_INCHES
) -> Drawn:
    """Draw the stack of one stance and, beside it, its stretch and swing in plan."""
    display = Display(assessment.job.site.units)
    side, stack = anchor_stack(run, display)
    paper = Paper(*size)
    draw_stack(paper, 0.0, _axis(stack, display, size), stack, display)
    _draw_plan(paper, assessment, run, stack, _box(size), display)
    drawn_to = anchor_scales(run, display, size)
    task, phase = (cut(name, SIZE, 0.6 * paper.width) for name in (run.task.name, side.phase.name))
    told = (
        f"{run.anchor.id}: {task}, {run.stance.id} on the {run.stance.surface}, "
        f"{side.side.direction} side, phase {phase}. Scales: {drawn_to}."
    )
    for number, line in enumerate(wrapped_to(told, SIZE, paper.width, 3)):
        paper.text(0.0, paper.height - 10.0 - 11.0 * number, line, SIZE)
    return Drawn(paper, drawn_to, frozenset({run.anchor.id}))


def swing_view(run: AnchorRun, box: Box, display: Display) -> View:
    """The plan's view: the anchorage in the middle, the whole swing inside ``box``."""
    reach = float(run.lateral.max()) + 1.0 * FOOT
    room = min(box[2] - box[0], box[3] - box[1] - 24.0)
    scale = next(s for s in scales(display.system) if 2 * reach * s.points <= room)
    return View(scale, run.place[:2], ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2))


def _draw_plan(
    paper: Paper,
    assessment: Assessment,
    run: AnchorRun,
    stack: Stack,
    box: Box,
    display: Display,
) -> None:
    view = swing_view(run, box, display)
    x, y = view.one(run.place[:2])
    farthest = int(np.argmax(run.lateral))
    reach = float(run.lateral[farthest])
    obstacles = Obstacles(boxes=[(x - 8.0, y - 8.0, x + 8.0, y + 8.0)])
    content = plan_content(assessment, run.worst_side.phase.id)
    with paper.within(*box):
        draw_building(PlanPicture(paper, view, box, Obstacles()), content)
    paper.stroke(rectangle(*box), Pen(0.5), closed=True, layer=FRAME)
    if reach > 0.0:
        paper.stroke(ring(x, y, reach * view.scale.points, 72), ARC, closed=True, layer=LINE)
    spots = view(run.spots)
    if len(spots) > 1:
        paper.stroke(spots, Pen(2.6), layer=HEAVY)
        obstacles.add_lines(spots)
    far = spots[farthest]
    paper.stroke([(x, y), (float(far[0]), float(far[1]))], Pen(0.7))
    dot(paper, float(far[0]), float(far[1]), 3.0)
    draw_anchor(paper, x, y)
    middle = ((x + float(far[0])) / 2, (y + float(far[1])) / 2)
    labels = [
        text_label("anchor", (run.anchor.id,), (x, y), size=10.0, bold=True, gap=9.0),
        text_label("reach", (f"{display.feet(reach, 'up')} off",), middle),
        text_label(
            "swing",
            (
                f"swings to {display.feet(2 * reach, 'up')}",
                f"and {stack.told('swing_drop', float(run.swing.drop[farthest]), display)} down",
            ),
            (x - (float(far[0]) - x), y - (float(far[1]) - y)),
        ),
    ]
    obstacles.boxes.append(_draw_obstacles(paper, run, box, display))
    inner = (box[0] + 2.0, box[1] + 2.0, box[2] - 2.0, box[3] - 2.0)
    placed = place_labels([label.wanted for label in labels], inner, obstacles.boxes, obstacles.segments)
    for label, where in zip(labels, placed, strict=True):
        draw_label(paper, label, where)
    paper.text((box[0] + box[2]) / 2, box[3] + 4.0, "Plan of the swing", SIZE, align="center", bold=True)


def _draw_obstacles(paper: Paper, run: AnchorRun, box: Box, display: Display) -> Box:
    """What a swing would strike, listed at the plan's foot; return the room taken."""
    told = [
        f"first obstacle {side.direction}: {display.feet(side.obstacle, 'down')}"
        for side in run.stance.sides
        if side.obstacle is not None
    ] or ["distance to obstacles: not stated"]
    lines = [line for text in told for line in wrapped(text, SIZE, box[2] - box[0] - 8.0)]
    top = box[1] + 4.0 + 11.0 * len(lines)
    paper.fill(rectangle(box[0], box[1], box[2], top + 2.0), 1.0, layer=MASK)
    for number, line in enumerate(lines):
        paper.text(box[0] + 4.0, top - 9.0 - 11.0 * number, line, SIZE)
    return box[0], box[1], box[2], top + 2.0
