"""Posts that can stand: guys that run down to the building, joints below the head, bases on the slab."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import shapely

from planforge.errors import Problem
from planforge.job.consistency_outlines import SAME_PLACE, point_text, sound
from planforge.job.cross_references import entries
from planforge.job.equipment import Joint, PostKind
from planforge.job.erection import ChartPoint
from planforge.job.layout import GuyLine, Post
from planforge.job.model import Job
from planforge.job.named import Named
from planforge.job.positions import FieldPath, Locator
from planforge.job.unread import where_read
from planforge.job.wording import shown
from planforge.units import FOOT, Display

OUTSIDE_FOOTPRINT = FOOT
"""A wall plate lies no farther outside the footprint than this (m)."""
STEEL_MODULUS = 199.948e9
"""E of steel in AISC 360 (29,000 ksi), Pa, where a kind of post states none."""
LEAST_REACH = 1e-2
"""A plate anchor nearer to its post in plan than this (m) is straight below it."""


def check_posts(job: Job, locator: Locator) -> Iterator[Problem]:
    """Yield a problem for each guy, joint, base and lift point that can't be."""
    for path, kind in entries(job, "equipment.posts"):
        yield from _joints(locator, (*path, "joints"), kind)
        yield from _tube(locator, path, kind)
        yield from _hole_spacing(job, locator, path, kind)
    named = Named(job)
    for path, post in entries(job, "layout.posts"):
        for place, guy in entries(post, "guys"):
            yield from _anchored(job, locator, (*path, *place), guy)
            yield from _attached(named, locator, (*path, *place), guy, post)
            yield from _runs_down(named, locator, (*path, *place), guy, post)
        yield from _holes(named, locator, path, post)
    yield from _lift_point(job, locator)
    yield from _load_chart(job, locator)


@where_read
def _joints(locator: Locator, path: FieldPath, kind: PostKind) -> Iterator[Problem]:
    for number, joint in enumerate(kind.joints):
        yield from _below_head(locator, (*path, number, "height"), kind, joint)
    for number, (before, joint) in enumerate(pairwise(kind.joints), start=1):
        yield from _above_last(locator, (*path, number, "height"), before, joint)
    if len(kind.joints) >= kind.sections:
        yield locator.problem(
            path,
            expected=f"fewer joints than sections, which are {kind.sections}",
            remedy="Delete a joint, or correct sections.",
        )


@where_read
def _below_head(locator: Locator, path: FieldPath, kind: PostKind, joint: Joint) -> Iterator[Problem]:
    if joint.height >= kind.head_height:
        head = shown(locator.value((*path[:-3], "head_height")))
        yield locator.problem(
            path,
            expected=f"less than head_height, which is {head}",
            remedy="Measure from the underside of the base; correct height or head_height.",
        )


@where_read
def _above_last(locator: Locator, path: FieldPath, before: Joint, joint: Joint) -> Iterator[Problem]:
    if joint.height <= before.height:
        *joints, number, field = path
        earlier = shown(locator.value((*joints, int(number) - 1, field)))
        yield locator.problem(
            path,
            expected=f"more than the joint listed before it, at {earlier}",
            remedy="List each joint once, from the base up.",
        )


@where_read
def _tube(locator: Locator, path: FieldPath, kind: PostKind) -> Iterator[Problem]:
    """A wall that leaves no bore, or one so thin that AISC 360 gives the tube no strength (E7.2, F8)."""
    outer, wall = kind.outer_diameter, kind.wall
    if outer is None or wall is None:
        return
    outside = shown(locator.value((*path, "outer_diameter")))
    if 2.0 * wall > outer:
        yield locator.problem(
            (*path, "wall"),
            expected=f"at most half of outer_diameter, which is {outside}",
            remedy="Correct wall or outer_diameter; they may be exchanged.",
        )
        return
    if kind.steel_yield is None:
        return
    modulus = kind.steel_modulus.value if kind.steel_modulus else STEEL_MODULUS
    most = 0.45 * modulus / kind.steel_yield.value
    if outer / wall >= most:
        yield locator.problem(
            (*path, "wall"),
            found=f"{shown(locator.value((*path, 'wall')))}, outer diameter over wall {outer / wall:.0f}",
            expected=f"a ratio below 0.45 E/Fy, which is {most:.0f}: AISC 360 E7.2 and F8 give a "
            "thinner tube no strength",
            remedy="Correct wall, outer_diameter, steel_yield or steel_modulus. For such a tube leave wall "
            "out and state stiffness_low, stiffness_high and line_strength from its maker.",
        )


@where_read
def _hole_spacing(job: Job, locator: Locator, path: FieldPath, kind: PostKind) -> Iterator[Problem]:
    if kind.hole_spacing is None:
        return
    if min(kind.hole_spacing) <= 0.0:
        yield locator.problem(
            (*path, "hole_spacing"),
            found=point_text(locator, (*path, "hole_spacing")),
            expected="two lengths above 0, the holes' spacing both ways",
            remedy="Write the spacing of the base's holes centre to centre, such as [8 in, 8 in].",
        )
        return
    half = max(kind.hole_spacing) / 2
    if kind.base_toe is not None and kind.base_toe < half - SAME_PLACE:
        yield locator.problem(
            (*path, "base_toe"),
            expected=f"at least half the spacing of the holes, {Display(job.site.units).inches(half)}",
            remedy="Measure from the base's centre to its edge; correct base_toe or hole_spacing.",
        )


