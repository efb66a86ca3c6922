"""What the pages say of each post: where it stands, how high its head is, what guys and anchors it takes."""

from __future__ import annotations

from dataclasses import dataclass

from planforge.assess.assessment import Assessment
from planforge.document.context_lines import own_posts
from planforge.document.printed import DASH, Printed


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
            )
        )
    return tuple(views)
