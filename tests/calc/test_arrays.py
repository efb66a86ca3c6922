"""Helpers for arrays, held against numpy's own."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.arrays import first_of_rows


@pytest.mark.parametrize("rows", [0, 1, 2, 40, 300])
def test_first_of_rows_against_numpy_unique(rows: int) -> None:
    few = np.random.default_rng(rows).integers(-2, 3, (rows, 3)).astype(float)
    own = first_of_rows(few)
    values, first = np.unique(few, axis=0, return_index=True)
    assert np.array_equal(few[own], values)
    assert np.array_equal(own, first)
