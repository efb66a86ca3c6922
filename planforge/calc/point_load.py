"""A horizontal lifeline under point loads: sag, tension, absorber and ends, as one equilibrium.

Model. Between loads the rope is an exact elastic catenary. The connector grips the rope:
a load stays at its point of the rope, not at its place over the ground. Each end gives way
horizontally against its spring, by (H - H_installed)/k from where it stood when the line was
installed. The line absorber is a link at one end, rigid-plastic: shut below its deployment
force, pulled out along the rope at that force, locked at its stroke.

The two unknowns, the horizontal tension H and the vertical force at the left end, are where a convex
function is least, so there is one solution; see :mod:`planforge.calc.equilibrium`.

Signs as in :mod:`planforge.calc.lifeline`; forces down positive. V is the rope's vertical
force component, up positive along increasing x.

Source: H. M. Irvine, *Cable Structures*, MIT Press 1981, chapters 1-2 (from memory);
compared with MoorPy and OpenSees in tests/validation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planforge.calc.arrays import Array, Bools, Values, as_array, flatten_record, reshape_record
from planforge.calc.cable import run_and_rise
from planforge.calc.equilibrium import (
    Absorber,
    Problem,
    Pull,
    Settled,
    first_guess,
    settle,
    simple_beam_vertical,
)
from planforge.calc.lifeline import InstalledLine, rest_place
from planforge.errors import CalculationError

_GAUSS_AT, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(4)
_GAUSS_AT = 0.5 * (1.0 + _GAUSS_AT)
_GAUSS_WEIGHT = 0.5 * _GAUSS_WEIGHT


@dataclass(frozen=True, slots=True)
class LoadedLine:
    """A line in equilibrium under point loads. Fields have the batch's shape, loads' own one axis more."""

    positions: Array  # m from the left end as installed: where each load grips at rest; axis of loads
    forces: Array  # N, down positive; axis of loads
    places: Array  # m from the left end's installed place: where each load is now; axis of loads
    drop: Array  # m of each load below the left end; axis of loads
    rest_drop: Array  # m of the same points of the unloaded line below the left end; axis of loads
    sag: Array  # m of each load below the chord; axis of loads
    horizontal_tension: Array  # N
    left_vertical: Array  # N, V at the left end
    tension_left: Array  # N, along the rope at the left end
    tension_right: Array  # N
    absorber_extension: Array  # m
    absorber_locked: Bools  # out of stroke
    end_movement_left: Array  # m inward from the installed place
    end_movement_right: Array  # m
    rope_energy: Array  # J, elastic, absolute
    spring_energy: Array  # J, both ends, relative to the installed place: H0 d + k d²/2 of each
    absorber_energy: Array  # J, dissipated: deployment force x extension
    weight_energy: Array  # J, the rope's own potential relative to the left end's height

    @property
    def tension_max(self) -> Array:
        """N, anywhere along the rope: at an end, since tension falls towards the lowest point.

        Of this state alone. It rises with the load while the line absorber is shut or locked. While
        that slides, its own end keeps its force and the far end's tension follows the angles: on a slope it
        can fall as the load grows, by a few per cent. The greatest of all places along a line only rises.
        """
        return np.maximum(self.tension_left, self.tension_right)

    @property
    def sag_increment(self) -> Array:
        """m by which each load's point of the rope has dropped from the unloaded line."""
        return self.drop - self.rest_drop

    @property
    def stored_energy(self) -> Array:
        """Rope + ends + absorber + the rope's own weight, J. Differences of it are the loads' work."""
        return self.rope_energy + self.spring_energy + self.absorber_energy + self.weight_energy


@dataclass(frozen=True, slots=True)
class Grips:
    """Points of the rope that carry the loads, in order along the line; last axis = loads."""

    positions: Array  # m from the left end as installed
    lengths: Array  # m of unstretched rope from the left end
    rest_drop: Array  # m below the left end, unloaded


