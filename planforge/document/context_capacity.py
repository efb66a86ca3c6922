"""What one worker, and each further one, would do to a line, held to the loads that govern the plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planforge.assess.capacity_table import CapacityRow
from planforge.assess.lines import LineResult
from planforge.document.context_calculations import LineCalculation
from planforge.document.printed import Printed


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
    the loads and factors of the calculation, and the others are held to no milder method.
    """
    return tuple(
        view for result, own in zip(results, sums, strict=True) for view in _line(result, own.capacity, show)
    )


def _line(result: LineResult, rows: tuple[CapacityRow, ...], show: Printed) -> Iterable[CapacityView]:
    used, loads = next((row for row in rows if row.in_use), None), result.loads
    if used is None or loads is None:
        return
    by_tension = max(1.0, loads.tension / used.tension)
    by_end = max(1.0, max(loads.start, loads.end) / used.end_load)
    rope, end = result.parts.rope.breaking_strength, result.parts.system.end_strength
    for row in rows:
        tension, end_load = row.tension * by_tension, row.end_load * by_end
        yield CapacityView(
            line=result.id,
            workers=row.workers,
            in_use=row.in_use,
            tension=show.force(tension, "up"),
            end_load=show.force(end_load, "up"),
            rope_factor=show.factor(rope.value / tension) if rope else "",
            end_factor=show.factor(end.value / end_load) if end else "",
            total_fall=show.feet(row.total_fall, "up"),
            left_over=show.feet(row.left_over, "down"),
        )
