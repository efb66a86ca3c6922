"""The layout drawing: a plan view at a true architectural scale, for one phase or for all.

All sheets of a job share one scale and one division, so that phases can be laid over each other. A
building too long for one sheet at a readable scale takes several, with match lines between them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.house import house_words
from planforge.figures.drafting import LEAST_MARK, LEAST_TEXT, ON_LETTER, SHEET_SIZE, draw_origin
from planforge.figures.guy_sheet import guy_sheets
from planforge.figures.kept import kept
from planforge.figures.labels import Box, Placed
from planforge.figures.match_lines import Tile, Tiling, tiling
from planforge.figures.paper import FRAME, PER_INCH, Paper, Pen, rectangle
from planforge.figures.plan_building import draw_standing, standing_labels
from planforge.figures.plan_content import PlanContent, core, plan_content
from planforge.figures.plan_drawing import (
    Obstacles,
    PlanPicture,
    draw_building,
    draw_surroundings,
    draw_system,
)
from planforge.figures.plan_guys import draw_framing, draw_guys, framing_labels, guys_of
from planforge.figures.plan_key import key_entries, sections
from planforge.figures.plan_labels import (
    guard_labels,
    hazard_labels,
    place_and_draw,
    place_labels_of,
    surrounding_labels,
    system_labels,
    wished_box,
)
from planforge.figures.plan_power import draw_power_lines, power_labels
from planforge.figures.plan_strings import DimensionString, draw_strings, slab_extent, string_rooms
from planforge.figures.scale import Drawn, Scale, View
from planforge.figures.sheet_furniture import draw_key, draw_north, draw_scale_bar, draw_sections
from planforge.figures.sheet_parts import (
    KEY_PLAN_HEIGHT,
    draw_key_plan,
    draw_match_lines,
    name_match_lines,
    named_here,
    own_on_paper,
)
from planforge.figures.text_metrics import LEADING, wrapped

_COLUMN = 3.45 * PER_INCH
_GUTTER = 12.0
_PADDING = 6.0
_FOOT = 76.0
"""Height of the foot of the column: north arrow and scale bar, points."""


@dataclass(frozen=True, slots=True)
class SheetName:
    """A layout sheet: the figure's name, what it shows, and the number in its title block."""

    figure: str
    phase: str | None
    part: int  # from 1, where a phase takes several sheets
    parts: int
    number: str  # L1, L2, ...; of the sheet of all phases, which no document prints, its part alone


@dataclass(frozen=True)
class PlannedSheet:
    """What a layout sheet shows and where its labels went."""

    content: PlanContent  # what the sheet names
    view: View
    window: Box
    placed: tuple[Placed, ...]
    strings: tuple[DimensionString, ...]
    shown: frozenset[str]  # kinds of things, for the key
    tiling: Tiling
    tile: Tile


def layout_scale(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE) -> Scale:
    """The scale of all layout sheets of a job."""
    return layout_tiling(assessment, size).scale


@kept
def layout_tiling(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE) -> Tiling:
    """How the building is divided among sheets, the same in every phase."""
    content, window = plan_content(assessment, None), _window(size)
    near, edges, rooms = core(content), slab_extent(content), string_rooms(content)

    def extent(scale: Scale) -> Box:
        beside = np.asarray(rooms) / scale.points
        return (
            min(near[0], edges[0] - beside[0]),
            min(near[1], edges[1] - beside[1]),
            max(near[2], edges[2] + beside[2]),
            max(near[3], edges[3] + beside[3]),
        )

    room = window[2] - window[0] - 2 * _PADDING, window[3] - window[1] - 2 * _PADDING
    return tiling(extent, room, content.display.system, _kept_whole(content))


def _kept_whole(content: PlanContent) -> list[tuple[float, float]]:
    """Places that a match line had better not run through, m."""
    places = [p.at for p in content.posts] + [guy.to for _, guy in guys_of(content)]
    places += [h.at for h in content.hazards]
    places += [point for opening in content.openings for point in opening.outline]
    return places + [point for edge in content.edges for point in edge.path]


@kept
def layout_names(assessment: Assessment, size: tuple[float, float] = SHEET_SIZE) -> tuple[SheetName, ...]:
    """Every layout sheet in the document's order: of all phases, then phase by phase, part by part."""
    parts = len(layout_tiling(assessment, size).tiles)
    names = []
    for place, phase in enumerate([None, *(p.id for p in assessment.job.phases)]):
        for part in range(1, parts + 1):
            figure = "layout" + (f"-{phase}" if phase else "") + (f":{part}" if part > 1 else "")
            number = f"L{(place - 1) * parts + part}" if phase else f"{part}"
            names.append(SheetName(figure, phase, part, parts, number))
    return tuple(names)


def layout_sheet(
    assessment: Assessment,
    phase: str | None = None,
    size: tuple[float, float] = SHEET_SIZE,
    part: int = 1,
) -> Drawn:
    """Draw the layout of one phase, or of all where ``phase`` is None, on ``size`` inches."""
    paper = Paper(*size)
    planned = draw_sheet(assessment, phase, paper, part)
    return Drawn(paper, planned.view.scale.text, planned.content.marks)


def draw_sheet(assessment: Assessment, phase: str | None, paper: Paper, part: int = 1) -> PlannedSheet:
    """Draw the plan view with its key and lists on ``paper`` and return where everything went."""
    planned = plan_sheet(assessment, phase, (paper.width / PER_INCH, paper.height / PER_INCH), paper, part)
    paper.stroke(rectangle(*planned.window), Pen(0.8), closed=True, layer=FRAME)
    _draw_column(paper, assessment, planned)
    return planned


