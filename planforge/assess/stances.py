"""Every stance tied to a line: the arrest at each foot of it, in both cases, and the clearance on each side.

All lines, stances and places are solved as one batch; nothing here decides, it computes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.assess.below import below
from planforge.assess.index import Index
from planforge.assess.line_model import CASES, COLD_CLEARANCE
from planforge.assess.rig import Lines, Place, Rig, fallers, positions
from planforge.assess.sides import SideRun
from planforge.calc.arrays import Array, pick_record
from planforge.calc.arrest import Arrest, Sequence, arrest, arrest_in_sequence
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.calc.clearance import ClearanceTerms, Elevations, reckon
from planforge.job.site import Phase
from planforge.job.task import Side
from planforge.units import FOOT

SEQUENCE_APART = 2 * FOOT
"""How far beside the second worker the first one hangs, where they fall one after another."""


def first_greatest(values: Array) -> int:
    """Index of the greatest value, the first of those that differ by their last digits only.

    A line that is its own mirror image has such pairs, and rounding must not choose between them.
    """
    greatest = float(np.max(values))
    return int(np.argmax(values >= greatest - 1e-9 * abs(greatest)))


def hardest_on_ends(strong: Arrest) -> tuple[int, int]:
    """Indexes of the places at which the tension at the line's start and at its end is greatest."""
    return first_greatest(strong.tension_left), first_greatest(strong.tension_right)


@dataclass(frozen=True)
class RigRun:
    """A stance's arrests: at each place together, and at the worst place one after another."""

    rig: Rig
    strong: Arrest  # (S,)
    clear: Arrest  # (S,)
    clear_cases: NDArray[np.intp]  # (S,) the clearance case that governs at each place
    strong_sequences: tuple[Sequence, ...]  # at the places that load the start and the end most; or none
    clear_sequence: Sequence | None
    sides: tuple[SideRun, ...]

    @property
    def arrests(self) -> tuple[Arrest, ...]:
        """All arrests: both cases at each place together, and both one after another."""
        later = (*self.strong_sequences, self.clear_sequence) if self.clear_sequence else ()
        return (self.strong, self.clear, *(s.second for s in later))

    @property
    def strong_sequence(self) -> Sequence | None:
        """The strength case one after another, at the place with the greater tension; None: one worker."""
        return max(self.strong_sequences, key=lambda s: float(s.second.tension_max), default=None)

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
        return first_greatest(self.strong.tension_max)

    @property
    def strongest_at_ends(self) -> tuple[int, int]:
        """Indexes of the places that load the start's and the end's post most."""
        return hardest_on_ends(self.strong)

    @property
    def worst_side(self) -> SideRun:
        """The side and phase with the least clearance left over."""
        return min(self.sides, key=lambda s: s.left_over)


def run_rigs(index: Index, lines: Lines, rigs: list[Rig]) -> list[RigRun]:
    """Solve every stance at every place in both cases, then look at each side."""
    if not rigs:
        return []
    places = [Place(r, at, case) for case in CASES for r in rigs for at in range(len(r.stations))]
    solved = arrest(pick_record(lines.flat, lines.at(places)), positions(places), fallers(places))
    ends = np.cumsum([len(r.stations) for r in rigs])
    third = int(ends[-1])
    cases = _worse_clearance(solved, third)
    clearance = pick_record(solved, third * cases + np.arange(third))
    slices = [slice(end - len(rig.stations), end) for rig, end in zip(rigs, ends.tolist(), strict=True)]
    pairs = [(pick_record(solved, s), pick_record(clearance, s)) for s in slices]
    sequences = _sequences(lines, rigs, pairs, [cases[s] for s in slices])
    return [
        _run(index, rig, pair, cases[s], later)
        for rig, pair, s, later in zip(rigs, pairs, slices, sequences, strict=True)
    ]


def _worse_clearance(solved: Arrest, third: int) -> NDArray[np.intp]:
    """At each place, the clearance case in which the worker falls farther: warmest or coldest day."""
    fall = solved.total_fall
    cold_is_worse = fall[2 * third :] > fall[third : 2 * third]
    return np.where(cold_is_worse, COLD_CLEARANCE, CLEARANCE)


def _sequences(
    lines: Lines,
    rigs: list[Rig],
    pairs: list[tuple[Arrest, Arrest]],
    cases: list[NDArray[np.intp]],
) -> list[tuple[Sequence, Sequence, Sequence] | None]:
    """One after another, for lines of two workers or more, at each stance's worst places.

    Those are the places that load the start and the end most, and the one where the line drops most.
    """
    several = [i for i, rig in enumerate(rigs) if rig.count > 1]
    if not several:
        return [None] * len(rigs)
    places = []
    for i in several:
        strong, clear = pairs[i]
        places += [Place(rigs[i], at, STRENGTH) for at in hardest_on_ends(strong)]
        lowest = first_greatest(clear.sag_increment)
        places.append(Place(rigs[i], lowest, int(cases[i][lowest])))
    second_at, spans = positions(places), np.array([p.rig.parts.span for p in places])
    first_at = np.where(second_at < spans / 2, second_at + SEQUENCE_APART, second_at - SEQUENCE_APART)
    first_at = np.clip(first_at, 0.02 * spans, 0.98 * spans)
    earlier = np.array([float(p.rig.count - 1) for p in places])
    both = arrest_in_sequence(
        pick_record(lines.flat, lines.at(places)),
        first_at,
        fallers(places, earlier),
        second_at,
        fallers(places, np.ones(len(places))),
    )
    out: list[tuple[Sequence, Sequence, Sequence] | None] = [None] * len(rigs)
    for n, i in enumerate(several):
        start, end, clear_one = (pick_record(both, np.array(3 * n + k)) for k in range(3))
        out[i] = (start, end, clear_one)
    return out


def _run(
    index: Index,
    rig: Rig,
    pair: tuple[Arrest, Arrest],
    cases: NDArray[np.intp],
    later: tuple[Sequence, Sequence, Sequence] | None,
) -> RigRun:
    strong, clear = pair
    sides = []
    for phase_id in index.shared_phases(rig.task.phases, rig.parts.line.phases):
        phase = index.phases[phase_id]
        for side in rig.stance.sides:
            sides.append(_side(index, rig, clear, later[-1] if later else None, side, phase))
    return RigRun(
        rig=rig,
        strong=strong,
        clear=clear,
        clear_cases=cases,
        strong_sequences=later[:-1] if later else (),
        clear_sequence=later[-1] if later else None,
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
