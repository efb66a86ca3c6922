"""A stance tied to a line: where the worker is, and the geometry of the fall at each foot of the line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from planforge.assess.below import spots
from planforge.assess.index import Index
from planforge.assess.line_model import CASES, LineParts, installed_batch, parts_of
from planforge.calc.arrays import Array, Values, flatten_record, pick_record
from planforge.calc.arrest import Faller, stations
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.clearance import ClearanceTerms
from planforge.calc.free_fall import lanyard_free_fall, retracting_free_fall
from planforge.calc.lifeline import InstalledLine, rest_sag
from planforge.calc.single_anchorage import AnchorageArrest
from planforge.calc.swing import swing
from planforge.job.equipment import Connector, UserBasis
from planforge.job.layout import Lifeline
from planforge.job.task import Stance, Task


@dataclass(frozen=True)
class Rig:
    """A stance tied to a line: geometry at each of S places along it."""

    task: Task
    stance: Stance
    parts: LineParts
    connector: Connector
    count: int  # workers tied to the line at once
    mass: float  # kg, the heaviest user
    surface: float  # m, elevation stood on
    dring: float  # m, elevation of the D-ring before the fall
    stations: Array  # (S,) m from the line's start
    anchorage: Array  # (S,) m, elevation of the line at rest on the warmest day
    spots: Array  # (S, 2) plan, where the worker would go over
    lateral: Array  # (S,) m in plan from the line to the worker

    @property
    def label(self) -> str:
        """Where it is, in a few words."""
        return f"{self.parts.line.id} · {self.task.id}/{self.stance.id}"

    @property
    def above(self) -> Array:
        """The line's height over the D-ring (S,), m; negative where the D-ring is higher."""
        return self.anchorage - self.dring

    @cached_property
    def free_fall(self) -> Array:
        """Free fall (S,), m."""
        return connector_free_fall(self.connector, self.above)

    @cached_property
    def swing_drop(self) -> Array:
        """What a swing towards the line adds below the free fall (S,), m."""
        return added_swing_drop(self.connector, self.lateral, self.above)


@dataclass(frozen=True, slots=True)
class Place:
    """One place of a stance, in one case."""

    rig: Rig
    at: int  # index into the rig's stations
    case: int  # STRENGTH, CLEARANCE or COLD_CLEARANCE

    @property
    def x(self) -> float:
        """Distance from the line's start, m."""
        return float(self.rig.stations[self.at])

    @property
    def force(self) -> float:
        """The connector absorber's force in this case, N: the highest for strength, else the lowest."""
        connector = self.rig.connector
        rated = connector.highest_force if self.case == STRENGTH else connector.lowest_force
        return rated.value


def fallers(places: list[Place], count: Array | None = None) -> Faller:
    """Who falls at each place: all workers of the line together, or ``count`` of them."""
    return Faller(
        mass=np.array([p.rig.mass for p in places]),
        free_fall=np.array([p.rig.free_fall[p.at] for p in places]),
        absorber_force=np.array([p.force for p in places]),
        absorber_stroke=np.array([p.rig.connector.stroke.value for p in places]),
        count=np.array([float(p.rig.count) for p in places]) if count is None else count,
    )


def positions(places: list[Place]) -> Array:
    """Distance of each place from its line's start, m."""
    return np.array([p.x for p in places])


def connector_free_fall(connector: Connector, above: Array) -> Array:
    """Free fall, m, with the anchorage ``above`` the D-ring (negative: below it)."""
    if connector.kind == "lanyard":
        return lanyard_free_fall(connector.length, above)
    assert connector.lock_off is not None  # the reader made sure
    return retracting_free_fall(connector.lock_off.value, above)


def added_swing_drop(connector: Connector, lateral: Array, above: Array) -> Array:
    """What a swing adds below the free fall, m.

    A retracting device locks at the slant length to the worker, so that the bottom of the swing
    lies the pendulum's whole drop lower, less what a low anchorage already counted. A lanyard's
    free fall is reckoned straight down from the anchorage, which holds the swing already.
    """
    if connector.kind == "lanyard":
        return np.zeros(np.broadcast_shapes(np.shape(lateral), np.shape(above)))
    return np.asarray(np.maximum(swing(lateral, above).drop - np.maximum(-above, 0.0), 0.0))


def terms_at_anchorage(
    user: UserBasis,
    connector: Connector,
    free_fall: Values,
    arrest: AnchorageArrest,
    lateral: Array,
    above: Values,
) -> ClearanceTerms:
    """What a fall from a fixed point asks for below the D-ring, m; ``above``: the point over the D-ring."""
    return ClearanceTerms(
        free_fall=free_fall,
        line_drop=arrest.movement,
        deceleration=arrest.stroke,
        dring_shift=user.dring_shift.value,
        dring_height=user.dring_height.value,
        swing_drop=added_swing_drop(connector, lateral, np.asarray(above)),
        margin=user.margin.value,
    )


