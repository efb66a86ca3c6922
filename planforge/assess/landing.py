"""What a fall from an edge ends on, all along it, in one phase: floors, slab and ground.

Lengths and elevations in m. For the height of a fall the lowest counts: material and machines never
shorten it, a porch roof or fill only on the days it is there, a floor only once all of it is laid. A
thing reckoned here is a :class:`Surface`; the fall ends on the highest of those under the spot.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import combinations, pairwise

import numpy as np
import shapely

from planforge.assess.below import FALL_RADIUS
from planforge.assess.index import Index
from planforge.assess.sloping_ground import SlopingGround, sloping_ground
from planforge.calc.arrays import Array
from planforge.job.building import Floor
from planforge.job.layout import Opening
from planforge.job.site import LowerLevel, Phase
from planforge.units import INCH

BESIDE = 0.25 * INCH
"""How far outside an edge the spot lies for which the thing below is looked up; the drawing's tolerance."""

SAME_LEVEL = INCH
"""Floors whose tops differ by less are at one level."""

_MAY_BE_GONE = {"stored material", "machine", "stair"}
_GROUND = {"grade", "excavation", "slab"}
_TINY = 1e-9


@dataclass(frozen=True, eq=False)
class Surface:
    """A thing that a fall can end on, with its place in plan."""

    name: str
    kind: str  # of a lower level, or "slab" or "floor"
    area: shapely.Polygon | shapely.MultiPolygon
    elevation: float  # m; of sloping ground its lowest spot, which holds beyond its spots
    slope: SlopingGround | None = None
    inside: bool = False  # the building's own floor or slab

    @property
    def ground(self) -> bool:
        """True where nothing lies beneath it, so that one can't fall past it."""
        return self.kind in _GROUND

    def ends(self, probe: Array, start: Array, end: Array) -> tuple[float, float]:
        """Its height at both ends of a piece that lies beside ``probe``, on the plane that holds there."""
        if self.slope is None:
            return self.elevation, self.elevation
        at = int(self.slope.triangle_of(probe[None])[0])
        if at < 0:
            return self.elevation, self.elevation
        a, b, c = (float(v) for v in self.slope.planes[at])
        return a * start[0] + b * start[1] + c, a * end[0] + b * end[1] + c

    @property
    def lines(self) -> list[shapely.Geometry]:
        """Where the thing begins, ends or changes its slope."""
        creases: list[shapely.Geometry] = [self.slope.creases] if self.slope else []
        return [shapely.boundary(self.area), *creases]


@dataclass(frozen=True)
class Landing:
    """A piece of a side over which the height of what is below runs straight."""

    start: float  # share of the side, 0 to 1
    end: float
    below: tuple[float, float]  # m, at its start and end
    onto: str
    inside: bool  # onto the building's own floor or slab


