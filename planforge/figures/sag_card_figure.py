"""The crew's sag card as a chart: the band to set by temperature, with stop regions hatched."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planforge.assess.lines import LineResult
from planforge.figures.labels import spread
from planforge.figures.paper import HEAVY, LINE, MASK, Paper, Pen, hatch_lines, rectangle
from planforge.figures.sheet_furniture import dot
from planforge.figures.text_metrics import text_width, wrapped
from planforge.units import Display

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZE_INCHES = (7.0, 2.7)
SIZE = 9.5
ROW = 12.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 16.0, 16.0, 22.0, 34.0
HATCH = Pen(0.45, 0.3)


def sag_card_figure(result: LineResult, display: Display, size: tuple[float, float] = SIZE_INCHES) -> Figure:
    """The card of one line as a matplotlib figure."""
    return sag_card_drawing(result, display, size).figure()


def sag_card_drawing(result: LineResult, display: Display, size: tuple[float, float] = SIZE_INCHES) -> Paper:
    """Draw the card of one line; where no sag holds it says so.

    Lower limits print rounded up to 1/8 in and upper ones down, to the careful side.
    """
    paper = Paper(*size)
    card = result.card
    if not card.rows:
        paper.text(
            _LEFT, paper.height / 2 + 8.0, f"{result.id}: DO NOT TENSION. No sag holds.", 13.0, bold=True
        )
        for number, line in enumerate(wrapped(card.why, SIZE, paper.width - 2 * _LEFT)):
            paper.text(_LEFT, paper.height / 2 - 12.0 - number * 12.0, line, SIZE)
        return paper
    _draw_card(paper, result, display)
    return paper


def _draw_card(paper: Paper, result: LineResult, display: Display) -> None:
    rows = result.card.rows
    box = (_LEFT, _BOTTOM, paper.width - _RIGHT, paper.height - _TOP)
    left, bottom, right, top = box
    deepest = max(r.upper for r in rows)
    most = deepest + 0.35 * max(deepest - min(r.lower for r in rows), 0.25 * deepest)
    coldest, warmest = rows[0].temperature, rows[-1].temperature
    change = max(warmest - coldest, 1e-6)
    inner = 70.0

    def place(temperature: float, sag: float) -> tuple[float, float]:
        # sag is drawn downward, as it hangs
        part = (temperature - coldest) / change
        return left + inner + part * (right - left - 2 * inner), top - sag / most * (top - bottom)

    def course(name: str) -> list[tuple[float, float]]:
        points = [place(row.temperature, getattr(row, name)) for row in rows]
        return [(left, points[0][1]), *points, (right, points[-1][1])]

    lower, target, upper = course("lower"), course("target"), course("upper")
    for outline, angle in (
        ([(left, top), *lower, (right, top)], 45.0),
        ([(left, bottom), *upper, (right, bottom)], -45.0),
    ):
        paper.strokes(hatch_lines(np.asarray(outline), 5.0, angle), HATCH)
    paper.stroke(lower, Pen(1.6), layer=HEAVY)
    paper.stroke(upper, Pen(1.6), layer=HEAVY)
    paper.stroke(target, Pen(1.2, dashes=(7, 3)), layer=HEAVY)
    paper.stroke([(left, top), (right, top)], Pen(0.9, dashes=(10, 2, 2, 2)))
    paper.text(
        left, top + 7.0, f"{result.id}: sag below the chord at mid-span, nobody on the line", SIZE, bold=True
    )
    for row in rows:
        x = place(row.temperature, 0.0)[0]
        paper.stroke([(x, bottom), (x, top)], Pen(0.4), layer=LINE)
        marks = (
            (row.lower, display.inches(row.lower, "up"), False),
            (row.target, display.inches(row.target), True),
            (row.upper, display.inches(row.upper, "down"), False),
        )
        heights = [place(row.temperature, sag)[1] for sag, _, _ in marks]
        # between the limits, where the band has the room
        wanted = [heights[0] - 8.0, heights[1], heights[2] + 8.0]
        middles = spread(wanted, [ROW] * 3, bottom, top)
        for height, middle, (_, text, bold) in zip(heights, middles, marks, strict=True):
            dot(paper, x, height, 2.2)
            _boxed(paper, x + 6.0, middle, text, bold=bold)
        paper.text(x, bottom - 13.0, display.temperature(row.temperature), 11.0, align="center", bold=True)
    _boxed(paper, left + 4.0, (top + lower[0][1]) / 2, "STOP: too tight", bold=True)
    _boxed(paper, left + 4.0, (bottom + upper[0][1]) / 2, "STOP: too slack", bold=True)
    paper.text(
        paper.width / 2, bottom - 28.0, "Rope temperature when the sag is measured", SIZE, align="center"
    )


def _boxed(paper: Paper, x: float, y: float, text: str, *, bold: bool) -> None:
    width = text_width(text, SIZE, bold)
    paper.fill(rectangle(x - 1.5, y - 5.5, x + width + 1.5, y + 5.5), 1.0, layer=MASK)
    paper.text(x, y - 0.33 * SIZE, text, SIZE, bold=bold)
