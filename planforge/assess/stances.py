"""Every stance tied to a line: the arrest at each foot of it, in both cases, and the clearance on each side.

All lines, stances and places are solved as one batch; nothing here decides, it computes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from planforge.assess.below import below, spots
from planforge.assess.index import Index
from planforge.assess.line_model import LineParts, installed_batch, parts_of
from planforge.assess.sides import SideRun
from planforge.calc.arrays import Array, flatten_record, pick_record
from planforge.calc.arrest import Arrest, Faller, Sequence, arrest, arrest_in_sequence, stations
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.clearance import ClearanceTerms, Elevations, reckon
from planforge.calc.free_fall import lanyard_free_fall, retracting_free_fall
from planforge.calc.lifeline import InstalledLine, rest_sag
from planforge.calc.swing import swing
from planforge.job.equipment import Connector
from planforge.job.site import Phase
from planforge.job.task import Side, Stance, Task
from planforge.units import FOOT

SEQUENCE_APART = 2 * FOOT
"""How far beside the second worker the first one hangs, where they fall one after another."""


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


@dataclass(frozen=True)
class RigRun:
    """A stance's arrests: at each place together, and at the worst place one after another."""

    rig: Rig
    strong: Arrest  # (S,)
    clear: Arrest  # (S,)
    strong_sequence: Sequence | None
    clear_sequence: Sequence | None
    sides: tuple[SideRun, ...]

    @property
    def arrests(self) -> tuple[Arrest, ...]:
        """All arrests: both cases at each place together, and both one after another."""
        later = [s.second for s in (self.strong_sequence, self.clear_sequence) if s is not None]
        return (self.strong, self.clear, *later)

    @property
    def tension(self) -> float:
        """The greatest tension in the line by the energy balance, N.

        The clearance case counts too: an absorber that runs out under its low force can pull harder.
        """
        return max(float(np.max(a.tension_max)) for a in self.arrests)

    @property
    def end_load(self) -> tuple[float, float]:
        """The greatest load into the start's and the end's post, N, over all arrests."""
        left = max(float(np.max(a.tension_left)) for a in self.arrests)
        return left, max(float(np.max(a.tension_right)) for a in self.arrests)

    @property
    def strongest(self) -> int:
        """Index of the place with the greatest tension."""
        return int(np.argmax(self.strong.tension_max))

    @property
    def worst_side(self) -> SideRun:
        """The side and phase with the least clearance left over."""
        return min(self.sides, key=lambda s: s.left_over)


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


def line_rigs(index: Index) -> tuple[list[LineParts], list[Rig]]:
    """Every line with its parts, and every stance tied to one."""
    parts = {line.id: parts_of(index, line) for line in index.job.layout.lines}
    rigs: list[Rig] = []
    if not parts:
        return [], []
    warm = _at_rest(index, list(parts.values()))
    for task in index.job.tasks:
        for stance in task.stances:
            if stance.line is not None:
                rigs.append(_rig(index, task, stance, parts[stance.line], warm[stance.line]))
    return list(parts.values()), rigs


def _at_rest(index: Index, parts: list[LineParts]) -> dict[str, InstalledLine]:
    batch = installed_batch(index, parts)
    shape = (len(parts), 2)
    flat = flatten_record(batch, shape)
    rows = np.arange(len(parts)) * 2 + CLEARANCE
    return {p.line.id: pick_record(flat, rows[i : i + 1]) for i, p in enumerate(parts)}


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


def _rig(index: Index, task: Task, stance: Stance, parts: LineParts, warm: InstalledLine) -> Rig:
    stations_here = _stations(index, stance, parts)
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
        anchorage=parts.chord(stations_here) - rest_sag(warm, stations_here)[0],
        spots=at,
        lateral=np.maximum(np.hypot(*(at - places).T), stance.reach or 0.0),
    )


def _faller(rigs: list[Rig], case: int, count: int | None = None) -> Faller:
    """The fallers of all places of all rigs, flat."""

    def spread(values: list[float]) -> Array:
        return np.concatenate([np.full(len(r.stations), v) for r, v in zip(rigs, values, strict=True)])

    forces = [r.connector.highest_force if case == STRENGTH else r.connector.lowest_force for r in rigs]
    return Faller(
        mass=spread([r.mass for r in rigs]),
        free_fall=np.concatenate([r.free_fall for r in rigs]),
        absorber_force=spread([f.value for f in forces]),
        absorber_stroke=spread([r.connector.stroke.value for r in rigs]),
        count=spread([float(r.count if count is None else count) for r in rigs]),
    )


