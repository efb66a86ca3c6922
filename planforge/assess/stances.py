"""Every stance tied to a line: the arrest at each foot of it, in both cases, and the clearance on each side.

All lines, stances and places are solved as one batch; nothing here decides, it computes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.below import below
from planforge.assess.index import Index
from planforge.assess.line_model import LineParts, installed_batch
from planforge.assess.rig import Place, Rig, fallers, positions, rows
from planforge.assess.sides import SideRun
from planforge.calc.arrays import flatten_record, pick_record
from planforge.calc.arrest import Arrest, Sequence, arrest, arrest_in_sequence
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.clearance import ClearanceTerms, Elevations, reckon
from planforge.calc.lifeline import InstalledLine
from planforge.job.site import Phase
from planforge.job.task import Side
from planforge.units import FOOT

SEQUENCE_APART = 2 * FOOT
"""How far beside the second worker the first one hangs, where they fall one after another."""


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


def run_rigs(index: Index, parts: list[LineParts], rigs: list[Rig]) -> list[RigRun]:
    """Solve every stance at every place in both cases, then look at each side."""
    if not rigs:
        return []
    flat = flatten_record(installed_batch(index, parts), (len(parts), 2))
    places = [
        Place(r, at, case) for case in (STRENGTH, CLEARANCE) for r in rigs for at in range(len(r.stations))
    ]
    solved = arrest(pick_record(flat, rows(parts, places)), positions(places), fallers(places))
    ends = np.cumsum([len(r.stations) for r in rigs])
    half = int(ends[-1])
    pairs = []
    for rig, end in zip(rigs, ends.tolist(), strict=True):
        start = end - len(rig.stations)
        strong, clear = slice(start, end), slice(half + start, half + end)
        pairs.append((pick_record(solved, strong), pick_record(solved, clear)))
    sequences = _sequences(flat, parts, rigs, pairs)
    return [
        _run(index, rig, strong, clear, later)
        for rig, (strong, clear), later in zip(rigs, pairs, sequences, strict=True)
    ]


def _sequences(
    flat: InstalledLine, parts: list[LineParts], rigs: list[Rig], pairs: list[tuple[Arrest, Arrest]]
) -> list[tuple[Sequence, Sequence] | None]:
    """One after another at each stance's worst place, for lines of two workers or more."""
    several = [i for i, rig in enumerate(rigs) if rig.count > 1]
    if not several:
        return [None] * len(rigs)
    places = [Place(rigs[i], int(np.argmax(pairs[i][STRENGTH].tension_max)), STRENGTH) for i in several]
    places += [Place(rigs[i], int(np.argmax(pairs[i][CLEARANCE].sag_increment)), CLEARANCE) for i in several]
    second_at, spans = positions(places), np.array([p.rig.parts.span for p in places])
    first_at = np.where(second_at < spans / 2, second_at + SEQUENCE_APART, second_at - SEQUENCE_APART)
    first_at = np.clip(first_at, 0.02 * spans, 0.98 * spans)
    earlier = np.array([float(p.rig.count - 1) for p in places])
    both = arrest_in_sequence(
        pick_record(flat, rows(parts, places)),
        first_at,
        fallers(places, earlier),
        second_at,
        fallers(places, np.ones(len(places))),
    )
    out: list[tuple[Sequence, Sequence] | None] = [None] * len(rigs)
    for n, i in enumerate(several):
        out[i] = (pick_record(both, np.array(n)), pick_record(both, np.array(n + len(several))))
    return out


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
