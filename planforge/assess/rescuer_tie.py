"""What the rescuer is tied to: whether it reaches and holds at each place where someone may hang.

The rescuer stands at the casualty: on the deck's edge, or on the ladder where the highest hanging D-ring
is in reach, from which a fall is the longest. The device must pay out to the lowest that the rescuer gets:
the D-ring down at the deck, or at the rung for the lowest hanging D-ring. A fall there counts with its
swing towards the point, as any other fall; nobody else may hang on the point than its maker allows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planforge.assess.arrest_checks import connector_ratings, greatest_free_fall
from planforge.assess.finding import AnyRated
from planforge.assess.hang import Hang
from planforge.assess.index import Index
from planforge.assess.post_model import head_bounds, post_parts
from planforge.assess.rig import connector_free_fall, terms_at_anchorage
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array, Bools
from planforge.calc.clearance import Elevations, reckon
from planforge.calc.rescue_reach import FOOT_RATIO
from planforge.calc.single_anchorage import AnchorageArrest, arrest_at_anchorage
from planforge.codes.profile import Profile, common_practice
from planforge.job.equipment import Connector
from planforge.job.layout import Anchor, Post
from planforge.job.rescue import Means, Rescuer
from planforge.units import FOOT

_SAME_LEVEL = FOOT
"""A stance within this height of what the rescuer stands on is one like the rescuer's."""

_ALL_AROUND = 24
"""How many ways a fall may pull the head that a rescuer is tied to."""


@dataclass(frozen=True, slots=True)
class Point:
    """A post's head or an anchorage that a rescuer may tie to."""

    id: str
    at: tuple[float, float, float]  # plan x, y and elevation, m
    stiffness: float  # N/m, the least
    people: int  # on it at once, the rescuers included
    rated: int | None  # how many it is rated for
    barred: str  # why no rescuer may tie to it; else empty
    open: tuple[str, ...]  # what is to be stated or confirmed of it


@dataclass(frozen=True, slots=True)
class Stand:
    """Where the rescuer is at the casualty, m."""

    dring: float  # elevation from which a fall is reckoned
    lowest: float  # elevation of the D-ring down to which the device must pay out
    surface: float
    out: float  # farther from the point, in plan, than the hanging worker


@dataclass(frozen=True, slots=True)
class AtPlaces:
    """The point that leaves most room at each of N places; m."""

    point: NDArray[np.object_]  # (N,) its id
    lateral: Array  # (N,) in plan from the point to the rescuer
    length: Array  # (N,) of device that is paid out
    required: Array  # (N,) below the D-ring
    available: Array  # (N,) below the D-ring


@dataclass(frozen=True, slots=True)
class Tie:
    """One means, one line or anchor, one phase."""

    holds: Bools  # (N,) where the rescuer's tie-off reaches and holds, or nothing is reckoned
    places: AtPlaces | None  # None: nothing to reckon
    points: tuple[Point, ...]  # those that may be used
    barred: tuple[str, ...]  # why others may not
    open: tuple[str, ...]  # what is not stated, or has no source

    @property
    def reach_of_points(self) -> dict[str, float]:
        """For each point that serves, how far from it (m in plan) a rescuer is held, as far as asked."""
        if self.places is None:
            return {}
        found: dict[str, float] = {}
        for name in dict.fromkeys(self.places.point[self.holds].tolist()):
            own = self.places.point == name
            fails = self.places.lateral[own & ~self.holds]
            within = self.places.lateral[own & self.holds]
            nearer = within[within < fails.min()] if fails.size else within
            if nearer.size:
                found[name] = float(nearer.max())
        return found


Ties = Mapping[tuple[str, str, str], Tie]
"""By means, line or anchor, and phase."""


def rescuer_ties(
    index: Index, profile: Profile, hangs: Mapping[str, Hang], runs: Sequence[RigRun]
) -> dict[tuple[str, str, str], Tie]:
    """Every means that states what its rescuer is tied to, at all it serves, in each phase."""
    layout = index.job.layout
    own = {line.id: line.phases for line in layout.lines} | {a.id: a.phases for a in layout.anchors}
    means_stated = index.job.rescue.means if index.job.rescue else []
    on_points = any(m.rescuer and m.rescuer.tied_to in ("post head", "anchorage") for m in means_stated)
    heads = {post.id: _least_stiffness(index, post) for post in layout.posts if on_points}
    ties = {}
    for means in means_stated:
        if means.rescuer is None:
            continue
        held = {phase: tuple(_points(index, profile, means.rescuer, phase, heads)) for phase in index.phases}
        by_points: dict[object, Tie] = {}
        for thing in means.serves:
            for phase in index.shared_phases(own[thing], means.phases) if thing in hangs else []:
                if means.rescuer.tied_to == "line":
                    here = [r for r in runs if r.rig.parts.line.id == thing and phase in r.rig.task.phases]
                    own_line = (thing, tuple(r.rig.label for r in here))
                    if own_line not in by_points:
                        by_points[own_line] = _on_line(index, means, means.rescuer, thing, hangs[thing], here)
                    ties[means.id, thing, phase] = by_points[own_line]
                    continue
                key = (thing, held[phase])
                if key not in by_points:
                    by_points[key] = _tie(index, profile, means, means.rescuer, hangs[thing], held[phase])
                ties[means.id, thing, phase] = by_points[key]
    return ties


