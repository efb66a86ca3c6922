"""What one worker, and each further one, would do to a line, held to the loads that govern the plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from planforge.assess.lines import LineResult
from planforge.document.context_calculations import LineCalculation
from planforge.document.printed import Printed

_FALL: Final = frozenset({"free_fall", "line_drop", "deceleration"})
"""The terms of a clearance that make up the whole fall."""


@dataclass(frozen=True, slots=True)
class CapacityView:
    """A number of workers on a line as printed; factors are empty where a strength is not stated."""

    line: str
    workers: int
    in_use: bool
    tension: str
    end_load: str
    rope_factor: str
    end_factor: str
    total_fall: str
    left_over: str


def capacity_views(
    results: tuple[LineResult, ...], sums: tuple[LineCalculation, ...], show: Printed
) -> tuple[CapacityView, ...]:
    """All lines' rows.

    Loads are the energy balance's times the ratio by which the plan's governing load (time history and
    one after another counted) exceeds the balance's for the number in use: so the row in use carries
    the loads, factors and clearance of the calculation, and the others are held to no milder method.
    """
    return tuple(view for result, own in zip(results, sums, strict=True) for view in _line(result, own, show))


def _line(result: LineResult, sums: LineCalculation, show: Printed) -> Iterable[CapacityView]:
    rows = sums.capacity
    used, loads = next((row for row in rows if row.in_use), None), result.loads
    if used is None or loads is None:
        return
    by_tension = max(1.0, loads.tension / used.tension)
    by_end = max(1.0, max(loads.start, loads.end) / used.end_load)
    rope, end = result.parts.rope.breaking_strength, result.parts.system.end_strength
    falls = clearances(sums)
    for row in rows:
        fallen, left_over = falls[row.workers]
        tension, end_load = row.tension * by_tension, row.end_load * by_end
        yield CapacityView(
            line=result.id,
            workers=row.workers,
            in_use=row.in_use,
            tension=show.force(tension, "up"),
            end_load=show.force(end_load, "up"),
            rope_factor=show.factor(rope.value / tension) if rope else "",
            end_factor=show.factor(end.value / end_load) if end else "",
            total_fall=show.feet(fallen, "up"),
            left_over=show.feet(left_over, "down"),
        )


def clearances(sums: LineCalculation) -> dict[int, tuple[float, float]]:
    """Whole fall and clearance left over, m, by the number of workers; empty where nothing is reckoned.

    The number in use has the governing clearance's printed figures; each other row keeps its
    difference from it, so that fall and clearance left over always add up to the same.
    """
    used = next((row for row in sums.capacity if row.in_use), None)
    if used is None or sums.worst is None:
        return {}
    stack = sums.worst.stack
    fall = sum(term.value for term in stack.terms if term.key in _FALL)
    more = {row.workers: row.total_fall - used.total_fall for row in sums.capacity}
    return {n: (fall + by, stack.left_over.value - by) for n, by in more.items()}
