"""What the plan prints of each post's load path: from the head's pull to the plate anchors and the base."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, degrees, hypot, isfinite
from typing import Final

import numpy as np

from planforge.assess.assessment import Assessment
from planforge.assess.finding import RANK, Finding, Verdict, worst
from planforge.assess.index import Index
from planforge.assess.load_path import PostResult
from planforge.assess.post_model import GuyParts, HeadStiffness, PostParts, post_parts
from planforge.calc.arrays import Array
from planforge.document.context_checks import CheckGroup, check_groups, deciders, without_leave
from planforge.document.context_walls import wall_context
from planforge.document.printed import DASH, Printed
from planforge.job.base import Rated
from planforge.job.equipment import PostKind

FALLS: Final = "does not stand"
"""Printed where a case finds no equilibrium."""

STEPS: Final = (
    *(
        "line.posts",
        "post.reckoned",
        "post.guys",
        "post.strength",
        "post.shear",
        "post.joint",
        "post.one_guy",
    ),
    "base.strength",
)
"""A post's own checks from the head down; guys have their own table, holes stand with the drilling."""

GUY_CHECKS: Final = ("guy.angle", "guy.strength", "guy.plate")
"""The checks of a guy and its plate anchor; the walls that hold these have a table of their own."""

REVIEWED: Final = ("post.strength", "guy.strength", "guy.plate", "base.strength")
"""The checks whose worst outcome stands in the engineer's review block."""

STANDING: Final = (
    "guy.clear",
    "framing.clear",
    "power.post",
    "hoist.plan",
    "hoist.load",
    "hoist.radius",
    "wind.standing",
    "wind.unguyed",
)
"""The checks of what is overhead, of the lift and of the wind."""


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One combination of loads on a head; an anchorage's directions share the row of the worst one."""

    name: str
    pull: str  # the arrest's own
    pull_factored: str
    direction: str  # degrees counter-clockwise from the plan's x
    tension: str  # greatest of any guy, at the factored load, with the guy
    ratio: str  # of the tube


@dataclass(frozen=True, slots=True)
class GuyRow:
    """A guy as laid out, with what its anchor gets; the forces are empty where the post is not reckoned."""

    post: str
    id: str
    height: str
    to: str
    angle: str
    length: str
    pieces: str
    set_to: str  # empty: no tension is stated
    own: tuple[str, str, str]  # tension, uplift, shear at the arrest's own load, fine: the factors' divisor
    tension: str  # these three at the factored load
    uplift: str
    shear: str
    strength: str  # breaking; empty: not stated
    plate_uplift: str
    plate_shear: str
    band: str  # the maker's, of the angle; a dash where an end of it is not stated
    factor: str  # of the guy; these three are words or a dash where nothing is compared
    uplift_factor: str
    shear_factor: str
    verdict: str  # the worst of its checks


@dataclass(frozen=True, slots=True)
class MissingGuyRow:
    """What happens with one guy slack or missing, at the factored load."""

    guy: str
    stands: bool
    tension: str  # greatest of the other guys
    movement: str  # of the head


@dataclass(frozen=True, slots=True)
class StiffnessRow:
    """How a head gives way along one line."""

    line: str
    low: str
    high: str
    stated: str
    reckoned: str
    assumed: bool


@dataclass(frozen=True, slots=True)
class BaseForces:
    """The greatest forces of the post on its base at the factored load, over cases and both bounds."""

    down: str
    up: str
    shear: str
    moment: str


@dataclass(frozen=True, slots=True)
class Reviewed:
    """The worst outcome of one check at a post, for the review block."""

    value: str
    verdict: str


@dataclass(frozen=True, slots=True)
class PostView:
    """A post with its load path."""

    id: str
    kind: str
    head: str
    tube: str  # empty: not stated
    steel: str  # empty: not stated
    sections: int
    guys_wanted: int  # at least; 0: not stated
    guys_verdict: str  # of their number and kind
    reckoned: bool
    wanted: tuple[str, ...]
    pull: str  # the greatest, at the factored load; empty where not reckoned
    movement: str  # of the head, at the arrest's own load
    cases: tuple[CaseRow, ...]
    guys: tuple[GuyRow, ...]
    guy_names: str
    guy_sources: str
    guy_deciders: str
    one_missing: tuple[MissingGuyRow, ...]
    stiffness: tuple[StiffnessRow, ...]
    base: BaseForces | None
    figure: str  # the free body of the post that is loaded most of its kind; empty for the others
    steps: tuple[CheckGroup, ...]
    review: tuple[Reviewed, ...]  # in the order of REVIEWED