def plan_sheet(
    assessment: Assessment,
    phase: str | None,
    size: tuple[float, float] = SHEET_SIZE,
    paper: Paper | None = None,
    part: int = 1,
) -> PlannedSheet:
    """Draw the plan view itself on ``paper`` and return where everything went."""
    content, window = plan_content(assessment, phase), _window(size)
    shares = layout_tiling(assessment, size)
    tile = shares.tiles[part - 1]
    view = _view(shares.scale, tile, window)
    picture = PlanPicture(paper or Paper(*size), view, window, Obstacles(), own_on_paper(tile, view))
    draw_surroundings(picture, content)
    draw_power_lines(picture, content)
    draw_framing(picture, content)
    draw_standing(picture, content)
    draw_building(picture, content)
    draw_guys(picture, content)
    draw_system(picture, content)
    _draw_origin(picture)
    strips = draw_match_lines(picture, content, shares, tile)
    marks = [*hazard_labels(picture, content), *place_labels_of(picture, content)]
    strings = draw_strings(picture, content, [*strips, *(wished_box(mark) for mark in marks)])
    if len(shares.tiles) > 1:
        name_match_lines(picture, shares, tile, _numbers(assessment, phase, size))
    labels = [
        *marks,
        *power_labels(picture, content),
        *system_labels(picture, content),
        *guard_labels(picture, content),
        *framing_labels(picture, content),
        *surrounding_labels(picture, content),
        *standing_labels(picture, content),
    ]
    frame = (window[0] + 3.0, window[1] + 3.0, window[2] - 3.0, window[3] - 3.0)
    placed = place_and_draw(picture, labels, frame)
    if len(shares.tiles) > 1:
        content = named_here(content, frozenset(p.key for p in placed))
    return PlannedSheet(content, view, window, placed, strings, frozenset(picture.shown), shares, tile)


def _numbers(assessment: Assessment, phase: str | None, size: tuple[float, float]) -> list[str]:
    """The sheet numbers of a phase's parts."""
    return [name.number for name in layout_names(assessment, size) if name.phase == phase]


def _draw_origin(picture: PlanPicture) -> None:
    at = picture.view.one((0.0, 0.0))
    if picture.sees(at):
        picture.shown.add("origin")
        draw_origin(picture.paper, *at)


def _window(size: tuple[float, float]) -> Box:
    width, height = size[0] * PER_INCH, size[1] * PER_INCH
    return 1.0, 1.0, width - _COLUMN - _GUTTER, height - 1.0


def _view(scale: Scale, tile: Tile, window: Box) -> View:
    left, bottom, right, top = tile.shown
    middle = ((window[0] + window[2]) / 2, (window[1] + window[3]) / 2)
    return View(scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _draw_column(paper: Paper, assessment: Assessment, planned: PlannedSheet) -> None:
    content, window = planned.content, planned.window
    left, right, y = window[2] + _GUTTER, paper.width - 1.0, window[3]
    phase = content.phase
    title = f"{phase.name}" if phase else "All phases"
    for line in wrapped(title, LEAST_MARK, right - left, bold=True):
        y -= LEAST_MARK * 1.1
        paper.text(left, y, line, LEAST_MARK, bold=True)
    if phase:
        y -= LEAST_TEXT * LEADING
        paper.text(left, y, f"{phase.start.isoformat()} to {phase.end.isoformat()}", LEAST_TEXT)
    if house := assessment.job.house:
        words = house_words(house, content.display)
        for line in wrapped(f"House: {words.design}, {words.set}", LEAST_TEXT, right - left):
            y -= LEAST_TEXT * LEADING
            paper.text(left, y, line, LEAST_TEXT)
    y -= 8.0
    y -= draw_key(paper, (left, window[1], right, y), key_entries(planned.shown)) + 4.0
    foot = window[1] + _FOOT
    _draw_foot(paper, assessment, planned.view.scale, (left, window[1], right, foot))
    if len(planned.tiling.tiles) > 1:
        numbers = _numbers(
            assessment, phase.id if phase else None, (paper.width / PER_INCH, paper.height / PER_INCH)
        )
        box = (left, foot, right, foot + KEY_PLAN_HEIGHT)
        draw_key_plan(paper, box, content, planned.tiling, planned.tile, numbers)
        foot += KEY_PLAN_HEIGHT + 4.0
    guys = [sheet.number for sheet in guy_sheets(assessment)]
    draw_sections(paper, (left, foot, right, y), sections(assessment, content, guys))


def _draw_foot(paper: Paper, assessment: Assessment, scale: Scale, box: Box) -> None:
    left, bottom, right, _ = box
    site = assessment.job.site
    draw_north(paper, left + 22.0, bottom + 38.0, site.north)
    x = left + 62.0
    display = plan_content(assessment, None).display
    paper.text(x, bottom + 64.0, f"Scale {scale.text}", LEAST_MARK, bold=True)
    draw_scale_bar(paper, x, bottom + 37.0, scale, display, right - x - 14.0)
    paper.text(x, bottom + 23.0, "True on 11 x 17 in paper. Fitted", LEAST_TEXT)
    paper.text(x, bottom + 10.0, f"to Letter {100 * ON_LETTER:.0f} %: measure by the bar.", LEAST_TEXT)
