"""The second opinion on each line: its governing falls once more, in time.

Which falls: in the strength case those that load the start and the end most by the energy balance;
in the clearance case the deepest; and where a line takes several workers, the last one's fall while
the others hang. There the first workers' own mass resists being moved, and the tension in time can
stand well above the balance, which takes them as dead load.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.rig import Lines, Place, fallers, positions
from planforge.assess.stances import RigRun, first_greatest
from planforge.calc.arrays import as_array, pick_record
from planforge.calc.arrest import Sequence
from planforge.calc.bounds import STRENGTH
from planforge.calc.time_history import Hanging, TimeHistory, time_history
from planforge.errors import CalculationError

WITHOUT_HISTORY = 1.27
"""By how much a line's loads by the energy balance are raised where no time history vouches for them.

The greatest ratio of the two methods' tensions in an independent study of eleven cases with spans of 20
to 60 ft (method notes). A shorter or slacker line can exceed it, so the qualified person decides.
"""

_ENDS = ("tension_left", "tension_right")


@dataclass(frozen=True)
class SequenceOpinion:
    """One fall after another by both methods, strength case: the last worker falls, the others hang."""

    run: RigRun
    balance: Sequence
    history: TimeHistory

    @property
    def balance_tension(self) -> float:
        """Greatest tension by the energy balance, N."""
        return float(self.balance.second.tension_max)

    @property
    def history_tension(self) -> float:
        """Greatest tension by the time history, N."""
        return float(self.history.tension_max)

    @property
    def tension_ratio(self) -> float:
        """Time history's peak tension over the energy balance's."""
        return self.history_tension / self.balance_tension

    @property
    def balance_drop(self) -> float:
        """What the falling worker comes down after the connector is taut, by the energy balance, m."""
        return float(self.balance.second.sag_increment + self.balance.second.absorber_stroke)

    @property
    def history_drop(self) -> float:
        """The same by the time history, m."""
        return float(self.history.drop)

    @property
    def drop_difference(self) -> float:
        """Time history's drop over the energy balance's, less one."""
        return self.history_drop / self.balance_drop - 1.0


@dataclass(frozen=True)
class SecondOpinion:
    """A line's falls by the time history, at the places where the energy balance governs."""

    strong: TimeHistory  # the one of ``at_ends`` with the greater tension by the balance
    clear: TimeHistory
    strong_run: RigRun
    clear_run: RigRun
    strong_at: int  # index of the place in the run
    clear_at: int
    at_ends: tuple[TimeHistory, TimeHistory]  # strength falls that load the start and the end most
    sequences: tuple[SequenceOpinion, ...]  # likewise, one after another; none for a line of one worker

    @property
    def tension_ratio(self) -> float:
        """Time history's peak tension over the energy balance's, strength case."""
        return float(self.strong.tension_max) / float(self.strong_run.strong.tension_max[self.strong_at])

    @property
    def energy_drop(self) -> float:
        """What the mass comes down after the connector is taut, by the energy balance, m."""
        arrest = self.clear_run.clear
        return float((arrest.sag_increment + arrest.absorber_stroke)[self.clear_at])

    @property
    def drop_difference(self) -> float:
        """Time history's drop over the energy balance's, less one, clearance case."""
        return float(self.clear.drop) / self.energy_drop - 1.0

    @property
    def sequence(self) -> SequenceOpinion | None:
        """The fall one after another with the greatest tension in time; None for a line of one worker."""
        return max(self.sequences, key=lambda s: s.history_tension, default=None)

    @property
    def together(self) -> tuple[TimeHistory, ...]:
        """All falls of all workers together."""
        return (*self.at_ends, self.clear)

    @property
    def in_sequence(self) -> tuple[TimeHistory, ...]:
        """All falls one after another."""
        return tuple(s.history for s in self.sequences)


@dataclass(frozen=True, slots=True)
class NoOpinion:
    """A line for which the time history gives no trustworthy answer, and why, its values in SI."""

    why: CalculationError


@dataclass(frozen=True)
class _Fall:
    """One fall to run in time; with a sequence, it is the last worker's, the others hanging."""

    run: RigRun
    place: Place
    sequence: Sequence | None = None


