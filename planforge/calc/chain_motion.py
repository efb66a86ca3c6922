"""Motion in time of a chain of lumped masses with bodies hung from it.

The pieces take no compression; the first one may yield (a line absorber), as may each connector (a
personal absorber), both rigid-plastic with a stop. Explicit integration (leapfrog), undamped.

Signs. x right, z up; tension, pull and what has yielded positive.
Source: central differences with the Courant limit, T. Belytschko et al., *Nonlinear Finite
Elements for Continua and Structures*, chapter 6 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array
from planforge.calc.constants import G

#: Part of the stable step that is taken. As much as this serves while the rope stays taut; a rope that goes
#: slack and snaps taut again loses the step's energy balance, and asks for less of it.
COURANT = 0.9


class Chain(NamedTuple):
    """A flat batch of chains, mirrored so that the line absorber sits at the left. C cases, N pieces."""

    x: Array  # (C, N+1) at rest
    z: Array  # (C, N+1)
    stiffness: Array  # (C, N), N/m of each piece, ends' springs in series
    slack_length: Array  # (C, N), m at which each piece has no tension
    mass: Array  # (C, N-1), kg
    nodes: NDArray[np.intp]  # (2, C), index of the node gripped by the fall, and by those already hanging
    absorber_force: Array  # (C,), N
    absorber_room: Array  # (C,), m left in it


class Bodies(NamedTuple):
    """What falls (first row) and what already hangs (second row, where there is any). (rows, C)"""

    mass: Array  # kg
    force: Array  # N, of the personal absorbers together
    room: Array  # m of stroke left
    stiffness: Array  # N/m of the connectors together
    stretch: Array  # m of the connectors at the start
    free_fall: Array  # m, of the falling row alone; (C,)


def _time_step(chain: Chain, connectors: Array, part: float) -> Array:
    """``part`` of each case's stable step, s: Courant's limit by Gershgorin's bound on the frequencies."""
    k = chain.stiffness
    rows = 2.0 * (k[:, 1:] + k[:, :-1])
    for index, stiffness in zip(chain.nodes, connectors, strict=False):
        rows[np.arange(index.size), index - 1] += 2.0 * stiffness
    return np.asarray(part * 2.0 / np.sqrt(np.max(rows / chain.mass, axis=-1)))


class Motion:
    """State of the integration: flat vectors, row after row of C cases.

    ``place`` holds the nodes' x, the nodes' z, the bodies' z. ``slack``, ``length`` and ``stiffness``
    hold the connectors, then the pieces from left to right, so that what can yield (the connectors'
    absorbers, the line absorber in the first piece) is one stretch at the front.
    """

    def __init__(self, chain: Chain, bodies: Bodies, courant: float = COURANT) -> None:
        """At the moment when the connector comes taut; ``courant`` is the part of the stable step taken."""
        cases, nodes = chain.x.shape
        rows = len(bodies.mass)
        self.cases, self.nodes, self.rows = cases, nodes, rows
        self.node_mass, self.body_mass = chain.mass.T, bodies.mass
        self.dt = _time_step(chain, bodies.stiffness, courant)
        self.start_speed = np.sqrt(2.0 * G * bodies.free_fall)
        gravity = G * self.dt**2
        self.grips = (nodes + chain.nodes[:rows]) * cases + np.arange(cases)  # in ``place``
        z_body = np.take_along_axis(chain.z.T, chain.nodes[:rows], axis=0) - bodies.stretch
        self.place = np.concatenate([chain.x.T, chain.z.T, z_body]).ravel()
        self.moved = np.zeros_like(self.place)  # in one step
        self.table(self.moved)[2 * nodes] = -self.start_speed * self.dt + 0.5 * gravity
        inner = np.zeros((nodes, cases))  # 0 at the ends: they stay
        inner[1:-1] = self.dt**2 / self.node_mass
        self.per_force = np.concatenate([inner, inner, self.dt**2 / bodies.mass]).ravel()
        self.falls = np.concatenate(
            [(inner > 0.0) * gravity, np.broadcast_to(gravity, (rows, cases))]
        ).ravel()
        self.stiffness = np.concatenate([bodies.stiffness, chain.stiffness.T]).ravel()
        self.slack = np.concatenate([np.zeros((rows, cases)), chain.slack_length.T]).ravel()
        self.peak = np.zeros_like(self.slack)  # N
        self.yield_force = np.concatenate([bodies.force, chain.absorber_force[None]])
        self.first_slack = self.slack[: self.yield_force.size].copy()
        self.last_slack = self.first_slack + np.concatenate([bodies.room.ravel(), chain.absorber_room])
        self.z_start = z_body[0].copy()
        self.lowest, self.lowest_grip = z_body.flatten(), z_body.flatten()  # m, of bodies and what they grip

    def table(self, flat: Array) -> Array:
        """A flat vector as rows of cases."""
        return flat.reshape(-1, self.cases)

    @property
    def given(self) -> Array:
        """What the connectors' absorbers and, last, the line absorber have given, m; (rows + 1, C)."""
        return self.table(self.slack[: self.first_slack.size] - self.first_slack)

    def potential(self, place: Array) -> Array:
        """Elastic and height energy of each case, J; the dissipated part not in it."""
        x, z, z_body = np.split(self.table(place), (self.nodes, 2 * self.nodes))
        pieces = np.hypot(np.diff(x, axis=0), np.diff(z, axis=0))
        length = np.concatenate([place[self.grips] - z_body, pieces])
        stiffness = self.table(self.stiffness)
        pull = np.maximum((length - self.table(self.slack)) * stiffness, 0.0)
        height = np.sum(self.node_mass * z[1:-1], axis=0) + np.sum(self.body_mass * z_body, axis=0)
        return np.asarray(0.5 * np.sum(pull**2 / stiffness, axis=0) + G * height)

    def energy_misfit(self, start: Array) -> Array:
        """Energy lost or gained so far over the energy put in; ``start`` is the potential at the outset."""
        x, z, body = np.split(self.table(self.moved), (self.nodes, 2 * self.nodes))
        moving = np.sum(self.node_mass * (x * x + z * z)[1:-1], axis=0) + np.sum(
            self.body_mass * body**2, axis=0
        )
        held = 0.5 * (self.potential(self.place) + self.potential(self.place - self.moved))
        given = self.given
        spent = np.sum(np.where(given > 0.0, self.yield_force, 0.0) * given, axis=0)
        at_start = 0.5 * self.body_mass[0] * self.start_speed**2
        put_in = at_start + self.body_mass[0] * G * (self.z_start - self.table(self.lowest)[0])
        return np.asarray((held + 0.5 * moving / self.dt**2 + spent - start - at_start) / put_in)


