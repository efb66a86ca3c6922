"""One side of a stance in one phase: clearance at each place, and the place that governs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planforge.assess.below import Below
from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched
from planforge.calc.arrays import Array
from planforge.calc.clearance import Clearance, ClearanceTerms
from planforge.job.site import Phase
from planforge.job.task import Side, Stance
from planforge.units import FOOT, Display

OFF_TO_ONE_SIDE = 0.5 * FOOT
"""Nearer than this in plan a worker hangs straight below; planforge's own threshold, no source."""

_SAME = 1e-6
"""Two drops this near to each other, m, are one."""


@dataclass(frozen=True)
class SideRun:
    """A side in a phase; arrays have shape (S,) over the places of the stance."""

    side: Side
    phase: Phase
    under: Below
    terms: ClearanceTerms
    clearance: Clearance
    governs: int  # index of the place with the least left over

    @property
    def left_over(self) -> float:
        """The least left over, m."""
        return float(self.clearance.left_over[self.governs])

    @property
    def required(self) -> float:
        """What is needed below the D-ring at the governing place, m."""
        return self._at(self.clearance.required_below_dring)

    @property
    def available(self) -> float:
        """What there is below the D-ring at the governing place, m."""
        return self._at(self.clearance.available_below_dring)

    @property
    def stack(self) -> tuple[tuple[str, float], ...]:
        """The terms at the governing place, from the D-ring down, m."""
        return tuple((name, self._at(value)) for name, value in self.terms.ordered)

    def _at(self, value: object) -> float:
        values = np.asarray(value)
        return float(values.item() if values.size == 1 else values[self.governs])


def bears_on_edge(stance: Stance, lateral: Array, above: Array) -> bool:
    """True where the connector runs over an edge in a fall: tied back from it, or tied below the D-ring."""
    return stance.surface != "ladder" and bool(np.max(lateral) > OFF_TO_ONE_SIDE or np.min(above) < 0.0)


def swing_finding(
    label: str, side: SideRun, lateral: Array, drop: Array, display: Display, in_sum: str
) -> Finding:
    """What a swing from the place farthest off would strike; it goes as far to the other side.

    ``in_sum``: the swing's drop as the clearance's sum prints it.
    """
    reach, obstacle = float(np.max(lateral)), side.side.obstacle
    limit: float | str | None = None
    verdict, note = Verdict.NOT_APPLICABLE, "Straight below the line or anchorage."
    if reach >= OFF_TO_ONE_SIDE:
        note = _swing_drops(side, drop, display, in_sum)
        limit = "distance to the first obstacle not stated" if obstacle is None else obstacle
        verdict = Verdict.CONFIRM if obstacle is None else keeps(2 * reach, obstacle, "at most")
    return found(
        "arrest.swing",
        f"{label} · {side.side.direction}",
        verdict,
        phase=side.phase.id,
        value=2 * reach,
        limit=limit,
        unit="m",
        sense="at most",
        note=note,
    )


def _swing_drops(side: SideRun, drop: Array, display: Display, in_sum: str) -> str:
    """The pendulum's greatest drop, and why the clearance's sum carries another where it does."""
    greatest, counted = float(np.max(drop)), dict(side.stack)["swing_drop"]
    told = f"Drop of the swing {display.feet(greatest, 'up')} at most"
    if display.feet(greatest, "up") == in_sum:
        return f"{told}."
    here = float(np.broadcast_to(drop, side.clearance.left_over.shape)[side.governs])
    why = []
    if here - counted > _SAME:
        why.append(f"the free fall holds the other {display.feet(here - counted)} already")
    if greatest - here > _SAME:
        why.append("the place with the least left over is another one")
    return f"{told}; {in_sum} in the clearance: {', and '.join(why) or 'its terms are rounded to add up'}."


def clearance_finding(label: str, side: SideRun, *rated: AnyRated | None) -> Finding:
    """Clearance of one side in one phase at its governing place; ``rated`` is what it is reckoned with."""
    verdict = vouched(keeps(side.left_over, 0.0, "at least"), *rated)
    open_item = " A value it is reckoned with has no document." if verdict is Verdict.CONFIRM else ""
    return found(
        "arrest.clearance",
        f"{label} · {side.side.direction}",
        verdict,
        phase=side.phase.id,
        value=side.available,
        limit=side.required,
        unit="m",
        sense="at least",
        source="29 CFR 1926.502(d)(16)(iii); OSHA Technical Manual, Section V chapter 4",
        note=f"From the D-ring before the fall down to {side.under.name[side.governs]}.{open_item}",
    )
