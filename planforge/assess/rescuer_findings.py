"""The check of what each rescuer is tied to, from what was reckoned of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from planforge.assess.finding import Finding, Verdict, found, keeps
from planforge.assess.hang import Hang
from planforge.assess.index import Index
from planforge.assess.rescuer_tie import AtPlaces, Tie, Ties, ties_of
from planforge.calc.arrays import Bools
from planforge.job.rescue import Means
from planforge.units import Display

_STATE = (
    "State rescue.means.rescuer: tied_to (post head, anchorage, line, lift, stays below) and connector, an "
    "id of equipment.connectors with its length and ratings."
)


def tie_findings(index: Index, means: Means, hangs: Mapping[str, Hang], ties: Ties) -> Iterator[Finding]:
    """One means: at each line and anchor that it serves, phases that are alike together."""
    if means.kind == "self-rescue" or (means.rescuer is not None and means.rescuer.tied_to == "stays below"):
        nobody = "nobody else goes" if means.kind == "self-rescue" else "the rescuer stays below"
        yield found("rescue.tie_off", means.id, Verdict.NOT_APPLICABLE, value=nobody)
    elif means.rescuer is None:
        yield found("rescue.tie_off", means.id, Verdict.CONFIRM, value="not stated", note=_STATE)
    elif means.rescuer.tied_to == "lift":
        yield _in_lift(means)
    else:
        for thing, phases, tie in ties_of(ties, means.id):
            yield _at_points(index, means, thing, hangs[thing], tie, ", ".join(phases))


def _in_lift(means: Means) -> Finding:
    """The rescuers and the one they take over on the anchor points of the lift's platform."""
    assert means.rescuer is not None  # the caller looked
    holds = means.lift.holds if means.lift else None
    asked = [] if means.rescuer.connector else ["rescuer.connector"]
    asked += [] if holds and holds.source else ["lift.holds, with its source"]
    people = float(means.rescuer.number + 1)
    verdict = keeps(people, float(holds.value), "at most") if holds else Verdict.CONFIRM
    if verdict is Verdict.MEETS and asked:
        verdict = Verdict.CONFIRM
    return found(
        "rescue.tie_off",
        means.id,
        verdict,
        value=people,
        limit=float(holds.value) if holds else "how many the lift's anchor points hold is not stated",
        sense="at most",
        source=(holds.source if holds else None) or "the lift's manual",
        note="On the lift's own anchor points, the one taken over counted too."
        + (f" State {'; '.join(asked)}." if asked else ""),
    )


def _at_points(index: Index, means: Means, thing: str, hang: Hang, tie: Tie, phases: str) -> Finding:
    where = f"{thing} · {means.id}"
    if tie.places is None:
        verdict = Verdict.CONFIRM if tie.holds.any() else Verdict.SHORT
        value = "not reckoned" if tie.holds.any() else "nothing the rescuer may tie to"
        note = "; ".join(tie.barred) if verdict is Verdict.SHORT else f"State {'; '.join(tie.open)}."
        return found("rescue.tie_off", where, verdict, phase=phases, value=value, note=note)
    assert means.rescuer is not None and means.rescuer.connector is not None  # it was reckoned with them
    display, connector = Display(index.job.site.units), index.connectors[means.rescuer.connector]
    if not tie.holds.any():
        return _nowhere(display, where, phases, tie.places, connector.length)
    at = _most_paid_out(tie.places, tie.holds)
    return found(
        "rescue.tie_off",
        where,
        Verdict.CONFIRM if tie.open else Verdict.MEETS,
        phase=phases,
        value=float(tie.places.length[at]),
        limit=connector.length,
        unit="m",
        sense="at most",
        note=f"{connector.name} from {_points(display, tie, len(hang.spots))}.{_tightest(display, tie)}"
        + (f" State {'; '.join(tie.open)}." if tie.open else ""),
    )


def _most_paid_out(places: AtPlaces, among: Bools) -> int:
    return int(np.argmax(np.where(among, places.length, -np.inf)))


def _points(display: Display, tie: Tie, total: int) -> str:
    """The points that serve; where they don't serve all along it, how far from each the rescuer is held."""
    held, names = int(tie.holds.sum()), tie.reach_of_points
    if held == total:
        return ", ".join(names)
    within = ", ".join(f"{name} to {display.feet(far, 'down')} from it" for name, far in names.items())
    return (
        f"{within}: at {held} of {total} places; elsewhere it does not reach, or a fall strikes what is below"
    )


def _tightest(display: Display, tie: Tie) -> str:
    """Where a fall of the rescuer has least room, of the places where it is held."""
    assert tie.places is not None  # the caller looked
    left = float(np.where(tie.holds, tie.places.available - tie.places.required, np.inf).min())
    fullest = max(tie.points, key=lambda p: p.people)
    rated = f", rated for {fullest.rated}" if fullest.rated else ""
    return (
        f" A fall of the rescuer there leaves {display.feet(left, 'down')}, swing and margin counted. "
        f"Most people on one of them: {fullest.people}{rated}."
    )


def _nowhere(display: Display, where: str, phases: str, places: AtPlaces, length: float) -> Finding:
    """It holds at no place: the value that fails at the place nearest to holding."""
    left = places.available - places.required
    reaches = places.length <= length + 1e-9
    if not reaches.any():
        at = int(np.argmin(places.length))
        return found(
            "rescue.tie_off",
            where,
            Verdict.SHORT,
            phase=phases,
            value=float(places.length[at]),
            limit=length,
            unit="m",
            sense="at most",
            note=f"From {places.point[at]} the device does not reach. A longer device, a nearer point, or "
            "strike it from what this means serves.",
        )
    at = int(np.argmax(np.where(reaches, left, -np.inf)))
    return found(
        "rescue.tie_off",
        where,
        Verdict.SHORT,
        phase=phases,
        value=float(places.available[at]),
        limit=float(places.required[at]),
        unit="m",
        sense="at least",
        note=f"Free below the rescuer's D-ring in a fall on {places.point[at]}, "
        f"{display.feet(float(places.lateral[at]), 'up')} away, swing counted. A nearer point, or strike it "
        "from what this means serves.",
    )
