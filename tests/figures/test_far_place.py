"""Places beyond the frame: told from the building, alike on the crew's map and on the layout sheets."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from planforge.assess.assessment import Assessment
from planforge.figures.far_place import arrow, way_from_building
from planforge.figures.layout_sheet import layout_sheet
from planforge.figures.tie_off_map import tie_off_map

HOUSE = np.array([[0.0, 0.0], [12.0, 0.0], [12.0, 10.0], [0.0, 10.0]])


@pytest.mark.parametrize(
    ("at", "far", "shown"),
    [
        ((5.0, 16.0), 6.0, "↑"),
        ((5.0, -2.5), 2.5, "↓"),
        ((-7.0, 3.0), 7.0, "←"),
        ((15.0, 14.0), 5.0, "↗"),  # 3, 4, 5 from the corner
        ((-4.0, -3.0), 5.0, "↙"),
    ],
)
def test_by_hand_from_walls_and_corners(at: tuple[float, float], far: float, shown: str) -> None:
    distance, way = way_from_building(HOUSE, at)
    assert distance == pytest.approx(far)
    assert arrow(way) == shown


def test_by_brute_force_over_the_outline() -> None:
    steps = np.linspace(0.0, 1.0, 2001)[:, None]
    outline = np.vstack([a + steps * (b - a) for a, b in zip(HOUSE, np.roll(HOUSE, -1, axis=0), strict=True)])
    for at in ((20.0, 3.3), (13.0, 17.0), (-2.0, 25.0)):
        distance, way = way_from_building(HOUSE, at)
        aways = np.asarray(at) - outline
        nearest = aways[np.hypot(*aways.T).argmin()]
        assert distance == pytest.approx(float(np.hypot(*nearest)), abs=1e-4)
        assert math.cos(way - math.atan2(nearest[1], nearest[0])) == pytest.approx(1.0, abs=1e-4)


def test_map_and_sheet_say_the_same(demo: Callable[[str], Assessment]) -> None:
    """The north wall is at 34 ft; the assembly point 22 ft and the gate 26 ft north of it."""
    heron = demo("heron_lot_14")
    crew = {text.text for text in tie_off_map(heron, "deck").paper.texts}
    sheet = {text.text for text in layout_sheet(heron, "deck").paper.texts}
    assert {"Assembly point ↑ 22'-0\"", "Gate ↑ 26'-0\""} <= crew
    assert {"22'-0\" from the building", "26'-0\" from the building"} <= sheet
    assert any("how far from the building" in text for text in crew)
