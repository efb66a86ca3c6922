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
from planforge.assess.line_model import installed_batch
from planforge.assess.lines import LineResult
from planforge.assess.sides import SideRun
from planforge.assess.stances import RigRun
from planforge.calc.arrays import flatten_record, pick_record
from planforge.calc.arrest import Arrest, Faller, arrest
from planforge.calc.bounds import CLEARANCE, STRENGTH

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
    """One fall of the batch: a line's row, its stance, the place in it, the case, the workers."""

    row: int
    run: RigRun
    at: int
    case: int
    count: int


def capacity_tables(index: Index, results: tuple[LineResult, ...]) -> dict[str, tuple[CapacityRow, ...]]:
    """For each line, rows from one worker to :data:`BEYOND` more than it allows; none without a stance.

    Tension is tried at the ends, quarter points, middle and governing place of the stance that loads
    the line most; clearance at the governing place of the stance with the least left over.
    """
    rigged = [r for r in results if r.runs]
    if not rigged:
        return {}
    tries = [t for row, result in enumerate(rigged) for t in _tries(row, result)]
    solved = _solve(index, rigged, tries)
    tables = {}
    for row, result in enumerate(rigged):
        tables[result.id] = tuple(
            _row(
                result,
                count,
                pick_record(solved, _chosen(tries, row, STRENGTH, count)),
                float(solved.total_fall[_chosen(tries, row, CLEARANCE, count)].max()),
            )
            for count in range(1, result.parts.line.workers + BEYOND + 1)
        )
    return tables


def _chosen(tries: list[_Try], row: int, case: int, count: int) -> NDArray[np.intp]:
    wanted = (row, case, count)
    return np.array([i for i, t in enumerate(tries) if (t.row, t.case, t.count) == wanted])


def _tries(row: int, result: LineResult) -> list[_Try]:
    strongest = max(result.runs, key=lambda r: float(r.strong.tension_max.max()))
    lowest = min(result.runs, key=lambda r: r.worst_side.left_over)
    last = len(strongest.rig.stations) - 1
    places = {0, last // 4, last // 2, 3 * last // 4, last, strongest.strongest}
    counts = range(1, result.parts.line.workers + BEYOND + 1)
    return [
        *(_Try(row, strongest, at, STRENGTH, n) for n in counts for at in sorted(places)),
        *(_Try(row, lowest, lowest.worst_side.governs, CLEARANCE, n) for n in counts),
    ]


def _solve(index: Index, results: list[LineResult], tries: list[_Try]) -> Arrest:
    installed = flatten_record(installed_batch(index, [r.parts for r in results]), (len(results), 2))
    connectors = [t.run.rig.connector for t in tries]
    forces = [
        c.highest_force.value if t.case == STRENGTH else c.lowest_force.value
        for c, t in zip(connectors, tries, strict=True)
    ]
    faller = Faller(
        mass=np.array([t.run.rig.mass for t in tries]),
        free_fall=np.array([float(t.run.rig.free_fall[t.at]) for t in tries]),
        absorber_force=np.array(forces),
        absorber_stroke=np.array([c.stroke.value for c in connectors]),
        count=np.array([float(t.count) for t in tries]),
    )
    x = np.array([float(t.run.rig.stations[t.at]) for t in tries])
    return arrest(pick_record(installed, np.array([2 * t.row + t.case for t in tries])), x, faller)


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