def stepper(motion: Motion) -> Callable[[int], None]:
    """A function that takes a number of time steps with ``motion``.

    One subtraction of the places from themselves, a row further on, spans all pieces in x and in z;
    the row between spans from the right end's x to the left end's z, which means nothing and moves
    nothing, for neither moves. The pulls lie behind the forces on the nodes, connectors first, because
    theirs are the forces on the bodies. All slices and buffers are made here, once: making one costs
    as much as the arithmetic at these sizes.
    """
    row, x_end, z_end = motion.cases, motion.nodes * motion.cases, 2 * motion.nodes * motion.cases
    place, moved, slack, stiffness = motion.place, motion.moved, motion.slack, motion.stiffness
    per_force, peak, falls = motion.per_force, motion.peak, motion.falls
    left, right, z_body = place[: z_end - row], place[row:z_end], place[z_end:]
    moved_z = moved[x_end:]
    span = np.empty(z_end - row)
    squares = np.empty_like(span)
    span_left, span_right, span_x, span_z = span[:-row], span[row:], span[: x_end - row], span[x_end:]
    squares_x, squares_z = squares[: x_end - row], squares[x_end:]
    force = np.zeros(z_end + slack.size)
    on_nodes, pull, on_all = force[row : z_end - row], force[z_end:], force[: place.size]
    bodies = motion.rows * row
    length = np.empty_like(slack)
    hung, rope = length[:bodies], length[bodies:]
    pull_rope, per_length, none = pull[bodies:], np.empty_like(rope), np.zeros_like(pull)
    grips, z_grip = motion.grips.ravel(), np.empty(bodies)
    lowest, lowest_grip = motion.lowest, motion.lowest_grip
    pull_hung = pull[:bodies]
    first_slack, last_slack = slack[: motion.last_slack.size], motion.last_slack
    yielding, wanted = length[: last_slack.size], np.empty_like(last_slack)
    yield_stretch = motion.yield_force.ravel() / stiffness[: last_slack.size]

    def march(steps: int) -> None:
        for _ in range(steps):
            # lengths
            np.subtract(right, left, out=span)
            np.multiply(span, span, out=squares)
            np.add(squares_x, squares_z, out=rope)
            np.sqrt(rope, out=rope)
            place.take(grips, out=z_grip, mode="clip")
            np.subtract(z_grip, z_body, out=hung)
            # what yields gives as much as brings its pull down to its force, until its stop
            np.subtract(yielding, yield_stretch, out=wanted)
            np.maximum(first_slack, wanted, out=first_slack)
            np.minimum(first_slack, last_slack, out=first_slack)
            # pulls
            np.subtract(length, slack, out=pull)
            np.multiply(pull, stiffness, out=pull)
            np.maximum(pull, none, out=pull)
            np.maximum(peak, pull, out=peak)
            # forces
            np.divide(pull_rope, rope, out=per_length)
            np.multiply(span_x, per_length, out=span_x)
            np.multiply(span_z, per_length, out=span_z)
            np.subtract(span_right, span_left, out=on_nodes)
            np.subtract.at(force, grips, pull_hung)  # two bodies may share a node: both pulls must count
            # motion
            np.multiply(on_all, per_force, out=on_all)
            np.add(moved, on_all, out=moved)
            np.subtract(moved_z, falls, out=moved_z)
            np.add(place, moved, out=place)
            np.minimum(lowest, z_body, out=lowest)
            np.minimum(lowest_grip, z_grip, out=lowest_grip)

    return march
