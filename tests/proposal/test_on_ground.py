"""What lies off a line's ground is struck from what the line gives, and nothing else is."""

from __future__ import annotations

import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st

from planforge.proposal.candidate import UNBOUNDED, Service
from planforge.proposal.on_ground import _left
from planforge.proposal.spans import Stretch

PLACES = st.integers(0, 400).map(lambda n: n / 10.0)


@given(st.tuples(PLACES, PLACES).filter(lambda p: p[0] < p[1]), st.tuples(PLACES, PLACES).map(sorted))
@example((0.0, 0.2), [0.1, 0.1])
def test_what_is_left_is_the_difference_by_shapely(own: tuple[float, float], struck: list[float]) -> None:
    service = Service(Stretch(2, 1, *own), "deck", UNBOUNDED)
    left = _left(service, [(Stretch(2, 1, *struck), "deck")])
    line = shapely.LineString([(own[0], 0), (own[1], 0)])
    cut = shapely.LineString([(struck[0], 0), (struck[1], 0)]) if struck[0] < struck[1] else shapely.Point()
    whole = shapely.get_parts(shapely.difference(line, cut))
    kept = [p for p in whole if p.length > 0.1524 + 1e-9 or (len(left) == 1 and left[0] is service)]
    assert sum(s.stretch.length for s in left) == pytest.approx(sum(p.length for p in kept), abs=1e-9)


def test_another_phase_edge_or_piece_keeps_what_it_has() -> None:
    service = Service(Stretch(2, 1, 0.0, 5.0), "deck", UNBOUNDED)
    for stretch, phase in (
        (Stretch(2, 1, 1.0, 2.0), "walls"),
        (Stretch(3, 1, 1.0, 2.0), "deck"),
        (Stretch(2, 0, 1.0, 2.0), "deck"),
    ):
        assert _left(service, [(stretch, phase)]) == [service]
