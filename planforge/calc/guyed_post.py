"""A post on its base, held by guys that can only pull: forces, movements and the stiffness of its head.

Signs and units. SI. x, y in plan, z up from the base; azimuths in radians counter-clockwise from x.
Forces on the post along x, y, z. A moment is a plan vector (x, y) that points the way it tips the head:
a pull H at height z to azimuth a tips the base by H z (cos a, sin a). Slopes likewise: the head leans
that way. Axial compression positive, guy tension positive.

Method. The force method: the post is a cantilever of segments, each with its own EI and EA, whose
flexibility comes by virtual work; a rotation of the base is added as a rigid tilt. A guy is a bar from its
attachment to a fixed anchor. With the flexibility F of the clamped post, the guys' unit forces B, the
tilt's lever arms R, tensions t and the tilt p:

    (1/k + B'FB) t + B'R p = t0/k - B'F f          for each guy that pulls; t = 0 for a slack one
    R'B t - k_base p = -R' f                       moment equilibrium of the base

These are the conditions of a strictly convex problem in t >= 0, so the tensions are unique where the
post stands at all. Slack guys are found by dropping and picking up guys until nothing changes; a case
that comes to no rest within a bounded number of rounds is decided by trying every set of guys. A case
for which none is in equilibrium does not stand: ``stands`` is False and its numbers are NaN.

Limits. First order: amplify by Appendix 8's B1 and B2 (:mod:`planforge.calc.column`). Small movements,
straight guys (no sag), no torsion, no shear deformation, anchors that do not give (add a give in series
with the guy). Loads and guys act on the axis unless a guy has an offset. Static: no inertia of the post.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.calc.arrays import Array, Bools, Values, as_array
from planforge.calc.tension_only import TensionOnly, Tensions, each_times, solve_tension_only
from planforge.errors import CalculationError, Quantity
from planforge.memo import remembered

_SAME_PLACE = 1e-9  # m; heights closer than this are one node


@dataclass(frozen=True, slots=True)
class Post:
    """A post of one or more segments; ``heights`` (S,) are their upper ends, the last being the head."""

    heights: Array  # m, (S,), increasing, above 0
    bending_stiffness: Array  # N m2, EI of each segment, (S,) or one number
    axial_stiffness: Array  # N, EA of each segment, (S,) or one number
    base_stiffness: float = 0.0  # N m/rad of the base against tilt; 0 = pinned, np.inf = clamped

    def __post_init__(self) -> None:
        """Refuse segments that run backwards or have no stiffness."""
        z = as_array(self.heights)
        if z.ndim != 1 or not len(z) or not np.all(np.diff(z, prepend=0.0) > 0.0):
            raise CalculationError("guyed post: segment ends must rise from the base to the head.")
        if not (
            np.all(as_array(self.bending_stiffness) > 0.0) and np.all(as_array(self.axial_stiffness) > 0.0)
        ):
            raise CalculationError("guyed post: EI and EA must be above 0.")
        if not self.base_stiffness >= 0.0:
            raise CalculationError("guyed post: the base's rotational stiffness must be 0 or more.")

    @property
    def height(self) -> float:
        """Head over base, m."""
        return float(as_array(self.heights)[-1])


@dataclass(frozen=True, slots=True)
class Guys:
    """The guys of a post, each field (G,) or one number."""

    height: Array  # m, attachment over the base
    azimuth: Array  # rad, from the post to the anchor
    angle: Array  # rad from the post, between 0 and pi/2
    stiffness: Array  # N/m along the guy, anchor's give included
    pretension: Values = 0.0  # N, while the post stands unmoved at its place
    offset: Values = 0.0  # m, attachment off the axis towards the anchor (a collar's radius)

    def __post_init__(self) -> None:
        """Refuse guys that could not be."""
        angle = as_array(self.angle)
        if not np.all((angle > 0.0) & (angle < 0.5 * np.pi)):
            raise CalculationError(
                "guyed post: a guy's angle from the post must lie between 0 and 90 degrees."
            )
        k = as_array(self.stiffness)
        if not np.all((k > 0.0) & np.isfinite(k)):
            raise CalculationError("guyed post: a guy's stiffness must be above 0 and finite.")
        if not np.all(as_array(self.pretension) >= 0.0):
            raise CalculationError("guyed post: a guy's pretension must be 0 or more.")

    @property
    def count(self) -> int:
        """G."""
        fields = (self.height, self.azimuth, self.angle, self.stiffness, self.pretension, self.offset)
        return int(np.broadcast_shapes((1,), *(np.shape(f) for f in fields))[0])


NO_GUYS = Guys(*(np.empty(0) for _ in range(4)))
"""A post on its base alone."""


@dataclass(frozen=True, slots=True)
class Loads:
    """What acts on the post, in a batch (...)."""

    heights: Array  # m, (P,), where the point forces act
    force: Array  # N, (..., P, 3)
    distributed: Values = 0.0  # N/m, (..., 3) over the whole height: wind, own weight (z negative)


@dataclass(frozen=True, slots=True)
class Response:
    """How the post answers; N nodes from base to head, S = N - 1 lengths between them, G guys."""

    heights: Array  # m, (N,)
    displacement: Array  # m, (..., N, 3)
    slope: Array  # rad, (..., N, 2)
    tension: Array  # N, (..., G), never below 0
    axial: Array  # N, (..., S, 2), compression at each length's lower and upper end
    shear: Array  # N, (..., S, 2, 2): lower and upper end; x and y, of what is above on what is below
    moment: Array  # N m, (..., S, 2, 2): lower and upper end; x and y
    base_force: Array  # N, (..., 3), of the base on the post
    base_moment: Array  # N m, (..., 2), tipping moment that the base must resist
    stands: Bools  # (...), False: no equilibrium; all numbers are then NaN

    @property
    def head(self) -> Array:
        """Movement of the head, m, (..., 3)."""
        return self.displacement[..., -1, :]

    @property
    def largest_moment(self) -> Array:
        """Greatest resultant moment at a length's end, N m, (...)."""
        return np.asarray(np.max(np.linalg.norm(self.moment, axis=-1), axis=(-2, -1)))

    @property
    def largest_compression(self) -> Array:
        """Greatest axial compression, N, (...)."""
        return np.asarray(np.max(self.axial, axis=(-2, -1)))

    def moment_at(self, height: float) -> Array:
        """Resultant moment at a node, such as a joint of two segments, N m, (...): the greater side.

        Raises:
            CalculationError: no node there.
        """
        node = _node_index(self.heights, np.asarray([height]))[0]
        sides = [
            self.moment[..., i, end, :] for i, end in ((node - 1, 1), (node, 0)) if 0 <= i < self.lengths
        ]
        return np.asarray(np.max([np.linalg.norm(side, axis=-1) for side in sides], axis=0))

    @property
    def lengths(self) -> int:
        """S."""
        return len(self.heights) - 1


