"""Second opinion on an arrest: the same fall in time, with the rope's own mass.

The rope is a chain of lumped masses joined by elastic pieces that take no compression; the line
absorber and the personal absorber are rigid-plastic with a stop; the workers are one falling mass.
Workers who already hang are a second mass on a connector of their own, whose absorber may give more.
Explicit integration (leapfrog), undamped. It starts when the connector comes taut, with the line
at rest as installed and the mass at sqrt(2 g h). A case whose energy does not close, as where a slack
rope snaps taut again and again, is run once more with half the time step, and so on.

What it holds that the energy balance does not: the rope's inertia. A light rope struck by a force
that rises at once swings past its static place, so the peak tension is higher while the drop
hardly differs.

Simplifications, all stated: an end's spring acts along the rope's last piece instead of
horizontally, and has no mass; the connector hangs straight down from the point it grips and has
no mass; its stiffness before and after the absorber's stroke is ``connector_stiffness``.

Signs. x right, z up, from the left end; tension and extension positive. Results are magnitudes.
Source: central differences with the Courant limit, T. Belytschko et al., *Nonlinear Finite
Elements for Continua and Structures*, chapter 6 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
from planforge.calc.arrest import Faller
from planforge.calc.chain_motion import COURANT, Bodies, Chain, Motion, stepper
from planforge.calc.constants import G
from planforge.calc.lifeline import InstalledLine
from planforge.calc.point_load import LoadedLine, load_line
from planforge.errors import CalculationError, Quantity
from planforge.memo import remembered

#: Stiffness of one connector beside its absorber, N/m: stiff, so that the stroke does the work.
CONNECTOR_STIFFNESS = 500e3
#: Rope pieces along the span.
SEGMENTS = 16
_LOOK_EVERY = 25  # steps between looks at whether all have turned
_LONGEST = 6.0  # s of fall after the connector is taut
_MOST_STEPS = 300_000  # in one run; a stiff, light or very short rope asks for tiny steps
_ENERGY_TOLERANCE = 0.02  # of the energy put in
_ENERGY_WANTED = 0.002  # likewise; a case that misses it is tried with half the time step
_HALVINGS = 3


@dataclass(frozen=True, slots=True)
class TimeHistory:
    """Peaks of one fall in time. All fields have the batch's shape."""

    drop: Array  # m the mass came down after the connector was taut: line drop + stroke + connector's stretch
    line_drop: Array  # m, greatest drop of the gripped point
    tension_left: Array  # N, peak at the left end
    tension_right: Array  # N
    tension_max: Array  # N, peak anywhere
    force_per_worker: Array  # N, peak in one connector
    absorber_stroke: Array  # m used of the personal absorber
    line_absorber_extension: Array  # m
    time_to_lowest: Array  # s from taut to the lowest point
    energy_misfit: Array  # part of the energy put in that the integration lost or gained


@dataclass(frozen=True, slots=True)
class Hanging:
    """Workers already hanging still from one place, as dead load and as mass. Numbers or arrays."""

    position: Values  # m from the left end as installed
    mass: Values  # kg in all
    spent_extension: Values = 0.0  # m of the line absorber already pulled out
    absorber_force: Values = np.inf  # N of their personal absorbers, all together
    absorber_room: Values = 0.0  # m left in those


def _nodes(places: Array, span: Array, segments: int) -> NDArray[np.intp]:
    """Interior nodes to move to two places each; one node where both are one. (C, 2)

    A place midway between two nodes takes the one farther from the chain's first end, where the line absorber
    is: rounding must not choose, and that one was seen to load the line more (by 3 % on a span of 32 ft).
    """
    order = np.argsort(places, axis=-1, kind="stable")
    ranked = np.take_along_axis(places, order, axis=-1)
    nearest = np.rint(ranked / span[:, None] * segments + 1e-9).astype(np.intp)
    apart = ranked[:, 1] - ranked[:, 0] > 1e-6 * span
    low = np.clip(nearest[:, 0], 1, segments - 1 - apart)
    high = np.where(apart, np.clip(nearest[:, 1], low + 1, segments - 1), low)
    nodes = np.empty_like(order)
    np.put_along_axis(nodes, order, np.stack([low, high], axis=-1), axis=-1)
    return nodes


def _rest(installed: InstalledLine, position: Array, hanging: Hanging) -> tuple[LoadedLine, Array]:
    """The line before the fall, and where it then carries the fall and the hanging load (m). (C, 2)"""
    both = np.stack([position, as_array(hanging.position)], axis=-1)
    weights = np.stack([np.zeros_like(position), G * as_array(hanging.mass)], axis=-1)
    order = np.argsort(both, axis=-1, kind="stable")
    ranked, loads = np.take_along_axis(both, order, axis=-1), np.take_along_axis(weights, order, axis=-1)
    loaded = load_line(installed, ranked, loads, hanging.spent_extension)
    if np.any(
        loaded.absorber_extension > as_array(hanging.spent_extension) + 1e-6 * loaded.positions[..., -1]
    ):
        raise CalculationError(
            "time history: the line absorber gives way before the fall, under {tension}. "
            "Give the line more sag, or fit a stronger absorber.",
            tension=Quantity(float(np.max(loaded.tension_left)), "N"),
        )
    places = np.empty_like(both)
    np.put_along_axis(places, order, loaded.places - loaded.end_movement_left[:, None], axis=-1)
    return loaded, places


