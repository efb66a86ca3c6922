"""What the pages say of each post: where it stands, how its base is turned, its guys, what it carries."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from planforge.assess.assessment import Assessment
from planforge.assess.built_angle import allowed_angles, base_tolerance
from planforge.assess.index import Index
from planforge.assess.post_model import post_parts
from planforge.document.context_lines import own_posts
from planforge.document.printed import DASH, Printed
from planforge.job.layout import Layout, Post

_SAME_PLACE: Final = 0.001
"""Two places in plan nearer than this are one (m)."""


@dataclass(frozen=True, slots=True)
class PostView:
    """A post as drawings, as-built table and erection sheet name it."""

    id: str
    kind: str
    at: str  # plan x, y of the base
    stands_on: str
    head: str  # the attachment's height above the level it stands on
    guys: int
    base_anchors: int
    carries: str  # lines and anchors
    turned: str  # its base, counter-clockwise in plan
    laid_out: str  # a row a guy: id, anchor's x, y and height, its way in plan, angle from the post
    phases: str  # in which it stands


def guys_laid_out(index: Index, post: Post, show: Printed) -> str:
    """Each guy of a post with its plate anchor's place, its way in plan and its angle from the post."""
    told = []
    for guy in post_parts(index, post).guys:
        x, y = guy.line.to
        place = f"{show.length(x)}, {show.length(y)}, {show.length(guy.line.elevation)} up"
        way = show.angle(guy.azimuth % (2.0 * math.pi))
        told.append(f"{guy.line.id}: {place}; {way}; {show.angle(guy.angle)}")
    return "\n".join(told)


def guy_angles(index: Index, show: Printed) -> dict[str, str]:
    """The angles from the post at which each guy may be found, by its id; none without a tolerance."""
    off = base_tolerance(index)
    if off is None:
        return {}
    allowed = {
        guy.line.id: allowed_angles(guy, off)
        for post in index.job.layout.posts
        for guy in post_parts(index, post).guys
    }
    return {
        guy: f"{show.angle(ends[0]).removesuffix('°')} – {show.angle(ends[1])}" if ends else DASH
        for guy, ends in allowed.items()
    }


def origin_of(layout: Layout) -> str:
    """What x and y count from: the lower left corner of ``slab`` or ``building``, or else a bare ``mark``."""
    named = {"slab": layout.slab, "building": layout.footprint}
    for name, outline in named.items():
        if outline is None:
            continue
        low = tuple(min(point[axis] for point in outline) for axis in (0, 1))
        is_corner = any(math.hypot(*point) < _SAME_PLACE for point in outline)
        if is_corner and math.hypot(*low) < _SAME_PLACE:
            return name
    return "mark"


def post_views(assessment: Assessment, show: Printed) -> tuple[PostView, ...]:
    """Every post, in the job's order."""
    index, layout = assessment.index, assessment.job.layout
    things = [line.id for line in layout.lines] + [anchor.id for anchor in layout.anchors]
    posts_of = {thing: own_posts(assessment, thing) for thing in things}
    views = []
    for post in layout.posts:
        kind = index.kind_of(post)
        views.append(
            PostView(
                id=post.id,
                kind=kind.name,
                at=f"{show.length(post.at[0])}, {show.length(post.at[1])}",
                stands_on=index.surface_name(post.stands_on),
                head=show.length(kind.head_height),
                guys=kind.guys,
                base_anchors=kind.base_anchors,
                carries=", ".join(thing for thing, own in posts_of.items() if post.id in own) or DASH,
                turned=show.angle(post.turned),
                laid_out=guys_laid_out(index, post, show),
                phases=", ".join(index.shared_phases(post.phases)),
            )
        )
    return tuple(views)
