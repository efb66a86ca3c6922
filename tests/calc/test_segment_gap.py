"""Least distance of segments against shapely in a plane and a bounded least-squares fit (scipy) in space."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.optimize import lsq_linear

from planforge.calc.segment_gap import nearest


def fitted(one: np.ndarray, two: np.ndarray) -> float:
    """The least |p + s d - q - t e| over 0 <= s, t <= 1."""
    d, e = one[1] - one[0], two[1] - two[0]
    fit = lsq_linear(np.column_stack([d, -e]), two[0] - one[0], bounds=(0.0, 1.0), method="bvls", tol=1e-14)
    return float(np.sqrt(2.0 * fit.cost))


def test_in_space_as_by_a_bounded_least_squares_fit() -> None:
    rng = np.random.default_rng(7)
    own, other = rng.uniform(-1, 1, (12, 2, 3)), rng.uniform(-1, 1, (12, 2, 3))
    wanted = [[fitted(a, b) for b in other] for a in own]
    assert nearest(own, other).gap == pytest.approx(np.array(wanted), abs=1e-9)


def test_in_a_plane_as_by_shapely() -> None:
    rng = np.random.default_rng(8)
    own, other = (np.round(rng.uniform(-2, 2, (40, 2, 3)), 1) * (1, 1, 0) for _ in range(2))
    wanted = shapely.distance(
        shapely.linestrings(own[..., :2])[:, None], shapely.linestrings(other[..., :2])[None]
    )
    assert nearest(own, other).gap == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize(
    ("two", "gap"),
    [
        ([[0, 1, 0], [1, 1, 0]], 1.0),  # parallel, beside
        ([[3, 1, 0], [4, 1, 0]], np.sqrt(5.0)),  # parallel, beyond the end
        ([[0.5, 0, 0], [3, 0, 0]], 0.0),  # in one line, overlapping
        ([[2, 0, 0], [3, 0, 0]], 1.0),  # in one line, apart
        ([[0.5, 0, 2], [0.5, 0, 2]], 2.0),  # a point
        ([[0.5, -1, 3], [0.5, 1, 3]], 3.0),  # crossing above
    ],
)
def test_special_positions_by_hand(two: list[list[float]], gap: float) -> None:
    one = np.array([[[0.0, 0, 0], [1, 0, 0]]])
    other = np.array([two], dtype=float)
    assert nearest(one, other).gap[0, 0] == pytest.approx(gap)
    assert nearest(other, one).gap[0, 0] == pytest.approx(gap)


def test_the_places_are_where_the_gap_is() -> None:
    rng = np.random.default_rng(9)
    own, other = rng.uniform(-1, 1, (6, 2, 3)), rng.uniform(-1, 1, (5, 2, 3))
    near = nearest(own, other)
    one = own[:, None, 0] + near.own[..., None] * (own[:, None, 1] - own[:, None, 0])
    two = other[None, :, 0] + near.other[..., None] * (other[None, :, 1] - other[None, :, 0])
    assert np.linalg.norm(one - two, axis=-1) == pytest.approx(near.gap)
    assert near.at == pytest.approx(0.5 * (one + two))
