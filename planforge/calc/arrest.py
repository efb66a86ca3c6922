"""Arrest of a fall on a horizontal lifeline by energy balance, in the manner of CSA Z259.16.

The falling mass loses m g (h + D + s): free fall h, drop D of the rope's point that the
connector grips, stroke s of the personal absorber. The line takes up U(D) (rope, ends, line
absorber, less the rope's own weight), the personal absorber F s:

    m g (h + D + s) = F s + U(D)

Workers who fall together at one place add their masses and forces. Three outcomes, all flagged:

- the personal absorber slides at its force F and stops within its stroke;
- F is never reached: no stroke, and the force follows from m g (h + D) = U(D);
- the stroke runs out: the force beyond F follows from m g (h + D + s_max) = F s_max + U(D).

The balance knows no inertia of the rope: its tension is a lower bound wherever no line absorber
slides (see :mod:`planforge.calc.time_history`). It gives the tensions at the lowest point: where the line
absorber slides, the tension at the far end may have been greater on the way, at one place though not at the
greatest of all places (see :class:`planforge.calc.point_load.LoadedLine`).

Source: energy balance, the outline of CSA Z259.16 (standard not quoted; method as commonly
described). Positive down throughout.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from planforge.calc.arrays import (
    Array,
    Bools,
    Values,
    as_array,
    flatten_record,
    pick_record,
    put_record,
    record_shape,
    reshape_record,
)
from planforge.calc.constants import STATION_STEP, G
from planforge.calc.lifeline import InstalledLine
from planforge.calc.point_load import Grips, LoadedLine, grip, load_flat
from planforge.calc.roots import monotone_root
from planforge.errors import CalculationError
from planforge.memo import remembered


@dataclass(frozen=True, slots=True)
class Faller:
    """Workers who fall together at one place. Each field a number or an array."""

    mass: Values  # kg of one worker with clothing and tools
    free_fall: Values  # m, before the connector is taut
    absorber_force: Values  # N of one personal absorber (or retracting device) while it slides
    absorber_stroke: Values  # m it can give; 0 = no personal absorber
    count: int | Values = 1  # workers falling together

    def __post_init__(self) -> None:
        """Refuse values for which the balance has no meaning."""
        if not (np.all(as_array(self.mass) > 0.0) and np.all(as_array(self.count) >= 1)):
            raise CalculationError("arrest: the mass must be above 0, and one worker at least must fall.")
        if not (np.all(as_array(self.free_fall) >= 0.0) and np.all(as_array(self.absorber_stroke) >= 0.0)):
            raise CalculationError("arrest: free fall and absorber stroke must be 0 or more.")
        if not np.all(as_array(self.absorber_force) > 0.0):
            raise CalculationError("arrest: the personal absorber's force must be above 0.")


@dataclass(frozen=True, slots=True)
class Arrest:
    """Outcome of a fall at its lowest point. All fields have the batch's shape."""

    position: Array  # m from the left end, as installed
    free_fall: Array  # m
    force_per_worker: Array  # N, in the connector
    absorber_stroke: Array  # m used of the personal absorber
    absorber_opened: Bools  # its force was reached
    absorber_exhausted: Bools  # it ran out of stroke
    sag: Array  # m below the chord
    sag_increment: Array  # m the gripped point dropped since the fall began
    sag_before: Array  # m below the chord just before the fall
    horizontal_tension: Array  # N
    tension_left: Array  # N, along the rope at the left end
    tension_right: Array  # N
    tension_max: Array  # N
    line_absorber_extension: Array  # m
    line_absorber_exhausted: Bools
    end_movement_left: Array  # m inward from the installed place
    end_movement_right: Array  # m
    hanging_sag: Array  # m below the chord afterwards, all hanging still, line absorber as pulled out
    hanging_increment: Array  # m the gripped point then hangs below its place before the fall

    @property
    def total_fall(self) -> Array:
        """Free fall + drop of the line + stroke, m: how far the mass has fallen."""
        return self.free_fall + self.sag_increment + self.absorber_stroke


@dataclass(frozen=True, slots=True)
class _Scene:
    """A flat batch: the line, what already hangs on it, and where the fall comes."""

    installed: InstalledLine
    grips: Grips  # in order along the line
    standing: Array  # N already hanging at each grip, 0 at the fall's own; (N, grips)
    live: Bools  # marks the fall's own grip; (N, grips), one true in each row
    spent: Array  # m of the line absorber already pulled out

    def pick(self, chosen: Bools) -> _Scene:
        return pick_record(self, chosen)

    def load(self, force: Array, spent: Array | None = None) -> LoadedLine:
        forces = self.standing + np.where(self.live, force[:, None], 0.0)
        return load_flat(self.installed, self.grips, forces, self.spent if spent is None else spent)

    def at_live(self, values: Array) -> Array:
        return values[self.live]

    def line_energy(self, loaded: LoadedLine) -> Array:
        """Stored and dissipated in the line, less what the standing loads gave up, J."""
        given_up: Array = np.sum(self.standing * loaded.drop, axis=-1)
        return loaded.stored_energy - given_up


