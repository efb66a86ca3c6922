"""What is overhead and beside: framing in the way, and the lift."""

from __future__ import annotations

import numpy as np
import shapely

from planforge.assess.finding import Finding, Verdict, found, keeps, stated, vouched
from planforge.assess.index import Index
from planforge.assess.post_model import GuyParts, PostParts
from planforge.job.equipment import Tool
from planforge.job.layout import Framing
from planforge.units import INCH


def framing_findings(index: Index, posts: list[PostParts]) -> list[Finding]:
    """For each post and set of trusses or joists that stand together: by how much it fouls one."""
    findings = []
    for framing in index.job.layout.framing:
        for parts in posts:
            together = index.shared_phases(parts.post.phases, framing.phases)
            if not together:
                continue
            if _within(parts, framing):
                findings.append(_fouls(parts, framing, together))
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


def _fouls(parts: PostParts, framing: Framing, together: list[str]) -> Finding:
    off = across(framing, parts.post.at)
    radius = 0.5 * (parts.kind.outer_diameter or 0.0)
    left = abs(off) - 0.5 * framing.thickness - radius
    clear = keeps(left, 0.0, "at least")
    note = ""
    if clear is Verdict.SHORT:
        turn = framing.direction + (np.pi / 2 if off >= 0 else -np.pi / 2)
        way = f"{np.degrees(turn) % 360:.0f}° counter-clockwise from the plan's x"
        note = f"Move it {-left / INCH:.1f} in or more towards {way}."
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
    """The lift: what is written, and the heaviest post against the machine's rated load."""
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
    weights = [p.kind.weight for p in posts]
    heaviest = max((w for w in weights if w is not None), default=None)
    rated = plan.rated_load
    if heaviest is None or rated is None or any(w is None for w in weights):
        load = found(
            "hoist.load",
            "lift",
            Verdict.CONFIRM,
            value=heaviest if heaviest is not None else "weight not stated",
            limit=rated.value if rated else "rated load at the radius not stated",
            unit="kg" if heaviest is not None else "",
            sense="at most",
        )
    else:
        load = found(
            "hoist.load",
            "lift",
            vouched(keeps(heaviest, rated.value, "at most"), rated),
            value=heaviest,
            limit=rated.value,
            unit="kg",
            sense="at most",
            source=rated.source or "no document",
            note="" if plan.radius else "State the radius used.",
        )
    return [written, _above_middle(posts, plan.lift_point), load, *gear]


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
