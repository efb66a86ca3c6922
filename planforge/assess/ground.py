"""Ground: how far in plan a worker tied to a line or anchorage can work before something fails, all around.

At each foot of a line, to both sides and past its ends, and around each anchorage, the greatest distance
at which the connector still reaches, the free fall is within its limit, a swing strikes nothing and the
fall keeps its clearance over what lies below that very place. The limits are the stances' own
functions; each stance gives a ground of its own, for its connector, its level and each of its phases.
Plan in m.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.assess.anchors import AnchorRun
from planforge.assess.arrest_checks import greatest_free_fall
from planforge.assess.below import FALL_RADIUS, below, present
from planforge.assess.finding import Verdict, keeps
from planforge.assess.index import Index
from planforge.assess.landing import SAME_LEVEL, floor_surface, lasting_floors
from planforge.assess.rig import added_swing_drop
from planforge.assess.sides import OFF_TO_ONE_SIDE, SideRun
from planforge.assess.stances import RigRun
from planforge.calc.arrays import Array, Bools, Values
from planforge.calc.clearance import ClearanceTerms, Elevations, reckon
from planforge.calc.constants import STATION_STEP
from planforge.calc.swing import lateral_reach
from planforge.codes.profile import Profile
from planforge.job.building import Floor
from planforge.job.equipment import Connector
from planforge.job.task import Stance
from planforge.memo import remembered
from planforge.units import INCH

CONNECTOR, FREE_FALL, SWING, CLEARANCE = "connector", "free fall", "swing", "clearance"
LIMITS = (CONNECTOR, FREE_FALL, SWING, CLEARANCE)
"""What can bound the ground, in the order in which a tie is named."""

STEP = 3 * INCH
"""How finely the way out from a line or anchorage is looked along for what lies below."""

_ON_A_FLOOR = {"deck", "slab", "sheathing"}
"""Surfaces of a stance that are a whole floor; between joists or on a plate one can fall to any side."""

_TO_END = 1.5 * STATION_STEP
"""A stance whose last checked place is this near (m) to a line's end is worked all the way to it."""

AROUND = 72
"""How many ways out from an anchorage, and half as many past the end of a line."""


@dataclass(frozen=True, eq=False)
class Ground:
    """Where a worker of one stance can work in one phase; arrays over R ways out."""

    of: str  # the line or anchor
    label: str
    connector: str
    surface: float  # m, the elevation stood on
    edge: str | None  # the hazard edge that the stance names
    phase: str
    places: Array  # (R, 2) plan: the foot of the line, or the anchorage
    ways: Array  # (R, 2) unit vectors in plan
    limits: Array  # (4, R) m, in the order of LIMITS
    area: shapely.Geometry  # its outline in plan, empty where there is none

    @cached_property
    def reach(self) -> Array:
        """The greatest distance each way, (R,) m."""
        return np.asarray(self.limits.min(axis=0))

    @property
    def governs(self) -> tuple[str, ...]:
        """What bounds it, from the most ways to the fewest."""
        counts = np.bincount(np.argmin(self.limits, axis=0), minlength=len(LIMITS))
        return tuple(LIMITS[n] for n in np.argsort(-counts, kind="stable") if counts[n])

    @property
    def narrowest(self) -> int:
        """Index of the way with the least reach."""
        return int(np.argmin(self.reach))

    @property
    def narrowed_by(self) -> str:
        """What bounds it where it reaches least."""
        return LIMITS[int(np.argmin(self.limits[:, self.narrowest]))]


@dataclass(frozen=True)
class _Out:
    """Ways out from a line or anchorage, before any limit."""

    places: Array  # (R, 2)
    ways: Array  # (R, 2)
    station: NDArray[np.intp]  # (R,) the stance's place whose fall is reckoned with


_Known = dict[tuple[object, ...], Array]
"""What clearance leaves of one stance's ways out, by what lies below: the same on many sides and phases."""


def grounds(
    index: Index, profile: Profile, line_runs: list[RigRun], anchor_runs: list[AnchorRun]
) -> list[Ground]:
    """The ground of every stance in each of its phases, lines first."""
    found = []
    for line_run in line_runs:
        known: _Known = {}
        found += [_line_ground(index, profile, line_run, s, known) for s in _phases(line_run.sides)]
    for anchor_run in anchor_runs:
        known = {}
        found += [_anchor_ground(index, profile, anchor_run, s, known) for s in _phases(anchor_run.sides)]
    return found


def _phases(sides: tuple[SideRun, ...]) -> list[list[SideRun]]:
    """A stance's sides, phase by phase."""
    by_phase: dict[str, list[SideRun]] = {}
    for side in sides:
        by_phase.setdefault(side.phase.id, []).append(side)
    return list(by_phase.values())


