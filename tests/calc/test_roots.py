"""The root finds refuse to hand back a doubtful number."""

from __future__ import annotations

import numpy as np
import pytest

from planforge.calc.roots import monotone_root
from planforge.errors import CalculationError


def test_monotone_root_over_an_array() -> None:
    a = np.array([0.5, 2.0, 1e6])
    found = monotone_root(
        lambda x: (x**3 - a, 3.0 * x**2),
        np.ones(3),
        name="cube root",
        residual_scale=a,
        step_scale=a,
        lower=0.0,
    )
    assert found == pytest.approx(np.cbrt(a), rel=1e-9)


def test_monotone_root_survives_a_bad_start() -> None:
    """arctan throws plain Newton out from 20; the bracket brings it back."""
    found = monotone_root(
        lambda x: (np.arctan(x - 1.0), 1.0 / (1.0 + (x - 1.0) ** 2)),
        np.array([20.0]),
        name="arctan",
        residual_scale=np.ones(1),
        step_scale=np.ones(1),
        lower=-100.0,
        upper=100.0,
    )
    assert found == pytest.approx([1.0], abs=1e-9)


def test_settled_case_stays_while_others_go_on() -> None:
    """This test ensures that a root found to the last digit is not thrown to the middle of its bracket."""
    seen: list[float] = []

    def quick_and_slow(x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        seen.append(float(x[0]))
        return np.array([x[0] - 1.0, x[1] ** 9]), np.array([1.0, 9.0 * x[1] ** 8])

    found = monotone_root(
        quick_and_slow,
        np.array([3.0, 1.0]),
        name="quick and slow",
        residual_scale=np.ones(2),
        step_scale=np.ones(2),
        relative_step=1e-2,
    )
    assert len(seen) > 10
    assert seen[1:] == [1.0] * (len(seen) - 1)
    assert found[0] == 1.0


def test_failure_names_bracket_and_residual() -> None:
    with pytest.raises(
        CalculationError, match=r"demo: no trustworthy solution in 1 of 1 cases.*with residual"
    ):
        monotone_root(
            lambda x: (np.full_like(x, np.nan), np.ones_like(x)),
            np.ones(1), name="demo", residual_scale=np.ones(1), step_scale=np.ones(1),
        )  # fmt: skip