def grip(installed: InstalledLine, positions: Values) -> Grips:
    """Mark the points of the rope at ``positions`` (m, last axis = loads, from left to right). Broadcasts.

    Raises:
        CalculationError: a place off the line, or places not in order.
    """
    x = as_array(positions)
    if not np.all(np.diff(x, axis=-1) >= 0.0):
        raise CalculationError("loaded line: give the loads in order from left to right.")
    lengths, drop = rest_place(installed, x)
    return Grips(np.broadcast_to(x, lengths.shape), lengths, drop)


def _segments(installed: InstalledLine, lengths: Array, forces: Array) -> Problem:
    """The equations' terms of a flat batch; ``lengths`` and ``forces`` have the shape (N, loads)."""
    line = installed.line
    w, length = as_array(line.rope.weight), as_array(installed.unstretched_length)
    first = np.zeros((length.size, 1))
    edges = np.concatenate([first, lengths, length[:, None]], axis=-1)
    passed = np.concatenate([first, np.cumsum(forces, axis=-1)], axis=-1)
    return Problem(
        span=as_array(line.span),
        rise=as_array(line.rise),
        w=w,
        flexibility=1.0 / as_array(line.rope.axial_stiffness),
        compliance=installed.end_compliance,
        reference=as_array(installed.reference_tension),
        length=length,
        pieces=np.diff(edges, axis=-1),
        before=w[:, None] * edges[:, :-1] + passed,
        on_right=np.asarray(line.absorber_on_right, dtype=bool),
        total=w * length + passed[:, -1],
    )


def load_gripped(
    installed: InstalledLine, grips: Grips, forces: Values, spent_extension: Values = 0.0
) -> LoadedLine:
    """Equilibrium under vertical loads at points of the rope already marked. See :func:`load_line`."""
    loads = as_array(forces)
    shape = np.broadcast_shapes(
        installed.shape, loads.shape[:-1], grips.lengths.shape[:-1], np.shape(spent_extension)
    )
    count = grips.lengths.shape[-1]
    flat = flatten_record(installed, shape)
    marks = Grips(
        *(_rows(values, shape, count) for values in (grips.positions, grips.lengths, grips.rest_drop))
    )
    spent = np.broadcast_to(as_array(spent_extension), shape).ravel()
    return reshape_record(load_flat(flat, marks, _rows(loads, shape, count), spent), shape)


def load_flat(installed: InstalledLine, grips: Grips, forces: Array, spent: Array) -> LoadedLine:
    """:func:`load_gripped` for a batch already flat: shapes (N,), and (N, loads) of what is per load."""
    line = installed.line
    p = _segments(installed, grips.lengths, forces)
    absorber = Absorber(
        force=as_array(line.absorber_force), spent=spent, stroke=np.maximum(line.absorber_stroke, spent)
    )
    level = simple_beam_vertical(p, forces, grips.lengths / p.length[:, None])
    settled = settle(p, absorber, first_guess(p, level, spent))
    return _state(installed, p, grips, forces, settled)


def _rows(values: Array, shape: tuple[int, ...], count: int) -> Array:
    return np.broadcast_to(values, (*shape, count)).reshape(math.prod(shape), count)


def _state(installed: InstalledLine, p: Problem, grips: Grips, forces: Array, settled: Settled) -> LoadedLine:
    line = installed.line
    (H, V), extension = settled.pull, settled.extension
    x, z, weight_energy = _walk(p, settled.pull, np.where(p.on_right, 0.0, extension))
    grown = H - p.reference
    left = grown / as_array(line.end_stiffness_left)
    right = grown / as_array(line.end_stiffness_right)
    V0 = V[:, None] + p.before
    V1 = V0 + p.w[:, None] * p.pieces
    squares = (H * H)[:, None] + (V0 * V0 + V0 * V1 + V1 * V1) / 3.0
    chord = p.rise / (p.span - left - right)
    force = as_array(line.absorber_force)
    return LoadedLine(
        positions=grips.positions,
        forces=forces,
        places=x + left[:, None],
        drop=-z,
        rest_drop=grips.rest_drop,
        sag=chord[:, None] * x - z,
        horizontal_tension=H,
        left_vertical=V,
        tension_left=np.hypot(H, V),
        tension_right=np.hypot(H, V + p.total),
        absorber_extension=extension,
        absorber_locked=settled.locked,
        end_movement_left=left,
        end_movement_right=right,
        rope_energy=0.5 * p.flexibility * np.sum(p.pieces * squares, axis=-1),
        spring_energy=p.compliance * grown * (p.reference + 0.5 * grown),
        absorber_energy=np.where(np.isfinite(force), force, 0.0) * extension,
        weight_energy=weight_energy,
    )


