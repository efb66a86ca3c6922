"""The equilibrium of an elastic catenary with point loads, as equations in two unknowns.

H is the horizontal tension (N), V the vertical force at the left end (N, up positive along
increasing x). Between loads the rope is an exact elastic catenary; the line absorber is a
rigid link of length e at one end, along the rope; while it slides, its force is known and the angle
of that force is the only unknown. See :mod:`planforge.calc.point_load` for
the model, its source and its signs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from planforge.calc.arrays import Array, Bools, pick_record
from planforge.calc.roots import monotone_root
from planforge.errors import CalculationError, Quantity

_NEWTON_STEPS = 20


class Pull(NamedTuple):
    """The two unknowns."""

    H: Array  # N, horizontal tension
    V: Array  # N, vertical force at the left end


class Absorber(NamedTuple):
    """A rigid-plastic line absorber; np.inf for the force where none is fitted."""

    force: Array  # N
    spent: Array  # m already pulled out
    stroke: Array  # m in all


@dataclass(frozen=True, slots=True)
class Problem:
    """The terms that do not change while one equilibrium is sought; batch shape, or batch + segments."""

    span: Array
    rise: Array
    w: Array
    flexibility: Array  # 1/N, 1/(EA)
    compliance: Array  # m/N, both ends together
    reference: Array  # N, H at installation
    length: Array  # m, unstretched
    pieces: Array  # m of unstretched rope in each segment; (..., segments)
    before: Array  # N, what V gains from the left end to each segment's start; (..., segments)
    on_right: Bools  # which end the line absorber sits at
    total: Array  # N, what V gains over the whole line


def absorber_vertical(p: Problem, pull: Pull) -> Array:
    """Vertical force component at the line absorber's end, N."""
    return np.where(p.on_right, pull.V + p.total, pull.V)


def absorber_tension(p: Problem, pull: Pull) -> Array:
    """Tension at the line absorber's end, N."""
    return np.hypot(pull.H, absorber_vertical(p, pull))


class Sums(NamedTuple):
    """Distances from end to end and their slopes over H and V (symmetric: dx_dv = z_H)."""

    x: Array
    z: Array
    dx_dh: Array
    dx_dv: Array
    dz_dv: Array


class _Pieces(NamedTuple):
    """Each segment's end forces, and the combinations of them that keep their digits. (N, segments)"""

    squares: Array  # H² + T0 T1 - V0 V1
    tensions: Array  # T0 + T1
    product: Array  # T0 T1
    middle: Array  # s (V0 + V1)


def _pieces(p: Problem, H: Array, V: Array) -> _Pieces:
    V0 = V[:, None] + p.before
    V1 = V0 + p.w[:, None] * p.pieces
    HH = (H * H)[:, None]
    T0, T1 = np.sqrt(HH + V0 * V0), np.sqrt(HH + V1 * V1)
    product = T0 * T1
    return _Pieces(HH + product - V0 * V1, T0 + T1, product, p.pieces * (V0 + V1))


def _height(p: Problem, H: Array, V: Array, e: Array) -> tuple[Array, Array]:
    """Right end above left end (m) and its slope over V (m/N)."""
    k = _pieces(p, H, V)
    z = np.sum(k.middle * (0.5 * p.flexibility[:, None] + 1.0 / k.tensions), axis=-1)
    dz_dv = p.flexibility * p.length + np.sum(p.pieces * k.squares / (k.tensions * k.product), axis=-1)
    Va = absorber_vertical(p, Pull(H, V))
    Ta = np.sqrt(H * H + Va * Va)
    return z + e * Va / Ta, dz_dv + e * H * H / Ta**3


def _sums(p: Problem, H: Array, V: Array, e: Array) -> Sums:
    """Distances from end to end, written without differences of nearly equal numbers.

    asinh(V1/H) - asinh(V0/H) = asinh(w s (H² + T0 T1 - V0 V1)/((T0 + T1) H²)), and likewise the rest.
    """
    k = _pieces(p, H, V)
    turn = p.pieces * k.squares / k.tensions
    angle = np.sum(np.arcsinh(p.w[:, None] * turn / (H * H)[:, None]), axis=-1) / p.w
    per_product = 1.0 / k.product
    sine = np.sum(turn * per_product, axis=-1)
    own = p.flexibility * p.length
    Va = absorber_vertical(p, Pull(H, V))
    Ta = np.sqrt(H * H + Va * Va)
    cube = e / Ta**3
    return Sums(
        x=H * (own + angle) + e * H / Ta,
        z=np.sum(k.middle * (0.5 * p.flexibility[:, None] + 1.0 / k.tensions), axis=-1) + e * Va / Ta,
        dx_dh=own + angle - sine + cube * Va * Va,
        dx_dv=-H * np.sum(k.middle / k.tensions * per_product, axis=-1) - cube * H * Va,
        dz_dv=own + sine + cube * H * H,
    )


