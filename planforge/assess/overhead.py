"""What is overhead and beside: framing in the way, and the lift."""

from __future__ import annotations

import numpy as np
import shapely

from planforge.assess.finding import Finding, Verdict, found, keeps, stated, vouched, worst
from planforge.assess.hoist_radius import radius_findings
from planforge.assess.index import Index
from planforge.assess.post_model import GuyParts, PostParts
from planforge.calc.load_chart import rated_load_at
from planforge.job.base import Rated
from planforge.job.equipment import Tool
from planforge.job.erection import Hoisting
from planforge.job.layout import Framing
from planforge.units import INCH, Display


def framing_findings(index: Index, posts: list[PostParts]) -> list[Finding]:
    """For each post and set of trusses or joists that stand together: by how much it fouls one."""
    findings, display = [], Display(index.job.site.units)
    for framing in index.job.layout.framing:
        for parts in posts:
            together = index.shared_phases(parts.post.phases, framing.phases)
            if not together:
                continue
            if _within(parts, framing):
                findings.append(_fouls(parts, framing, together, display))
            findings += [_guy_fouls(parts, guy, framing, together) for guy in parts.guys]
    return findings + [f for parts in posts for f in _over_openings(index, parts)]


def _guy_fouls(parts: PostParts, guy: GuyParts, framing: Framing, together: list[str]) -> Finding:
    """A guy against the framing's members at every inch of it within their depth and outline."""
    along = np.linspace(0.0, 1.0, max(int(guy.length / INCH), 2))[:, None]
    start = np.array([*parts.post.at, parts.base + guy.line.height])
    points = start + along * (np.array([*guy.line.to, guy.line.elevation]) - start)
    inside = shapely.contains_xy(shapely.polygons(np.asarray(framing.area)), points[:, 0], points[:, 1])
    deep = (points[:, 2] > framing.bottom) & (points[:, 2] < framing.top) & inside
    where = f"{parts.id} · {guy.line.id} · {framing.id}"
    phase = ", ".join(together)
    if not deep.any():
        note = f"It passes clear of the {framing.kind}' depth."
        return found("framing.clear", where, Verdict.NOT_APPLICABLE, phase=phase, note=note)
    off = [abs(across(framing, (float(p[0]), float(p[1])))) for p in points[deep]]
    left = min(off) - 0.5 * framing.thickness
    clear = keeps(left, 0.0, "at least")
    return found(
        "framing.clear",
        where,
        clear,
        phase=phase,
        value=left,
        limit=0.0,
        unit="m",
        sense="at least",
        note="" if clear is Verdict.MEETS else "Turn the guy so that it runs between two of them.",
    )


def _over_openings(index: Index, parts: PostParts) -> list[Finding]:
    """A guy that crosses an opening or stair in plan is in people's way."""
    findings = []
    for guy in parts.guys:
        run = shapely.linestrings(np.asarray([parts.post.at, guy.line.to]))
        crossed = [
            o.id
            for o in index.job.layout.openings
            if o.kind != "wall opening" and shapely.intersects(run, shapely.polygons(np.asarray(o.outline)))
        ]
        if crossed:
            findings.append(
                found(
                    "framing.clear",
                    f"{parts.id} · {guy.line.id} · {', '.join(crossed)}",
                    Verdict.CONFIRM,
                    value="crosses " + ", ".join(crossed),
                    note="Flag it, or turn it: nobody may walk into it or cut it for access.",
                )
            )
    return findings


def _within(parts: PostParts, framing: Framing) -> bool:
    """True where the post's head reaches the framing's depth within its outline."""
    reaches = parts.base + parts.kind.head_height > framing.bottom and parts.base < framing.top
    area = shapely.polygons(np.asarray(framing.area))
    return reaches and bool(shapely.contains_xy(area, *parts.post.at))


def across(framing: Framing, at: tuple[float, float]) -> float:
    """Signed distance of a place from the nearest member's centre line, m, left of its run positive."""
    normal = np.array([-np.sin(framing.direction), np.cos(framing.direction)])
    offset = float((np.asarray(at) - np.asarray(framing.first)) @ normal)
    return offset - round(offset / framing.spacing) * framing.spacing


def _fouls(parts: PostParts, framing: Framing, together: list[str], display: Display) -> Finding:
    off = across(framing, parts.post.at)
    radius = 0.5 * (parts.kind.outer_diameter or 0.0)
    left = abs(off) - 0.5 * framing.thickness - radius
    clear = keeps(left, 0.0, "at least")
    note = ""
    if clear is Verdict.SHORT:
        turn = framing.direction + (np.pi / 2 if off >= 0 else -np.pi / 2)
        way = f"{np.degrees(turn) % 360:.0f}° counter-clockwise from the plan's x"
        note = f"Move it {display.length(-left, 'up')} or more towards {way}."
    elif parts.kind.outer_diameter is None:
        clear, note = Verdict.CONFIRM, "The tube's outer diameter is not stated."
    return found(
        "framing.clear",
        f"{parts.id} · {framing.id}",
        clear,
        phase=", ".join(together),
        value=left,
        limit=0.0,
        unit="m",
        sense="at least",
        note=note or f"Between the tube and the nearest of the {framing.kind}.",
    )


