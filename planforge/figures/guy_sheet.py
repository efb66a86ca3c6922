"""The guys' own sheets: the building's walls, posts and guys alone, large enough to tell every guy apart.

The layout sheets draw the guys without their names; here each has its id at its plate anchor, and a list
beside the plan says its angle and length. All phases share these sheets.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.post_model import post_parts
from planforge.figures.drafting import FINE, LEAST_MARK, LEAST_TEXT, SHEET_SIZE
from planforge.figures.kept import kept
from planforge.figures.labels import Box, Placed
from planforge.figures.match_lines import Tile, Tiling, tiling
from planforge.figures.paper import FRAME, LINE, PER_INCH, Paper, Pen, rectangle
from planforge.figures.plan_building import draw_standing, standing_labels
from planforge.figures.plan_content import PlanContent, extent, plan_content
from planforge.figures.plan_drawing import Obstacles, PlanPicture, draw_building, draw_system
from planforge.figures.plan_guys import draw_guys, guy_labels, guys_of
from planforge.figures.plan_labels import Label, place_and_draw, text_label
from planforge.figures.scale import Drawn, View
from planforge.figures.sheet_furniture import draw_north, draw_scale_bar
from planforge.figures.sheet_parts import draw_match_lines, name_match_lines, own_on_paper
from planforge.figures.standing import Standing
from planforge.figures.text_metrics import LEADING, text_width, wrapped

READABLE = 1.0 / 64.0
"""The smallest scale of these sheets, 3/16" = 1'-0"."""
MARGIN = 40.0
"""Paper round the outermost plate anchors for the names that stand outside, points."""

_COLUMN = 3.95 * PER_INCH
_GUTTER, _PADDING = 12.0, 6.0
_FOOT = 66.0
"""Height of the foot of the column: north arrow and scale bar, points."""
_ROW = LEAST_TEXT * LEADING
_HALVES = 2
"""Lists of guys beside each other."""


GuyRow = tuple[str, str, str]
"""A guy, its angle from the post, its length."""


@dataclass(frozen=True, slots=True)
class GuySheet:
    """One of the sheets: its figure's name, its number in the title block, its scale."""

    figure: str
    number: str
    scale: str


@dataclass(frozen=True)
class PlannedGuys:
    """What one of the sheets shows and where its names went."""

    content: PlanContent
    view: View
    window: Box
    placed: tuple[Placed, ...]
    listed: tuple[GuyRow, ...]  # those named here
    left_off: int  # named here, without room in the list


def guy_sheets(assessment: Assessment) -> tuple[GuySheet, ...]:
    """Every sheet, in order; none where no guy is laid out."""
    if not any(post.guys for post in assessment.job.layout.posts):
        return ()
    return tuple(
        GuySheet(f"guys:{n}" if n > 1 else "guys", f"G{n}", _tiling(assessment).scale.text)
        for n in range(1, len(_named_tiles(assessment)) + 1)
    )


def guy_sheet(assessment: Assessment, number: int = 1) -> Drawn:
    """Draw one of the sheets, counted from 1."""
    paper = Paper(*SHEET_SIZE)
    planned = plan_guys(assessment, number, paper)
    paper.stroke(rectangle(*planned.window), Pen(0.8), closed=True, layer=FRAME)
    _draw_column(paper, assessment, planned)
    return Drawn(paper, planned.view.scale.text, frozenset(p.id for p in planned.content.posts))


def plan_guys(assessment: Assessment, number: int = 1, paper: Paper | None = None) -> PlannedGuys:
    """Draw the plan view itself and return where everything went."""
    content, window, shares = _content(assessment), _window(), _tiling(assessment)
    tiles = _named_tiles(assessment)
    tile = tiles[number - 1]
    view = _view(shares, tile, window)
    picture = PlanPicture(paper or Paper(*SHEET_SIZE), view, window, Obstacles(), own_on_paper(tile, view))
    draw_standing(picture, content)
    draw_building(picture, content)
    draw_guys(picture, content)
    draw_system(picture, content)
    draw_match_lines(picture, content, shares, tile)
    if len(shares.tiles) > 1:
        numbers = [f"G{tiles.index(one) + 1}" if one in tiles else "– (no guy)" for one in shares.tiles]
        name_match_lines(picture, shares, tile, numbers)
    labels = [
        *_post_labels(picture, content),
        *guy_labels(picture, content),
        *standing_labels(picture, content),
    ]
    frame = (window[0] + 3.0, window[1] + 3.0, window[2] - 3.0, window[3] - 3.0)
    placed = place_and_draw(picture, labels, frame)
    rows = _rows(assessment, content, {p.key for p in placed})
    most = _HALVES * int((window[3] - window[1] - _FOOT - 5.5 * _ROW) / _ROW)
    return PlannedGuys(content, view, window, placed, rows[:most], max(len(rows) - most, 0))


