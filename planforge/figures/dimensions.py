"""Dimension strings: thin lines with oblique ticks and their lengths, beside a building in plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from planforge.figures.labels import Wanted
from planforge.figures.paper import LINE, Paper, Pen
from planforge.figures.plan_content import PlanContent, extent
from planforge.figures.plan_drawing import PlanPicture
from planforge.figures.plan_labels import Label, text_label
from planforge.units import Display

STRING = Pen(0.55)
TICK = Pen(1.2)
_TICK = 2.6
_NEAR, _FAR = 24.0, 42.0
"""How far the string of posts and the overall string stand from the building, points."""


def string_labels(
    paper: Paper, stops: Sequence[tuple[float, float]], along: int, across: float, display: Display, key: str
) -> list[Label]:
    """Draw one string and return its lengths as labels.

    Args:
        paper: the sheet.
        stops: (place on paper along the string, true place in m), rising.
        along: 0 for a string from left to right, 1 for one that goes up.
        across: where it stands on the other axis, points.
        display: prints the lengths.
        key: begins each label's key.
    """

    def point(value: float, off: float = 0.0) -> tuple[float, float]:
        return (value, across + off) if along == 0 else (across + off, value)

    paper.stroke([point(stops[0][0]), point(stops[-1][0])], STRING)
    for place, _ in stops:
        paper.stroke(
            [
                tuple(np.add(point(place), (-_TICK, -_TICK))),
                tuple(np.add(point(place), (_TICK, _TICK))),
            ],
            TICK,
            layer=LINE,
        )
    labels = []
    for number, ((a, true_a), (b, true_b)) in enumerate(pairwise(stops)):
        middle = (a + b) / 2
        label = text_label(f"{key}-{number}", (display.length(true_b - true_a),), point(middle))
        width, height = label.wanted.width, label.wanted.height
        off = height / 2 + 1.5
        preferred = tuple(
            point(a + part * (b - a), side * (off if along == 0 else -off))
            for part in (0.5, 0.3, 0.7)
            for side in (1.0, -1.0)
        )
        size = (width, height) if along == 0 else (height, width)
        if width > b - a:
            preferred = ()
        wanted: Wanted = replace(label.wanted, width=size[0], height=size[1], preferred=preferred, gap=3.0)
        labels.append(replace(label, wanted=wanted, angle=90.0 if along == 1 else 0.0))
    return labels


def building_strings(picture: PlanPicture, content: PlanContent) -> list[Label]:
    """Overall and post-to-post strings below and to the left of the building; their labels."""
    view, display = picture.view, content.display
    box = extent([content.footprint])
    corner = view.one((box[0], box[1]))
    posts = np.asarray([p.at for p in content.posts]).reshape(-1, 2)
    labels: list[Label] = []
    for along, name in ((0, "x"), (1, "y")):
        low, high = box[along], box[along + 2]
        outer = [low, high]
        across = corner[1 - along]
        inner = sorted({round(float(v), 4) for v in posts[:, along]} | {low, high})
        places = {v: float(view((v, v))[along]) for v in (*inner, *outer)}
        if len(inner) > 2:
            stops = [(places[v], v) for v in inner]
            labels += string_labels(picture.paper, stops, along, across - _NEAR, display, f"posts {name}")
        stops = [(places[v], v) for v in outer]
        labels += string_labels(picture.paper, stops, along, across - _FAR, display, f"overall {name}")
        for v in outer:
            picture.paper.stroke(_extension(places[v], along, across), STRING)
        picture.obstacles.lines += [
            _string_line(places[low], places[high], along, across - off) for off in (_NEAR, _FAR)
        ]
    return labels


def _extension(place: float, along: int, across: float) -> list[tuple[float, float]]:
    ends = (across - 5.0, across - _FAR - 4.0)
    return [(place, e) if along == 0 else (e, place) for e in ends]


def _string_line(a: float, b: float, along: int, across: float) -> tuple[float, float, float, float]:
    return (a, across, b, across) if along == 0 else (across, a, across, b)
