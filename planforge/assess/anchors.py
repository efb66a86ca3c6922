"""Stances tied to a single-point anchorage: arrest, clearance with swing, strength, workers."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from planforge.assess.arrest_checks import Fall, connector_ratings, fall_findings, why_no_arrest
from planforge.assess.below import below, spots
from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched, worst
from planforge.assess.index import Index
from planforge.assess.post_model import HeadStiffness, head_bounds, post_parts
from planforge.assess.printed_stack import stack_rows
from planforge.assess.rig import connector_free_fall, dring_of, stance_path, surface_of, terms_at_anchorage
from planforge.assess.sides import SideRun, bears_on_edge, clearance_finding, swing_finding
from planforge.calc.arrays import Array, first_of_rows
from planforge.calc.clearance import Elevations, reckon
from planforge.calc.single_anchorage import AnchorageArrest, arrest_at_anchorage
from planforge.calc.swing import Swing, swing
from planforge.codes.profile import Profile, common_practice
from planforge.job.equipment import Connector
from planforge.job.layout import Anchor
from planforge.job.site import Phase
from planforge.job.task import Side, Stance, Task
from planforge.units import FOOT, NO_FINITE_VALUE, Display

STEP = FOOT
"""Spacing of the places that are checked along a stance's stretch."""

ALL_AROUND = 24
"""How many places are checked around an anchorage whose stance names neither edge nor stretch."""


@dataclass(frozen=True)
class AnchorRun:
    """A stance tied to an anchorage; arrays have shape (S,) over the places of its stretch."""

    task: Task
    stance: Stance
    anchor: Anchor
    connector: Connector
    place: tuple[float, float, float]
    surface: float
    dring: float
    spots: Array  # (S, 2) plan
    lateral: Array  # (S,) m in plan from the anchorage, nowhere less than the reach the plan permits
    free_fall: Array  # (S,) m
    swing: Swing  # (S,)
    strong: AnchorageArrest
    clear: AnchorageArrest
    sides: tuple[SideRun, ...]

    @property
    def label(self) -> str:
        """Where it is, in a few words."""
        return f"{self.anchor.id} · {self.task.id}/{self.stance.id}"

    @property
    def above(self) -> float:
        """The anchorage's height over the D-ring, m."""
        return self.place[2] - self.dring

    @property
    def load(self) -> float:
        """The greatest load on the anchorage from its own workers, N."""
        return float(np.max(self.strong.load))

    @property
    def worst_side(self) -> SideRun:
        """The side and phase with the least clearance left over."""
        return min(self.sides, key=lambda s: s.left_over)


def anchor_runs(index: Index) -> list[AnchorRun]:
    """Solve every stance that is tied to an anchorage."""
    return [
        _run(index, task, stance, index.anchors[stance.anchor])
        for task in index.job.tasks
        for stance in task.stances
        if stance.anchor is not None
    ]


def _places(index: Index, stance: Stance, anchor: Anchor) -> Array:
    """Places of the stretch every foot; without one, all around at the stance's reach from the anchorage."""
    at = np.asarray(index.anchor_at(anchor)[:2])
    path = stance_path(index, stance)
    if path is None:
        around = np.linspace(0.0, 2 * np.pi, ALL_AROUND, endpoint=False)
        return np.asarray(at + (stance.reach or 0.0) * np.stack([np.cos(around), np.sin(around)], axis=1))
    corners = np.asarray(path)
    pieces = []
    for start, end in pairwise(corners):
        count = max(int(np.ceil(np.hypot(*(end - start)) / STEP)), 1)
        pieces.append(start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start))
    places = np.concatenate(pieces)
    first = first_of_rows(places.round(6))  # a corner once; no place is moved
    return np.asarray(places[np.sort(first)])


def _head(index: Index, post: str) -> HeadStiffness:
    return head_bounds(index, post, post_parts(index, index.posts[post]).directions(ALL_AROUND))


def _stiffness(index: Index, anchor: Anchor, *, low: bool) -> float:
    if anchor.post is None:
        return np.inf
    head = _head(index, anchor.post)
    return head.low if low else head.high