def load_path(assessment: Assessment, show: Printed) -> dict[str, object]:
    """The values of the load path's parts, by name."""
    results = {r.id: r for r in assessment.posts}
    drawn = _most_loaded(assessment.posts)
    views = tuple(
        replace(
            _post(assessment, post_parts(assessment.index, post), results.get(post.id), show),
            figure=f"post-{post.id}" if post.id in drawn else "",
        )
        for post in assessment.job.layout.posts
    )
    factor = assessment.profile.limits["line_factor"].value
    return {
        **wall_context(assessment, show, factor),
        "post_views": views,
        "standing_checks": check_groups([without_leave(f) for f in _standing(assessment)], show),
    }


def _standing(assessment: Assessment) -> list[Finding]:
    return [f for f in assessment.findings if f.id in STANDING and f.verdict is not Verdict.NOT_APPLICABLE]


def _most_loaded(results: tuple[PostResult, ...]) -> set[str]:
    """Of each kind of post the one whose tube, or else whose guys, bear most: its free body is drawn."""
    worst: dict[str, tuple[float, str]] = {}
    for result in results:
        ratios = result.post_ratio[np.isfinite(result.post_ratio)]
        load = float(ratios.max()) if len(ratios) else float(np.nan_to_num(result.tensions).max()) * 1e-9
        kind = result.parts.kind.id
        worst[kind] = max(worst.get(kind, (-1.0, "")), (load, result.id))
    return {post for _, post in worst.values()}


def _post(assessment: Assessment, parts: PostParts, result: PostResult | None, show: Printed) -> PostView:
    kind = parts.kind
    own = assessment.about(parts.id)
    on_guys = [f for f in own if f.id in GUY_CHECKS]
    compared = [f for f in on_guys if not isinstance(f.value, str)]  # some guys no case loads
    return PostView(
        id=parts.id,
        kind=kind.name,
        head=show.length(kind.head_height),
        tube=_tube(kind, show),
        steel=show.pressure(kind.steel_yield.value) if kind.steel_yield else "",
        sections=kind.sections,
        guys_wanted=kind.guys,
        guys_verdict=worst(*(f.verdict for f in own if f.id == "post.guys")).value,
        reckoned=result is not None,
        wanted=tuple(_wanted(assessment, parts)),
        pull=show.force(result.factor * max(_pulls(result)), "up") if result else "",
        movement=_distance(result.head_movement, show) if result else "",
        cases=tuple(_cases(result, show)) if result else (),
        guys=tuple(_guys(parts, result, own, show)),
        guy_names=", ".join(dict.fromkeys(kind.name for g in parts.guys for kind, _ in g.pieces)),
        guy_sources="; ".join(dict.fromkeys(part for f in compared for part in f.source.split("; "))),
        guy_deciders=deciders(on_guys),
        one_missing=tuple(_one_missing(result, show)) if result else (),
        stiffness=tuple(_stiffness(assessment, parts.id, show)),
        base=_base_forces(result, show) if result else None,
        figure="",
        steps=check_groups([f for check in STEPS for f in own if f.id == check], show),
        review=tuple(_reviewed([f for f in own if f.id == check], show) for check in REVIEWED),
    )


def _tube(kind: PostKind, show: Printed) -> str:
    if kind.outer_diameter is None or kind.wall is None:
        return ""
    outer = show.length(kind.outer_diameter, denominator=16)
    return f"{outer} × {show.decimal_inches(kind.wall)} wall"


def _distance(metres: float, show: Printed) -> str:
    return show.inches(metres, "up") if isfinite(metres) else FALLS


def _force(newtons: float, show: Printed) -> str:
    return show.force(newtons, "up") if isfinite(newtons) else FALLS


def _fine(newtons: float, show: Printed) -> str:
    return show.fine_force(newtons, "up") if isfinite(newtons) else FALLS


def _rated(rated: Rated[float] | None, show: Printed) -> str:
    return show.force(rated.value, "down") if rated else ""