@dataclass(frozen=True)
class Under:
    """Everything a fall can end on in one phase, for each stretch of days between changes on the lot."""

    spells: tuple[tuple[Surface, ...], ...]
    elsewhere: tuple[tuple[str, float], ...]  # what holds where no stated place covers the spot
    ground: tuple[Surface, ...]

    def along(self, side: Array, top: Array, beside: Array) -> list[Landing]:
        """What lies below each piece of a straight side.

        ``side`` (2, 2) in plan, ``top`` (2,) its elevations, ``beside`` (2,) the way from the side to the
        spot below it. Pieces without a fall are left out. Breaks stand exactly where the side crosses
        an outline or a crease of sloping ground, or two heights cross.
        """
        surfaces = tuple(dict.fromkeys(s for spell in self.spells for s in spell))
        lines = [line for s in surfaces for line in s.lines]
        landings: list[Landing] = []
        for start, end in pairwise(crossings(side, lines, beside)):
            landings += self._piece((start, end), side, top, beside)
        return landings

    def _piece(self, piece: tuple[float, float], side: Array, top: Array, beside: Array) -> Iterable[Landing]:
        """One piece without an outline across it: the lowest over the days of the highest on each."""
        ends = np.array([_on(side, t) for t in piece])
        probe = ends.mean(axis=0) + beside
        spells = [
            [(s, *s.ends(probe, ends[0], ends[1])) for s in self._at(spell, probe)] for spell in self.spells
        ]
        tops = [float(_on(top, t)) for t in piece]
        functions = {(f, g) for spell in spells for _, f, g in spell} | {(tops[0], tops[1])}
        for u, v in pairwise(_meetings(functions)):
            falls = [self._fall(spell, tops, (u, v), probe) for spell in spells]
            name, inside, low, high = min(falls, key=lambda f: f[2] + f[3])
            if (low + high) / 2 < _mix(tops, (u + v) / 2) - _TINY:
                span = piece[1] - piece[0]
                yield Landing(piece[0] + u * span, piece[0] + v * span, (low, high), name, inside)

    def _fall(
        self,
        spell: list[tuple[Surface, float, float]],
        tops: list[float],
        part: tuple[float, float],
        probe: Array,
    ) -> tuple[str, bool, float, float]:
        """What stops a fall on one spell of days: name, whether inside, heights at both ends."""
        middle = sum(part) / 2
        edge = _mix(tops, middle)
        solid = [s for s in spell if s[0].ground or _mix(s[1:], middle) <= edge + _TINY]
        if not solid:
            name, height = self._elsewhere(probe)
            return name, False, height, height
        surface, f, g = max(solid, key=lambda s: _mix(s[1:], middle))
        return surface.name, surface.inside, _mix((f, g), part[0]), _mix((f, g), part[1])

    @staticmethod
    def _at(spell: tuple[Surface, ...], probe: Array) -> list[Surface]:
        here = [s for s in spell if shapely.contains_xy(s.area, *probe)]
        dug = min((s.elevation for s in here if s.kind == "excavation"), default=np.inf)
        return [s for s in here if s.kind != "grade" or s.elevation <= dug]

    def _elsewhere(self, probe: Array) -> tuple[str, float]:
        """No stated place covers the spot: the lowest of what holds in general and what lies near."""
        spot = shapely.points(probe)
        near = [(s.name, s.elevation) for s in self.ground if shapely.distance(s.area, spot) <= FALL_RADIUS]
        return min((*self.elsewhere, *near), key=lambda pair: pair[1])


def crossings(side: Array, lines: list[shapely.Geometry], beside: Array) -> list[float]:
    """Shares (0 to 1) at which a straight side meets any of ``lines``, its own ends included.

    A line that runs along the side just outside it is met on the path of the spots below instead.
    """
    length = float(np.hypot(*(side[1] - side[0])))
    own = _meets(side, lines)
    outer = [t for t in _meets(side + beside, lines) if all(abs(t - s) * length > 4 * BESIDE for s in own)]
    inner = sorted({0.0, 1.0, *(t for t in own + outer if 0.0 < t < 1.0)})
    kept = [inner[0]]
    for t in inner[1:]:
        if (t - kept[-1]) * length > 1e-6:
            kept.append(t)
    kept[-1] = 1.0
    return kept


def _meets(side: Array, lines: list[shapely.Geometry]) -> list[float]:
    segment = shapely.linestrings(side)
    met = shapely.intersection(segment, np.array(lines, dtype=object)) if lines else []
    points = shapely.points(shapely.get_coordinates(met))
    return [float(t) for t in shapely.line_locate_point(segment, points, normalized=True)]


def _on(ends: Array, share: float) -> Array:
    return np.asarray(ends[0] + share * (ends[1] - ends[0]))


def _mix(pair: Iterable[float], share: float) -> float:
    first, last = pair
    return float(first + share * (last - first))


def _meetings(functions: set[tuple[float, float]]) -> list[float]:
    """Shares (0 to 1) at which two straight heights cross, and both ends."""
    met = {0.0, 1.0}
    for (a, b), (c, d) in combinations(functions, 2):
        if (a - c) * (b - d) < 0:
            met.add((a - c) / ((a - c) - (b - d)))
    return sorted(met)


