"""What is hidden in the slab, in plan: a line style for each kind, and the band that it may lie in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.drafting import LEAST_WEIGHT
from planforge.figures.drilling_content import DrillingContent
from planforge.figures.labels import Box
from planforge.figures.paper import FILL, FRAME, LINE, Paper, Pen, rectangle
from planforge.figures.plan_drawing import PlanPicture
from planforge.figures.plan_labels import Label, beside_label
from planforge.figures.sheet_furniture import KeyEntry, line_key
from planforge.job.slab import InSlab

KINDS: dict[str, Pen] = {
    "tendon": Pen(1.5, dashes=(10, 2, 2, 2, 2, 2)),
    "plumbing": Pen(1.2, dashes=(7, 2.5)),
    "conduit": Pen(1.0, dashes=(3, 2)),
    "radiant tubing": Pen(0.9, dashes=(1.2, 1.8)),
    "rebar": Pen(0.8),
    "beam": Pen(1.5, dashes=(16, 3)),
    "other": Pen(1.0, dashes=(8, 2, 1.5, 2)),
}
BAND = Pen(LEAST_WEIGHT, dashes=(1.0, 1.4))
BAND_GREY = 0.9
OVER_LABELS = FRAME
"""Labels stand on white: what must not be drilled into is drawn after it, so that none erases any of it."""
_ALONG = (0.5, *(0.5 + side * step / 25 for step in range(1, 12) for side in (-1, 1)))
"""Tendons cross each other: their labels are tried all along them, the middle first."""
_KEPT_OFF = 3
"""How many times more than another line it counts where a label would cross it."""


def draw_contents(picture: PlanPicture, content: DrillingContent) -> list[Label]:
    """Every thing's band and line or outline, cut to the window; their labels."""
    return [label for thing in content.things for label in _draw(picture, content, thing)]


def _draw(picture: PlanPicture, content: DrillingContent, thing: InSlab) -> Iterator[Label]:
    """Draw a thing; its label, where any of it is seen."""
    left, bottom = picture.view.back(picture.window[:2])
    right, top = picture.view.back(picture.window[2:])
    seen = shapely.intersection(band_of(content, thing), shapely.box(left, bottom, right, top))
    for part in shapely.get_parts(seen):
        if part.geom_type == "Polygon" and not part.is_empty:
            rim = picture.view(shapely.get_coordinates(part.exterior)[:-1])
            picture.paper.fill(rim, BAND_GREY, layer=FILL)
            picture.paper.stroke(rim, BAND, closed=True, layer=OVER_LABELS)
            for _ in range(_KEPT_OFF):
                picture.obstacles.add_lines(rim, closed=True)
    path = picture.view(np.asarray(thing.path))
    picture.draw_line(path, KINDS[thing.kind], closed=thing.fills, layer=OVER_LABELS)
    off = content.display.length(content.band(thing), "up", 16)
    lines = picture.visible(path, closed=thing.fills)
    if not lines:
        return
    ends = max((_longest(line) for line in lines), key=lambda ends: float(np.hypot(*(ends[1] - ends[0]))))
    yield beside_label(thing.id, (f"{thing.id} {thing.kind}", f"band {off}"), ends, italic=True, along=_ALONG)


def bands_count(content: DrillingContent) -> str:
    """From where the bands that the labels name count; empty where nothing is in the slab.

    Told once beside the plan, so that a label is short enough to stand on what it names.
    """
    areas = [thing.id for thing in content.things if thing.fills]
    if not content.things:
        return ""
    if len(areas) == len(content.things):
        return "A band counts each way of the thing's outline."
    outlined = f" ({', '.join(areas)}: of its outline)" if areas else ""
    return f"A band counts each way of the thing's centre line{outlined}."


def band_of(content: DrillingContent, thing: InSlab) -> shapely.Geometry:
    """Where a thing may lie, m: its line or area, widened by its half width and the locating tolerance."""
    path = np.asarray(thing.path, dtype=float)
    whole = shapely.polygons(path) if thing.fills else shapely.linestrings(path)
    return shapely.buffer(whole, content.band(thing))


def _longest(path: Array) -> Array:
    pieces = np.hypot(*np.diff(path, axis=0).T)
    first = int(np.argmax(pieces))
    return path[first : first + 2]


def contents_key(content: DrillingContent) -> Sequence[KeyEntry]:
    """An entry for each kind that is there, and one for the band."""
    kinds = {thing.kind for thing in content.things}
    entries = [line_key(kind.capitalize(), pen) for kind, pen in KINDS.items() if kind in kinds]
    return [*entries, KeyEntry("Where it may lie", _band_field)] if entries else []


def _band_field(paper: Paper, box: Box) -> None:
    paper.fill(rectangle(*box), BAND_GREY, pen=BAND, layer=LINE)
