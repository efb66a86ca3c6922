"""How a drilling map is divided: columns, window, enlarged bases and scale; and among how many sheets.

One sheet where everything on it can be read; else as few as that takes, each with a run of the bases along
the slab's longer side and the slab beside them. Measures stay those from the slab's own two edges.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.drilling import NO_DRILLING
from planforge.calc.arrays import Array
from planforge.errors import RefusedError
from planforge.figures.column_flow import Block, least_columns
from planforge.figures.drafting import LEAST_TEXT, SHEET_SIZE
from planforge.figures.drilling_content import DrillingContent, stretch
from planforge.figures.drilling_tables import COLUMN, column_blocks, detail_blocks
from planforge.figures.labels import Box
from planforge.figures.match_lines import READABLE
from planforge.figures.paper import PER_INCH
from planforge.figures.plan_content import extent
from planforge.figures.scale import View, largest_scale
from planforge.figures.text_metrics import LEADING, text_width, wrapped

SIZE = LEAST_TEXT
GUTTER = 12.0
TO_STRING = 16.0
"""From the slab to a string, points."""
TO_TEXT = 14.0
"""From a string to its texts, points."""
_MARGIN = 34.0
"""Room round the slab for the marks of both edges, points."""
_FOOT = 74.0
_DETAILS = (150.0, 100.0)
"""Room for an enlarged base's plate in a column, and at the foot of the window, points."""
_MOST_COLUMNS = 4
BANNER, REASON = 15.0, LEAST_TEXT
"""Sizes of the notice that nobody drills and of its reasons, points."""


@dataclass(frozen=True)
class Arrangement:
    """How a sheet is divided: the columns, the window, the enlarged bases at its foot, and the view."""

    columns: tuple[tuple[Block, ...], ...]
    window: Box
    strip: tuple[Block, ...]
    ceiling: float  # height on paper under which the drawing keeps
    view: View


def divided(
    content: DrillingContent, size: tuple[float, float] = SHEET_SIZE
) -> tuple[tuple[DrillingContent, Arrangement], ...]:
    """The sheets of a map, as few as let all of them be read; as few as hold it where no number does.

    Raises:
        RefusedError: no number of sheets holds it.
    """
    held: tuple[tuple[DrillingContent, Arrangement], ...] = ()
    refused: RefusedError | None = None
    for count in range(1, max(len(content.bases), 1) + 1):
        try:
            sheets = tuple((part, arrangement(part, size)) for part in _parts(content, count))
        except RefusedError as error:
            refused = refused or error
            continue
        if all(sheet.view.scale.ratio >= READABLE * (1.0 - 1e-9) for _, sheet in sheets):
            return sheets
        held = held or sheets
    if not held:
        assert refused is not None  # there is at least one number of sheets
        raise refused
    return held


def _parts(content: DrillingContent, count: int) -> list[DrillingContent]:
    if count == 1:
        return [content]
    axis = int(np.argmax(np.ptp(content.outline, axis=0)))
    places = [base.base.parts.post.at for base in content.bases]
    order = sorted(range(len(places)), key=lambda n: (places[n][axis], places[n][1 - axis], n))
    runs = np.array_split(np.array(order), count)
    return [
        stretch(content, [content.bases[n] for n in sorted(run)], axis, number, count)
        for number, run in enumerate(runs, start=1)
    ]


def arrangement(content: DrillingContent, size: tuple[float, float]) -> Arrangement:
    """The enlarged bases in the columns or at the window's foot, whichever leaves the larger scale."""
    blocks = column_blocks(content)
    beside, below = (detail_blocks(content, room) for room in _DETAILS)
    tried = [_arranged(content, size, [*blocks, *beside], []), _arranged(content, size, blocks, below)]
    fitting = [t for t in tried if len(t.strip) * (COLUMN + GUTTER) <= t.window[2] - t.window[0]]
    return max(fitting, key=lambda t: t.view.scale.ratio)


def _arranged(
    content: DrillingContent, size: tuple[float, float], blocks: list[Block], strip: list[Block]
) -> Arrangement:
    width, height = size[0] * PER_INCH, size[1] * PER_INCH
    columns = least_columns(blocks, height - 2.0, _FOOT, _MOST_COLUMNS, "drilling map")
    window = (1.0, 1.0, width - len(columns) * (COLUMN + GUTTER) - 1.0, height - 1.0)
    ceiling = window[3] - banner_height(content, window)
    view = _view(content, (window[0], window[1] + strip_height(strip), window[2], ceiling))
    return Arrangement(tuple(tuple(c) for c in columns), window, tuple(strip), ceiling, view)


def strip_height(strip: Sequence[Block]) -> float:
    """Room for the enlarged bases at the window's foot, points."""
    return max((block.height for block in strip), default=0.0)


def _view(content: DrillingContent, room: Box) -> View:
    left_room, below = (max(_MARGIN, _string_room(content, axis) + 8.0) for axis in (1, 0))
    left, bottom, right, top = extent([content.shown, *_holes(content)])
    box = room[0] + left_room, room[1] + below, room[2] - _MARGIN, room[3] - _MARGIN
    fits = (box[2] - box[0], box[3] - box[1])
    scale = largest_scale(right - left, top - bottom, fits, content.display.system)
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return View(scale, ((left + right) / 2, (bottom + top) / 2), middle)


def _holes(content: DrillingContent) -> list[Array]:
    return [b.base.holes for b in content.drilled if b.base.holes is not None]


def _string_room(content: DrillingContent, axis: int) -> float:
    """The longest text of a running dimension with its leader, points."""
    texts = running_texts(content, axis)
    return max((text_width(text, SIZE) + TO_STRING + TO_TEXT for _, text in texts), default=0.0)


def running_texts(content: DrillingContent, axis: int) -> list[tuple[float, str]]:
    """Each running dimension with the posts it belongs to: (m from the edge, as printed), rising."""
    display = content.display
    return [
        (r.value, f"{display.length(r.value, denominator=16)}  {' '.join(r.posts)}")
        for r in content.running(axis)
    ]


def banner_lines(content: DrillingContent) -> tuple[str, list[str]]:
    """The notice that nobody drills and its reasons; the notice is empty where every base is drilled."""
    if content.reasons:
        return NO_DRILLING, [f"{reason} No hole and no measurement is printed." for reason in content.reasons]
    if not content.withheld:
        return "", []
    return f"{NO_DRILLING} AT {', '.join(b.id for b in content.withheld)}", [
        f"{b.id}: {'; '.join(b.reasons)}." for b in content.withheld
    ]


def reasons(content: DrillingContent, window: Box) -> list[str]:
    """The notice's reasons, broken to the window."""
    room = window[2] - window[0] - 24.0
    return [line for reason in banner_lines(content)[1] for line in wrapped(reason, REASON, room, bold=True)]


def banner_height(content: DrillingContent, window: Box) -> float:
    """Room for the notice and its reasons, points."""
    if not banner_lines(content)[0]:
        return 3.0
    notice = wrapped(banner_lines(content)[0], BANNER, window[2] - window[0] - 24.0, bold=True)
    return 12.0 + BANNER * LEADING * len(notice) + REASON * LEADING * len(reasons(content, window))