def tied_at(ties: Ties, means: str, thing: str, phases: Iterable[str], places: int) -> Bools:
    """Where along a line or anchor the rescuer's tie-off holds in every one of some phases; (N,)."""
    held = np.ones(places, dtype=bool)
    for phase in phases:
        tie = ties.get((means, thing, phase))
        held &= True if tie is None else tie.holds
    return held


def ties_of(ties: Ties, means: str) -> list[tuple[str, tuple[str, ...], Tie]]:
    """What one means has: line or anchor, the phases in which the tie-off is the same, the tie-off."""
    alike: dict[tuple[str, int], list[str]] = {}
    found: dict[tuple[str, int], Tie] = {}
    for (of, thing, phase), tie in ties.items():
        if of == means:
            alike.setdefault((thing, id(tie)), []).append(phase)
            found[thing, id(tie)] = tie
    return [(key[0], tuple(phases), found[key]) for key, phases in alike.items()]


def _least_stiffness(index: Index, post: Post) -> float:
    """The least stiffness of its head, N/m, whichever way a rescuer pulls it."""
    return head_bounds(index, post.id, post_parts(index, post).directions(_ALL_AROUND)).low


def _points(
    index: Index, profile: Profile, rescuer: Rescuer, phase: str, heads: Mapping[str, float]
) -> Iterator[Point]:
    layout = index.job.layout
    if rescuer.tied_to == "post head":
        for post in layout.posts:
            if (not rescuer.of or post.id in rescuer.of) and (not post.phases or phase in post.phases):
                yield _head(index, profile, post, rescuer.number, phase, heads)
    elif rescuer.tied_to == "anchorage":
        for anchor in layout.anchors:
            if (not rescuer.of or anchor.id in rescuer.of) and (not anchor.phases or phase in anchor.phases):
                yield _anchorage(index, profile, anchor, rescuer.number, phase, heads)


def _head(
    index: Index, profile: Profile, post: Post, rescuers: int, phase: str, heads: Mapping[str, float]
) -> Point:
    layout, kind = index.job.layout, index.kind_of(post)
    people = rescuers + sum(
        a.workers for a in layout.anchors if a.post == post.id and (not a.phases or phase in a.phases)
    )
    carries = [
        line.id
        for line in layout.lines
        if post.id in (line.start, line.end) and (not line.phases or phase in line.phases)
    ]
    beside, rated = kind.rescuer_beside_line, kind.anchorage_workers
    barred, asked = "", []
    if carries and beside is not None and not beside.value:
        barred = f"{post.id}: its maker lets no rescuer tie to a head that carries a line"
    elif carries and (beside is None or not beside.source):
        asked.append("rescuer_beside_line of its posts, with its source")
    if rated is None or not rated.source:
        asked.append("anchorage_workers of its posts, with its source")
    asked += _weak(profile, kind.anchorage_strength, people, "anchorage_strength of its posts")
    most = int(rated.value) if rated else None
    full = _full(post.id, people, most)
    return Point(post.id, index.head(post.id), heads[post.id], people, most, barred or full, tuple(asked))


def _anchorage(
    index: Index, profile: Profile, anchor: Anchor, rescuers: int, phase: str, heads: Mapping[str, float]
) -> Point:
    if anchor.post is not None:
        return _head(index, profile, index.posts[anchor.post], rescuers, phase, heads)
    people = rescuers + anchor.workers
    practice = int(common_practice()["workers_an_anchorage"].value)
    return Point(
        anchor.id,
        index.anchor_at(anchor),
        np.inf,
        people,
        practice,
        _full(anchor.id, people, practice),
        tuple(_weak(profile, anchor.strength, people, f"strength of {anchor.id}")),
    )


def _full(name: str, people: int, most: int | None) -> str:
    if most is None or people <= most:
        return ""
    return f"{name}: {people} people on it with the rescuer, rated for {most}"


