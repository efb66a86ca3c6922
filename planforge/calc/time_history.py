"""Second opinion on an arrest: the same fall in time, with the rope's own mass.

The rope is a chain of lumped masses joined by elastic pieces that take no compression; the line
absorber and the personal absorber are rigid-plastic with a stop; the workers are one falling mass.
Explicit integration (leapfrog), undamped. It starts when the connector comes taut, with the line
at rest as installed and the mass at sqrt(2 g h).

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

from planforge.calc.arrays import Array, Values, as_array, flatten_record, record_shape, reshape_record
from planforge.calc.arrest import Faller
from planforge.calc.constants import G
from planforge.calc.lifeline import InstalledLine
from planforge.errors import CalculationError

#: Stiffness of one connector beside its absorber, N/m: stiff, so that the stroke does the work.
CONNECTOR_STIFFNESS = 500e3
#: Rope pieces along the span.
SEGMENTS = 16
_COURANT = 0.9
_LOOK_EVERY = 25  # steps between looks at whether all have turned
_LONGEST = 6.0  # s of fall after the connector is taut
_ENERGY_TOLERANCE = 0.02  # of the energy put in


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
class _Chain:
    """A flat batch of chains, mirrored so that the line absorber sits at the left. C cases, N pieces."""

    x: Array  # (C, N+1) at rest
    z: Array  # (C, N+1)
    stiffness: Array  # (C, N), N/m of each piece, ends' springs in series
    slack_length: Array  # (C, N), m at which each piece has no tension
    mass: Array  # (C, N-1), kg
    node: NDArray[np.intp]  # (C,), index of the gripped node
    absorber_force: Array  # (C,), N
    absorber_stroke: Array  # (C,), m


def _chain(installed: InstalledLine, position: Array, segments: int) -> _Chain:
    """Lay the chain on the line at rest, in exact equilibrium with its lumped weights."""
    line = installed.line
    mirror = np.asarray(line.absorber_on_right, dtype=bool)
    H = as_array(installed.horizontal_tension)
    grown = (H - installed.reference_tension) * installed.end_compliance
    span = as_array(line.span) - grown
    rise = np.where(mirror, -as_array(line.rise), line.rise)
    x = span[:, None] * np.linspace(0.0, 1.0, segments + 1)
    grip = position / line.span * span
    grip = np.where(mirror, span - grip, grip)
    node = np.clip(np.rint(grip / span * segments).astype(np.intp), 1, segments - 1)
    np.put_along_axis(x, node[:, None], grip[:, None], axis=-1)
    weight = as_array(line.rope.weight)[:, None] * as_array(installed.unstretched_length)[:, None]
    pieces = weight * np.diff(x, axis=-1) / span[:, None]
    lumps = 0.5 * (pieces[:, 1:] + pieces[:, :-1])
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
    return _Chain(
        x=x,
        z=z,
        stiffness=1.0 / give,
        slack_length=length - tension * give,
        mass=lumps / G,
        node=node,
        absorber_force=as_array(line.absorber_force),
        absorber_stroke=as_array(line.absorber_stroke),
    )


def _time_step(chain: _Chain, connector: Array) -> Array:
    """Stable step of each case, s: Courant's limit by Gershgorin's bound on the highest frequency."""
    k = chain.stiffness
    rows = 2.0 * (k[:, 1:] + k[:, :-1])
    index = chain.node[:, None] - 1
    here = np.take_along_axis(rows, index, axis=-1) + connector[:, None]
    np.put_along_axis(rows, index, here, axis=-1)
    return np.asarray(_COURANT * 2.0 / np.sqrt(np.max(rows / chain.mass, axis=-1)))


class _Run:
    """State and buffers of the integration; every step writes into arrays made here."""

    def __init__(self, chain: _Chain, fall: Faller, connector: Array) -> None:
        cases, nodes = chain.x.shape
        count, mass = as_array(fall.count), as_array(fall.mass)
        self.chain, self.fall_mass = chain, count * mass
        self.dt = _time_step(chain, connector)
        self.force, self.stiffness = count * fall.absorber_force, connector
        self.start_speed = np.sqrt(2.0 * G * as_array(fall.free_fall))
        self.q = np.stack([chain.x, chain.z])
        self.u = np.zeros((2, cases, nodes - 2))  # displacement in one step
        self.slack = chain.slack_length.copy()
        self.room, self.absorber_room = as_array(fall.absorber_stroke).copy(), chain.absorber_stroke.copy()
        self.has_absorber = bool(np.any(np.isfinite(chain.absorber_force)))
        at = np.arange(cases)
        self.grip, self.grip_force = at * nodes + chain.node, at * (nodes - 2) + chain.node - 1
        self.z_mass = chain.z[at, chain.node].copy()
        self.z_start = self.z_mass.copy()
        self.slid = np.zeros(cases)
        self.gravity = G * self.dt**2
        self.u_mass = -self.start_speed * self.dt + 0.5 * self.gravity
        self.node_factor = self.dt[:, None] ** 2 / chain.mass
        self.mass_factor = self.dt**2 / self.fall_mass
        self.d, self.squares = np.empty((2, cases, nodes - 1)), np.empty((2, cases, nodes - 1))
        self.length, self.tension = np.empty((cases, nodes - 1)), np.empty((cases, nodes - 1))
        self.f = np.empty((2, cases, nodes - 2))
        self.pull, self.spare, self.z_grip = np.empty(cases), np.empty(cases), np.empty(cases)
        self.peak_tension, self.peak_pull = np.zeros((cases, nodes - 1)), np.zeros(cases)
        self.lowest, self.lowest_grip = self.z_mass.copy(), self.z_mass.copy()
        # Views made once: making one costs as much as the arithmetic at these sizes.
        self.q_right, self.q_left, self.q_inner = self.q[:, :, 1:], self.q[:, :, :-1], self.q[:, :, 1:-1]
        self.d_right, self.d_left = self.d[:, :, 1:], self.d[:, :, :-1]
        self.z_flat, self.fz_flat, self.u_z = self.q[1].reshape(-1), self.f[1].reshape(-1), self.u[1]
        self.end_tension, self.end_slack = self.tension[:, 0], self.slack[:, 0]
        self.end_stiffness = chain.stiffness[:, 0].copy()
        self.end_give = 1.0 / self.end_stiffness
        self.connector_give = 1.0 / connector
        self.gravity_rows = self.gravity[:, None]

    def rope(self) -> None:
        """Tensions from places, absorber pulled out where they ask for it, and forces on the nodes."""
        np.subtract(self.q_right, self.q_left, out=self.d)
        np.multiply(self.d, self.d, out=self.squares)
        np.add(self.squares[0], self.squares[1], out=self.length)
        np.sqrt(self.length, out=self.length)
        np.subtract(self.length, self.slack, out=self.tension)
        np.multiply(self.tension, self.chain.stiffness, out=self.tension)
        if self.has_absorber:
            spare = self.spare
            np.subtract(self.end_tension, self.chain.absorber_force, out=spare)
            np.maximum(spare, 0.0, out=spare)
            np.multiply(spare, self.end_give, out=spare)
            np.minimum(spare, self.absorber_room, out=spare)
            self.absorber_room -= spare
            self.end_slack += spare
            np.multiply(spare, self.end_stiffness, out=spare)
            self.end_tension -= spare
        np.maximum(self.tension, 0.0, out=self.tension)
        np.maximum(self.peak_tension, self.tension, out=self.peak_tension)
        np.divide(self.tension, self.length, out=self.length)
        np.multiply(self.d, self.length, out=self.d)
        np.subtract(self.d_right, self.d_left, out=self.f)

    def connector(self) -> None:
        """Pull of the connectors, their absorber sliding at its force until its stroke is used."""
        pull, spare = self.pull, self.spare
        np.take(self.z_flat, self.grip, out=self.z_grip)
        np.subtract(self.z_grip, self.z_mass, out=pull)
        pull -= self.slid
        pull *= self.stiffness
        np.subtract(pull, self.force, out=spare)
        np.maximum(spare, 0.0, out=spare)
        spare *= self.connector_give
        np.minimum(spare, self.room, out=spare)
        self.room -= spare
        self.slid += spare
        spare *= self.stiffness
        pull -= spare
        np.maximum(pull, 0.0, out=pull)
        np.maximum(self.peak_pull, pull, out=self.peak_pull)
        self.fz_flat[self.grip_force] -= pull

    def advance(self) -> None:
        """Move nodes and mass by one step."""
        self.f *= self.node_factor
        self.u += self.f
        self.u_z -= self.gravity_rows
        self.q_inner += self.u
        np.multiply(self.pull, self.mass_factor, out=self.spare)
        self.spare -= self.gravity
        self.u_mass += self.spare
        self.z_mass += self.u_mass
        np.minimum(self.lowest, self.z_mass, out=self.lowest)
        np.minimum(self.lowest_grip, self.z_grip, out=self.lowest_grip)

    def potential(self, q: Array, z_mass: Array) -> Array:
        """Elastic and height energy of each case, J; the dissipated part not in it."""
        length = np.hypot(*np.diff(q, axis=-1))
        tension = np.maximum((length - self.slack) * self.chain.stiffness, 0.0)
        grip = np.take(q[1].reshape(-1), self.grip)
        pull = np.maximum((grip - z_mass - self.slid) * self.stiffness, 0.0)
        elastic = 0.5 * np.sum(tension**2 / self.chain.stiffness, axis=-1) + 0.5 * pull**2 / self.stiffness
        height = np.sum(self.chain.mass * q[1][:, 1:-1], axis=-1) + self.fall_mass * z_mass
        return np.asarray(elastic + G * height)

    def energy_misfit(self, start: Array) -> Array:
        """Energy lost or gained so far over the energy put in; ``start`` is the potential at the outset."""
        before = self.q.copy()
        before[:, :, 1:-1] -= self.u
        here = self.potential(self.q, self.z_mass)
        there = self.potential(before, self.z_mass - self.u_mass)
        moving = (
            np.sum(self.chain.mass * np.sum(self.u**2, axis=0), axis=-1) + self.fall_mass * self.u_mass**2
        )
        pulled = self.chain.absorber_stroke - self.absorber_room
        spent = self.force * self.slid + np.where(pulled > 0.0, self.chain.absorber_force, 0.0) * pulled
        put_in = self.fall_mass * (0.5 * self.start_speed**2 + G * (self.z_start - self.lowest))
        now = 0.5 * (here + there) + 0.5 * moving / self.dt**2 + spent
        return np.asarray((now - start - 0.5 * self.fall_mass * self.start_speed**2) / put_in)


def _integrate(run: _Run, per_worker: Array, wave_time: Array) -> TimeHistory:
    """Run until every mass has turned and the rope's waves have passed four times more."""
    cases = run.dt.size
    turned, finished = np.full(cases, np.inf), np.zeros(cases, dtype=bool)
    result = {name: np.full(cases, np.nan) for name in TimeHistory.__slots__}
    start = run.potential(run.q, run.z_mass)
    with np.errstate(invalid="ignore"):
        limit = int(_LONGEST / np.min(run.dt))
        for step in range(1, limit + 1):
            run.rope()
            run.connector()
            run.advance()
            if step % _LOOK_EVERY:
                continue
            now = step * run.dt
            turned = np.where((run.u_mass > 0.0) & np.isinf(turned), now, turned)
            ready = ~finished & (now > turned + 4.0 * wave_time)
            if ready.any():
                for name, values in _peaks(run, per_worker, turned, start).items():
                    result[name][ready] = values[ready]
                finished |= ready
            if finished.all():
                return TimeHistory(**result)
    raise CalculationError(
        f"time history: the fall has not turned within {_LONGEST:g} s in {int(np.sum(~finished))} of {cases} "
        "cases. Check the absorbers' forces against the weight."
    )