def balance(p: Problem, e: Array, guess: Pull) -> Pull:
    """H and V in equilibrium with the absorber pulled out by ``e``, from a guess of both.

    Newton's method in both at once settles nearly every case; what it leaves goes to the bracketed
    search. Both misfits together are the slope of a convex function (the complementary energy), so
    a point where they vanish is the only one.
    """
    H, V = guess
    base, step = guess, Pull(np.zeros_like(H), np.zeros_like(H))
    decrement = np.full_like(H, np.inf)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(_NEWTON_STEPS):
            miss_x, miss_z, new = _newton_step(p, e, Pull(H, V))
            missed = np.maximum(np.abs(miss_x), np.abs(miss_z)) > 1e-11 * p.length
            left = missed | (np.maximum(np.abs(new.H), np.abs(new.V)) > 1e-8 * H) | ~np.isfinite(new.H)
            if not left.any():
                return Pull(H - new.H, V - new.V)
            # Newton's decrement should fall; where it has grown, go back and take less of the last step.
            fresh = miss_x * new.H + miss_z * new.V
            back = missed & ~(fresh < decrement)
            whole = np.where(new.H > 0.75 * H, 0.75 * H / new.H, 1.0)
            base = Pull(np.where(back, base.H, H), np.where(back, base.V, V))
            step = Pull(
                np.where(back, 0.3 * step.H, whole * new.H), np.where(back, 0.3 * step.V, whole * new.V)
            )
            decrement = np.where(back, decrement, fresh)
            H, V = np.where(left, base.H - step.H, H), np.where(left, base.V - step.V, V)
    H, V = H.copy(), V.copy()
    H[left], V[left] = _bracketed_balance(pick_record(p, left), e[left])
    return Pull(H, V)


def _newton_step(p: Problem, e: Array, at: Pull) -> tuple[Array, Array, Pull]:
    """Misfit of the span and of the heights (m), and what to take off H and V (N)."""
    sums = _sums(p, at.H, at.V, e)
    miss_x = sums.x - p.span + p.compliance * (at.H - p.reference)
    miss_z = sums.z - p.rise
    dx_dh = sums.dx_dh + p.compliance
    determinant = dx_dh * sums.dz_dv - sums.dx_dv**2
    step_H = (miss_x * sums.dz_dv - miss_z * sums.dx_dv) / determinant
    step_V = (miss_z * dx_dh - miss_x * sums.dx_dv) / determinant
    return miss_x, miss_z, Pull(step_H, step_V)


def _bracketed_balance(p: Problem, e: Array) -> Pull:
    """The same by nested brackets, from any start; slow and sure."""
    best = [-0.5 * p.total]

    def span_misfit(trial: Array) -> tuple[Array, Array]:
        def height_misfit(vertical: Array) -> tuple[Array, Array]:
            z, dz_dv = _height(p, trial, vertical, e)
            return z - p.rise, dz_dv

        best[0] = monotone_root(
            height_misfit,
            best[0],
            name="vertical force at the left end of the loaded line",
            unit="N",
            residual_scale=p.length,
            step_scale=p.total + trial,
            relative_step=1e-9,
        )
        sums = _sums(p, trial, best[0], e)
        slope = sums.dx_dh - sums.dx_dv**2 / sums.dz_dv + p.compliance
        return sums.x - p.span + p.compliance * (trial - p.reference), slope

    H = monotone_root(
        span_misfit,
        p.reference + p.total,
        name="horizontal tension of the loaded line",
        unit="N",
        residual_scale=p.length,
        step_scale=p.reference + p.total,
        lower=0.0,
        relative_step=1e-9,
    )
    z, dz_dv = _height(p, H, best[0], e)
    return Pull(H, best[0] - (z - p.rise) / dz_dv)


def simple_beam_vertical(p: Problem, forces: Array, at: Array) -> Array:
    """V (N) at the left end of a level line by moments; ``at`` = each load's part of the span."""
    return np.asarray(-(0.5 * p.w * p.length + np.sum(forces * (1.0 - at), axis=-1)))


