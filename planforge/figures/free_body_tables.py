"""The numbers of a post's free body as rows: guys and their plate anchors, the base, the joints."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planforge.assess.free_body import FreeBody, GuyForces
from planforge.figures.paper import LINE, Paper, Pen
from planforge.figures.post_bodies import PostBodies
from planforge.figures.text_metrics import ASCENT, LEADING, cut
from planforge.units import Display

SIZE = 8.0
ROW = SIZE * LEADING + 0.5


@dataclass(frozen=True, slots=True)
class Rows:
    """A table: its columns and rows of as many cells."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def table_rows(bodies: PostBodies, display: Display) -> list[Rows]:
    """The three tables of one post; the joints' only where there are any."""
    more = bodies.times
    loads = ("1×", more)
    guys = Rows(
        (
            "Guy",
            "direction",
            "from post",
            *(f"{what} {n}" for what in ("tension", "uplift", "shear") for n in loads),
        ),
        tuple(_guy(display, a, b) for a, b in zip(bodies.own.guys, bodies.twice.guys, strict=True)),
    )
    bounds = (("pinned", bodies.own, bodies.twice), ("clamped", bodies.own_clamped, bodies.twice_clamped))
    base = Rows(
        ("Base", *(f"{what} {n}" for what in ("presses up", "shear", "moment") for n in loads)),
        tuple((name, *_base(display, own, twice)) for name, own, twice in bounds),
    )
    tables = [guys, base]
    if bodies.own.joints:
        columns = ("Joint", "height", *(f"moment {name} {n}" for name, _, _ in bounds for n in loads))
        tables.append(Rows(columns, tuple(_joints(bodies, display))))
    return tables


def _force(display: Display, value: float) -> str:
    if np.isnan(value):
        return "–"
    # an uplift keeps its sign and is rounded away from zero
    return display.force(value, "up" if value >= 0.0 else "down")


def _moment(display: Display, value: float) -> str:
    return "–" if np.isnan(value) else display.moment(value, "up")


def _guy(display: Display, own: GuyForces, twice: GuyForces) -> tuple[str, ...]:
    forces = (own.tension, twice.tension, own.uplift, twice.uplift, own.shear, twice.shear)
    direction = display.angle(own.azimuth % (2.0 * np.pi))
    return (own.id, direction, display.angle(own.angle), *(_force(display, f) for f in forces))


def _base(display: Display, own: FreeBody, twice: FreeBody) -> list[str]:
    both = (own, twice)
    return [
        *(_force(display, float(b.base_force[2])) for b in both),
        *(_force(display, float(np.hypot(*b.base_force[:2]))) for b in both),
        *(_moment(display, b.base_moment) for b in both),
    ]


def _joints(bodies: PostBodies, display: Display) -> list[tuple[str, ...]]:
    every = (bodies.own, bodies.twice, bodies.own_clamped, bodies.twice_clamped)
    return [
        (
            str(number + 1),
            display.length(bodies.own.joints[number][0]),
            *(_moment(display, b.joints[number][1]) for b in every),
        )
        for number in range(len(bodies.own.joints))
    ]


def tables_height(tables: Sequence[Rows]) -> float:
    """Room that they take, points."""
    return sum(ROW * (len(t.rows) + 1) + 6.0 for t in tables)


def draw_tables(paper: Paper, tables: Sequence[Rows], width: float) -> None:
    """Draw them one under another at the foot of the figure."""
    y = tables_height(tables)
    for table in tables:
        step = width / len(table.columns)
        for number, cells in enumerate((table.columns, *table.rows)):
            y -= ROW
            for column, cell in enumerate(cells):
                x = step * (column + 1) - 4.0 if column else 0.0
                text = cut(cell, SIZE, step - 3.0, bold=number == 0)
                line = y + SIZE * (1 - ASCENT)
                paper.text(x, line, text, SIZE, align="right" if column else "left", bold=number == 0)
            if number == 0:
                paper.stroke([(0.0, y), (width, y)], Pen(0.4), layer=LINE)
        y -= 6.0