def _walk(p: Problem, pull: Pull, link: Array) -> tuple[Array, Array, Array]:
    """Distances x and z from the left end to each load (m), and the rope's own potential (J).

    ``link`` (m) is the line absorber's extension where it sits at the left end.
    """
    H, w, flexibility = pull.H[:, None], p.w[:, None], p.flexibility[:, None]
    tension = np.hypot(pull.H, pull.V)
    V0 = pull.V[:, None] + p.before
    x, z = run_and_rise(V0, H, p.pieces, w, flexibility)
    x_end = np.cumsum(x, axis=-1) + (link * pull.H / tension)[:, None]
    z_end = np.cumsum(z, axis=-1) + (link * pull.V / tension)[:, None]
    along = p.pieces[..., None] * _GAUSS_AT
    _, rises = run_and_rise(V0[..., None], H[..., None], along, w[..., None], flexibility[..., None])
    mean = (z_end - z) + rises @ _GAUSS_WEIGHT
    return x_end[:, :-1], z_end[:, :-1], p.w * np.sum(p.pieces * mean, axis=-1)


def load_line(
    installed: InstalledLine, positions: Values, forces: Values, spent_extension: Values = 0.0
) -> LoadedLine:
    """Equilibrium of the line under vertical point loads. Broadcasts; last axis = loads.

    Args:
        installed: the line; its fields have the batch's shape (or broadcast to it).
        positions: m from the left end, strictly between the ends, left to right along the last axis.
        forces: N, down positive, >= 0, same shape.
        spent_extension: m already pulled out of the line absorber by an earlier fall.

    Raises:
        CalculationError: a load off the line, loads out of order, an upward load, or no solution.
    """
    positions, forces = np.broadcast_arrays(as_array(positions), as_array(forces))
    if not np.all(forces >= 0.0):
        raise CalculationError("loaded line: forces must be 0 or more, downwards.")
    return load_gripped(installed, grip(installed, positions), forces, spent_extension)


def sag_profile(installed: InstalledLine, loaded: LoadedLine, count: int = 65) -> tuple[Array, Array]:
    """Shape of a loaded line for drawing: x (m from the installed left end) and sag below the chord (m).

    The last axis has ``count`` points evenly along the unstretched rope, plus each load's own.
    """
    shape = loaded.horizontal_tension.shape
    flat = flatten_record(installed, shape)
    loads = loaded.forces.shape[-1]
    forces = _rows(loaded.forces, shape, loads)
    lengths, _ = rest_place(flat, _rows(loaded.positions, shape, loads))
    whole = as_array(flat.unstretched_length)[:, None]
    even = whole * np.linspace(0.0, 1.0, count)[1:-1]
    spots = np.concatenate([even, lengths], axis=-1)
    order = np.argsort(spots, axis=-1, kind="stable")
    at_spots = np.concatenate([np.zeros_like(even), forces], axis=-1)
    p = _segments(
        flat, np.take_along_axis(spots, order, axis=-1), np.take_along_axis(at_spots, order, axis=-1)
    )
    pull = Pull(loaded.horizontal_tension.ravel(), loaded.left_vertical.ravel())
    x, z, _ = _walk(p, pull, np.where(p.on_right, 0.0, loaded.absorber_extension.ravel()))
    left, right = loaded.end_movement_left.ravel()[:, None], loaded.end_movement_right.ravel()[:, None]
    span = p.span[:, None] - left - right
    edge = np.zeros_like(span)
    x_all = np.concatenate([edge, x, edge + span], axis=-1) + left
    sag = np.concatenate([edge, p.rise[:, None] / span * x - z, edge], axis=-1)
    return x_all.reshape(*shape, -1), sag.reshape(*shape, -1)