def _chain(installed: InstalledLine, position: Array, hanging: Hanging, segments: int) -> Chain:
    """Lay the chain on the line at rest, in exact equilibrium with its lumped weights."""
    line = installed.line
    mirror = np.asarray(line.absorber_on_right, dtype=bool)
    rest, places = _rest(installed, position, hanging)
    H = rest.horizontal_tension
    span = as_array(line.span) - rest.end_movement_left - rest.end_movement_right
    rise = np.where(mirror, -as_array(line.rise), line.rise)
    x = span[:, None] * np.linspace(0.0, 1.0, segments + 1)
    places = np.where(mirror[:, None], span[:, None] - places, places)
    nodes = _nodes(places, span, segments)
    np.put_along_axis(x, nodes, places, axis=-1)
    weight = as_array(line.rope.weight)[:, None] * as_array(installed.unstretched_length)[:, None]
    pieces = weight * np.diff(x, axis=-1) / span[:, None]
    lumps = 0.5 * (pieces[:, 1:] + pieces[:, :-1])
    masses = lumps / G
    lumps[np.arange(span.size), nodes[:, 1] - 1] += G * as_array(hanging.mass)
    left = np.sum(lumps * (1.0 - x[:, 1:-1] / span[:, None]), axis=-1) / H - rise / span
    slope = (
        left[:, None] - np.concatenate([np.zeros_like(left)[:, None], np.cumsum(lumps, -1)], -1) / H[:, None]
    )
    run = np.diff(x, axis=-1)
    z = np.concatenate([np.zeros_like(left)[:, None], np.cumsum(-slope * run, axis=-1)], axis=-1)
    length, tension = run * np.hypot(1.0, slope), H[:, None] * np.hypot(1.0, slope)
    EA = as_array(line.rope.axial_stiffness)[:, None]
    give = length / (1.0 + tension / EA) / EA
    k_left, k_right = as_array(line.end_stiffness_left), as_array(line.end_stiffness_right)
    give[:, 0] += 1.0 / np.where(mirror, k_right, k_left)
    give[:, -1] += 1.0 / np.where(mirror, k_left, k_right)
    return Chain(
        x=x,
        z=z,
        stiffness=1.0 / give,
        slack_length=length - tension * give,
        mass=masses,
        nodes=nodes.T,
        absorber_force=as_array(line.absorber_force),
        absorber_room=np.maximum(as_array(line.absorber_stroke) - hanging.spent_extension, 0.0),
    )


def _bodies(fall: Faller, hanging: Hanging, connector: float) -> Bodies:
    count, dead = as_array(fall.count), as_array(hanging.mass)
    rows = 2 if np.any(dead > 0.0) else 1
    # A case without anyone hanging carries a body there on next to no stiffness: all share one shape.
    stiffness = np.stack([count * connector, np.where(dead > 0.0, connector, 1e-6)])
    return Bodies(
        mass=np.stack([count * fall.mass, np.where(dead > 0.0, dead, 1.0)])[:rows],
        force=np.stack([count * fall.absorber_force, as_array(hanging.absorber_force)])[:rows],
        room=np.stack([as_array(fall.absorber_stroke), as_array(hanging.absorber_room)])[:rows],
        stiffness=stiffness[:rows],
        stretch=np.stack([np.zeros_like(dead), G * dead / connector])[:rows],
        free_fall=as_array(fall.free_fall),
    )


@dataclass(frozen=True, slots=True)
class _Falls:
    """A flat batch of falls."""

    installed: InstalledLine
    position: Array  # m from the left end
    faller: Faller
    hanging: Hanging

    def motion(self, connector: float, segments: int, courant: float) -> Motion:
        """The moment when the connector comes taut."""
        chain = _chain(self.installed, self.position, self.hanging, segments)
        return Motion(chain, _bodies(self.faller, self.hanging, connector), courant)

    @property
    def wave_time(self) -> Array:
        """How long a wave takes along the rope, s."""
        rope = self.installed.line.rope
        density = as_array(rope.weight) / G
        return self.installed.line.span * np.sqrt(density / as_array(rope.axial_stiffness))


def _solve(falls: _Falls, connector: float, segments: int) -> TimeHistory:
    """Every fall with the time step that closes its energy, as far as that can be had.

    Raises:
        CalculationError: not turned within 6 s or the greatest number of steps, or energy unaccounted for.
    """
    outcome = _integrate(falls.motion(connector, segments, COURANT), falls)
    for halvings in range(1, _HALVINGS + 1):
        again = ~(np.abs(outcome.energy_misfit) <= _ENERGY_WANTED)
        if not again.any():
            break
        part = pick_record(falls, again)
        finer = _integrate(part.motion(connector, segments, COURANT / 2**halvings), part)
        outcome = put_record(outcome, again, finer)
    _refuse_doubtful(outcome)
    return outcome


