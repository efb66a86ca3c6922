"""Root finding over whole arrays, by brackets, never failing silently.

The solver returns only roots whose residual was checked; otherwise it raises
:class:`~planforge.errors.CalculationError` naming the bracket and the residual.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from planforge.calc.arrays import Array, Bools, as_array
from planforge.errors import CalculationError, Quantity

_MAX_STEPS = 100


def _fail(
    name: str, unit: str, *, lower: Array, upper: Array, residual: Array, scale: Array, bad: Bools
) -> CalculationError:
    residual = residual / np.broadcast_to(as_array(scale), residual.shape)
    worst = int(np.argmax(np.where(bad, np.abs(np.nan_to_num(residual, nan=np.inf)), -1.0)))
    return CalculationError(
        f"{name}: no trustworthy solution in {int(np.sum(bad))} of {bad.size} cases; the worst lies between "
        f"{{lower}} and {{upper}} with residual {residual.flat[worst]:.3g} of its scale. "
        "Check the lengths, weights and stiffnesses given for this case.",
        lower=Quantity(float(lower.flat[worst]), unit),
        upper=Quantity(float(upper.flat[worst]), unit),
    )


def monotone_root(
    function: Callable[[Array], tuple[Array, Array]],
    start: Array,
    *,
    name: str,
    unit: str = "",
    residual_scale: Array,
    step_scale: Array,
    lower: float | Array = -np.inf,
    upper: float | Array = np.inf,
    relative_step: float = 1e-10,
    relative_residual: float = 1e-11,
) -> Array:
    """Root of a function that only rises or only falls, by Newton's method inside a shrinking bracket.

    Args:
        function: returns (value, slope), both shaped as its argument; the slope may be approximate,
            but not of the wrong sign.
        start: first guess, between ``lower`` and ``upper``.
        name, unit: what is being solved for and its SI unit's symbol, for the message.
        residual_scale: size against which ``relative_residual`` is measured.
        step_scale: size against which ``relative_step`` is measured.
        lower, upper: bounds that the argument never touches.
        relative_step: convergence of the argument.
        relative_residual: convergence of the value.

    Returns:
        The root, shaped as ``start``.

    Raises:
        CalculationError: no convergence; names bracket and residual of the worst case.
    """
    x = np.array(start, dtype=np.float64)
    low = np.broadcast_to(as_array(lower), x.shape)
    high = np.broadcast_to(as_array(upper), x.shape)
    for _ in range(_MAX_STEPS):
        value, slope = function(x)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            step = value / slope
            right_of_root = step > 0.0
            low, high = np.where(right_of_root, low, x), np.where(right_of_root, x, high)
            guess = x - step
            inside = (guess > low) & (guess < high)
            middle = np.where(np.isfinite(low + high), 0.5 * (low + high), x)
        moves = np.where(inside, guess, middle)
        # A collapsed bracket can leave the Newton guess on its edge: that too is convergence.
        close = (np.abs(step) <= relative_step * step_scale) | (high - low <= relative_step * step_scale)
        bad = ~(close & (np.abs(value) <= relative_residual * residual_scale))
        if not bad.any():
            return np.where(inside, guess, x)
        # A case that has settled stays: moved on, it would be thrown about by its last digits.
        x = np.where(bad, moves, x)
    raise _fail(name, unit, lower=low, upper=high, residual=value, scale=residual_scale, bad=bad)