@dataclass(frozen=True, slots=True)
class _Fall:
    """Summed over the workers, a flat batch."""

    weight: Array  # N
    free_fall: Array  # m
    force: Array  # N
    stroke: Array  # m


class _Outcome(NamedTuple):
    """How the energy balances."""

    force: Array  # N
    stroke: Array  # m used of the personal absorber
    opened: Bools
    exhausted: Bools
    loaded: LoadedLine  # the line at its lowest


def _solve_force(
    scene: _Scene, fall: _Fall, before: LoadedLine, at_force: LoadedLine, slid: Array, opened: Bools
) -> tuple[Array, LoadedLine]:
    """Force (N) that balances the energy when the absorber has given ``slid`` (m) and gives no more.

    Newton's method: along its path the line takes up dU = P dD, so that the surplus over the fall's
    energy has the slope (P - m g) dD/dP. The compliance dD/dP is taken from the state before.
    """
    energy_before, drop_before = scene.line_energy(before), scene.at_live(before.drop)
    fixed = fall.weight * (fall.free_fall + slid) - fall.force * slid

    def surplus(loaded: LoadedLine) -> Array:
        taken = scene.line_energy(loaded) - energy_before
        return taken - fall.weight * (scene.at_live(loaded.drop) - drop_before) - fixed

    drop = scene.at_live(at_force.drop)
    compliance = (drop - drop_before) / fall.force
    latest = [(fall.force, drop, compliance)]

    def function(force: Array) -> tuple[Array, Array]:
        last, drop_last, compliance = latest[0]
        loaded = scene.load(force)
        drop = scene.at_live(loaded.drop)
        moved = np.abs(force - last) > 1e-7 * force
        with np.errstate(divide="ignore", invalid="ignore"):
            compliance = np.where(moved, (drop - drop_last) / (force - last), compliance)
        latest[0] = (force, drop, compliance)
        return surplus(loaded), (force - fall.weight) * compliance

    # Start where the balance would lie if the compliance up to the absorber's force held beyond it.
    above = np.maximum(fall.force - fall.weight, 0.1 * fall.weight)
    guess = fall.weight + np.sqrt(
        np.maximum(above**2 - 2.0 * surplus(at_force) / compliance, 0.01 * above**2)
    )
    force = monotone_root(
        function,
        np.where(opened, guess, np.minimum(guess, 0.5 * (fall.weight + fall.force))),
        name="arrest force",
        unit="N",
        residual_scale=fall.weight * (fall.free_fall + slid + 0.1),
        step_scale=fall.force,
        lower=np.where(opened, np.maximum(fall.force, fall.weight), fall.weight),
        upper=np.where(opened, np.inf, fall.force),
        relative_step=1e-8,
        relative_residual=1e-6,
    )
    return force, scene.load(force)


def _balance(scene: _Scene, fall: _Fall, before: LoadedLine) -> _Outcome:
    """Try the absorber's force; where that is never reached, or the stroke runs out, find another."""
    at_force = scene.load(fall.force)
    dropped = scene.at_live(at_force.drop - before.drop)
    taken = scene.line_energy(at_force) - scene.line_energy(before)
    excess = fall.weight * (fall.free_fall + dropped) - taken
    holds = fall.force > fall.weight
    with np.errstate(divide="ignore", invalid="ignore"):
        wanted = np.where(holds, excess / (fall.force - fall.weight), np.inf)
    opened = wanted > 0.0
    exhausted = wanted > fall.stroke
    stroke = np.clip(np.where(holds, wanted, fall.stroke), 0.0, fall.stroke)
    other = ~opened | exhausted
    if not other.any():
        return _Outcome(fall.force, stroke, opened, exhausted, at_force)
    force = fall.force.copy()
    force[other], found = _solve_force(
        scene.pick(other),
        pick_record(fall, other),
        pick_record(before, other),
        pick_record(at_force, other),
        stroke[other],
        opened[other],
    )
    return _Outcome(force, stroke, opened, exhausted, put_record(at_force, other, found))