def _wanted(assessment: Assessment, parts: PostParts) -> Iterator[str]:
    """What only a maker, a report or the engineer can give and the job does not state, by name."""
    yield from parts.missing
    kind = parts.kind
    if kind.steel_yield is None:
        yield "the tube's yield strength"
    if len(kind.joints) < kind.sections - 1:
        yield f"the height and moment of {kind.sections - 1 - len(kind.joints)} joint(s)"
    for number, joint in enumerate(kind.joints, 1):
        if joint.moment is None:
            yield f"joint {number}: the moment it holds"
    for guy in parts.guys:
        given = {
            "breaking strength": guy.strength,
            "the maker's least angle": guy.kind.least_angle,
            "the maker's greatest angle": guy.kind.greatest_angle,
            "what its plate anchor holds against uplift": guy.kind.plate_uplift,
            "what its plate anchor holds in shear": guy.kind.plate_shear,
        }
        yield from (f"guy {guy.line.id}: {name}" for name, value in given.items() if value is None)
    for base in assessment.bases:
        if base.id == parts.id:
            yield from base.missing


def _pulls(result: PostResult) -> list[float]:
    """Horizontal pull of each case, the arrest's own, N."""
    return [hypot(case.force[0], case.force[1]) for case in result.cases]


def _cases(result: PostResult, show: Printed) -> Iterator[CaseRow]:
    """A row a case; of an anchorage's directions the one that loads the post or a guy most."""
    tension = np.maximum(np.max(result.pinned.tension, axis=-1), np.max(result.clamped.tension, axis=-1))
    demand = np.where(np.isnan(result.post_ratio), tension, result.post_ratio)
    grouped: dict[str, list[int]] = {}
    for number, case in enumerate(result.cases):
        grouped.setdefault(case.name.partition(" to ")[0], []).append(number)
    pulls = _pulls(result)
    for name, numbers in grouped.items():
        hardest = max(numbers, key=lambda n: float(np.nan_to_num(demand[n], nan=np.inf)))
        force = result.cases[hardest].force
        yield CaseRow(
            name=name if len(numbers) == 1 else f"{name}, worst of {len(numbers)} directions",
            pull=show.force(pulls[hardest], "up"),
            pull_factored=show.force(result.factor * pulls[hardest], "up"),
            direction=f"{degrees(float(np.arctan2(force[1], force[0]))) % 360:.0f}°",
            tension=_greatest_guy(result, hardest, show),
            ratio=ratio_up(float(result.post_ratio[hardest])),
        )


def _greatest_guy(result: PostResult, case: int, show: Printed) -> str:
    tensions = np.maximum(result.pinned.tension[case], result.clamped.tension[case])
    if not np.all(np.isfinite(tensions)):
        return FALLS
    guy = int(np.argmax(tensions))
    return f"{show.force(float(tensions[guy]), 'up')} ({result.parts.guys[guy].line.id})"


def ratio_up(value: float) -> str:
    """A ratio of demand to strength, rounded up to 0.01; a dash where it can't be reckoned."""
    if np.isnan(value):
        return DASH
    return f"{max(ceil(100 * value - 1e-6), 0) / 100:.2f}" if isfinite(value) else FALLS


def _guys(
    parts: PostParts, result: PostResult | None, findings: list[Finding], show: Printed
) -> Iterator[GuyRow]:
    forces: tuple[Array, ...] | None = (result.tensions, *result.plate_forces()) if result else None
    for n, guy in enumerate(parts.guys):
        where = f"{parts.id} · {guy.line.id}"
        own = {f.where: f for f in findings if f.id in ("guy.strength", "guy.plate")}
        factors = [own.get(where + part) for part in ("", " · uplift", " · shear")]
        every = [f for f in findings if f.id in GUY_CHECKS and at_guy(f, where)]
        pulls = [_force(float(f[n]), show) for f in forces] if forces else ["", "", ""]
        alone = [_fine(float(f[n]) / result.factor, show) for f in forces] if forces and result else [""] * 3
        verdict = worst(*(f.verdict for f in every)).value if every else Verdict.CONFIRM.value
        held = [_factor_of(f, show) for f in factors]
        yield _guy(guy, parts.id, pulls, alone, held, verdict, show)


def at_guy(finding: Finding, where: str) -> bool:
    """True where a finding is about a guy or its plate anchor."""
    return finding.where == where or finding.where.startswith(f"{where} · ")


