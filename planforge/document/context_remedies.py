"""What a clearance that is short lacks, over what, and what the numbers already reckoned say would help."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from planforge.assess.assessment import Assessment
from planforge.assess.finding import Verdict
from planforge.document.context_calculations import AnchorCalculation, LineCalculation, SideRow
from planforge.document.context_capacity import clearances
from planforge.document.printed import Printed

_MOVABLE: Final = frozenset({"stored material", "machine"})


@dataclass(frozen=True, slots=True)
class Remedy:
    """A short clearance: how much is missing, over what, and what is known to help."""

    thing: str
    stance: str
    directions: str
    phases: str
    under: str
    lower: str  # by how much less high everything below would do: the printed shortage
    shortage: float  # m, as printed
    movable: bool  # what lies below can be taken away
    one_worker: str  # left over at the line's worst place with one worker at a time; empty: not reckoned
    one_worker_keeps: bool


def remedies(
    assessment: Assessment,
    lines: tuple[LineCalculation, ...],
    anchors: tuple[AnchorCalculation, ...],
    show: Printed,
) -> tuple[Remedy, ...]:
    """Every short clearance, gathered where stance, object below and shortage are alike; worst first."""
    kinds = {level.name: level.kind for level in assessment.job.lower_levels or []}
    rows: list[Remedy] = []
    both: tuple[LineCalculation | AnchorCalculation, ...] = (*lines, *anchors)
    for sums in both:
        alike: dict[tuple[str, str, str], list[SideRow]] = {}
        for side in sums.sides:
            if side.verdict == Verdict.SHORT.value:
                alike.setdefault((side.stance, side.under, side.left_over), []).append(side)
        for (stance, under, _), sides in alike.items():
            shortage = -sides[0].stack.left_over.value
            text, keeps = ("", False)
            if isinstance(sums, LineCalculation) and sums.worst in sides:
                text, keeps = _one_worker(sums, show)
            rows.append(
                Remedy(
                    thing=sums.id,
                    stance=stance,
                    directions=", ".join(dict.fromkeys(side.direction for side in sides)),
                    phases=", ".join(dict.fromkeys(p for s in sides for p in s.phases.split(", "))),
                    under=under,
                    lower=sides[0].left_over.removeprefix("-"),
                    shortage=shortage,
                    movable=kinds.get(under) in _MOVABLE,
                    one_worker=text,
                    one_worker_keeps=keeps,
                )
            )
    return tuple(sorted(rows, key=lambda row: -row.shortage))


def _one_worker(sums: LineCalculation, show: Printed) -> tuple[str, bool]:
    """Clearance left over with one worker on a line that allows more."""
    one = next((row for row in sums.capacity if row.workers == 1 and not row.in_use), None)
    falls = clearances(sums)
    if one is None or not falls:
        return "", False
    _, left_over = falls[1]
    return show.feet(left_over, "down"), left_over >= 0.0