def _run(index: Index, task: Task, stance: Stance, anchor: Anchor) -> AnchorRun:
    connector, place = index.connectors[stance.connector], index.anchor_at(anchor)
    dring, surface = dring_of(index, task, stance), surface_of(index, task, stance)
    where = _places(index, stance, anchor)
    lateral = np.maximum(np.hypot(*(where - np.asarray(place[:2])).T), stance.reach or 0.0)
    above = place[2] - dring
    free_fall = np.broadcast_to(connector_free_fall(connector, np.asarray(above)), lateral.shape)
    pendulum = swing(lateral, above)
    solved = [
        arrest_at_anchorage(
            mass=index.job.user.mass,
            free_fall=free_fall,
            absorber_force=force.value,
            absorber_stroke=connector.stroke.value,
            stiffness=_stiffness(index, anchor, low=low),
            count=float(anchor.workers),
        )
        for force, low in ((connector.highest_force, False), (connector.lowest_force, True))
    ]
    strong, clear = solved
    at = spots(stance_path(index, stance), where)
    sides = tuple(
        _side(index, stance, side, index.phases[p], at, (dring, surface, place[2]), free_fall, clear, lateral)
        for p in index.shared_phases(task.phases, anchor.phases)
        for side in stance.sides
    )
    return AnchorRun(
        task,
        stance,
        anchor,
        connector,
        place,
        surface,
        dring,
        at,
        lateral,
        free_fall,
        pendulum,
        strong,
        clear,
        sides,
    )


def _side(
    index: Index,
    stance: Stance,
    side: Side,
    phase: Phase,
    at: Array,
    heights: tuple[float, float, float],
    free_fall: Array,
    clear: AnchorageArrest,
    lateral: Array,
) -> SideRun:
    user, (dring, surface, anchorage) = index.job.user, heights
    under = below(index, stance, side, phase, surface, at)
    connector = index.connectors[stance.connector]
    terms = terms_at_anchorage(user, connector, free_fall, clear, lateral, anchorage - dring)
    result = reckon(terms, Elevations(dring, surface, anchorage, under.elevation))
    return SideRun(side, phase, under, terms, result, int(np.argmin(result.left_over)))


def anchor_findings(
    index: Index, runs: list[AnchorRun], profile: Profile, beside: dict[str, float]
) -> list[Finding]:
    """Strength, workers and every stance's checks; ``beside``: by anchor, what else loads its post, N."""
    findings: list[Finding] = []
    for anchor in index.job.layout.anchors:
        own = [r for r in runs if r.anchor.id == anchor.id]
        findings += [_workers(index, anchor), _strength(index, anchor, own, profile, beside)]
        findings.append(_load_path(index, anchor, own, profile, beside))
        findings += _opposite(index, anchor)
    for run in runs:
        findings += _stance(index, run, profile)
    return findings


def _workers(index: Index, anchor: Anchor) -> Finding:
    practice = common_practice()["workers_an_anchorage"]
    kind = index.kind_of(index.posts[anchor.post]) if anchor.post else None
    rated = kind.anchorage_workers if kind else None
    value = float(anchor.workers)
    limit = float(rated.value) if rated else practice.value
    verdict = worst(keeps(value, limit, "at most"), keeps(value, practice.value, "at most"))
    verdict = vouched(verdict, rated)
    asks = "The maker's rating and its document are wanted."
    return found(
        "anchor.workers",
        anchor.id,
        verdict,
        value=value,
        limit=min(limit, practice.value),
        sense="at most",
        source=(rated.source if rated else None) or "no rating with a document; common practice, no source",
        note=asks if verdict is Verdict.CONFIRM else "",
    )


def _unarrested(runs: list[AnchorRun]) -> AnchorRun | None:
    """A fall that no finite force arrests, where there is one."""
    return next((r for r in runs if not np.isfinite(r.load)), None)


def _no_load(check: str, index: Index, run: AnchorRun) -> Finding:
    return found(
        check,
        run.anchor.id,
        Verdict.SHORT,
        value=NO_FINITE_VALUE,
        note=f"{run.label}: {why_no_arrest(run.connector, index.job.user.mass)}",
    )


