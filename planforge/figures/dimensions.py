"""One dimension string of a section: a thin line with oblique ticks, its lengths placed as labels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from planforge.figures.drafting import FINE
from planforge.figures.labels import Wanted
from planforge.figures.paper import LINE, Paper, Pen
from planforge.figures.plan_labels import Label, text_label
from planforge.units import Display

STRING = FINE
TICK = Pen(1.2)
_TICK = 2.6


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