def second_opinions(
    lines: Lines, of_line: dict[str, tuple[RigRun, ...]]
) -> dict[str, SecondOpinion | NoOpinion]:
    """Every line's falls in time, as one batch; none for a line without a stance."""
    falls = {line: _falls(runs) for line, runs in of_line.items() if runs}
    every = [fall for own in falls.values() for fall in own]
    if not every:
        return {}
    try:
        solved = _solve(lines, every)
    except CalculationError:
        return {line: _alone(lines, own) for line, own in falls.items()}
    opinions: dict[str, SecondOpinion | NoOpinion] = {}
    first = 0
    for line, own in falls.items():
        histories = [pick_record(solved, np.array(n)) for n in range(first, first + len(own))]
        opinions[line] = _opinion(own, histories)
        first += len(own)
    return opinions


def _alone(lines: Lines, falls: list[_Fall]) -> SecondOpinion | NoOpinion:
    """One line by itself, so that another's trouble does not spoil it."""
    try:
        solved = _solve(lines, falls)
    except CalculationError as error:
        return NoOpinion(error)
    return _opinion(falls, [pick_record(solved, np.array(n)) for n in range(len(falls))])


def _falls(runs: tuple[RigRun, ...]) -> list[_Fall]:
    """The start's and the end's strength fall, the clearance fall, then the start's and end's in sequence."""
    falls = []
    for end, side in enumerate(_ENDS):
        run = _hardest(runs, [np.max(getattr(r.strong, side)) for r in runs])
        falls.append(_Fall(run, Place(run.rig, run.strongest_at_ends[end], STRENGTH)))
    deepest = _hardest(runs, [np.max(r.clear.total_fall) for r in runs])
    lowest = first_greatest(deepest.clear.total_fall)
    falls.append(_Fall(deepest, Place(deepest.rig, lowest, int(deepest.clear_cases[lowest]))))
    several = tuple(r for r in runs if r.strong_sequences)
    for end, side in enumerate(_ENDS if several else ()):
        run = _hardest(several, [getattr(r.strong_sequences[end].second, side) for r in several])
        place = Place(run.rig, run.strongest_at_ends[end], STRENGTH)
        falls.append(_Fall(run, place, run.strong_sequences[end]))
    return falls


def _hardest(runs: tuple[RigRun, ...], values: list[float]) -> RigRun:
    return runs[first_greatest(np.array(values))]


def _solve(lines: Lines, falls: list[_Fall]) -> TimeHistory:
    places = [f.place for f in falls]
    everyone = fallers(places)
    counts, free_falls = as_array(everyone.count).copy(), as_array(everyone.free_fall).copy()
    hangs_at, dead, spent, force, room = (np.zeros(len(falls)) for _ in range(5))
    hangs_at += positions(places)
    force += np.inf
    for n, fall in enumerate(falls):
        if fall.sequence is not None:
            first, others = fall.sequence.first, fall.place.rig.count - 1
            connector = fall.place.rig.connector
            counts[n], free_falls[n] = 1.0, fall.sequence.second.free_fall
            hangs_at[n], dead[n] = first.position, others * fall.place.rig.mass
            spent[n], force[n] = first.line_absorber_extension, others * fall.place.force
            room[n] = connector.stroke.value - first.absorber_stroke
    return time_history(
        pick_record(lines.flat, lines.at(places)),
        positions(places),
        replace(everyone, count=counts, free_fall=free_falls),
        hanging=Hanging(hangs_at, dead, spent, force, room),
    )


def _opinion(falls: list[_Fall], histories: list[TimeHistory]) -> SecondOpinion:
    start, end, clear = histories[:3]
    strong, which = max(
        zip((start, end), falls[:2], strict=True),
        key=lambda one: one[1].run.strong.tension_max[one[1].place.at],
    )
    return SecondOpinion(
        strong=strong,
        clear=clear,
        strong_run=which.run,
        clear_run=falls[2].run,
        strong_at=which.place.at,
        clear_at=falls[2].place.at,
        at_ends=(start, end),
        sequences=tuple(
            SequenceOpinion(f.run, f.sequence, history)
            for f, history in zip(falls[3:], histories[3:], strict=True)
            if f.sequence is not None
        ),
    )
