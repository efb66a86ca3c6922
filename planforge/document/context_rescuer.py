"""What each rescuer is tied to, as the rescue part prints it: one row for what is alike."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.rescuer_tie import Tie, ties_of
from planforge.document.printed import DASH, Printed
from planforge.job.rescue import Means


@dataclass(frozen=True, slots=True)
class RescuerRow:
    """A means at the lines and anchors where its rescuer's tie-off is alike."""

    means: str
    at: str  # the lines and anchors, with the phases where these differ
    tied_to: str  # in the job's word: post head, anchorage, lift, stays below; empty where not stated
    points: str  # the points, and how far from each in plan where that bounds it
    device: str
    pays_out: str  # what is needed and what the device has
    leaves: str  # free below the feet after the rescuer's fall
    people: str
    verdict: str


def rescuer_rows(assessment: Assessment, show: Printed) -> tuple[RescuerRow, ...]:
    """Every means, in the order in which a crew tries them."""
    verdicts = {(f.where, f.phase): f.verdict.value for f in assessment.findings if f.id == "rescue.tie_off"}
    rows: list[RescuerRow] = []
    for means in assessment.rescue.order:
        if (means.id, "") in verdicts:
            rows.append(_whole(assessment, means, verdicts[means.id, ""]))
            continue
        alike: dict[RescuerRow, list[str]] = {}
        ties = ties_of(assessment.rescue.ties, means.id)
        for thing, phases, tie in ties:
            names = ", ".join(phases)
            row = _at_points(assessment, means, tie, verdicts[f"{thing} · {means.id}", names], show)
            once = sum(other == thing for other, _, _ in ties) == 1
            alike.setdefault(row, []).append(thing if once else f"{thing} ({names})")
        rows += [replace(row, at=", ".join(at)) for row, at in alike.items()]
    return tuple(rows)


def _whole(assessment: Assessment, means: Means, verdict: str) -> RescuerRow:
    """A means whose rescuer's tie-off is the same wherever it serves."""
    rescuer, holds = means.rescuer, means.lift.holds if means.lift else None
    connector = assessment.index.connectors[rescuer.connector] if rescuer and rescuer.connector else None
    in_lift = rescuer is not None and rescuer.tied_to == "lift"
    return RescuerRow(
        means=means.id,
        at=", ".join(means.serves) or DASH,
        tied_to=means.kind if means.kind == "self-rescue" else rescuer.tied_to if rescuer else "",
        points="",
        device=connector.name if connector else DASH,
        pays_out=DASH,
        leaves=DASH,
        people=f"{rescuer.number + 1} / {holds.value if holds else ''}" if rescuer and in_lift else DASH,
        verdict=verdict,
    )


def _at_points(assessment: Assessment, means: Means, tie: Tie, verdict: str, show: Printed) -> RescuerRow:
    rescuer = means.rescuer
    assert rescuer is not None  # it has a tie-off
    connector = assessment.index.connectors[rescuer.connector] if rescuer.connector else None
    fullest = max(tie.points, key=lambda p: p.people, default=None)
    row = RescuerRow(
        means=means.id,
        at="",
        tied_to=rescuer.tied_to,
        points="; ".join(tie.barred) if not tie.points else ", ".join(p.id for p in tie.points),
        device=connector.name if connector else DASH,
        pays_out=DASH,
        leaves=DASH,
        people=f"{fullest.people} / {fullest.rated if fullest.rated else ''}" if fullest else DASH,
        verdict=verdict,
    )
    if tie.places is None or connector is None:
        return row
    among = tie.holds if tie.holds.any() else np.ones(len(tie.holds), dtype=bool)
    length = float(tie.places.length[among].max())
    left = float((tie.places.available - tie.places.required)[among].min())
    within = tie.reach_of_points
    bounded = not tie.holds.all()
    points = ", ".join(
        f"{name} to {show.feet(far, 'down')}" if bounded else name for name, far in within.items()
    )
    return replace(
        row,
        points=points or row.points,
        pays_out=f"{show.feet(length, 'up')} / {show.feet(connector.length, 'down')}",
        leaves=show.feet(left, "down"),
    )