def _post_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    return [
        text_label(post.id, (post.id,), picture.view.one(post.at), size=LEAST_MARK, bold=True, gap=5.5)
        for post in content.posts
        if picture.owns(picture.view.one(post.at))
    ]


def _rows(assessment: Assessment, content: PlanContent, named: set[str]) -> tuple[GuyRow, ...]:
    """Those named on a sheet; one whose id another post's guy has too comes with its post."""
    show, ids = content.display, Counter(guy.id for _, guy in guys_of(content))
    return tuple(
        (
            guy.line.id if ids[guy.line.id] == 1 else f"{post.id} {guy.line.id}",
            show.angle(guy.angle),
            show.length(guy.length, "up"),
        )
        for post in content.posts
        for guy in post_parts(assessment.index, post).guys
        if f"{post.id} · {guy.line.id}" in named
    )


@kept
def _content(assessment: Assessment) -> PlanContent:
    """Posts, lines, guys, walls and openings of all phases."""
    content = plan_content(assessment, None)
    return replace(
        content,
        edges=(),
        anchors=(),
        guardrails=(),
        covers=(),
        zones=(),
        places=(),
        hazards=(),
        lower_levels=(),
        framing=(),
        power_lines=(),
        standing=Standing(walls=content.standing.walls),
    )


@kept
def _tiling(assessment: Assessment) -> Tiling:
    """How the building is divided among the sheets."""
    content, window = _content(assessment), _window()
    places = [guy.to for _, guy in guys_of(content)] + [post.at for post in content.posts]
    box = extent([np.asarray(places)])
    room = window[2] - window[0] - 2 * (_PADDING + MARGIN), window[3] - window[1] - 2 * (_PADDING + MARGIN)
    return tiling(lambda _: box, room, content.display.system, places, readable=READABLE)


def _named_tiles(assessment: Assessment) -> list[Tile]:
    """The shares of the building on which a guy ends: no sheet is printed without one."""

    def has_guy(tile: Tile) -> bool:
        left, bottom, right, top = tile.own
        ends = [guy.to for _, guy in guys_of(_content(assessment))]
        return any(left <= x <= right and bottom <= y <= top for x, y in ends)

    return [tile for tile in _tiling(assessment).tiles if has_guy(tile)]


def _window() -> Box:
    width, height = (PER_INCH * side for side in SHEET_SIZE)
    return 1.0, 1.0, width - _COLUMN - _GUTTER, height - 1.0


def _view(shares: Tiling, tile: Tile, window: Box) -> View:
    left, bottom, right, top = tile.shown
    middle = (window[0] + window[2]) / 2, (window[1] + window[3]) / 2
    return View(shares.scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _draw_column(paper: Paper, assessment: Assessment, planned: PlannedGuys) -> None:
    window, site = planned.window, assessment.job.site
    left, right, y = window[2] + _GUTTER, paper.width - 1.0, window[3] - LEAST_MARK * 1.1
    paper.text(left, y, "Guys", LEAST_MARK, bold=True)
    told = (
        "From post: the guy's angle to the post. Length: from the post to its plate anchor. Places, heights "
        "and tensions: erection sheet."
    )
    for line in wrapped(told, LEAST_TEXT, right - left):
        y -= _ROW
        paper.text(left, y, line, LEAST_TEXT)
    y -= 8.0
    half = (right - left - _GUTTER) / _HALVES
    share = -(-len(planned.listed) // _HALVES)
    for number in range(_HALVES):
        start = left + number * (half + _GUTTER)
        _draw_list(paper, planned.listed[number * share : (number + 1) * share], start, start + half, y)
    if planned.left_off:
        more = f"{planned.left_off} more: erection sheet, guys."
        paper.text(left, y - (share + 2) * _ROW, more, LEAST_TEXT, bold=True)
    draw_north(paper, left + 22.0, window[1] + 30.0, site.north)
    x, scale = left + 62.0, planned.view.scale
    paper.text(x, window[1] + 46.0, f"Scale {scale.text}", LEAST_MARK, bold=True)
    draw_scale_bar(paper, x, window[1] + 18.0, scale, planned.content.display, right - x - 14.0)


def _draw_list(paper: Paper, rows: Sequence[GuyRow], left: float, right: float, y: float) -> None:
    """Guys one under another: id, angle, length."""
    if not rows:
        return
    middle = right - max(text_width(length, LEAST_TEXT) for *_, length in rows) - 8.0
    y -= _ROW
    for x, word, align in ((left, "Guy", "left"), (middle, "From post", "right"), (right, "Length", "right")):
        paper.text(x, y, word, LEAST_TEXT, align=align, bold=True)  # type: ignore[arg-type]
    paper.stroke([(left, y - 3.0), (right, y - 3.0)], FINE, layer=LINE)
    y -= 2.0
    for guy, angle, length in rows:
        y -= _ROW
        paper.text(left, y, guy, LEAST_TEXT)
        paper.text(middle, y, angle, LEAST_TEXT, align="right")
        paper.text(right, y, length, LEAST_TEXT, align="right")
