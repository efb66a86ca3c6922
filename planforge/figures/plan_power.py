"""Power lines on a plan view: drawn where their way is stated, else at the border with the way there."""

from __future__ import annotations

import math

import numpy as np
import shapely

from planforge.figures.far_place import arrow
from planforge.figures.labels import Box
from planforge.figures.paper import HEAVY, LINE, Paper, Pen
from planforge.figures.plan_content import PlanContent
from planforge.figures.plan_drawing import PlanPicture, ticks
from planforge.figures.plan_labels import Label, beside_label, text_label
from planforge.figures.sheet_furniture import KeyEntry
from planforge.job.base import Path
from planforge.job.site import OverheadLine

POWER = Pen(1.3, 0.0, dashes=(16, 3, 2, 3, 2, 3))
_INSET = 40.0
"""How far from the border a line beyond it is named, points."""


def draw_power_lines(picture: PlanPicture, content: PlanContent) -> None:
    """Every power line with a place, as far as the window shows it."""
    for line in content.power_lines:
        if line.path is not None:
            for part in picture.draw_line(picture.view(line.path), POWER, layer=HEAVY, kind="power line"):
                picture.paper.strokes(ticks(part, 22.0, 3.4), Pen(0.9))


def power_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """The id beside each; one beyond the window stands at its border with its distance from the building."""
    labels = []
    for line in content.power_lines:
        if line.path is None:
            continue
        parts = picture.visible(picture.view(line.path), closed=False)
        if parts:
            own = picture.own_part(max(parts, key=lambda part: float(np.hypot(*(part[-1] - part[0])))))
            if own is not None:
                labels.append(beside_label(line.id, (_told(line, content),), own, bold=True))
        else:
            labels.append(_beyond(picture, content, line, line.path))
    return labels


def _told(line: OverheadLine, content: PlanContent) -> str:
    voltage = content.display.voltage(line.voltage) if line.voltage is not None else "voltage unknown"
    return f"Power line {line.id}, {voltage}"


def _beyond(picture: PlanPicture, content: PlanContent, line: OverheadLine, path: Path) -> Label:
    building = shapely.polygons(content.footprint)
    nearest = shapely.shortest_line(building, shapely.linestrings(np.asarray(path)))
    far = content.display.length(float(shapely.length(nearest)), "down", denominator=1)
    x, y = picture.view.one(tuple(shapely.get_coordinates(nearest)[-1]))
    left, bottom, right, top = picture.window
    at = min(max(x, left + _INSET), right - _INSET), min(max(y, bottom + _INSET), top - _INSET)
    across, up = np.diff(shapely.get_coordinates(nearest), axis=0)[0]
    told = f"{arrow(math.atan2(up, across))} {_told(line, content)}"
    return text_label(line.id, (told, f"off the sheet, {far} from the building"), at, bold=True)


def power_key() -> KeyEntry:
    """The key's sample."""
    return KeyEntry("Power line", _sample)


def _sample(paper: Paper, box: Box) -> None:
    y = (box[1] + box[3]) / 2
    points = [(box[0], y), (box[2], y)]
    paper.stroke(points, POWER, layer=LINE)
    paper.strokes(ticks(points, 11.0, 3.0), Pen(0.9))