def _strength(
    index: Index, anchor: Anchor, runs: list[AnchorRun], profile: Profile, beside: dict[str, float]
) -> Finding:
    each, factor = profile.limits["anchorage_strength"], profile.limits["line_factor"]
    kind = index.kind_of(index.posts[anchor.post]) if anchor.post else None
    rated = kind.anchorage_strength if kind else anchor.strength
    unarrested = _unarrested(runs)
    if unarrested is not None:
        return _no_load("anchor.strength", index, unarrested)
    load = max((r.load for r in runs), default=0.0) + beside.get(anchor.id, 0.0)
    simple, designed = each.value * anchor.workers, factor.value * load
    if rated is None:
        return found(
            "anchor.strength",
            anchor.id,
            Verdict.CONFIRM,
            value="strength not stated",
            limit=simple,
            unit="N",
            sense="at least",
            source=each.source,
            note="The load path below the post's head is reckoned; the qualified person confirms it."
            if anchor.post
            else "What the fitting is fastened to is not reckoned: the qualified person's.",
        )
    summed = anchor.id in beside
    enough = rated.value >= designed if summed else rated.value >= min(simple, max(designed, 1.0))
    by_code = rated.value >= simple and not summed
    verdict = Verdict.SHORT if not enough else Verdict.MEETS if by_code else Verdict.CONFIRM
    note = "" if by_code else "Rests on the factor of two: in a complete system under a qualified person."
    return found(
        "anchor.strength",
        anchor.id,
        vouched(verdict, rated),
        value=rated.value,
        limit=simple if by_code or not runs else designed,
        unit="N",
        sense="at least",
        source=f"{each.source}; {rated.source or 'no document'}",
        note=note if enough else "Fewer workers, or a stronger anchorage.",
    )


def _load_path(
    index: Index, anchor: Anchor, runs: list[AnchorRun], profile: Profile, beside: dict[str, float]
) -> Finding:
    """What the anchorage hands on, times the factor; what is below it the qualified person confirms."""
    unarrested = _unarrested(runs)
    if unarrested is not None:
        return _no_load("anchor.load_path", index, unarrested)
    load = max((r.load for r in runs), default=0.0) + beside.get(anchor.id, 0.0)
    below = (
        "the post, its guys, base and slab, each reckoned under load path"
        if anchor.post
        else "the fitting's fastening and the structure it is on, not reckoned"
    )
    return found(
        "anchor.load_path",
        anchor.id,
        Verdict.CONFIRM,
        value=profile.limits["line_factor"].value * load
        if load
        else "no stance is tied to it: no load known",
        limit="to be confirmed",
        unit="N" if load else "",
        sense="at most",
        note=f"Below the anchorage: {below}. The qualified person confirms that they carry this load, "
        "any way a fall can pull.",
    )


def _opposite(index: Index, anchor: Anchor) -> list[Finding]:
    shares = any(
        anchor.post in (line.start, line.end) and index.shared_phases(anchor.phases, line.phases)
        for line in index.job.layout.lines
    )
    if not (shares or anchor.opposite_line):
        return []
    kind = index.kind_of(index.posts[anchor.post]) if anchor.post else None
    allowed = kind.worker_opposite_line if kind else None
    if not anchor.opposite_line:
        verdict, value = Verdict.SHORT, "shares an end post with a line and is not marked opposite_line"
    elif allowed is None or not allowed.value:
        verdict, value = Verdict.SHORT, "the post's maker does not state that it is allowed"
    else:
        verdict, value = Verdict.CONFIRM, "allowed by the post's maker; the loads are summed on the post"
    return [
        found(
            "anchor.opposite_line",
            anchor.id,
            verdict,
            value=value,
            source=(allowed.source if allowed else None) or "common practice, no source",
            note="The qualified person allows it, or it stays off.",
        )
    ]


def _stance(index: Index, run: AnchorRun, profile: Profile) -> list[Finding]:
    phases = ", ".join(index.shared_phases(run.task.phases, run.anchor.phases))
    fall = Fall(
        where=run.label,
        phases=phases,
        connector=run.connector,
        mass=index.job.user.mass,
        free_fall=float(np.max(run.free_fall)),
        lowest_anchorage=run.above,
        force=float(max(np.max(run.strong.force_per_worker), np.max(run.clear.force_per_worker))),
        stroke=float(np.max(run.clear.stroke)),
        stroke_spent=bool(run.strong.stroke_spent.any() or run.clear.stroke_spent.any()),
        over_edge=bears_on_edge(run.stance, run.lateral, np.asarray(run.above)),
    )
    findings = fall_findings(fall, profile)
    findings += [clearance_finding(run.label, s, *_clearance_ratings(index, run)) for s in run.sides]
    display = Display(index.job.site.units)
    for side in run.sides:
        added = stack_rows(side, display).term("swing_drop").text
        findings.append(swing_finding(run.label, side, run.lateral, run.swing.drop, display, added))
    return findings


def _clearance_ratings(index: Index, run: AnchorRun) -> tuple[AnyRated | None, ...]:
    user, post = index.job.user, run.anchor.post
    head = _head(index, post) if post else None
    stiffness: tuple[AnyRated | None, ...] = head.rests_on if head else ()
    if head and head.assumed:
        stiffness = (None,)
    return (
        user.dring_height,
        user.dring_shift,
        user.margin,
        *connector_ratings(run.connector),
        *stiffness,
    )