@dataclass(frozen=True, slots=True)
class Lines:
    """All lines of a job as they hang at their governing temperatures, worked out once."""

    parts: list[LineParts]
    flat: InstalledLine  # (3L,): each line in its strength, clearance and cold clearance case

    def some(self, ids: set[str]) -> Lines:
        """Those with some ids, in order."""
        kept = [n for n, p in enumerate(self.parts) if p.line.id in ids]
        if len(kept) == len(self.parts):
            return self
        rows = (len(CASES) * np.array(kept, dtype=np.intp)[:, None] + np.arange(len(CASES))).ravel()
        return Lines([self.parts[n] for n in kept], pick_record(self.flat, rows))

    def rows(self, case: int) -> slice:
        """One case of every line, as part of the batch."""
        return slice(case, None, len(CASES))

    def at(self, places: list[Place]) -> NDArray[np.intp]:
        """The row of the batch that each place stands for."""
        order = {p.line.id: len(CASES) * n for n, p in enumerate(self.parts)}
        return np.array([order[p.rig.parts.line.id] + p.case for p in places], dtype=np.intp)


def installed_lines(index: Index, of: Sequence[Lifeline]) -> Lines | None:
    """The lines ``of`` the job with their parts, as they hang; None where there is no line."""
    return hung_lines(index, [parts_of(index, line) for line in of]) if of else None


def hung_lines(index: Index, parts: list[LineParts]) -> Lines:
    """Lines of one or more known parts, as they hang."""
    return Lines(parts, flatten_record(installed_batch(index, parts), (len(parts), len(CASES))))


def line_rigs(index: Index, lines: Lines) -> list[Rig]:
    """Every stance tied to one of ``lines``."""
    row = {p.line.id: n for n, p in enumerate(lines.parts)}
    tied = [(t, s, row[s.line]) for t in index.job.tasks for s in t.stances if s.line in row]
    stations = [_stations(index, stance, lines.parts[n]) for _, stance, n in tied]
    sags = _rest_sags(lines, [n for _, _, n in tied], stations)
    return [
        _rig(index, task, stance, lines.parts[n], at, sag)
        for (task, stance, n), at, sag in zip(tied, stations, sags, strict=True)
    ]


def _rest_sags(lines: Lines, of_line: list[int], stations: list[Array]) -> list[Array]:
    """Sag of the line at rest on the warmest day at each stance's places, m."""
    if not stations:
        return []
    counts = [len(at) for at in stations]
    rows = len(CASES) * np.repeat(np.array(of_line, dtype=np.intp), counts) + CLEARANCE
    sags = rest_sag(pick_record(lines.flat, rows), np.concatenate(stations)[:, None])[:, 0]
    return np.split(sags, np.cumsum(counts)[:-1])


def stance_path(index: Index, stance: Stance) -> list[tuple[float, float]] | None:
    """Where a stance is worked in plan: its stretch, else its edge, else nothing."""
    if stance.stretch is not None:
        return stance.stretch
    if stance.edge is not None:
        return next(e.path for e in index.job.layout.edges if e.id == stance.edge)
    return None


def surface_of(index: Index, task: Task, stance: Stance) -> float:
    """The elevation stood on, m."""
    return index.job.layout.levels[task.level] if stance.elevation is None else stance.elevation


def dring_of(index: Index, task: Task, stance: Stance) -> float:
    """The D-ring's elevation before the fall, m."""
    height = stance.dring_height if stance.dring_height is not None else index.job.user.dring_height.value
    return surface_of(index, task, stance) + height


def _stations(index: Index, stance: Stance, parts: LineParts) -> Array:
    """Places along the line: all of it, or what lies beside the stance's stretch."""
    every = stations(parts.span)
    if stance.stretch is None:
        return every
    line = shapely.linestrings(np.asarray([parts.start[:2], parts.end[:2]]))
    along = shapely.line_locate_point(line, shapely.points(np.asarray(stance.stretch)))
    chosen: Array = every[(every >= along.min() - 1e-6) & (every <= along.max() + 1e-6)]
    if len(chosen):
        return chosen
    nearest = int(np.argmin(np.abs(every - along.mean())))
    lone: Array = every[nearest : nearest + 1]
    return lone


def _rig(index: Index, task: Task, stance: Stance, parts: LineParts, stations_here: Array, sag: Array) -> Rig:
    places = parts.place(stations_here)
    at = spots(stance_path(index, stance), places)
    return Rig(
        task=task,
        stance=stance,
        parts=parts,
        connector=index.connectors[stance.connector],
        count=parts.line.workers,
        mass=index.job.user.mass,
        surface=surface_of(index, task, stance),
        dring=dring_of(index, task, stance),
        stations=stations_here,
        anchorage=parts.chord(stations_here) - sag,
        spots=at,
        lateral=np.maximum(np.hypot(*(at - places).T), stance.reach or 0.0),
    )