def under(index: Index, phase: Phase, top: float, trigger: float) -> Under:
    """What a fall from a thing whose lowest edge is at ``top`` can end on in a phase, m."""
    built = [*_slab(index), *(floor_surface(index, f) for f in lasting_floors(index, phase, top, trigger))]
    lower = [level for level in index.job.lower_levels or [] if level.kind not in _MAY_BE_GONE]
    placed = [(level, _surface(level)) for level in lower]
    spells = [
        (*built, *(s for level, s in placed if s is not None and _there(level, day)))
        for day in _changes(lower, phase)
    ]
    general = [(index.surface_name(phase.lower_level), index.surface(phase.lower_level))]
    general += [
        (level.name, level.elevation)
        for level, surface in placed
        if surface is None and level.kind in _GROUND and _within(level, phase)
    ]
    ground = [s for level, s in placed if s is not None and s.ground and _within(level, phase)]
    return Under(tuple(dict.fromkeys(spells)), tuple(general), tuple(ground))


def _surface(level: LowerLevel) -> Surface | None:
    slope = sloping_ground(level.spots) if level.spots else None
    if level.area is None and slope is None:
        return None
    area = shapely.Polygon(level.area) if level.area is not None else slope.hull if slope else None
    return Surface(level.name, level.kind, area, slope.lowest if slope else level.elevation, slope)


def _slab(index: Index) -> list[Surface]:
    outline = index.job.layout.slab or index.job.layout.footprint
    name = next((n for n, height in index.job.layout.levels.items() if height == 0.0), "slab")
    return [Surface(name, "slab", shapely.Polygon(outline), 0.0, inside=True)]


def floor_surface(index: Index, floor: Floor) -> Surface:
    """A floor as something to fall on: its outline without the openings at its level."""
    levels = index.job.layout.levels
    holes = [shapely.Polygon(o.outline) for o in openings_at(index, levels[floor.level])]
    area = shapely.difference(shapely.Polygon(floor.outline), shapely.union_all(holes))
    return Surface(f"floor {floor.id}", "floor", area, levels[floor.level], inside=True)


def openings_at(index: Index, elevation: float) -> list[Opening]:
    """The holes, wells, shafts and stair openings in the floors at an elevation."""
    levels = index.job.layout.levels
    return [
        o
        for o in index.job.layout.openings
        if o.kind != "wall opening" and abs(levels[o.level] - elevation) < SAME_LEVEL
    ]


def lasting_floors(index: Index, phase: Phase, top: float, trigger: float) -> list[Floor]:
    """Floors that stop a fall from ``top`` on every day of a phase.

    One laid in the phase itself counts only where the step down to it is under the trigger height: the
    two are then laid as one deck. One deeper is missing on some of the days.
    """
    building = index.job.building
    levels = index.job.layout.levels
    floors = []
    for floor in building.floors if building else []:
        laid = index.phases[floor.laid] if floor.laid else None
        done = laid is None or laid.end < phase.start
        begun = laid is not None and laid.start <= phase.start
        step = top - levels[floor.level]
        if done or (begun and step < trigger - _TINY):
            floors.append(floor)
    return floors


def _there(level: LowerLevel, day: date) -> bool:
    return (level.start is None or level.start <= day) and (level.end is None or level.end >= day)


def _within(level: LowerLevel, phase: Phase) -> bool:
    return (level.start is None or level.start <= phase.end) and (
        level.end is None or level.end >= phase.start
    )


def _changes(lower: list[LowerLevel], phase: Phase) -> list[date]:
    """The first day of the phase and each day in it on which something comes or has gone."""
    days = {phase.start}
    days |= {level.start for level in lower if level.start}
    days |= {level.end + timedelta(days=1) for level in lower if level.end}
    return sorted(day for day in days if phase.start <= day <= phase.end)