def _line_ground(index: Index, profile: Profile, run: RigRun, sides: list[SideRun], known: _Known) -> Ground:
    rig = run.rig
    out = _from_line(run)
    limits = _limits(
        index,
        profile,
        rig.stance,
        rig.connector,
        sides,
        out,
        (np.full(len(out.station), rig.dring), rig.surface, rig.anchorage[out.station]),
        rig.free_fall[out.station],
        known,
    )
    first, last = rig.stations[0], rig.parts.span - rig.stations[-1]
    to_end = bool(first <= _TO_END), bool(last <= _TO_END)
    area = _strip(out.places, out.ways, limits.min(axis=0), len(rig.stations), to_end)
    return Ground(
        rig.parts.line.id,
        rig.label,
        rig.connector.id,
        rig.surface,
        rig.stance.edge,
        sides[0].phase.id,
        out.places,
        out.ways,
        limits,
        area,
    )


def _anchor_ground(
    index: Index, profile: Profile, run: AnchorRun, sides: list[SideRun], known: _Known
) -> Ground:
    around = np.linspace(0.0, 2 * np.pi, AROUND, endpoint=False)
    ways = np.stack([np.cos(around), np.sin(around)], axis=1)
    places = np.broadcast_to(np.array(run.place[:2]), ways.shape)
    # the fall is the same all around; the place of the stance with the greatest counts
    worst = int(np.argmax(run.free_fall + run.clear.stroke + run.clear.movement))
    out = _Out(places, ways, np.full(AROUND, worst, dtype=np.intp))
    limits = _limits(
        index,
        profile,
        run.stance,
        run.connector,
        sides,
        out,
        (np.full(AROUND, run.dring), run.surface, np.full(AROUND, run.place[2])),
        np.full(AROUND, float(np.max(run.free_fall))),
        known,
    )
    return Ground(
        run.anchor.id,
        run.label,
        run.connector.id,
        run.surface,
        run.stance.edge,
        sides[0].phase.id,
        out.places,
        ways,
        limits,
        _fan(places[0], places + limits.min(axis=0)[:, None] * ways),
    )


