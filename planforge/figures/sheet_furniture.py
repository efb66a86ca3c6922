"""What stands beside a plan view: north arrow, graphic scale bar, key to the symbols, lists."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planforge.figures.drafting import FINE, LEAST_TEXT
from planforge.figures.labels import Box
from planforge.figures.paper import FRAME, LINE, SYMBOL, Paper, Pen, hatch_lines, rectangle, ring
from planforge.figures.scale import Scale
from planforge.figures.text_metrics import ASCENT, LEADING, cut, text_width, wrapped, wrapped_to
from planforge.units import FOOT, Display

SIZE = LEAST_TEXT
ROW = SIZE * LEADING
KEY_ROW = 15.5
"""Height of a row of the key, points."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and its rows; ``more`` stands in their place where the sheet has no room for them."""

    heading: str
    rows: tuple[tuple[str, str], ...]  # (tag, text)
    more: str
    instead: str = ""  # what stands for a row that has no room in full; empty: such a row is cut

    @property
    def indent(self) -> float:
        """Room for the tags, points."""
        return max((text_width(tag, SIZE, bold=True) for tag, _ in self.rows), default=0.0) + 5.0


@dataclass(frozen=True, slots=True)
class Laid:
    """A section broken into printed lines, each with the tag that stands before it (or none)."""

    heading: str
    indent: float
    lines: tuple[tuple[str, str], ...]

    @property
    def height(self) -> float:
        """Points."""
        return ROW * (len(self.lines) + 1) + 5.0


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """A symbol's meaning, and how it is drawn in a field."""

    text: str
    draw: Callable[[Paper, Box], None]


def draw_north(paper: Paper, x: float, y: float, north: float, radius: float = 17.0) -> None:
    """An arrow to north at ``north`` radians clockwise from the sheet's top, with its letter."""
    way, side = (math.sin(north), math.cos(north)), (math.cos(north), -math.sin(north))
    tip = (x + radius * way[0], y + radius * way[1])
    foot = (x - radius * 0.75 * way[0], y - radius * 0.75 * way[1])
    left = (foot[0] - 0.42 * radius * side[0], foot[1] - 0.42 * radius * side[1])
    right = (foot[0] + 0.42 * radius * side[0], foot[1] + 0.42 * radius * side[1])
    notch = (x - radius * 0.35 * way[0], y - radius * 0.35 * way[1])
    paper.fill([tip, left, notch], 0.0, pen=Pen(0.8), layer=SYMBOL)
    paper.fill([tip, right, notch], 1.0, pen=Pen(0.8), layer=SYMBOL)
    letter = (x + (radius + 8.0) * way[0], y + (radius + 8.0) * way[1])
    paper.text(letter[0], letter[1] - 0.33 * 11.0, "N", 11.0, align="center", bold=True)


def bar_length(scale: Scale, display: Display, room: float) -> tuple[float, int]:
    """The true length (m) of one part of a scale bar, and how many parts fit ``room`` points."""
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500)
    unit = FOOT if display.system == "us" else 0.5
    for step in steps:
        part = step * unit
        if part * scale.points >= 24.0:
            return part, max(min(int(room / (part * scale.points)), 4), 1)
    return steps[-1] * unit, 1


def draw_scale_bar(paper: Paper, x: float, y: float, scale: Scale, display: Display, room: float) -> float:
    """A bar of black and white parts, numbered in whole feet (or metres); return its length, points."""
    part, count = bar_length(scale, display, room)
    step = part * scale.points
    unit, name = (FOOT, "ft") if display.system == "us" else (1.0, "m")
    for number in range(count):
        left = x + number * step
        paper.fill(rectangle(left, y, left + step, y + 5.0), float(number % 2), pen=Pen(0.7), layer=SYMBOL)
    for number in range(count + 1):
        text = f"{number * part / unit:g}" + (f" {name}" if number == count else "")
        width = text_width(text, SIZE)
        at = (
            x
            + number * step
            - (width / 2 if number < count else text_width(text.split(maxsplit=1)[0], SIZE) / 2)
        )
        paper.text(at, y + 8.0, text, SIZE)
    return count * step


def draw_key(paper: Paper, box: Box, entries: Sequence[KeyEntry]) -> float:
    """Draw the key in two columns from the top of ``box``; return the height used, points."""
    left, _, _, top = box
    row, field, gap = KEY_ROW, 24.0, 3.0
    rows = math.ceil(len(entries) / 2)
    for number, entry in enumerate(entries):
        first = max(text_width(e.text, SIZE) for e in entries[:rows]) + field + 2 * gap
        x = left + (first if number >= rows else 0.0)
        y = top - row * (number % rows) - row / 2
        entry.draw(paper, (x, y - 5.0, x + field, y + 5.0))
        paper.text(x + field + gap, y - 0.33 * SIZE, entry.text, SIZE)
    return rows * row


