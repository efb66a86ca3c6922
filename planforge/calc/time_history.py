"""Second opinion on an arrest: the same fall in time, with the rope's own mass.

The rope is a chain of lumped masses joined by elastic pieces that take no compression; the line
absorber and the personal absorber are rigid-plastic with a stop; the workers are one falling mass.
Workers who already hang are a second mass on a connector of their own, whose absorber may give more.
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
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array, Values, as_array, flatten_record, record_shape, reshape_record
from planforge.calc.arrest import Faller
from planforge.calc.constants import G
from planforge.calc.lifeline import InstalledLine
from planforge.calc.point_load import LoadedLine, load_line
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
    nodes: NDArray[np.intp]  # (2, C), index of the node gripped by the fall, and by those already hanging
    absorber_force: Array  # (C,), N
    absorber_spent: Array  # (C,), m already pulled out of the line absorber
    absorber_room: Array  # (C,), m left in it


@dataclass(frozen=True, slots=True)
class Hanging:
    """Workers already hanging still from one place, as dead load and as mass. Numbers or arrays."""

    position: Values  # m from the left end as installed
    mass: Values  # kg in all
    spent_extension: Values = 0.0  # m of the line absorber already pulled out
    absorber_force: Values = np.inf  # N of their personal absorbers, all together
    absorber_room: Values = 0.0  # m left in those


def _nodes(places: Array, span: Array, segments: int) -> NDArray[np.intp]:
    """Interior nodes to move to two places each; one node where both are one. (C, 2)"""
    order = np.argsort(places, axis=-1, kind="stable")
    ranked = np.take_along_axis(places, order, axis=-1)
    nearest = np.rint(ranked / span[:, None] * segments).astype(np.intp)
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
    places = np.empty_like(both)
    np.put_along_axis(places, order, loaded.places - loaded.end_movement_left[:, None], axis=-1)
    return loaded, places


def _chain(installed: InstalledLine, position: Array, hanging: Hanging, segments: int) -> _Chain:
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
    return _Chain(
        x=x,
        z=z,
        stiffness=1.0 / give,
        slack_length=length - tension * give,
        mass=masses,
        nodes=nodes.T,
        absorber_force=as_array(line.absorber_force),
        absorber_spent=as_array(hanging.spent_extension),
        absorber_room=np.maximum(as_array(line.absorber_stroke) - hanging.spent_extension, 0.0),
    )


def _time_step(chain: _Chain, connectors: Array) -> Array:
    """Stable step of each case, s: Courant's limit by Gershgorin's bound on the highest frequency."""
    k = chain.stiffness
    rows = 2.0 * (k[:, 1:] + k[:, :-1])
    for index, stiffness in zip(chain.nodes, connectors, strict=False):
        rows[np.arange(index.size), index - 1] += 2.0 * stiffness
    return np.asarray(_COURANT * 2.0 / np.sqrt(np.max(rows / chain.mass, axis=-1)))


class _Bodies(NamedTuple):
    """What falls (first row) and what already hangs (second row, where there is any). (rows, C)"""

    mass: Array  # kg
    force: Array  # N, of the personal absorbers together
    room: Array  # m of stroke left
    stiffness: Array  # N/m of the connectors together
    stretch: Array  # m of the connectors at the start
    free_fall: Array  # m, of the falling row alone; (C,)


def _bodies(fall: Faller, hanging: Hanging, connector: float) -> _Bodies:
    count, dead = as_array(fall.count), as_array(hanging.mass)
    rows = 2 if np.any(dead > 0.0) else 1
    # A case without anyone hanging carries a body there on next to no stiffness: all share one shape.
    stiffness = np.stack([count * connector, np.where(dead > 0.0, connector, 1e-6)])
    return _Bodies(
        mass=np.stack([count * fall.mass, np.where(dead > 0.0, dead, 1.0)])[:rows],
        force=np.stack([count * fall.absorber_force, as_array(hanging.absorber_force)])[:rows],
        room=np.stack([as_array(fall.absorber_stroke), as_array(hanging.absorber_room)])[:rows],
        stiffness=stiffness[:rows],
        stretch=np.stack([np.zeros_like(dead), G * dead / connector])[:rows],
        free_fall=as_array(fall.free_fall),
    )


class _Run:
    """State and buffers of the integration; every step writes into arrays made here."""

    def __init__(self, chain: _Chain, bodies: _Bodies) -> None:
        cases, nodes = chain.x.shape
        rows = len(bodies.mass)
        self.chain, self.body_mass = chain, bodies.mass
        self.dt = _time_step(chain, bodies.stiffness)
        self.force, self.stiffness = bodies.force, bodies.stiffness
        self.start_speed = np.sqrt(2.0 * G * bodies.free_fall)
        self.q = np.stack([chain.x, chain.z])
        self.u = np.zeros((2, cases, nodes - 2))  # displacement in one step
        self.slack = chain.slack_length.copy()
        self.room, self.absorber_room = bodies.room.copy(), chain.absorber_room.copy()
        self.has_absorber = bool(np.any(np.isfinite(chain.absorber_force)))
        at = np.arange(cases)
        self.grip, self.grip_force = (
            at * nodes + chain.nodes[:rows],
            at * (nodes - 2) + chain.nodes[:rows] - 1,
        )
        self.z_body = self.q[1].reshape(-1)[self.grip] - bodies.stretch
        self.z_start = self.z_body[0].copy()
        self.slid = np.zeros((rows, cases))
        self.gravity = G * self.dt**2
        self.u_body = np.zeros((rows, cases))
        self.u_body[0] = -self.start_speed * self.dt + 0.5 * self.gravity
        self.node_factor = self.dt[:, None] ** 2 / chain.mass
        self.body_factor = self.dt**2 / bodies.mass
        self.d, self.squares = np.empty((2, cases, nodes - 1)), np.empty((2, cases, nodes - 1))
        self.length, self.tension = np.empty((cases, nodes - 1)), np.empty((cases, nodes - 1))
        self.f = np.empty((2, cases, nodes - 2))
        self.pull, self.spare, self.z_grip = (np.empty((rows, cases)) for _ in range(3))
        self.end_spare = np.empty(cases)
        self.peak_tension, self.peak_pull = np.zeros((cases, nodes - 1)), np.zeros((rows, cases))
        self.lowest, self.lowest_grip = self.z_body.copy(), self.z_body.copy()
        # Views made once: making one costs as much as the arithmetic at these sizes.
        self.q_right, self.q_left, self.q_inner = self.q[:, :, 1:], self.q[:, :, :-1], self.q[:, :, 1:-1]
        self.d_right, self.d_left = self.d[:, :, 1:], self.d[:, :, :-1]
        self.z_flat, self.fz_flat, self.u_z = self.q[1].reshape(-1), self.f[1].reshape(-1), self.u[1]
        self.end_tension, self.end_slack = self.tension[:, 0], self.slack[:, 0]
        self.end_stiffness = chain.stiffness[:, 0].copy()
        self.end_give = 1.0 / self.end_stiffness
        self.connector_give = 1.0 / bodies.stiffness
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
            spare = self.end_spare
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
        np.subtract(self.z_grip, self.z_body, out=pull)
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
        # Row by row: two bodies may share a node, and then both pulls must count.
        for node, body in zip(self.grip_force, pull, strict=True):
            self.fz_flat[node] -= body

    def advance(self) -> None:
        """Move nodes and mass by one step."""
        self.f *= self.node_factor
        self.u += self.f
        self.u_z -= self.gravity_rows
        self.q_inner += self.u
        np.multiply(self.pull, self.body_factor, out=self.spare)
        self.spare -= self.gravity
        self.u_body += self.spare
        self.z_body += self.u_body
        np.minimum(self.lowest, self.z_body, out=self.lowest)
        np.minimum(self.lowest_grip, self.z_grip, out=self.lowest_grip)

    def potential(self, q: Array, z_body: Array) -> Array:
        """Elastic and height energy of each case, J; the dissipated part not in it."""
        length = np.hypot(*np.diff(q, axis=-1))
        tension = np.maximum((length - self.slack) * self.chain.stiffness, 0.0)
        grip = np.take(q[1].reshape(-1), self.grip)
        pull = np.maximum((grip - z_body - self.slid) * self.stiffness, 0.0)
        elastic = np.sum(tension**2 / self.chain.stiffness, axis=-1) + np.sum(
            pull**2 / self.stiffness, axis=0
        )
        height = np.sum(self.chain.mass * q[1][:, 1:-1], axis=-1) + np.sum(self.body_mass * z_body, axis=0)
        return np.asarray(0.5 * elastic + G * height)

    def energy_misfit(self, start: Array) -> Array:
        """Energy lost or gained so far over the energy put in; ``start`` is the potential at the outset."""
        before = self.q.copy()
        before[:, :, 1:-1] -= self.u
        here = self.potential(self.q, self.z_body)
        there = self.potential(before, self.z_body - self.u_body)
        rope = np.sum(self.chain.mass * np.sum(self.u**2, axis=0), axis=-1)
        moving = rope + np.sum(self.body_mass * self.u_body**2, axis=0)
        pulled = self.chain.absorber_room - self.absorber_room
        spent = np.sum(np.where(self.slid > 0.0, self.force, 0.0) * self.slid, axis=0)
        spent = spent + np.where(pulled > 0.0, self.chain.absorber_force, 0.0) * pulled
        at_start = 0.5 * self.body_mass[0] * self.start_speed**2
        put_in = at_start + self.body_mass[0] * G * (self.z_start - self.lowest[0])
        now = 0.5 * (here + there) + 0.5 * moving / self.dt**2 + spent
        return np.asarray((now - start - at_start) / put_in)


def _integrate(run: _Run, per_worker: Array, wave_time: Array) -> TimeHistory:
    """Run until every mass has turned and the rope's waves have passed four times more."""
    cases = run.dt.size
    turned, finished = np.full(cases, np.inf), np.zeros(cases, dtype=bool)
    result = {name: np.full(cases, np.nan) for name in TimeHistory.__slots__}
    start = run.potential(run.q, run.z_body)
    with np.errstate(invalid="ignore"):
        limit = int(_LONGEST / np.min(run.dt))
        for step in range(1, limit + 1):
            run.rope()
            run.connector()
            run.advance()
            if step % _LOOK_EVERY:
                continue
            now = step * run.dt
            turned = np.where((run.u_body[0] > 0.0) & np.isinf(turned), now, turned)
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
        "drop": run.z_start - run.lowest[0],
        "line_drop": run.z_start - run.lowest_grip[0],
        "tension_left": run.peak_tension[:, 0],
        "tension_right": run.peak_tension[:, -1],
        "tension_max": np.max(run.peak_tension, axis=-1),
        "force_per_worker": run.peak_pull[0] / per_worker,
        "absorber_stroke": run.slid[0],
        "line_absorber_extension": run.chain.absorber_spent + run.chain.absorber_room - run.absorber_room,
        "time_to_lowest": turned,
        "energy_misfit": run.energy_misfit(start),
    }


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
        CalculationError: not turned within 6 s, or more than 2 % of the energy unaccounted for.
    """
    dead = Hanging(position, 0.0) if hanging is None else hanging
    shapes = (np.shape(position), record_shape(faller), record_shape(dead))
    shape = np.broadcast_shapes(installed.shape, *shapes)
    flat, fall = flatten_record(installed, shape), flatten_record(faller, shape)
    x = np.broadcast_to(as_array(position), shape).ravel()
    if segments < 4 or not np.all((x > 0.0) & (x < flat.line.span)):
        raise CalculationError("time history: the place must lie between the ends, with 4 segments or more.")
    dead = flatten_record(dead, shape)
    run = _Run(_chain(flat, x, dead, segments), _bodies(fall, dead, connector_stiffness))
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
