"""Which means of rescue reaches whom: height at four to one, platform and outreach, rope, by phase."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
import shapely

from planforge.assess.below import present
from planforge.assess.hang import Hang
from planforge.assess.index import Index
from planforge.assess.rescuer_tie import Ties, tied_at
from planforge.calc.arrays import Array, Bools
from planforge.calc.rescue_reach import ladder_foot, ladder_reach, rope_needed
from planforge.codes.profile import common_practice
from planforge.job.rescue import Means
from planforge.job.site import Phase

_ASKED = {
    "ladder": "ladder (working_length, stands_below_top)",
    "lift": "lift (platform, outreach, works_from)",
    "rope kit": "rope (length, parts, fixed_at)",
}
"""The measures without which a kind of means has only its stated reach, in words of the job file."""


_IN_THE_WAY = {"stored material", "porch roof", "excavation", "stair"}
"""Kinds of lower levels on which neither a lift nor a ladder's foot stands, though its ground lies there."""

ReachState = Literal["all", "part", "low", "none", "open"]
"""Whether a means reaches everyone who may hang there, part of the line, only who hangs low, nobody, or
does not say."""


@dataclass(frozen=True, slots=True)
class Reached:
    """One means against one line or anchor."""

    means: Means
    needed: float  # m, the highest hanging D-ring above what the means stands on
    reaches: float  # m, the lesser of what is stated and what its measures give
    lowest_needed: float  # m, the lowest hanging D-ring
    near: Bools  # (N,) whether it gets to each spot in plan, with its rescuer tied on
    untied: int  # at how many spots that it gets to the rescuer's own tie-off fails
    rope_short: float  # m of rope that lack; 0 where none does or no rope is needed
    open: tuple[str, ...]  # the measures that are not stated or have no source

    @property
    def high_enough(self) -> bool:
        """True where it takes the highest hanging D-ring, with rope enough."""
        return self.reaches >= self.needed - 1e-9 and self.rope_short <= 0.0

    @property
    def everyone(self) -> bool:
        """True where it reaches whoever hangs there, wherever along the line."""
        return self.high_enough and bool(self.near.all())


def hands() -> float:
    """How high over the feet a rescuer takes a D-ring, m."""
    return common_practice()["rescuer_hands"].value


def reckoned_reach(means: Means) -> float | None:
    """The height of the D-ring that its measures give, m over what it stands on; None without measures."""
    if means.kind == "ladder" and means.ladder is not None:
        return float(ladder_reach(means.ladder.working_length, means.ladder.stands_below_top, hands()))
    if means.kind == "lift" and means.lift is not None:
        return means.lift.platform + hands()
    return None


@dataclass(frozen=True)
class RescueReach:
    """Every means of a lot against the lines and anchors that it serves; what depends on place is kept."""

    index: Index
    hangs: Mapping[str, Hang]
    ties: Ties
    places: Mapping[tuple[str, str], tuple[Bools, Array]]
    """By means and line or anchor: where the means gets to, and the elevation that it stands on there, m."""

    def of(self, means: Means, thing: str, phases: Iterable[str]) -> Reached | None:
        """A means against a line or anchor where the rescuer's tie-off holds in all of some phases.

        None where it states neither what it stands on nor any reach.
        """
        reckoned = reckoned_reach(means)
        heights = [h for h in (means.reaches, reckoned) if h is not None]
        if means.stands_on is None or not heights:
            return None
        hang = self.hangs[thing]
        near, floors = self.places[means.id, thing]
        tied = tied_at(self.ties, means.id, thing, phases, len(hang.spots))
        reached = floors[near] if near.any() else floors
        floor = float(reached.min())
        return Reached(
            means=means,
            needed=hang.highest - floor,
            reaches=min(heights),
            lowest_needed=hang.lowest - float(reached.max()),
            near=near & tied,
            untied=int((near & ~tied).sum()),
            rope_short=_rope_short(means, hang, floor),
            open=_open(means),
        )

    @cached_property
    def order(self) -> tuple[Means, ...]:
        """The lot's means in the one order in which a crew tries them, wherever they are printed.

        Those that reach everyone wherever they serve, then those that reach some, then the rest; within each
        the sooner in the drill first, those never drilled last.
        """
        rescue = self.index.job.rescue
        return tuple(sorted(rescue.means if rescue else [], key=self._rank))

    def _rank(self, means: Means) -> tuple[int, float]:
        served = [thing for thing in means.serves if thing in self.hangs]
        states = {reach_state(self.of(means, thing, self.index.phases)) for thing in served}
        group = 0 if states == {"all"} else 1 if states & {"all", "part"} else 2
        return group, math.inf if means.time is None else means.time