def pull(horizontal: Values, azimuth: Values, vertical: Values = 0.0) -> Array:
    """Force (..., 3), N, of a line that pulls to ``azimuth``; ``vertical`` up positive. Broadcasts."""
    H, a, V = np.broadcast_arrays(as_array(horizontal), as_array(azimuth), as_array(vertical))
    return np.stack([H * np.cos(a), H * np.sin(a), V], axis=-1)


@remembered(room=24 << 20)  # a lot of 12 posts takes up to 2 MB of it
def solve_post(post: Post, guys: Guys, loads: Loads, present: Bools | None = None) -> Response:
    """Forces and movements of a guyed post for a batch of loads and of missing guys.

    Args:
        post: the post; one for the whole batch.
        guys: its guys; one set for the whole batch.
        loads: in a batch (...).
        present: (..., G), False where a guy is missing or hangs slack; broadcasts with the loads.

    Raises:
        CalculationError: a force or a guy off the post, or a batch of shapes that do not fit.
    """
    count = guys.count
    z = _nodes(post, guys, loads)
    held = np.ones(count, dtype=bool) if present is None else np.asarray(present, dtype=bool)
    points = _point_forces(z, loads)
    spread = np.broadcast_to(as_array(loads.distributed), (*np.shape(loads.distributed)[:-1], 3))
    shape = np.broadcast_shapes(points.shape[:-2], spread.shape[:-1], held.shape[:-1])
    cases = int(np.prod(shape))
    points = np.broadcast_to(points, (*shape, len(z), 3)).reshape(cases, len(z), 3)
    spread = np.broadcast_to(spread, (*shape, 3)).reshape(cases, 3)
    held = np.broadcast_to(held, (*shape, count)).reshape(cases, count)

    B = _guy_forces(z, guys, count)
    k, t0 = (np.broadcast_to(as_array(v), (count,)) for v in (guys.stiffness, guys.pretension))
    return _batch(post, z, _Anchored(B[None], k[None], t0[None]), points, spread, held, None, shape)