def _weak(profile: Profile, strength: AnyRated | None, people: int, what: str) -> list[str]:
    """What is to be confirmed of an anchorage's strength for so many people."""
    if strength is None or not strength.source:
        return [f"{what}, with its source"]
    if strength.value < people * profile.limits["anchorage_strength"].value * (1.0 - 1e-9):
        return [f"the qualified person's word that {what} is enough for {people}"]
    return []


def _stand(index: Index, means: Means, hang: Hang) -> Stand | None:
    """Where the rescuer is; None: this kind of means does not tell."""
    dring, hands = index.job.user.dring_height.value, common_practice()["rescuer_hands"].value
    if means.kind == "from the deck" and means.stands_on is not None:
        surface = index.surface(means.stands_on)
        return Stand(surface + dring, surface, surface, 0.0)
    if means.kind == "ladder":
        feet = hang.highest - hands
        out = FOOT_RATIO * means.ladder.stands_below_top if means.ladder else 0.0
        return Stand(feet + dring, hang.lowest - hands + dring, feet, out)
    return None


def _tie(
    index: Index, profile: Profile, means: Means, rescuer: Rescuer, hang: Hang, points: tuple[Point, ...]
) -> Tie:
    everywhere = np.ones(len(hang.spots), dtype=bool)
    connector = index.connectors[rescuer.connector] if rescuer.connector else None
    asked = [] if connector else ["rescuer.connector"]
    if means.kind == "self-rescue" or rescuer.tied_to == "stays below":
        return Tie(everywhere, None, (), (), ())
    if connector is not None:
        asked += _unsourced(connector)
    if rescuer.tied_to == "lift":
        if means.lift is None or means.lift.holds is None or not means.lift.holds.source:
            asked.append("lift.holds, with its source")
        return Tie(everywhere, None, (), (), tuple(asked))
    stand = _stand(index, means, hang)
    if stand is None:
        asked.append(f"where the rescuer stands: a {means.kind} doesn't tell")
    elif connector is not None:
        points = tuple(_refused(index, profile, connector, stand, p) for p in points)
    usable = tuple(p for p in points if not p.barred)
    barred = tuple(dict.fromkeys(p.barred for p in points if p.barred))
    if not usable:
        return Tie(~everywhere, None, (), barred or ("no such point stands in this phase",), tuple(asked))
    asked += [a for p in usable for a in p.open]
    if connector is None or stand is None:
        return Tie(everywhere, None, usable, barred, tuple(dict.fromkeys(asked)))
    each = [_from(index, connector, stand, hang, p) for p in usable]
    holds, left = np.stack([e[0] for e in each]), np.stack([e[1].available - e[1].required for e in each])
    best = np.argmax(np.where(holds, left, left - 1e6), axis=0)
    rows = np.arange(len(hang.spots))

    places = _chosen([e[1] for e in each], best)
    return Tie(holds[best, rows], places, usable, barred, tuple(dict.fromkeys(asked)))


def _on_line(
    index: Index, means: Means, rescuer: Rescuer, thing: str, hang: Hang, runs: Sequence[RigRun]
) -> Tie:
    """A rescuer on the line that the casualty hangs from, at a level and by a device of its own stances.

    Where several may be tied to a line, its stances are reckoned with one who falls while the others hang.
    Of several at one place the one with the least room counts.
    """
    line, count = index.lines.get(thing), len(hang.spots)
    people = 1 + rescuer.number
    if line is None:
        return Tie(np.zeros(count, dtype=bool), None, (), (f"{thing} is no line",), ())
    if people > line.workers:
        why = f"{thing}: {people} people on it with the casualty, reckoned for {line.workers}"
        return Tie(np.zeros(count, dtype=bool), None, (), (why,), ())
    stand = _stand(index, means, hang) if means.kind == "from the deck" else None
    own = [
        r
        for r in runs
        if r.rig.connector.id == rescuer.connector
        and stand is not None
        and abs(r.rig.surface - stand.surface) <= _SAME_LEVEL
    ]
    if not own:
        asked = f"a stance on {thing} with the rescuer's device, where the rescuer stands: none is reckoned"
        return Tie(np.ones(count, dtype=bool), None, (), (), (asked,))
    places = AtPlaces(
        np.full(count, thing, dtype=object),
        *(np.full(count, value) for value in (np.inf, np.inf, np.inf, 0.0)),
    )
    for run in own:
        side, shape = run.worst_side.clearance, run.rig.lateral.shape
        at, of = np.nonzero(np.all(hang.spots[:, None] == run.rig.spots[None], axis=2))
        needs = np.broadcast_to(side.required_below_dring, shape)[of]
        has = np.broadcast_to(side.available_below_dring, shape)[of]
        worse = ~(has - needs > places.available[at] - places.required[at]) | np.isinf(places.required[at])
        at, of, needs, has = at[worse], of[worse], needs[worse], has[worse]
        places.lateral[at], places.required[at], places.available[at] = run.rig.lateral[of], needs, has
        places.length[at] = np.hypot(run.rig.lateral, run.rig.above)[of]
    reaches = places.length <= own[0].rig.connector.length + 1e-9
    start, end = (np.asarray(point) for point in index.line_ends(line))
    x, y, z = (0.5 * (start + end)).tolist()
    return Tie(
        reaches & (places.available - places.required >= -1e-9),
        places,
        (Point(thing, (x, y, z), np.inf, people, line.workers, "", ()),),
        (),
        (f"the qualified person's word that a rescuer may tie to {thing} while someone hangs from it",),
    )