def hoist_findings(index: Index, posts: list[PostParts]) -> list[Finding]:
    """The lift: what is written, and the heaviest pick against the machine's rated load."""
    gear = [_gear(tool, posts) for tool in index.job.equipment.lifting_gear if tool.lifts]
    if not posts:
        return gear
    plan = index.job.hoisting
    if plan is None:
        note = "Write the part hoisting: machine, operator, rigging, lift point, retention, hook's release."
        return [
            found("hoist.plan", "lift", Verdict.SHORT, value="not written", note=note),
            found("hoist.load", "lift", Verdict.CONFIRM, value="not stated", limit="rated load not stated"),
            *gear,
        ]
    fields = ("lift_point", "retention", "tag_line", "signals", "below", "hook_released")
    missing = [name for name in fields if getattr(plan, name) is None]
    written = found(
        "hoist.plan",
        "lift",
        stated(not missing),
        value="written" if not missing else "not written: " + ", ".join(missing),
        note="" if not missing else "Write each under hoisting.",
    )
    above = _above_middle(posts, plan.lift_point)
    return [written, above, _machine(plan, posts), *radius_findings(index.job, plan, posts), *gear]


def _machine(plan: Hoisting, posts: list[PostParts]) -> Finding:
    """The heaviest post with its rigging against what the machine may lift at the radius used.

    Without a value that only makes the lift heavier or the machine weaker, what is known may be `short`
    already; it never `meets`.
    """
    weights = [p.kind.weight for p in posts]
    known = [w for w in weights if w is not None]
    asked = []
    if plan.rigging_weight is None:
        asked.append("State rigging_weight: slings, shackles and what else hangs from the hook.")
    if plan.deduction is None:
        asked.append("State deduction from the load chart, 0 where it is made for this attachment.")
    if plan.radius is None:
        asked.append("State the radius used.")
    ratings, beyond = _ratings(plan)
    value = max(known) + (plan.rigging_weight or 0.0) if known else None
    limit: float | str = "rated load at the radius not stated"
    if beyond:
        limit = "no rated load: the radius lies beyond the chart"
    elif ratings:
        limit = max(min(r.value for r in ratings) - (plan.deduction.value if plan.deduction else 0.0), 0.0)
    if beyond:
        verdict = Verdict.SHORT
        asked.append("Bring the machine nearer, or use one whose chart reaches that far.")
    elif value is None or isinstance(limit, str):
        verdict = Verdict.CONFIRM
    else:
        verdict = keeps(value, limit, "at most")
        if verdict is Verdict.MEETS:
            sourced = [vouched(verdict, r) for r in (*ratings, plan.deduction)]
            verdict = worst(Verdict.CONFIRM if asked or len(known) < len(weights) else verdict, *sourced)
    return found(
        "hoist.load",
        "lift",
        verdict,
        value="weight not stated" if value is None else value,
        limit=limit,
        unit="kg" if value is not None or not isinstance(limit, str) else "",
        sense="at most",
        source="; ".join(dict.fromkeys(r.source or "no document" for r in ratings)),
        note=" ".join(asked) or "The post as joined, with its base and rigging.",
    )


def _ratings(plan: Hoisting) -> tuple[list[Rated[float]], bool]:
    """What the machine is rated for at the radius, and whether that lies beyond its chart."""
    ratings = [plan.rated_load] if plan.rated_load else []
    if plan.load_chart is None or plan.radius is None:
        return ratings, False
    load = rated_load_at([(p.radius, p.rated_load.value) for p in plan.load_chart], plan.radius)
    if load is None:
        return ratings, True
    return [*ratings, *(p.rated_load for p in plan.load_chart if p.rated_load.value == load)], False


def _gear(tool: Tool, posts: list[PostParts]) -> Finding:
    """A sling or other gear that lifts, against the heaviest post; without a post against nothing."""
    rated, weights = tool.rated_load, [p.kind.weight for p in posts]
    known = [w for w in weights if w is not None]
    if not posts or len(known) < len(weights) or rated is None:
        verdict = Verdict.MEETS if not posts else Verdict.CONFIRM
        value: float | str = max(known) if known else "weight not stated" if posts else "no post to lift"
    else:
        verdict, value = keeps(max(known), rated.value, "at most"), max(known)
    return found(
        "hoist.load",
        tool.id,
        vouched(verdict, rated),
        value=value,
        limit=rated.value if rated else "rated load not stated",
        unit="kg" if known or rated else "",
        sense="at most",
        source=(rated.source if rated else None) or "no document",
        note="A bundle weighs more than one post: read the gear's tag before the lift."
        if rated
        else "State rated_load; lifts: false where it only steadies a load.",
    )


def _above_middle(posts: list[PostParts], lift_point: float | None) -> Finding:
    """A post hangs upright only where it is held above its centre of gravity, taken at mid-height."""
    middle = max(p.kind.head_height for p in posts) / 2
    if lift_point is None:
        return found("hoist.plan", "lift point", Verdict.CONFIRM, value="not stated", limit=middle, unit="m")
    return found(
        "hoist.plan",
        "lift point",
        keeps(lift_point, middle, "at least"),
        value=lift_point,
        limit=middle,
        unit="m",
        sense="at least",
        source="statics: above the centre of gravity, taken at mid-height",
    )