def solve_posts(
    post: Post, guys: Sequence[Guys], heads: Array, of: NDArray[np.intp], distributed: Array
) -> Response:
    """Forces and movements of several posts alike but for where their guys run, as :func:`solve_post`.

    Args:
        post: what all of them are.
        guys: those of each post, as many and as high on every one, all in place.
        heads: N, (n, 3), a flat batch of loads at the head.
        of: (n,), the post that each load acts on, by its number among ``guys``.
        distributed: N/m, (3,), over the whole height.

    Raises:
        CalculationError: posts with guys of another number or at other heights, or a guy off the post.
    """
    count = guys[0].count
    heights = [np.broadcast_to(as_array(g.height), (g.count,)) for g in guys]
    if any(len(h) != count or np.any(h != heights[0]) for h in heights):
        raise CalculationError("guyed post: posts solved together need as many guys at the same heights.")
    loads = Loads(np.array([post.height]), heads[:, None, :], distributed)
    z = _nodes(post, guys[0], loads)
    stiffness, pretension = (
        np.stack([np.broadcast_to(as_array(getattr(g, name)), (count,)) for g in guys])
        for name in ("stiffness", "pretension")
    )
    held = np.ones((len(heads), count), dtype=bool)
    anchored = _Anchored(np.stack([_guy_forces(z, g, count) for g in guys]), stiffness, pretension)
    spread = np.broadcast_to(distributed, heads.shape)
    return _batch(post, z, anchored, _point_forces(z, loads), spread, held, of, (len(heads),))


def head_stiffness_each(
    post: Post, guys: Sequence[Guys], azimuth: Array, of: NDArray[np.intp], force: float
) -> Array:
    """Secant stiffness (n,) of the heads of several posts along pulls, as :func:`head_stiffness` from rest.

    Args:
        post, guys, of: as in :func:`solve_posts`.
        azimuth: rad, (n,), the way each pull goes.
        force: N, the pull for which the stiffness is wanted.
    """
    towards = pull(1.0, azimuth)
    heads = np.concatenate([force * towards, 0.0 * towards])
    solved = solve_posts(post, guys, heads, np.concatenate([of, of]), np.zeros(3))
    movement = np.sum(solved.head.reshape(2, -1, 3) * towards, axis=-1)
    stiffness = force / (movement[0] - movement[1])
    return np.where(np.isnan(stiffness), 0.0, stiffness)


@dataclass(frozen=True, slots=True)
class _Anchored:
    """The guys of one post or of B posts, for nodes at the same heights."""

    forces: Array  # (B, 5 N, G), nodal, of each guy at a tension of one newton
    stiffness: Array  # N/m, (B, G)
    pretension: Array  # N, (B, G)


def _batch(
    post: Post,
    z: Array,
    guys: _Anchored,
    points: Array,
    spread: Array,
    held: Bools,
    of: NDArray[np.intp] | None,
    shape: tuple[int, ...],
) -> Response:
    """A flat batch (n) of cases of one post, or each of that among several which ``of`` (n,) says."""
    f = _nodal(points, spread, z)
    F, R = _flexibility(z, post), _tilt_movements(z)
    give = F @ guys.forces
    own = np.eye(guys.stiffness.shape[-1]) / guys.stiffness[:, None, :]
    slack = guys.pretension / guys.stiffness
    problem = TensionOnly(
        compliance=own + np.swapaxes(guys.forces, 1, 2) @ give,
        lever=R.T @ guys.forces,
        base_stiffness=post.base_stiffness,
        gap=(slack[0] if of is None else slack[of]) - each_times(f, give, of),
        tipping=f @ R,
        of=of,
    )
    answer = solve_tension_only(problem, held)
    by_guys = each_times(answer.tension, np.swapaxes(guys.forces, 1, 2), of)
    movement = (f + by_guys) @ F + answer.tilt @ R.T
    flat = _respond(z, points, spread, by_guys.reshape(len(points), len(z), 5), movement, answer)
    return Response(z, *(np.reshape(v, (*shape, *v.shape[1:])) for v in flat))