def _from_line(run: RigRun) -> _Out:
    """Ways out to the left and right of each place along a line, then past its start and its end."""
    rig = run.rig
    start, end = (np.array(p[:2]) for p in (rig.parts.start, rig.parts.end))
    along = (end - start) / np.hypot(*(end - start))
    left = np.array([-along[1], along[0]])
    count = len(rig.stations)
    feet = rig.parts.place(rig.stations)
    ends = start, end
    turn = np.linspace(0.0, np.pi, AROUND // 2 + 1)
    cap = np.cos(turn)[:, None] * left + np.sin(turn)[:, None] * -along
    caps = [cap, -cap]
    ways = np.concatenate([np.tile(left, (count, 1)), np.tile(-left, (count, 1)), *caps])
    places = np.concatenate([feet, feet, *(np.tile(e, (len(cap), 1)) for e in ends)])
    station = np.concatenate(
        [np.arange(count), np.arange(count), np.zeros(len(cap)), np.full(len(cap), count - 1)]
    )
    return _Out(places, ways, station.astype(np.intp))


def _limits(
    index: Index,
    profile: Profile,
    stance: Stance,
    connector: Connector,
    sides: list[SideRun],
    out: _Out,
    heights: tuple[Array, float, Array],
    free_fall: Array,
    known: _Known,
) -> Array:
    """The four limits each way, (4, R) m. ``heights``: D-ring, surface and anchorage."""
    dring, surface, anchorage = heights
    above = anchorage - dring
    reach = np.sqrt(np.maximum(connector.length**2 - above**2, 0.0))
    allowed = greatest_free_fall(connector, profile)
    falls = np.array([keeps(float(f), allowed, "at most") is Verdict.MEETS for f in free_fall])
    obstacles = [s.side.obstacle for s in sides if s.side.obstacle is not None]
    swing = max(min(obstacles, default=np.inf) / 2, OFF_TO_ONE_SIDE)
    clear = np.full(len(reach), np.inf)
    for side in sides:
        key = _below_key(index, stance, side, surface)
        if key not in known:
            known[key] = _clear(index, stance, connector, side, out, heights, reach)
        clear = np.minimum(clear, known[key])
    return np.stack([reach, np.where(falls, np.inf, 0.0), np.full(len(reach), swing), clear])


def _below_key(index: Index, stance: Stance, side: SideRun, surface: float) -> tuple[object, ...]:
    """What decides the clearance on one side: what it names, what is there, what is laid."""
    there = tuple(level.id for level in index.job.lower_levels or [] if present(level, side.phase))
    laid = tuple(f.id for f in _laid(index, stance, side, surface))
    return (tuple(side.side.onto), there, laid, side.phase.lower_level)


def _laid(index: Index, stance: Stance, side: SideRun, surface: float) -> list[Floor]:
    """The floors at a stance's level that were laid before the phase, for one who stands on a floor."""
    if stance.surface not in _ON_A_FLOOR:
        return []
    floors = lasting_floors(index, side.phase, np.inf, 0.0)
    return [f for f in floors if abs(index.job.layout.levels[f.level] - surface) < SAME_LEVEL]


def _clear(
    index: Index,
    stance: Stance,
    connector: Connector,
    side: SideRun,
    out: _Out,
    heights: tuple[Array, float, Array],
    reach: Array,
) -> Array:
    """How far each way (R,) m the fall on one side keeps its clearance; inf where nothing bounds it.

    Looked along in steps, and within a step solved for the swing that is left; the more demanding of
    what lies below at both ends of the step counts. On a floor that was laid before the phase, farther
    from its sides and openings than a falling body comes down, there is no fall.
    """
    dring, surface, anchorage = heights
    count = max(int(np.ceil(float(reach.max()) / STEP)), 1)
    radii = np.arange(count + 1) * STEP
    spots = out.places[:, None] + radii[None, :, None] * out.ways[:, None]
    under = below(index, stance, side.side, side.phase, surface, spots.reshape(-1, 2))
    low = under.elevation.reshape(spots.shape[:2])
    terms = {name: _per_way(side, value, out) for name, value in side.terms.ordered}
    straight = ClearanceTerms(**(terms | {"swing_drop": 0.0}))
    at = Elevations(dring[:, None], surface, anchorage[:, None], low)
    left = reckon(straight, at).left_over
    above = (anchorage - dring)[:, None]
    most = _for_drop(connector, left, above)
    holds = (most >= radii[None, :] - 1e-9) | _amid(index, stance, side, surface, spots)
    fails = ~holds
    first = np.where(fails.any(axis=1), np.argmax(fails, axis=1), count + 1)
    rows = np.arange(len(first))
    before, after = np.maximum(first - 1, 0), np.minimum(first, count)
    within = np.minimum(most[rows, before], most[rows, after])
    bound = np.clip(within, radii[before], radii[after])
    out_to = np.where(first == 0, 0.0, bound)
    return np.asarray(np.where(first > count, np.inf, out_to))


def _amid(index: Index, stance: Stance, side: SideRun, surface: float, spots: Array) -> Bools:
    """True at each of ``spots`` (R, K, 2) that lies amid a finished floor at the stance's level."""
    floors = [floor_surface(index, f).area for f in _laid(index, stance, side, surface)]
    amid = shapely.buffer(shapely.union_all(floors), -FALL_RADIUS) if floors else shapely.Polygon()
    return np.asarray(shapely.contains_xy(amid, spots[..., 0], spots[..., 1]))


def _per_way(side: SideRun, value: Values, out: _Out) -> Array:
    """A term of a stance's places as a column over the ways out."""
    return np.broadcast_to(np.asarray(value), side.under.elevation.shape)[out.station][:, None]


def _for_drop(connector: Connector, left: Array, above: Array) -> Array:
    """How far to one side (m) a swing may start for the drop that is left over, m."""
    drop = np.maximum(left, 0.0) + np.maximum(-above, 0.0)
    lateral = lateral_reach(drop, above)
    # a lanyard's free fall holds the swing already: it adds nothing, however far off
    free = added_swing_drop(connector, np.asarray(1.0), np.asarray(0.0)) == 0.0
    return np.where(left < -1e-9, -1.0, np.inf if free else lateral)


@remembered()
def _strip(
    places: Array, ways: Array, reach: Array, count: int, to_end: tuple[bool, bool]
) -> shapely.Geometry:
    """The ground along a line: between two places the lesser of their reaches, and a fan past each end.

    The first ``count`` of ``places`` and ``ways`` (R, 2) go out to its left, as many to its right, then come
    both caps. A stance that is worked along a part of the line only has no ground past that part.
    """
    feet, left = places[:count], ways[0]
    one, other = (
        np.minimum(side[:-1], side[1:])[:, None] * left for side in (reach[:count], reach[count : 2 * count])
    )
    before, after = feet[:-1], feet[1:]
    pieces = np.stack([before - other, after - other, after + one, before + one], axis=1)
    areas = [*shapely.polygons(pieces)]
    size = (len(reach) - 2 * count) // 2
    for k, foot in ((0, 0), (1, count - 1)):
        if not to_end[k]:
            continue
        cap = slice(2 * count + k * size, 2 * count + (k + 1) * size)
        rim = places[cap] + reach[cap][:, None] * ways[cap]
        areas.append(_fan(places[cap.start], rim, closed=False))
        # between the line's last checked place and its end
        end, side = places[cap.start], (reach[foot], reach[count + foot])
        a = min(side[0], reach[cap.start] if k == 0 else reach[cap.stop - 1])
        b = min(side[1], reach[cap.stop - 1] if k == 0 else reach[cap.start])
        areas.append(
            shapely.Polygon([feet[foot] - b * left, end - b * left, end + a * left, feet[foot] + a * left])
        )
    every = np.array(areas, dtype=object)
    return shapely.union_all(shapely.make_valid(every[shapely.area(every) > 0.0]), grid_size=1e-6)


def _fan(centre: Array, rim: Array, *, closed: bool = True) -> shapely.Geometry:
    """The area within a rim seen from its centre."""
    ring = rim if closed else np.concatenate([centre[None], rim])
    area = shapely.Polygon(ring)
    return shapely.make_valid(area) if area.area > 0.0 else shapely.Polygon()