def rescue_reach(index: Index, hangs: Mapping[str, Hang], ties: Ties) -> RescueReach:
    """Reckon where each means gets to."""
    means = index.job.rescue.means if index.job.rescue else []
    places = {
        (one.id, thing): _near(index, one, hangs[thing])
        for one in means
        if one.stands_on is not None
        for thing in one.serves
        if thing in hangs
    }
    return RescueReach(index, hangs, ties, places)


def reach_state(it: Reached | None) -> ReachState:
    """How far a means gets with those who may hang at a line or anchor; ``None``: it does not say."""
    if it is None:
        return "open"
    if it.everyone:
        return "all"
    if it.high_enough and it.near.any():
        return "part"
    low = it.reaches >= it.lowest_needed and it.rope_short <= 0.0 and bool(it.near.any())
    return "low" if low else "none"


def _near(index: Index, means: Means, hang: Hang) -> tuple[Bools, Array]:
    """Whether a means gets to each of N places in plan, and the elevation that it stands at there, m.

    A ladder leans there from what it can be set up on. Of several the lowest counts.
    """
    everywhere = np.ones(len(hang.spots), dtype=bool)
    if means.lift is not None:
        ground = _free(index, means.lift.works_from)
        off = np.asarray(shapely.distance(ground, shapely.points(hang.spots)))
        everywhere = np.asarray(off <= means.lift.outreach.value + 1e-9)
    names = surfaces(means)
    floors = np.array([index.lowest(name) for name in names])[:, None]
    if means.kind != "ladder" or means.ladder is None:
        return everywhere, np.broadcast_to(floors[0], everywhere.shape)
    foot = float(ladder_foot(means.ladder.working_length))
    stands = np.array([_leans_from(index, name, foot, hang) for name in names])
    lowest = np.where(stands, floors, np.inf).min(axis=0)
    return np.asarray(stands.any(axis=0)), np.where(np.isfinite(lowest), lowest, floors[0])


def surfaces(means: Means) -> list[str]:
    """What a means can stand on, the stated first."""
    return [*([means.stands_on] if means.stands_on else []), *means.also_on]


def _leans_from(index: Index, name: str, foot: float, hang: Hang) -> Bools:
    """Which places a ladder leans to from a level or lower level; one without an area is everywhere.

    On a floor of the building it serves those who hang over that floor; on the ground its foot stands no
    farther from them than four to one lets it.
    """
    lower = index.lower_levels.get(name)
    if lower is None:
        inside = shapely.covers(
            shapely.polygons(np.asarray(index.job.layout.footprint)), shapely.points(hang.spots)
        )
        return np.asarray(inside) & (hang.below >= index.surface(name) - 1e-6)
    if lower.area is None:
        return np.ones(len(hang.spots), dtype=bool)
    off = shapely.distance(_free(index, lower.area), shapely.points(hang.spots))
    return np.asarray(off <= foot + 1e-9)  # False where no ground is left


def _free(index: Index, outline: Iterable[tuple[float, float]]) -> Any:
    """Ground without what stands or gapes on it in any phase of the work."""
    there = (one for one in index.lower_levels.values() if one.kind in _IN_THE_WAY and one.area is not None)
    taken = [shapely.polygons(np.asarray(one.area)) for one in there]
    return shapely.difference(shapely.polygons(np.asarray(list(outline))), shapely.union_all(taken))


def _rope_short(means: Means, hang: Hang, floor: float) -> float:
    """A kit lowers from its anchorage to what it stands on, and must start at the hanging D-ring."""
    if means.rope is None:
        return 0.0
    above = max(means.rope.fixed_at, hang.highest) - floor
    return max(float(rope_needed(above, means.rope.parts)) - means.rope.length, 0.0)


def _open(means: Means) -> tuple[str, ...]:
    measures = {"ladder": means.ladder, "lift": means.lift, "rope kit": means.rope}
    if means.kind in measures and measures[means.kind] is None:
        return (_ASKED[means.kind],)
    if means.lift is not None and not means.lift.outreach.source:
        return ("the source of lift.outreach",)
    return ()


def there(index: Index, means: Means, phase: Phase) -> bool:
    """True where a means is on the lot in a phase and so is what it stands on."""
    if means.phases and phase.id not in means.phases:
        return False
    lower = [index.lower_levels.get(name) for name in surfaces(means)]
    return not lower or any(one is None or present(one, phase) for one in lower)
