"""The layout drawing: a plan view at a true architectural scale, for one phase or for all.

All sheets of a job share one scale and one position, so that phases can be laid over each other.
"""

from __future__ import annotations

from dataclasses import dataclass

from planforge.assess.assessment import Assessment
from planforge.figures.dimensions import building_strings
from planforge.figures.labels import Box, Placed
from planforge.figures.paper import FRAME, PER_INCH, Paper, Pen, rectangle
from planforge.figures.plan_content import PlanContent, core, plan_content
from planforge.figures.plan_drawing import (
    Obstacles,
    PlanPicture,
    draw_building,
    draw_surroundings,
    draw_system,
)
from planforge.figures.plan_guys import draw_framing, draw_guys, framing_labels, guy_labels
from planforge.figures.plan_key import key_entries, sections
from planforge.figures.plan_labels import (
    guard_labels,
    hazard_labels,
    place_and_draw,
    place_labels_of,
    surrounding_labels,
    system_labels,
)
from planforge.figures.plan_power import draw_power_lines, power_labels
from planforge.figures.scale import Drawn, Scale, View, largest_scale
from planforge.figures.sheet_furniture import draw_key, draw_north, draw_scale_bar, draw_sections
from planforge.figures.text_metrics import wrapped

SHEET_SIZE = (15.8, 8.9)
"""Inches: what the frame of an 11 x 17 sheet holds."""

_COLUMN = 3.45 * PER_INCH
_GUTTER = 12.0
_PADDING = 6.0
_STRINGS = 52.0
"""Room left and below the building for the dimension strings, points."""
_FOOT = 74.0
"""Height of the foot of the column: north arrow and scale bar, points."""
_TITLE = 11.0


@dataclass(frozen=True)
class PlannedSheet:
    """What a layout sheet shows and where its labels went."""

    content: PlanContent
    view: View
    window: Box
    placed: tuple[Placed, ...]


def layout_scale(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE) -> Scale:
    """The scale of all layout sheets of a job."""
    return _view(assessment, _window(size)).scale


def layout_sheet(
    assessment: Assessment, phase: str | None = None, size: tuple[float, float] = SHEET_SIZE
) -> Drawn:
    """Draw the layout of one phase, or of all where ``phase`` is None, on ``size`` inches."""
    paper = Paper(*size)
    planned = plan_sheet(assessment, phase, size, paper)
    content, scale = planned.content, planned.view.scale
    paper.stroke(rectangle(*planned.window), Pen(0.8), closed=True, layer=FRAME)
    _draw_column(paper, assessment, planned)
    return Drawn(paper, scale.text, content.marks)


def plan_sheet(
    assessment: Assessment,
    phase: str | None,
    size: tuple[float, float] = SHEET_SIZE,
    paper: Paper | None = None,
) -> PlannedSheet:
    """Draw the plan view itself on ``paper`` and return where everything went."""
    content, window = plan_content(assessment, phase), _window(size)
    view = _view(assessment, window)
    picture = PlanPicture(paper or Paper(*size), view, window, Obstacles())
    draw_surroundings(picture, content)
    draw_power_lines(picture, content)
    draw_framing(picture, content)
    draw_building(picture, content)
    draw_guys(picture, content)
    draw_system(picture, content)
    strings = building_strings(picture, content)
    labels = [
        *hazard_labels(picture, content),
        *place_labels_of(picture, content),
        *power_labels(picture, content),
        *system_labels(picture, content),
        *strings,
        *guard_labels(picture, content),
        *guy_labels(picture, content),
        *framing_labels(picture, content),
        *surrounding_labels(picture, content),
    ]
    frame = (window[0] + 3.0, window[1] + 3.0, window[2] - 3.0, window[3] - 3.0)
    return PlannedSheet(content, view, window, place_and_draw(picture, labels, frame))


def _window(size: tuple[float, float]) -> Box:
    width, height = size[0] * PER_INCH, size[1] * PER_INCH
    return 1.0, 1.0, width - _COLUMN - _GUTTER, height - 1.0


def _view(assessment: Assessment, window: Box) -> View:
    content = plan_content(assessment, None)
    left, bottom, right, top = core(content)
    room = window[2] - window[0] - 2 * _PADDING, window[3] - window[1] - 2 * _PADDING
    wide, high = right - left, top - bottom
    scale = largest_scale(wide, high, room, content.display.system)
    middle = ((window[0] + window[2]) / 2, (window[1] + window[3]) / 2)
    return View(scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _draw_column(paper: Paper, assessment: Assessment, planned: PlannedSheet) -> None:
    content, window = planned.content, planned.window
    left, right, y = window[2] + _GUTTER, paper.width - 1.0, window[3]
    phase = content.phase
    title = f"{phase.name}" if phase else "All phases"
    for line in wrapped(title, _TITLE, right - left, bold=True):
        y -= _TITLE * 1.15
        paper.text(left, y, line, _TITLE, bold=True)
    if phase:
        y -= 11.5
        paper.text(left, y, f"{phase.start.isoformat()} to {phase.end.isoformat()}", 9.0)
    y -= 8.0
    y -= draw_key(paper, (left, window[1], right, y), key_entries(content)) + 4.0
    draw_sections(paper, (left, window[1] + _FOOT, right, y), sections(assessment, content))
    _draw_foot(paper, assessment, planned.view.scale, (left, window[1], right, window[1] + _FOOT))


def _draw_foot(paper: Paper, assessment: Assessment, scale: Scale, box: Box) -> None:
    left, bottom, right, _ = box
    site = assessment.job.site
    draw_north(paper, left + 22.0, bottom + 32.0, site.north)
    x = left + 62.0
    display = plan_content(assessment, None).display
    draw_scale_bar(paper, x, bottom + 28.0, scale, display, right - x - 14.0)
    paper.text(x, bottom + 52.0, f"Scale {scale.text}", 10.0, bold=True)
    paper.text(x, bottom + 12.0, "Measure a reduced copy by the bar.", 9.0)