def _refuse_doubtful(outcome: TimeHistory) -> None:
    misfit = np.abs(outcome.energy_misfit)
    if not np.all(misfit <= _ENERGY_TOLERANCE):
        lost = f"{np.max(misfit):.1%}" if np.all(np.isfinite(misfit)) else "all"
        raise CalculationError(
            f"time history: {lost} of the energy is unaccounted for, even in steps {2**_HALVINGS} times as "
            f"fine; {_ENERGY_TOLERANCE:.0%} is allowed."
        )
    unturned = ~np.isfinite(outcome.time_to_lowest)
    if unturned.any():
        raise CalculationError(
            f"time history: the fall has not turned within {_LONGEST:g} s or {_MOST_STEPS:,} steps in "
            f"{int(np.sum(unturned))} of {unturned.size} cases. Check the absorbers' forces against the "
            "weight, and the rope's stiffness and weight."
        )


def _integrate(motion: Motion, falls: _Falls) -> TimeHistory:
    """Run until every mass has turned and the rope's waves have passed four times more.

    What has not come so far when the time or the steps are up has an infinite ``time_to_lowest``.
    """
    cases, per_worker, wave_time = motion.cases, as_array(falls.faller.count), falls.wave_time
    turned, finished = np.full(cases, np.inf), np.zeros(cases, dtype=bool)
    result = {name: np.full(cases, np.nan) for name in TimeHistory.__slots__}
    start, march = motion.potential(motion.place), stepper(motion)
    falling = motion.table(motion.moved)[2 * motion.nodes]

    def keep(ready: Bools, times: Array) -> None:
        for name, values in _peaks(motion, per_worker, times, start).items():
            result[name][ready] = values[ready]

    steps = min(int(_LONGEST / np.min(motion.dt)), _MOST_STEPS)
    with np.errstate(invalid="ignore", over="ignore"):
        for look in range(1, steps // _LOOK_EVERY + 1):
            march(_LOOK_EVERY)
            now = look * _LOOK_EVERY * motion.dt
            turned = np.where((falling > 0.0) & np.isinf(turned), now, turned)
            ready = ~finished & (now > turned + 4.0 * wave_time)
            if ready.any():
                keep(ready, turned)
                finished |= ready
            if finished.all():
                return TimeHistory(**result)
        keep(~finished, np.full(cases, np.inf))
    return TimeHistory(**result)


def _peaks(motion: Motion, per_worker: Array, turned: Array, start: Array) -> dict[str, Array]:
    """Peaks so far; what the line absorber had given before the fall is not in them."""
    pulls, given = motion.table(motion.peak), motion.given
    tensions = pulls[motion.rows :]
    return {
        "drop": motion.z_start - motion.table(motion.lowest)[0],
        "line_drop": motion.z_start - motion.table(motion.lowest_grip)[0],
        "tension_left": tensions[0],
        "tension_right": tensions[-1],
        "tension_max": np.max(tensions, axis=0),
        "force_per_worker": pulls[0] / per_worker,
        "absorber_stroke": given[0],
        "line_absorber_extension": given[-1],
        "time_to_lowest": turned,
        "energy_misfit": motion.energy_misfit(start),
    }


@remembered()
def time_history(
    installed: InstalledLine,
    position: Values,
    faller: Faller,
    *,
    hanging: Hanging | None = None,
    connector_stiffness: float = CONNECTOR_STIFFNESS,
    segments: int = SEGMENTS,
) -> TimeHistory:
    """The fall of ``faller`` at ``position`` (m from the left end) in time. Broadcasts over all three.

    Args:
        installed: the line at rest.
        position: m from the left end as installed, strictly between the ends.
        faller: the workers, summed into one mass; their free fall is down to where the line hangs now.
        hanging: workers already on the line from an earlier fall.
        connector_stiffness: N/m of one connector beside its absorber.
        segments: rope pieces along the span, 4 at least.

    Raises:
        CalculationError: not turned within 6 s or the greatest number of steps, or more than 2 % of the
            energy unaccounted for.
    """
    dead = Hanging(position, 0.0) if hanging is None else hanging
    shapes = (np.shape(position), record_shape(faller), record_shape(dead))
    shape = np.broadcast_shapes(installed.shape, *shapes)
    flat, fall = flatten_record(installed, shape), flatten_record(faller, shape)
    x = np.broadcast_to(as_array(position), shape).ravel()
    if segments < 4 or not np.all((x > 0.0) & (x < flat.line.span)):
        raise CalculationError("time history: the place must lie between the ends, with 4 segments or more.")
    dead = flatten_record(dead, shape)
    outcome = _solve(_Falls(flat, x, fall, dead), connector_stiffness, segments)
    mirror = np.asarray(flat.line.absorber_on_right, dtype=bool)
    left, right = outcome.tension_left, outcome.tension_right
    values = {name: getattr(outcome, name) for name in TimeHistory.__slots__}
    values["tension_left"] = np.where(mirror, right, left)
    values["tension_right"] = np.where(mirror, left, right)
    values["line_absorber_extension"] = outcome.line_absorber_extension + dead.spent_extension
    return reshape_record(TimeHistory(**values), shape)