def fitted_sections(sections: Sequence[Section], width: float, room: float) -> list[Laid]:
    """Break the sections' rows to ``width`` so that they take at most ``room`` points.

    No row of a section with an ``instead`` is cut. Where it takes no more than that, the sections behind
    the last such one give way, the last of them first, so that its rows stand whole. Else every row gets one
    line, and where even that is too much, sections give way to the sentence that says where their rows stand
    in full, the last ones first; rows with an ``instead`` then stand whole while there is room, those of the
    last section and the shortest first. What room is left gives other rows up to three lines.
    """
    laid = _rules_whole(sections, width, room)
    if laid is None:
        laid = [_laid(section, width, 1) for section in sections]
        for number in reversed(range(len(laid))):
            if _height(laid) <= room:
                break
            laid[number] = Laid(sections[number].more, 0.0, ())
    for number, section in reversed(list(enumerate(sections))):
        for whole in range(len(section.rows) + 1 if section.instead else 0):
            longer = _laid(section, width, 1, whole)
            if _height(laid) - laid[number].height + longer.height <= room:
                laid[number] = longer
    for most in (1, 2, 3):
        for number, section in enumerate(sections):
            longer = _laid(section, width, most)
            if not section.instead and _height(laid) - laid[number].height + longer.height <= room:
                laid[number] = longer
    return laid


def _rules_whole(sections: Sequence[Section], width: float, room: float) -> list[Laid] | None:
    """Rows with an ``instead`` whole, of all such sections or else of the last; None where neither fits."""
    firm = [number for number, section in enumerate(sections) if section.instead]
    for whole in (firm, firm[-1:]):
        laid = [_laid(s, width, 1, len(s.rows) if n in whole else 0) for n, s in enumerate(sections)]
        for number in reversed(range(whole[-1] + 1 if whole else len(sections), len(sections))):
            if _height(laid) > room:
                laid[number] = Laid(sections[number].more, 0.0, ())
        if _height(laid) <= room:
            return laid
    return None


def _laid(section: Section, width: float, most: int, whole: int = 0) -> Laid:
    """A section with at most ``most`` lines a row; with ``instead``, its ``whole`` shortest rows in full."""
    indent = min(section.indent, 0.4 * width)
    room = width - indent
    by_length = sorted(range(len(section.rows)), key=lambda n: len(wrapped(section.rows[n][1], SIZE, room)))
    lines: list[tuple[str, str]] = []
    for row, (tag, text) in enumerate(section.rows):
        if section.instead:
            fits = len(wrapped(text, SIZE, room)) == 1 or row in by_length[:whole]
            printed = wrapped(text if fits else section.instead, SIZE, room)
        else:
            printed = wrapped_to(text, SIZE, room, most)
        for number, line in enumerate(printed):
            lines.append((cut(tag, SIZE, indent - 3.0, bold=True) if number == 0 else "", line))
    return Laid(section.heading, indent, tuple(lines))


def _height(laid: Sequence[Laid]) -> float:
    return sum(section.height for section in laid)


def draw_sections(paper: Paper, box: Box, sections: Sequence[Section]) -> None:
    """Draw the sections from the top of ``box``."""
    left, bottom, right, top = box
    y = top
    for section in fitted_sections(sections, right - left, top - bottom):
        y -= ROW
        paper.text(left, y + SIZE * (1 - ASCENT), section.heading, SIZE, bold=True)
        paper.stroke([(left, y), (right, y)], FINE, layer=LINE)
        for tag, line in section.lines:
            y -= ROW
            paper.text(left, y + SIZE * (1 - ASCENT) - 1.0, tag, SIZE, bold=True)
            paper.text(left + section.indent, y + SIZE * (1 - ASCENT) - 1.0, line, SIZE)
        y -= 5.0


def line_key(text: str, pen: Pen) -> KeyEntry:
    """A key entry that shows a line."""

    def draw(paper: Paper, box: Box) -> None:
        middle = (box[1] + box[3]) / 2
        paper.stroke([(box[0], middle), (box[2], middle)], pen, layer=LINE)

    return KeyEntry(text, draw)


def hatch_key(text: str, spacing: float, angle: float, pen: Pen, frame: Pen) -> KeyEntry:
    """A key entry that shows a hatched field."""

    def draw(paper: Paper, box: Box) -> None:
        corners = rectangle(*box)
        paper.strokes(hatch_lines(corners, spacing, angle), pen)
        paper.stroke(corners, frame, closed=True)

    return KeyEntry(text, draw)


def dot(paper: Paper, x: float, y: float, radius: float = 1.6) -> None:
    """A filled dot."""
    paper.fill(ring(x, y, radius, 12), 0.0, layer=FRAME)