@remembered()
def head_stiffness(
    post: Post,
    guys: Guys,
    azimuth: Values,
    force: Values,
    *,
    rest_force: Values = 0.0,
    present: Bools | None = None,
) -> Array:
    """Secant stiffness of the head along the pull, N/m: the end stiffness of a lifeline. Broadcasts.

    (H - H0) / (movement at H - movement at H0), both pulls horizontal and to the same azimuth.

    Args:
        post, guys, present: as in :func:`solve_post`.
        azimuth: rad, the way the line pulls.
        force: N, H, the pull for which the stiffness is wanted, other than H0.
        rest_force: N, H0, the installed line's pull.

    Returns:
        N/m; 0 where the post does not stand under either pull.
    """
    cases = np.shape(present)[:-1] if present is not None else ()
    shape = np.broadcast_shapes(np.shape(azimuth), np.shape(force), np.shape(rest_force), cases)
    a, high, low = (np.broadcast_to(as_array(v), shape) for v in (azimuth, force, rest_force))
    if not np.all(high != low):
        raise CalculationError("guyed post: the secant stiffness needs two different pulls.")
    towards = pull(1.0, a)
    both = np.stack([high, low])
    loads = Loads(np.asarray([post.height]), (towards * both[..., None])[..., None, :])
    movement = np.sum(solve_post.anew(post, guys, loads, present).head * towards, axis=-1)
    stiffness = (high - low) / (movement[0] - movement[1])
    return np.where(np.isnan(stiffness), 0.0, stiffness)


def one_missing(count: int) -> Bools:
    """Cases (G + 1, G) for ``present``: all guys first, then each one missing in turn."""
    return np.concatenate([np.ones((1, count), dtype=bool), ~np.eye(count, dtype=bool)])


def _nodes(post: Post, guys: Guys, loads: Loads) -> Array:
    """Heights (N,) of base, segment ends, guys and forces, each once."""
    wanted = [as_array(v).ravel() for v in (post.heights, guys.height, loads.heights)]
    z = np.sort(np.concatenate([[0.0], *wanted]))
    if not (z[0] >= 0.0 and z[-1] <= post.height + _SAME_PLACE):
        raise CalculationError(
            "guyed post: guys and forces lie between {lowest} and {highest}; "
            "the post reaches from its base to {head}.",
            lowest=Quantity(float(z[0]), "m"),
            highest=Quantity(float(z[-1]), "m"),
            head=Quantity(post.height, "m"),
        )
    return np.asarray(z[np.concatenate([[True], np.diff(z) > _SAME_PLACE])])


def _node_index(z: Array, heights: Array) -> NDArray[np.intp]:
    index: NDArray[np.intp] = np.argmin(np.abs(z[:, None] - heights), axis=0)
    if not np.all(np.abs(z[index] - heights) <= 2.0 * _SAME_PLACE):
        raise CalculationError("guyed post: no node at a height that is asked for.")
    return index


def _point_forces(z: Array, loads: Loads) -> Array:
    """Forces (..., N, 3) at the nodes."""
    at = np.eye(len(z))[_node_index(z, as_array(loads.heights))]
    return np.asarray(at.T @ as_array(loads.force))


def _nodal(points: Array, spread: Array, z: Array) -> Array:
    """Work-equivalent nodal loads (n, 5 N); each node has the order ux, slope x, uy, slope y, uz.

    A uniform load w on a length L: w L/2 at both ends, moments w L^2/12 and -w L^2/12.
    """
    lengths = np.diff(z)
    half, twelfth = 0.5 * lengths, lengths**2 / 12.0
    share = np.zeros_like(z)
    share[:-1] += half
    share[1:] += half
    fixing = np.zeros_like(z)
    fixing[:-1] += twelfth
    fixing[1:] -= twelfth
    forces = points + spread[:, None, :] * share[:, None]
    moments = spread[:, None, :2] * fixing[:, None]
    columns = (forces[..., 0], moments[..., 0], forces[..., 1], moments[..., 1], forces[..., 2])
    return np.stack(columns, axis=-1).reshape(len(points), -1)


