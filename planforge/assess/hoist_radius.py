"""How far each post is from where the machine that sets it can stand, against its load chart."""

from __future__ import annotations

import numpy as np
import shapely

from planforge.assess.finding import AnyRated, Finding, Verdict, found, keeps, vouched
from planforge.assess.post_model import PostParts
from planforge.calc.load_chart import greatest_radius
from planforge.job.erection import Hoisting
from planforge.job.model import Job


def radius_findings(job: Job, plan: Hoisting, posts: list[PostParts]) -> list[Finding]:
    """One finding a post; one for all where neither hoisting nor a proposal states ground for the machine."""
    proposed = job.proposal.hoists if job.proposal else []
    stands = [stand.outline for stand in plan.stands or proposed]
    if not stands:
        return [
            found(
                "hoist.radius",
                "lift",
                Verdict.CONFIRM,
                value="where the machine stands is not stated",
                note="State hoisting.stands, the ground on this lot on which it can stand; until then the "
                "operator paces the radius to each post before the lift.",
            )
        ]
    ground = shapely.union_all([shapely.polygons(np.asarray(outline)) for outline in stands])
    return [_of_post(plan, parts, ground) for parts in posts]


def _of_post(plan: Hoisting, parts: PostParts, ground: shapely.Geometry) -> Finding:
    """From the nearest of the ground: no farther than the radius used, nor than the chart lets it lift."""
    radius = float(shapely.distance(ground, shapely.points(np.asarray(parts.post.at))))
    within, ratings, asked = _farthest(plan, parts)
    if within is None:
        limit: float | str = "no radius of the chart lifts it" if not asked else "not stated"
        verdict = Verdict.CONFIRM if asked else Verdict.SHORT
    else:
        limit, verdict = within, keeps(radius, within, "at most")
        if verdict is Verdict.MEETS:
            verdict = Verdict.CONFIRM if asked else vouched(verdict, *ratings)
    note = "From the nearest of the ground on which the machine can stand."
    if verdict is Verdict.SHORT:
        note += " Let it stand nearer, use a machine whose chart reaches, or move the post."
    return found(
        "hoist.radius",
        parts.id,
        verdict,
        value=radius,
        limit=limit,
        unit="m",
        sense="at most",
        source="; ".join(dict.fromkeys(r.source or "no document" for r in ratings if r is not None)),
        note=" ".join([note, *asked]),
    )


def _farthest(plan: Hoisting, parts: PostParts) -> tuple[float | None, list[AnyRated | None], list[str]]:
    """The greatest radius for a post, m; the ratings it rests on; what is to be stated."""
    asked = []
    if plan.radius is None:
        asked.append("State the radius used.")
    if plan.load_chart is None:
        return plan.radius, [plan.rated_load], asked
    if parts.kind.weight is None or plan.rigging_weight is None or plan.deduction is None:
        asked.append("State the post's weight, rigging_weight and deduction.")
        return plan.radius, [p.rated_load for p in plan.load_chart], asked
    load = parts.kind.weight + plan.rigging_weight
    chart = [(p.radius, p.rated_load.value - plan.deduction.value) for p in plan.load_chart]
    far = greatest_radius(chart, load)
    ratings: list[AnyRated | None] = [plan.deduction, *(p.rated_load for p in plan.load_chart)]
    if far is None:
        return None, ratings, []
    return (far if plan.radius is None else min(far, plan.radius)), ratings, asked