def _factor_of(finding: Finding | None, show: Printed) -> str:
    """The factor, or in words why there is none; a dash where the strength is not stated."""
    return show.value_of(finding) if finding is not None and finding.unit == "" else DASH


def _guy(
    guy: GuyParts,
    post: str,
    pulls: list[str],
    alone: list[str],
    factors: list[str],
    verdict: str,
    show: Printed,
) -> GuyRow:
    line, kind = guy.line, guy.kind
    ends = (kind.least_angle, kind.greatest_angle)
    return GuyRow(
        post=post,
        id=line.id,
        height=show.length(line.height),
        to=f"{show.length(line.to[0])}, {show.length(line.to[1])}, {show.length(line.elevation)}",
        angle=show.angle(guy.angle),
        length=show.length(guy.length, "up"),
        pieces="; ".join(f"{k.id} {show.length(length)}" for k, length in guy.pieces)
        if line.pieces
        else show.length(guy.length, "up"),
        set_to=show.force(kind.pretension.value) if kind.pretension else "",
        own=(alone[0], alone[1], alone[2]),
        tension=pulls[0],
        uplift=pulls[1],
        shear=pulls[2],
        strength=_rated(guy.strength, show),
        plate_uplift=_rated(kind.plate_uplift, show),
        plate_shear=_rated(kind.plate_shear, show),
        band=" – ".join(show.angle(end.value) if end else "?" for end in ends) if any(ends) else DASH,
        factor=factors[0],
        uplift_factor=factors[1],
        shear_factor=factors[2],
        verdict=verdict,
    )


def _one_missing(result: PostResult, show: Printed) -> Iterator[MissingGuyRow]:
    fallen = set(result.stands_bereft)
    for n, guy in enumerate(result.parts.guys):
        name, stands = guy.line.id, guy.line.id not in fallen
        movement = np.linalg.norm(result.bereft.head[:, n, :2], axis=-1)
        yield MissingGuyRow(
            guy=name,
            stands=stands,
            tension=_force(float(np.max(result.bereft.tension[:, n])), show) if stands else DASH,
            movement=_distance(float(np.max(movement)), show) if stands else DASH,
        )


def _stiffness(assessment: Assessment, post: str, show: Printed) -> Iterator[StiffnessRow]:
    """The bounds that each line at the post was solved with, and what they come from."""
    for result in assessment.lines:
        line, parts = result.parts.line, result.parts
        for end, head in ((line.start, parts.start_head), (line.end, parts.end_head)):
            if end == post:
                yield _stiffness_row(assessment.index, line.id, post, head, show)


def _stiffness_row(index: Index, line: str, post: str, head: HeadStiffness, show: Printed) -> StiffnessRow:
    kind = index.kind_of(index.posts[post])
    stated = (kind.stiffness_low, kind.stiffness_high)
    return StiffnessRow(
        line=line,
        low=show.stiffness(head.low),
        high=show.stiffness(head.high),
        stated=" – ".join(show.stiffness(s.value) if s else "not stated" for s in stated),
        reckoned=" – ".join(show.stiffness(s) for s in head.reckoned) if head.reckoned else "not reckoned",
        assumed=head.assumed,
    )


def _base_forces(result: PostResult, show: Printed) -> BaseForces:
    forces = np.concatenate([result.pinned.base_force, result.clamped.base_force])
    moments = np.linalg.norm(result.clamped.base_moment, axis=-1)
    moment = float(np.max(moments))
    return BaseForces(
        down=_force(max(float(np.max(forces[:, 2])), 0.0), show),
        up=_force(max(float(np.max(-forces[:, 2])), 0.0), show),
        shear=_force(float(np.max(np.linalg.norm(forces[:, :2], axis=-1))), show),
        moment=show.moment(moment, "up") if isfinite(moment) else FALLS,
    )


def _reviewed(findings: list[Finding], show: Printed) -> Reviewed:
    """The worst outcome, of equal ones that with the least margin."""
    if not findings:
        return Reviewed(DASH, "not applicable")
    least = min(findings, key=lambda f: (RANK[f.verdict], _spare(f)))
    return Reviewed(show.value_of(least), least.verdict.value)


def _spare(finding: Finding) -> float:
    """What is left before the limit; words stand first where something is wrong, last where nothing is."""
    if finding.margin is not None:
        return finding.margin
    return np.inf if finding.verdict is Verdict.MEETS else -np.inf