@where_read
def _attached(named: Named, locator: Locator, path: FieldPath, guy: GuyLine, post: Post) -> Iterator[Problem]:
    job, kind = named.job, named.post_kinds.get(post.kind)
    if kind is not None and guy.height > kind.head_height:
        head = Display(job.site.units).length(kind.head_height)
        yield locator.problem(
            (*path, "height"),
            expected=f"at most the head of {shown(kind.id)}, {head}",
            remedy="Measure from the underside of the base to where the guy is attached.",
        )


@where_read
def _runs_down(
    named: Named, locator: Locator, path: FieldPath, guy: GuyLine, post: Post
) -> Iterator[Problem]:
    job = named.job
    base = job.layout.levels.get(post.stands_on)
    if base is None or post.kind not in named.post_kinds:
        return
    display = Display(job.site.units)
    attached = base + guy.height
    if guy.elevation >= attached:
        yield locator.problem(
            (*path, "elevation"),
            expected=f"a plate anchor below the guy's attachment at {display.length(attached)}",
            remedy="Correct elevation (from the top of the slab) or height (from the post's base).",
        )
        return
    if guy.elevation < base:
        yield locator.problem(
            (*path, "elevation"),
            expected=f"a plate anchor no lower than the post's base at {display.length(base)}",
            remedy="Correct elevation; it counts from the top of the slab, up positive.",
        )
    reach = math.dist(post.at, guy.to)
    if reach < LEAST_REACH:
        yield locator.problem(
            (*path, "to"),
            found=f"{point_text(locator, (*path, 'to'))}, straight below the guy's attachment",
            expected="a plate anchor away from the post in plan",
            remedy="Correct to: the plate anchor's own place in plan.",
        )
    length = math.hypot(reach, attached - guy.elevation)
    joined = sum(piece.length for piece in guy.pieces)
    if joined > length:
        yield locator.problem(
            (*path, "pieces"),
            found=f"pieces of {display.length(joined, 'up')} together",
            expected=f"no more than the guy's own length, {display.length(length)}",
            remedy="Correct the lengths of the pieces, or where the guy runs.",
        )


@where_read
def _anchored(job: Job, locator: Locator, path: FieldPath, guy: GuyLine) -> Iterator[Problem]:
    footprint = sound(job.layout.footprint)
    if footprint is None:
        return
    display = Display(job.site.units)
    outside = footprint.distance(shapely.Point(guy.to))
    if outside > OUTSIDE_FOOTPRINT:
        yield locator.problem(
            (*path, "to"),
            found=f"{point_text(locator, (*path, 'to'))}, {display.feet(outside)} outside the footprint",
            expected=f"a wall plate within {display.feet(OUTSIDE_FOOTPRINT)} of layout.footprint",
            remedy="Correct the coordinates: a guy is anchored to a wall plate, not in the air.",
        )


@where_read
def _holes(named: Named, locator: Locator, path: FieldPath, post: Post) -> Iterator[Problem]:
    """A base whose centre is on the slab but a hole is not; a centre off it is a problem of its own."""
    job, kind = named.job, named.post_kinds.get(post.kind)
    layout = job.layout
    if kind is None or layout.levels.get(post.stands_on) != 0:
        return
    outline = sound(layout.slab if layout.slab is not None else layout.footprint)
    spacing = kind.hole_spacing
    if outline is None or spacing is None or min(spacing) <= 0.0:
        return
    if outline.distance(shapely.Point(post.at)) > SAME_PLACE:
        return
    off = max(outline.distance(shapely.Point(hole)) for hole in _hole_places(post, spacing))
    if off > SAME_PLACE:
        name = "slab" if layout.slab is not None else "footprint"
        yield locator.problem(
            (*path, "at"),
            found=f"{point_text(locator, (*path, 'at'))}, a hole of its base "
            f"{Display(job.site.units).length(off, 'up')} outside the {name}",
            expected=f"a base whose four holes, as it is turned, lie within layout.{name}",
            remedy="Move or turn the post, or correct hole_spacing of its kind.",
        )


def _hole_places(post: Post, spacing: tuple[float, float]) -> list[tuple[float, float]]:
    """Return the four holes in plan, the base turned counter-clockwise about its centre."""
    cos, sin = math.cos(post.turned), math.sin(post.turned)
    offsets = [(x * spacing[0] / 2, y * spacing[1] / 2) for x in (-1, 1) for y in (-1, 1)]
    return [(post.at[0] + x * cos - y * sin, post.at[1] + x * sin + y * cos) for x, y in offsets]


@where_read
def _lift_point(job: Job, locator: Locator) -> Iterator[Problem]:
    point = job.hoisting.lift_point if job.hoisting else None
    if point is None:
        return
    used = {post.kind for post in job.layout.posts}
    heads = [kind.head_height for kind in job.equipment.posts if kind.id in used]
    if heads and point > min(heads):
        yield locator.problem(
            ("hoisting", "lift_point"),
            expected=f"at most the head of the lowest post, {Display(job.site.units).length(min(heads))}",
            remedy="Measure from the underside of the base to where the sling holds the post.",
        )


@where_read
def _load_chart(job: Job, locator: Locator) -> Iterator[Problem]:
    """Each radius of the load chart once: of two rated loads for one, either might be the slip."""
    first: dict[float, int] = {}
    for index, point in enumerate((job.hoisting.load_chart or []) if job.hoisting else []):
        yield from _radius_once(locator, first, index, point)


@where_read
def _radius_once(
    locator: Locator, first: dict[float, int], index: int, point: ChartPoint
) -> Iterator[Problem]:
    other = first.setdefault(round(point.radius, 6), index)
    if other != index:
        yield locator.problem(
            ("hoisting", "load_chart", index, "radius"),
            expected=f"a radius that load_chart[{other}] does not give already",
            remedy="Keep the point that the chart lists and delete the other.",
        )
