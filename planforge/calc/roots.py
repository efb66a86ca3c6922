"""Root finding over whole arrays, by brackets, never failing silently.

Both solvers return only roots whose residual was checked; otherwise they raise
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


def bracketed_root(
    function: Callable[[Array], Array],
    lower: Array,
    upper: Array,
    *,
    name: str,
    unit: str = "",
    residual_scale: Array,
    relative_step: float = 1e-10,
    relative_residual: float = 1e-8,
) -> Array:
    """Root between ``lower`` and ``upper`` by Chandrupatla's method, all cases at once.

    Source: T. R. Chandrupatla, Advances in Engineering Software 28(3), 1997, 145-149
    (inverse quadratic interpolation where it holds, halving elsewhere).

    Args:
        function: value of each case, shaped as its argument.
        lower, upper: one bracket a case; the function must change sign in it.
        name, unit: what is being solved for and its SI unit's symbol, for the message.
        residual_scale: size against which ``relative_residual`` is measured.
        relative_step: width of the final bracket over the root.
        relative_residual: greatest accepted value.

    Raises:
        CalculationError: no change of sign, or no convergence.
    """
    a, b = np.array(lower, dtype=np.float64), np.array(upper, dtype=np.float64)
    fa, fb = function(a), function(b)
    no_change = ~(np.sign(fa) * np.sign(fb) <= 0.0)
    if no_change.any():
        raise _fail(name, unit, lower=a, upper=b, residual=fb, scale=residual_scale, bad=no_change)
    c, fc = a.copy(), fa.copy()
    t = np.full_like(a, 0.5)
    for _ in range(_MAX_STEPS):
        x = a + t * (b - a)
        fx = function(x)
        same = np.sign(fx) == np.sign(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        first = np.abs(fa) < np.abs(fb)
        best, value = np.where(first, a, b), np.where(first, fa, fb)
        width = np.abs(b - a)
        tolerance = relative_step * np.abs(best)
        done = (width <= 2.0 * tolerance) | (value == 0.0)
        if done.all():
            bad = ~(np.abs(value) <= relative_residual * residual_scale)
            if bad.any():
                raise _fail(
                    name,
                    unit,
                    lower=np.minimum(a, b),
                    upper=np.maximum(a, b),
                    residual=value,
                    scale=residual_scale,
                    bad=bad,
                )
            return best
        t = _next_fraction((a, b, c), (fa, fb, fc))
        with np.errstate(divide="ignore", invalid="ignore"):
            edge = np.where(done, 0.0, 0.5 * tolerance / np.where(width > 0.0, width, np.inf))
        t = np.clip(t, edge, 1.0 - edge)
    raise _fail(
        name,
        unit,
        lower=np.minimum(a, b),
        upper=np.maximum(a, b),
        residual=fa,
        scale=residual_scale,
        bad=~done,
    )


def _next_fraction(points: tuple[Array, Array, Array], values: tuple[Array, Array, Array]) -> Array:
    """Where between the first two to look next: inverse quadratic where it holds, the middle elsewhere."""
    (a, b, c), (fa, fb, fc) = points, values
    with np.errstate(divide="ignore", invalid="ignore"):
        xi = (a - b) / (c - b)
        phi = (fa - fb) / (fc - fb)
        quadratic = (phi * phi < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
        t = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return np.where(quadratic & np.isfinite(t), t, 0.5)