def _peaks(run: _Run, per_worker: Array, turned: Array, start: Array) -> dict[str, Array]:
    return {
        "drop": run.z_start - run.lowest,
        "line_drop": run.z_start - run.lowest_grip,
        "tension_left": run.peak_tension[:, 0],
        "tension_right": run.peak_tension[:, -1],
        "tension_max": np.max(run.peak_tension, axis=-1),
        "force_per_worker": run.peak_pull / per_worker,
        "absorber_stroke": run.slid,
        "line_absorber_extension": run.chain.absorber_stroke - run.absorber_room,
        "time_to_lowest": turned,
        "energy_misfit": run.energy_misfit(start),
    }


def time_history(
    installed: InstalledLine,
    position: Values,
    faller: Faller,
    *,
    connector_stiffness: float = CONNECTOR_STIFFNESS,
    segments: int = SEGMENTS,
) -> TimeHistory:
    """The fall of ``faller`` at ``position`` (m from the left end) in time. Broadcasts over all three.

    Args:
        installed: the line at rest.
        position: m from the left end as installed, strictly between the ends.
        faller: the workers, summed into one mass.
        connector_stiffness: N/m of one connector beside its absorber.
        segments: rope pieces along the span, 4 at least.

    Raises:
        CalculationError: not turned within 6 s, or more than 2 % of the energy unaccounted for.
    """
    shape = np.broadcast_shapes(installed.shape, np.shape(position), record_shape(faller))
    flat, fall = flatten_record(installed, shape), flatten_record(faller, shape)
    x = np.broadcast_to(as_array(position), shape).ravel()
    if segments < 4 or not np.all((x > 0.0) & (x < flat.line.span)):
        raise CalculationError("time history: the place must lie between the ends, with 4 segments or more.")
    chain = _chain(flat, x, segments)
    run = _Run(chain, fall, as_array(fall.count) * connector_stiffness)
    density = as_array(flat.line.rope.weight) / G
    wave_time = flat.line.span * np.sqrt(density / as_array(flat.line.rope.axial_stiffness))
    outcome = _integrate(run, as_array(fall.count), wave_time)
    worst = float(np.max(np.abs(outcome.energy_misfit)))
    if not worst <= _ENERGY_TOLERANCE:
        raise CalculationError(
            f"time history: {worst:.1%} of the energy is unaccounted for; {_ENERGY_TOLERANCE:.0%} is allowed."
        )
    mirror = np.asarray(flat.line.absorber_on_right, dtype=bool)
    left, right = outcome.tension_left, outcome.tension_right
    values = {name: getattr(outcome, name) for name in TimeHistory.__slots__}
    values["tension_left"] = np.where(mirror, right, left)
    values["tension_right"] = np.where(mirror, left, right)
    return reshape_record(TimeHistory(**values), shape)