def _flexibility(z: Array, post: Post) -> Array:
    """Flexibility (5 N, 5 N) of the post clamped at its base, by virtual work: integrals of m m'/EI, n n'/EA.

    On a length between nodes each unit load's moment is linear, so that the three-point rule with
    weights 1/6, 4/6, 1/6 is exact. Nothing is inverted: nodes that all but coincide do no harm, as they
    would in a stiffness matrix.
    """
    # (S, N): 1 where the length lies below the node
    below = (np.arange(len(z) - 1)[:, None] < np.arange(len(z))).astype(np.float64)
    lengths = np.diff(z)
    segment = np.searchsorted(as_array(post.heights), 0.5 * (z[:-1] + z[1:]))
    count = len(as_array(post.heights))
    EI = np.broadcast_to(as_array(post.bending_stiffness), (count,))[segment]
    EA = np.broadcast_to(as_array(post.axial_stiffness), (count,))[segment]
    places = z[:-1, None] + lengths[:, None] * np.array([0.0, 0.5, 1.0])
    weights = (lengths / EI)[:, None] * np.array([1.0, 4.0, 1.0]) / 6.0
    force = below[:, None, :] * (z - places[..., None])
    couple = np.broadcast_to(below[:, None, :], force.shape)
    moments = np.stack([force, couple], axis=-1).reshape(-1, 2 * len(z))  # each place of each length
    bending = (moments.T @ (weights.reshape(-1, 1) * moments)).reshape(len(z), 2, len(z), 2)
    flexibility = np.zeros((len(z), 5, len(z), 5))
    flexibility[:, 0:2, :, 0:2] = flexibility[:, 2:4, :, 2:4] = bending
    flexibility[:, 4, :, 4] = below.T @ ((lengths / EA)[:, None] * below)
    return flexibility.reshape(5 * len(z), 5 * len(z))


def _guy_forces(z: Array, guys: Guys, count: int) -> Array:
    """Nodal forces (5 N, G) of each guy at a tension of one newton."""
    fields = (guys.height, guys.azimuth, guys.angle, guys.offset)
    height, azimuth, angle, offset = (np.broadcast_to(as_array(v), (count,)) for v in fields)
    aside, down = np.sin(angle), np.cos(angle)
    twist = offset * down
    to_x, to_y = np.cos(azimuth), np.sin(azimuth)
    forces = np.zeros((len(z), 5, count))
    forces[_node_index(z, height), :, np.arange(count)] = np.stack(
        [to_x * aside, to_x * twist, to_y * aside, to_y * twist, -down], axis=-1
    )
    return forces.reshape(5 * len(z), count)


def _tilt_movements(z: Array) -> Array:
    """Nodal movements (5 N, 2) when the base tilts by one radian to x and to y."""
    zero, one = np.zeros_like(z), np.ones_like(z)
    to_x = np.stack([z, one, zero, zero, zero], axis=-1).ravel()
    to_y = np.stack([zero, zero, z, one, zero], axis=-1).ravel()
    return np.stack([to_x, to_y], axis=-1)


def _respond(
    z: Array, points: Array, spread: Array, guys: Array, movement: Array, answer: Tensions
) -> tuple[Array, Array, Array, Array, Array, Array, Array, Array, Bools]:
    """Section forces by statics from what acts above each section; the fields of a Response after z."""
    nodes = movement.reshape(len(points), len(z), 5)
    force = points + guys[..., [0, 2, 4]]
    twist = guys[..., [1, 3]]
    ends = np.stack([z[:-1], z[1:]], axis=-1)
    left = z[-1] - ends
    above = (np.arange(len(z)) > np.arange(len(z) - 1)[:, None]).astype(np.float64)
    arm = above[:, None, :] * (z - ends[..., None])
    carried = (above @ force)[:, :, None, :] + spread[:, None, None, :] * left[..., None]
    moment = (arm.reshape(-1, len(z)) @ force[..., :2]).reshape(len(points), *ends.shape, 2)
    moment += (above @ twist)[:, :, None, :]
    moment += spread[:, None, None, :2] * (0.5 * left**2)[..., None]
    base_force = -(np.sum(force, axis=1) + spread * z[-1])
    return (
        nodes[..., [0, 2, 4]],
        nodes[..., [1, 3]],
        answer.tension,
        -carried[..., 2],
        carried[..., :2],
        moment,
        base_force,
        moment[:, 0, 0] + twist[:, 0],
        answer.stands,
    )
