"""What one worker and each further one would do to a line, all falling together.

Values beside the line's allowance, for the reader's judgement: the rule (falling together) is common
practice without a source, and the allowance itself is the maker's rating. All lines are solved as
one batch.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planforge.assess.index import Index
from planforge.assess.line_model import COLD_CLEARANCE
from planforge.assess.lines import LineResult
from planforge.assess.rig import Lines, Place, fallers, hung_lines, positions
from planforge.assess.sides import SideRun
from planforge.calc.arrays import pick_record
from planforge.calc.arrest import Arrest, arrest
from planforge.calc.bounds import CLEARANCE, STRENGTH
from planforge.errors import CalculationError

BEYOND = 1
"""How many workers more than the plan allows are shown."""


@dataclass(frozen=True, slots=True)
class CapacityRow:
    """One number of workers on a line; N and m."""

    workers: int
    tension: float
    end_load: float
    rope_factor: float | None  # breaking strength over tension; None: no strength stated
    end_factor: float | None
    total_fall: float
    left_over: float  # of clearance, at the place with the least
    in_use: bool  # the number that the plan allows


@dataclass(frozen=True, slots=True)
class _Try:
    """One fall of the batch: a line's id, the place, the workers."""

    line: str
    place: Place
    count: int


def capacity_tables(index: Index, results: tuple[LineResult, ...]) -> dict[str, tuple[CapacityRow, ...]]:
    """For each line, rows from one worker to :data:`BEYOND` more than it allows; none without a stance.

    A line for which the number beyond has no trustworthy answer ends with the number that it allows.
    Tension is tried at the ends, quarter points, middle and governing place of the stance that loads
    the line most; clearance at the governing place of the stance with the least left over.
    """
    rigged = [r for r in results if r.runs]
    if not rigged:
        return {}
    lines = hung_lines(index, [r.parts for r in rigged])
    try:
        return _tables(lines, rigged, BEYOND)
    except CalculationError:
        return {key: table for result in rigged for key, table in _alone(lines, result).items()}


def _alone(lines: Lines, result: LineResult) -> dict[str, tuple[CapacityRow, ...]]:
    try:
        return _tables(lines, [result], BEYOND)
    except CalculationError:
        return _tables(lines, [result], 0)


def _tables(lines: Lines, rigged: list[LineResult], beyond: int) -> dict[str, tuple[CapacityRow, ...]]:
    tries = [t for result in rigged for t in _tries(result, beyond)]
    solved = _solve(lines, tries)
    tables = {}
    for result in rigged:
        tables[result.id] = tuple(
            _row(
                result,
                count,
                pick_record(solved, _chosen(tries, result.id, count, strength=True)),
                float(solved.total_fall[_chosen(tries, result.id, count, strength=False)].max()),
            )
            for count in range(1, result.parts.line.workers + beyond + 1)
        )
    return tables


def _chosen(tries: list[_Try], line: str, count: int, *, strength: bool) -> NDArray[np.intp]:
    """The tries of one line and number of workers, in the strength case or in the clearance cases."""
    return np.array(
        [
            i
            for i, t in enumerate(tries)
            if (t.line, t.count, t.place.case == STRENGTH) == (line, count, strength)
        ]
    )


def _tries(result: LineResult, beyond: int) -> list[_Try]:
    strongest = max(result.runs, key=lambda r: float(r.strong.tension_max.max()))
    lowest = min(result.runs, key=lambda r: r.worst_side.left_over)
    last = len(strongest.rig.stations) - 1
    spots = sorted({0, last // 4, last // 2, 3 * last // 4, last, strongest.strongest})
    places = [Place(strongest.rig, at, STRENGTH) for at in spots]
    places += [Place(lowest.rig, lowest.worst_side.governs, case) for case in (CLEARANCE, COLD_CLEARANCE)]
    counts = range(1, result.parts.line.workers + beyond + 1)
    return [_Try(result.id, place, n) for n in counts for place in places]


def _solve(lines: Lines, tries: list[_Try]) -> Arrest:
    places = [t.place for t in tries]
    counts = np.array([float(t.count) for t in tries])
    return arrest(pick_record(lines.flat, lines.at(places)), positions(places), fallers(places, counts))


def _row(result: LineResult, count: int, strong: Arrest, fallen: float) -> CapacityRow:
    tension = float(strong.tension_max.max())
    end_load = float(max(strong.tension_left.max(), strong.tension_right.max()))
    rope, end = result.parts.rope.breaking_strength, result.parts.system.end_strength
    side = min(result.runs, key=lambda r: r.worst_side.left_over).worst_side
    return CapacityRow(
        workers=count,
        tension=tension,
        end_load=end_load,
        rope_factor=rope.value / tension if rope else None,
        end_factor=end.value / end_load if end else None,
        total_fall=fallen,
        left_over=_left_over(side, fallen),
        in_use=count == result.parts.line.workers,
    )


def _left_over(side: SideRun, fallen: float) -> float:
    """Clearance left over at the governing place where the worker falls ``fallen`` (m) in all, m."""
    own = dict(side.stack)
    counted = own["free_fall"] + own["line_drop"] + own["deceleration"]
    return side.left_over + counted - fallen