def _chosen(each: list[AtPlaces], best: NDArray[np.intp]) -> AtPlaces:
    """Of several points' places, those of the best point at each."""
    rows = np.arange(len(best))
    return AtPlaces(
        point=np.stack([e.point for e in each])[best, rows],
        lateral=np.stack([e.lateral for e in each])[best, rows],
        length=np.stack([e.length for e in each])[best, rows],
        required=np.stack([e.required for e in each])[best, rows],
        available=np.stack([e.available for e in each])[best, rows],
    )


def _unsourced(connector: Connector) -> list[str]:
    """What of a device a fall on a rigid point over an edge rests on, and no document gives."""
    needed: dict[str, AnyRated | None] = {
        "its forces, stroke or lock-off": None
        if any(r is None or not r.source for r in connector_ratings(connector))
        else connector.stroke,
        "greatest_free_fall": connector.greatest_free_fall,
        "greatest_user": connector.greatest_user,
        "least_user": connector.least_user,
        "edge_tested": connector.edge_tested,
    }
    lacking = [name for name, rated in needed.items() if rated is None or not rated.source]
    return [f"of {connector.id}, with its source: {', '.join(lacking)}"] if lacking else []


def _refused(index: Index, profile: Profile, connector: Connector, stand: Stand, point: Point) -> Point:
    """The point, barred where code or maker refuse the device there whatever the distance."""
    if point.barred:
        return point
    above, mass = point.at[2] - stand.dring, index.job.user.mass
    fall = float(connector_free_fall(connector, np.asarray(above)))
    allowed, greatest, least = (
        greatest_free_fall(connector, profile),
        connector.greatest_user,
        connector.least_user,
    )
    why = ""
    if connector.edge_tested is not None and not connector.edge_tested.value:
        why = f"{connector.id} was not tested over an edge"
    elif above < 0.0 and not (connector.below_dring is not None and connector.below_dring.value):
        why = f"{point.id} is below the rescuer's D-ring, for which {connector.id} is not stated to be made"
    elif (greatest and mass > greatest.value + 1e-9) or (least and mass < least.value - 1e-9):
        why = f"{connector.id} is not rated for the heaviest worker"
    elif fall > allowed + 1e-9:
        why = f"{point.id}: the free fall is greater than code and maker allow"
    elif bool(_arrest(index, connector, fall, point).stroke_spent):
        why = f"{point.id}: the stroke of {connector.id} runs out"
    return replace(point, barred=why)


def _arrest(index: Index, connector: Connector, free_fall: float, point: Point) -> AnchorageArrest:
    """The rescuer's fall in the clearance case: least force, softest point."""
    return arrest_at_anchorage(
        mass=index.job.user.mass,
        free_fall=free_fall,
        absorber_force=connector.lowest_force.value,
        absorber_stroke=connector.stroke.value,
        stiffness=point.stiffness,
    )


def _from(
    index: Index, connector: Connector, stand: Stand, hang: Hang, point: Point
) -> tuple[Bools, AtPlaces]:
    """Whether a tie to one point holds at each place, and with what."""
    user, count = index.job.user, len(hang.spots)
    lateral = np.hypot(*(hang.spots - np.asarray(point.at[:2])).T) + stand.out
    above = point.at[2] - stand.dring
    length = np.hypot(lateral, max(abs(point.at[2] - stand.lowest), abs(above)))
    free_fall = float(connector_free_fall(connector, np.asarray(above)))
    arrest = _arrest(index, connector, free_fall, point)
    terms = terms_at_anchorage(user, connector, free_fall, arrest, lateral, above)
    below = np.minimum(hang.below, stand.surface)
    room = reckon(terms, Elevations(stand.dring, stand.surface, point.at[2], below))
    places = AtPlaces(
        np.full(count, point.id, dtype=object),
        lateral,
        length,
        np.broadcast_to(room.required_below_dring, (count,)),
        np.broadcast_to(room.available_below_dring, (count,)),
    )
    return (length <= connector.length + 1e-9) & (room.left_over >= -1e-9), places