def run_rigs(index: Index, parts: list[LineParts], rigs: list[Rig]) -> list[RigRun]:
    """Solve every stance at every place in both cases, then look at each side."""
    if not rigs:
        return []
    flat = flatten_record(installed_batch(index, parts), (len(parts), 2))
    order = {p.line.id: i for i, p in enumerate(parts)}
    sizes = [len(r.stations) for r in rigs]
    which = np.repeat([order[r.parts.line.id] for r in rigs], sizes)
    x = np.concatenate([r.stations for r in rigs])
    solved = [
        arrest(pick_record(flat, which * 2 + case), x, _faller(rigs, case)) for case in (STRENGTH, CLEARANCE)
    ]
    ends = np.cumsum(sizes)
    slices = [slice(end - size, end) for end, size in zip(ends, sizes, strict=True)]
    pairs = [(pick_record(solved[STRENGTH], s), pick_record(solved[CLEARANCE], s)) for s in slices]
    sequences = _sequences(flat, order, rigs, pairs)
    return [
        _run(index, rig, strong, clear, later)
        for rig, (strong, clear), later in zip(rigs, pairs, sequences, strict=True)
    ]


def _sequences(
    flat: InstalledLine, order: dict[str, int], rigs: list[Rig], pairs: list[tuple[Arrest, Arrest]]
) -> list[tuple[Sequence, Sequence] | None]:
    """One after another at each stance's worst place, for lines of two workers or more."""
    several = [i for i, rig in enumerate(rigs) if rig.count > 1]
    if not several:
        return [None] * len(rigs)
    out: list[list[Sequence]] = []
    for case in (STRENGTH, CLEARANCE):
        at = [
            int(np.argmax(pairs[i][0].tension_max if case == STRENGTH else pairs[i][1].sag_increment))
            for i in several
        ]
        chosen = [rigs[i] for i in several]
        second_at = np.array([r.stations[a] for r, a in zip(chosen, at, strict=True)])
        spans = np.array([r.parts.span for r in chosen])
        first_at = np.where(second_at < spans / 2, second_at + SEQUENCE_APART, second_at - SEQUENCE_APART)
        first_at = np.clip(first_at, 0.02 * spans, 0.98 * spans)
        lines = pick_record(flat, np.array([order[r.parts.line.id] * 2 + case for r in chosen]))
        forces = [r.connector.highest_force if case == STRENGTH else r.connector.lowest_force for r in chosen]

        def faller(count: Array) -> Faller:
            return Faller(
                mass=np.array([r.mass for r in chosen]),  # noqa: B023 - called at once
                free_fall=np.array([r.free_fall[a] for r, a in zip(chosen, at, strict=True)]),  # noqa: B023
                absorber_force=np.array([f.value for f in forces]),  # noqa: B023
                absorber_stroke=np.array([r.connector.stroke.value for r in chosen]),  # noqa: B023
                count=count,
            )

        earlier = np.array([float(r.count - 1) for r in chosen])
        both = arrest_in_sequence(lines, first_at, faller(earlier), second_at, faller(np.ones(len(chosen))))
        out.append([pick_record(both, np.array(i)) for i in range(len(chosen))])
    by_rig = dict(zip(several, zip(out[STRENGTH], out[CLEARANCE], strict=True), strict=True))
    return [by_rig.get(i) for i in range(len(rigs))]


def _run(
    index: Index, rig: Rig, strong: Arrest, clear: Arrest, later: tuple[Sequence, Sequence] | None
) -> RigRun:
    sides = []
    for phase_id in index.shared_phases(rig.task.phases, rig.parts.line.phases):
        phase = index.phases[phase_id]
        for side in rig.stance.sides:
            sides.append(_side(index, rig, clear, later[CLEARANCE] if later else None, side, phase))
    return RigRun(
        rig=rig,
        strong=strong,
        clear=clear,
        strong_sequence=later[STRENGTH] if later else None,
        clear_sequence=later[CLEARANCE] if later else None,
        sides=tuple(sides),
    )


def _side(index: Index, rig: Rig, clear: Arrest, later: Sequence | None, side: Side, phase: Phase) -> SideRun:
    user = index.job.user
    under = below(index, rig.stance, side, phase, rig.surface, rig.spots)
    fall, drop, stroke = clear.free_fall, clear.sag_increment, clear.absorber_stroke
    if later is not None:
        # the more demanding of the two rules, by the whole fall, at every place
        second = later.second
        worse = second.total_fall > np.max(clear.total_fall)
        fall = np.where(worse, second.free_fall, fall)
        drop = np.where(worse, second.sag_increment, drop)
        stroke = np.where(worse, second.absorber_stroke, stroke)
    terms = ClearanceTerms(
        free_fall=fall,
        line_drop=drop,
        deceleration=stroke,
        dring_shift=user.dring_shift.value,
        dring_height=user.dring_height.value,
        swing_drop=rig.swing_drop,
        margin=user.margin.value,
    )
    result = reckon(terms, Elevations(rig.dring, rig.surface, rig.anchorage, under.elevation))
    return SideRun(side, phase, under, terms, result, int(np.argmin(result.left_over)))
