"""Guys with their plate anchors, and framing overhead, in plan and in the sections along the lines."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from planforge.calc.arrays import Array
from planforge.figures.drafting import LEAST_WEIGHT
from planforge.figures.paper import FILL, LINE, SYMBOL, Paper, Pen
from planforge.figures.plan_content import PlanContent
from planforge.figures.plan_drawing import PlanPicture
from planforge.figures.plan_labels import Label, area_label, text_label
from planforge.job.layout import Framing, GuyLine, Post

GUY = Pen(1.1, dashes=(6, 1.6, 1.2, 1.6))
FRAMING = {"trusses": Pen(LEAST_WEIGHT, dashes=(12, 2, 2, 2)), "joists": Pen(LEAST_WEIGHT, dashes=(4, 5))}
PLATE_ANCHOR = 4.6
"""Side of a plate anchor's triangle, points."""
NEAR_PLANE = np.radians(20.0)
"""A guy within this angle of a line's plane is drawn in the section along it."""


def guys_of(content: PlanContent) -> Iterator[tuple[Post, GuyLine]]:
    """Every guy on the view with its post."""
    for post in content.posts:
        for guy in post.guys:
            yield post, guy


def draw_guys(picture: PlanPicture, content: PlanContent) -> None:
    """Each guy as a thin line to the triangle of its plate anchor."""
    for post, guy in guys_of(content):
        ends = picture.view([post.at, guy.to])
        picture.draw_line(ends, GUY, kind="guy")
        x, y = float(ends[1, 0]), float(ends[1, 1])
        if not picture.sees((x, y)):
            continue
        draw_plate_anchor(picture.paper, x, y)
        half = PLATE_ANCHOR / 2
        picture.obstacles.boxes.append((x - half, y - half, x + half, y + half))


def draw_plate_anchor(paper: Paper, x: float, y: float) -> None:
    """An open triangle."""
    half = PLATE_ANCHOR / 2
    paper.fill([(x - half, y - half), (x + half, y - half), (x, y + half)], 1.0, pen=Pen(0.8), layer=SYMBOL)


def guy_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Each guy's id at its plate anchor."""
    return [
        text_label(f"{post.id} · {guy.id}", (guy.id,), picture.view.one(guy.to))
        for post, guy in guys_of(content)
        if picture.owns(picture.view.one(guy.to))
    ]


def draw_framing(picture: PlanPicture, content: PlanContent) -> None:
    """The centre lines of trusses and joists, light, under everything else."""
    for framing in content.framing:
        for member in member_lines(framing):
            for part in picture.visible(picture.view(member), closed=False):
                picture.shown.add(framing.kind)
                picture.paper.stroke(part, FRAMING[framing.kind], layer=FILL)


def framing_labels(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """What the light lines are, and how far apart they stand."""
    display = content.display
    return [
        area_label(
            picture,
            framing.id,
            (framing.id, f"{framing.kind} at {display.length(framing.spacing)}"),
            picture.view(framing.area),
            italic=True,
        )
        for framing in content.framing
        if not picture.named_area(picture.view(framing.area)).is_empty
    ]


def member_lines(framing: Framing) -> list[Array]:
    """The centre line of each truss or joist within the framing's outline, (2, 2) each, m."""
    along = np.array([np.cos(framing.direction), np.sin(framing.direction)])
    normal = np.array([-along[1], along[0]])
    first, outline = np.asarray(framing.first), np.asarray(framing.area)
    offsets = (outline - first) @ normal / framing.spacing
    reach = float(np.max(np.abs((outline - first) @ along))) + 1.0
    area = shapely.polygons(outline)
    lines: list[Array] = []
    for number in range(int(np.ceil(offsets.min())), int(np.floor(offsets.max())) + 1):
        middle = first + number * framing.spacing * normal
        whole = shapely.linestrings([middle - reach * along, middle + reach * along])
        inside = shapely.get_parts(shapely.intersection(whole, area))
        lines += [shapely.get_coordinates(p) for p in inside if p.geom_type == "LineString"]
    return lines


def guys_near_plane(post: Post, base: float, start: Array, along: Array) -> list[tuple[str, Array]]:
    """A post's guys that lie near a line's plane: id and both ends (2, 2) as (station, elevation), m.

    Args:
        post: the post.
        base: the elevation of the underside of its base, m.
        start: the line's start in plan, m, where the station is 0.
        along: unit vector along the line in plan.
    """
    found = []
    for guy in post.guys:
        run = np.asarray(guy.to) - np.asarray(post.at)
        near = abs(float(run @ along)) >= np.cos(NEAR_PLANE) * float(np.hypot(*run))
        if near:
            stations = (np.asarray([post.at, guy.to]) - start) @ along
            found.append((guy.id, np.column_stack([stations, [base + guy.height, guy.elevation]])))
    return found


def draw_guy_in_section(paper: Paper, ends: Array, *, whole: bool) -> None:
    """One guy of a section, its ends (2, 2) on paper, upper end first; ``whole`` where its anchor shows."""
    paper.stroke(ends, GUY, layer=LINE)
    if whole:
        draw_plate_anchor(paper, float(ends[1, 0]), float(ends[1, 1]))