def first_guess(p: Problem, V: Array, extension: Array) -> Pull:
    """H from the small-sag form A/H² - B H - C = 0, by Newton from where it is convex; ``V`` as if level."""
    V0 = V[..., None] + p.before
    V1 = V0 + p.w[..., None] * p.pieces
    A = 0.5 * p.span * np.sum(p.pieces * (V0 * V0 + V0 * V1 + V1 * V1), axis=-1) / (3.0 * p.length)
    B = p.span * p.flexibility + p.compliance
    C = p.length + extension - p.span - p.compliance * p.reference - 0.5 * p.rise**2 / p.span
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        taut = np.maximum(np.cbrt(2.0 * A / B), 2.0 * np.abs(C) / B)
        H = np.where(C > 0.0, np.minimum(np.cbrt(A / B), np.sqrt(A / C)), taut)
        for _ in range(6):
            H = H - (H * H * (B * H + C) - A) / (H * (3.0 * B * H + 2.0 * C))
    H = np.where(np.isfinite(H) & (H > 0.0), H, p.reference)
    return Pull(H, V + H * p.rise / p.span)


class Settled(NamedTuple):
    """Where the line comes to rest."""

    pull: Pull
    extension: Array  # m of the line absorber
    locked: Bools  # out of stroke


def settle(p: Problem, absorber: Absorber, guess: Pull) -> Settled:
    """Equilibrium with the line absorber shut, sliding or locked, whichever its end tension asks for."""
    pull = balance(p, absorber.spent, guess)
    opens = absorber_tension(p, pull) > absorber.force
    if not opens.any():
        return Settled(pull, absorber.spent, opens)
    some = Absorber(*(values[opens] for values in absorber))
    opened = _open(pick_record(p, opens), some, Pull(pull.H[opens], pull.V[opens]))
    H, V, extension, locked = pull.H.copy(), pull.V.copy(), absorber.spent.copy(), np.zeros_like(opens)
    H[opens], V[opens] = opened.pull
    extension[opens], locked[opens] = opened.extension, opened.locked
    return Settled(Pull(H, V), extension, locked)


def _open(p: Problem, absorber: Absorber, guess: Pull) -> Settled:
    """Cases whose absorber opens: sliding where that ends within its stroke, out to its stop elsewhere."""
    pull, extension = _sliding(p, absorber.force, guess)
    if not np.all(extension >= absorber.spent - 1e-9 * p.length):
        raise CalculationError(
            "line absorber: it would have to shorten by {less} to keep its force. "
            "Check its force against the line's loads.",
            less=Quantity(float(np.max(absorber.spent - extension)), "m"),
        )
    locked = extension >= absorber.stroke
    if locked.any():
        part, stroke = pick_record(p, locked), absorber.stroke[locked]
        level = guess.V - guess.H * p.rise / p.span
        pull.H[locked], pull.V[locked] = balance(part, stroke, first_guess(part, level[locked], stroke))
    return Settled(pull, np.where(locked, absorber.stroke, extension), locked)


def _sliding(p: Problem, force: Array, guess: Pull) -> tuple[Pull, Array]:
    """H, V and extension (m) with the absorber's force at its end and no stop to its stroke.

    The force known, only its angle is sought: that at which the gap left between rope and end has no
    part across the force. Its part along the force is the extension. The gap is the slope of a convex
    function (see :func:`balance`), so that a positive extension found is the only one.
    """
    behind = np.where(p.on_right, p.total, 0.0)  # from the left end to the absorber

    def at(angle: Array) -> tuple[Pull, Array, Array, Array]:
        cos, sin = np.cos(angle), np.sin(angle)
        pull = Pull(force * cos, force * sin - behind)
        sums = _sums(p, pull.H, pull.V, np.zeros_like(angle))
        gap_x = p.span - p.compliance * (pull.H - p.reference) - sums.x
        gap_z = p.rise - sums.z
        along, across = gap_x * cos + gap_z * sin, gap_x * sin - gap_z * cos
        turning = (
            (sums.dx_dh + p.compliance) * sin * sin - 2.0 * sums.dx_dv * sin * cos + sums.dz_dv * cos * cos
        )
        return pull, along, across, force * turning + np.maximum(along, 0.0)

    angle = monotone_root(
        lambda angle: at(angle)[2:],
        np.arcsin(np.clip(absorber_vertical(p, guess) / force, -0.95, 0.95)),
        name="angle of the rope at the sliding line absorber",
        unit="rad",
        residual_scale=p.length,
        step_scale=np.ones_like(force),
        lower=-0.5 * np.pi,
        upper=0.5 * np.pi,
        relative_step=1e-9,
    )
    pull, along, _, _ = at(angle)
    return pull, along
