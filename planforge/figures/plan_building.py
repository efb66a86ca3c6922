"""The building as it stands in a phase: floors laid and to come, walls raised, roof edges worked on."""

from __future__ import annotations

import numpy as np
import shapely

from planforge.figures.drafting import GHOST, OVERHEAD, THIN
from planforge.figures.paper import FILL, Paper, Pen
from planforge.figures.plan_content import PlanContent
from planforge.figures.plan_drawing import PlanPicture
from planforge.figures.plan_labels import Label, area_label, beside_label

FLOOR = Pen(THIN)
WALL = Pen(THIN)


def draw_standing(picture: PlanPicture, content: PlanContent) -> None:
    """Draw floors, walls at their thickness, and roof edges; what is to come as a ghost."""
    view, there = picture.view, content.standing
    for floor in there.to_come:
        picture.draw_line(view(floor.outline), GHOST, closed=True, kind="floor to come")
    for floor in there.floors:
        picture.draw_line(view(floor.outline), FLOOR, closed=True, kind="floor")
    for wall in there.walls:
        plates = shapely.buffer(
            shapely.linestrings(np.asarray(wall.path)),
            wall.thickness / 2,
            cap_style="flat",
            join_style="mitre",
        )
        for part in shapely.get_parts(plates):
            for ring in (part.exterior, *part.interiors):
                picture.draw_line(
                    view(shapely.get_coordinates(ring)[:-1]), WALL, closed=True, layer=FILL, kind="wall"
                )
    for roof in there.roofs:
        picture.draw_line(view(roof.outline), OVERHEAD, closed=True, kind="roof")


def standing_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Floors with their level, walls and roofs by their id."""
    view, there = picture.view, content.standing
    told = [(f, (f.id, f"floor, {f.level}")) for f in there.floors]
    told += [(f, (f.id, "floor, not laid yet")) for f in there.to_come]
    labels = [
        area_label(picture, floor.id, lines, view(floor.outline), italic=True)
        for floor, lines in told
        if not picture.named_area(view(floor.outline)).is_empty
    ]
    paths = [(wall.id, np.asarray(wall.path)) for wall in there.walls]
    paths += [(roof.id, np.asarray([*roof.outline, roof.outline[0]])) for roof in there.roofs]
    for name, path in paths:
        piece = picture.own_part(view(path))
        if piece is not None:
            labels.append(beside_label(name, (name,), piece, italic=True))
    return labels


def wall_key(paper: Paper, box: tuple[float, float, float, float]) -> None:
    """Two lines, as a wall is drawn."""
    middle = (box[1] + box[3]) / 2
    for y in (middle - 2.0, middle + 2.0):
        paper.stroke([(box[0], y), (box[2], y)], WALL)
