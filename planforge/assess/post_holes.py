"""The holes that posts and guys leave in a deck, found from the layout, and what covers them.

A post that stands below a floor and reaches above it passes it, and so do its guys that run down to plates
below. While a post stands, the deck closes round it; from the day it comes out it is a floor hole. In m.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from planforge.assess.finding import Finding, Verdict, found, keeps, stated
from planforge.assess.index import Index
from planforge.assess.landing import openings_at
from planforge.codes.profile import Profile
from planforge.job.building import Floor
from planforge.job.erection import HoleCover
from planforge.job.layout import Cover, GuyLine, Post
from planforge.units import INCH

HOLE = 2.0 * INCH
"""From this least width on a gap in a floor is a hole (29 CFR 1926.500(b))."""

WHERE = "post holes"
_STATE = " State removal.hole_cover with gap, holds, heaviest, secured and marking."


@dataclass(frozen=True, slots=True)
class PostHole:
    """A post's hole in one floor, with those of its guys."""

    post: str
    floor: str
    level: str
    at: tuple[float, float]
    guys: tuple[str, ...]  # those that pass this floor too
    filled: tuple[str, ...]  # the phases in which the post stands in it
    left: tuple[str, ...]  # the phases in which the post has come out and the floor is there


def post_holes(index: Index) -> list[PostHole]:
    """Every post that passes a floor of the building, in the order of posts and floors."""
    building = index.job.building
    floors = [(floor, _boards(index, floor)) for floor in (building.floors if building else [])]
    return [
        hole
        for post in index.job.layout.posts
        for floor, boards in floors
        if (hole := _hole(index, post, floor, boards)) is not None
    ]


def _boards(index: Index, floor: Floor) -> shapely.Geometry:
    """A floor without its openings."""
    openings = openings_at(index, index.job.layout.levels[floor.level])
    return shapely.difference(
        shapely.Polygon(floor.outline), shapely.union_all([shapely.Polygon(o.outline) for o in openings])
    )


def _hole(index: Index, post: Post, floor: Floor, area: shapely.Geometry) -> PostHole | None:
    levels = index.job.layout.levels
    level, base = levels[floor.level], levels[post.stands_on]
    if not (base < level < base + index.kind_of(post).head_height and shapely.intersects_xy(area, *post.at)):
        return None
    ordered = index.shared_phases()
    there = ordered[ordered.index(floor.laid) :] if floor.laid else ordered
    standing = index.shared_phases(post.phases)
    last = ordered.index(standing[-1]) if standing else -1
    return PostHole(
        post.id,
        floor.id,
        floor.level,
        post.at,
        tuple(g.id for g in post.guys if _passes(post, g, base, level, area)),
        tuple(p for p in standing if p in there),
        tuple(p for p in ordered[last + 1 :] if p in there),
    )


def _passes(post: Post, guy: GuyLine, base: float, level: float, floor: shapely.Geometry) -> bool:
    """Whether a guy comes down through a floor."""
    high = base + guy.height
    if not guy.elevation < level < high:
        return False
    share = (high - level) / (high - guy.elevation)
    x, y = (a + share * (b - a) for a, b in zip(post.at, guy.to, strict=True))
    return bool(shapely.intersects_xy(floor, x, y))


def hole_findings(index: Index, profile: Profile) -> list[Finding]:
    """That the deck closes round what stands in it, and what covers each hole after."""
    holes = post_holes(index)
    if not holes:
        return []
    removal = index.job.removal
    cover = (removal.hole_cover if removal else None) or HoleCover()
    return [_round(holes, cover), *cover_findings(WHERE, cover, profile)]


def _round(holes: list[PostHole], cover: HoleCover) -> Finding:
    """While post and guys stand: no gap round them is a hole."""
    guys = sum(len(h.guys) for h in holes)
    told = f"{len(holes)} of posts ({', '.join(h.post for h in holes)}), {guys} of guys"
    if cover.gap is None:
        verdict = Verdict.CONFIRM
    else:
        verdict = Verdict.MEETS if cover.gap < HOLE - 1e-9 else Verdict.SHORT
    return found(
        "cover.round_posts",
        WHERE,
        verdict,
        value=cover.gap if cover.gap is not None else "not stated",
        limit=HOLE,
        unit="m",
        sense="at most",
        note=f"{told}. Less than this, or it is a hole while the post stands."
        + ("" if cover.gap is not None else _STATE),
    )


def cover_findings(where: str, cover: Cover | HoleCover, profile: Profile) -> list[Finding]:
    """A cover against twice the most that is on it, and whether it is fixed and marked."""
    factor = profile.limits["cover_factor"]
    if cover.holds is None or cover.heaviest is None:
        strength = found("cover.strength", where, Verdict.CONFIRM, value="load or strength not stated")
    else:
        strength = found(
            "cover.strength",
            where,
            keeps(cover.holds, factor.value * cover.heaviest, "at least"),
            value=cover.holds,
            limit=factor.value * cover.heaviest,
            unit="kg",
            sense="at least",
            source=factor.source,
        )
    fixed = bool(cover.secured and cover.marking)
    return [
        strength,
        found(
            "cover.fixed",
            where,
            stated(fixed, otherwise=Verdict.CONFIRM),
            value=f"{cover.secured}; {cover.marking}" if fixed else "fixing or marking not stated",
        ),
    ]