def _finish(scene: _Scene, fall: _Fall, position: Array, count: Array) -> Arrest:
    before = scene.load(np.zeros_like(fall.force))
    force, stroke, opened, exhausted, loaded = _balance(scene, fall, before)
    hanging = scene.load(fall.weight, loaded.absorber_extension)
    return Arrest(
        position=position,
        free_fall=fall.free_fall,
        force_per_worker=force / count,
        absorber_stroke=stroke,
        absorber_opened=opened,
        absorber_exhausted=exhausted,
        sag=scene.at_live(loaded.sag),
        sag_increment=scene.at_live(loaded.drop - before.drop),
        sag_before=scene.at_live(before.sag),
        horizontal_tension=loaded.horizontal_tension,
        tension_left=loaded.tension_left,
        tension_right=loaded.tension_right,
        tension_max=loaded.tension_max,
        line_absorber_extension=loaded.absorber_extension,
        line_absorber_exhausted=loaded.absorber_locked,
        end_movement_left=loaded.end_movement_left,
        end_movement_right=loaded.end_movement_right,
        hanging_sag=scene.at_live(hanging.sag),
        hanging_increment=scene.at_live(hanging.drop - before.drop),
    )


def _summed(faller: Faller) -> _Fall:
    return _Fall(
        weight=faller.count * as_array(faller.mass) * G,
        free_fall=as_array(faller.free_fall),
        force=faller.count * as_array(faller.absorber_force),
        stroke=as_array(faller.absorber_stroke),
    )


@remembered()
def arrest(installed: InstalledLine, position: Values, faller: Faller) -> Arrest:
    """Arrest of ``faller`` at ``position`` (m from the left end). Broadcasts over all three.

    Raises:
        CalculationError: a place off the line, or a balance that can't be found.
    """
    shape = np.broadcast_shapes(installed.shape, np.shape(position), record_shape(faller))
    flat = flatten_record(installed, shape)
    fallers = flatten_record(faller, shape)
    x = np.broadcast_to(as_array(position), shape).ravel()
    scene = _Scene(
        installed=flat,
        grips=grip(flat, x[:, None]),
        standing=np.zeros((x.size, 1)),
        live=np.ones((x.size, 1), dtype=bool),
        spent=np.zeros(x.size),
    )
    return reshape_record(_finish(scene, _summed(fallers), x, as_array(fallers.count)), shape)


@dataclass(frozen=True, slots=True)
class Sequence:
    """One fall after another on one line."""

    first: Arrest
    second: Arrest  # with the first hanging still; its free fall includes the line's drop under the first
    added_free_fall: Array  # m


@remembered()
def arrest_in_sequence(
    installed: InstalledLine, first_at: Values, first: Faller, second_at: Values, second: Faller
) -> Sequence:
    """``second`` falls while ``first`` hangs as dead load, the line absorber already pulled out by the first.

    The second's free fall grows by as much as the first has pulled the line down at the
    second's place; where the line rises there, nothing is taken off. Broadcasts.
    Rule: common practice of treating a suspended worker as dead load, no source.
    """
    shapes = (np.shape(first_at), np.shape(second_at), record_shape(first), record_shape(second))
    shape = np.broadcast_shapes(installed.shape, *shapes)
    earlier = arrest(installed, np.broadcast_to(as_array(first_at), shape), first)
    flat, fallers = flatten_record(installed, shape), flatten_record(second, shape)
    x1 = np.broadcast_to(as_array(first_at), shape).ravel()
    x2 = np.broadcast_to(as_array(second_at), shape).ravel()
    places = np.stack([x1, x2], axis=-1)
    order = np.argsort(places, axis=-1, kind="stable")
    dead = np.broadcast_to(as_array(first.mass) * first.count * G, shape).ravel()
    standing = np.stack([dead, np.zeros_like(dead)], axis=-1)
    scene = _Scene(
        installed=flat,
        grips=grip(flat, np.take_along_axis(places, order, axis=-1)),
        standing=np.take_along_axis(standing, order, axis=-1),
        live=order == 1,
        spent=earlier.line_absorber_extension.ravel(),
    )
    under_first = scene.load(np.zeros_like(dead))
    added = np.maximum(scene.at_live(under_first.sag_increment), 0.0)
    fall = _summed(fallers)
    fall = dataclasses.replace(fall, free_fall=fall.free_fall + added)
    later = _finish(scene, fall, x2, as_array(fallers.count))
    return Sequence(earlier, reshape_record(later, shape), added.reshape(shape))


def stations(span: float, step: float = STATION_STEP) -> Array:
    """Places to check along a line (m): every ``step`` from both ends, and mid-span; the ends excluded."""
    if not span > 2.0 * step:
        return np.array([0.5 * span])
    from_left = np.arange(1, int(np.floor(span / step)) + 1) * step
    from_left = from_left[from_left <= span - step * (1.0 - 1e-9)]
    places = np.concatenate([from_left, [0.5 * span, span - step]])
    places = np.sort(np.round(places, 9))
    return np.asarray(places[np.diff(places, prepend=-np.inf) > 0.0])
