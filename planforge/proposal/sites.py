"""Places where a post could stand: on a grid along the hazard edges, each held against what is in its way.

Every place keeps what it fails, with the value it has and the value that is asked for, so that an
infeasible proposal can say what would have to give. Lengths in m.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely

from planforge.assess.base_checks import base_findings
from planforge.assess.base_model import bases
from planforge.assess.finding import Verdict
from planforge.assess.index import Index
from planforge.assess.overhead import across
from planforge.assess.post_model import PostParts
from planforge.calc.arrays import Array
from planforge.job.layout import GuyLine, Post
from planforge.proposal.edges import HazardEdge, proposal_of
from planforge.units import INCH


@dataclass(frozen=True)
class Failure:
    """A constraint that a place or line does not keep. ``value`` and ``limit`` are in SI, None for words."""

    constraint: str
    where: str
    value: float | None = None
    limit: float | None = None
    unit: str = "m"

    @property
    def kind(self) -> str:
        """The constraint without what it names: `wall`, `slab contents`."""
        return self.constraint.partition(":")[0]

    @property
    def excess(self) -> float:
        """By what part of its limit it fails; 1 for what has no numbers."""
        if self.value is None or not self.limit:
            return 1.0
        return abs(self.value - self.limit) / abs(self.limit)


@dataclass(frozen=True)
class Site:
    """A place for a post of one kind, with its guys where it has any."""

    at: tuple[float, float]
    kind: str
    guys: tuple[GuyLine, ...] = ()
    phases: tuple[str, ...] = ()  # in which it can stand
    failures: tuple[Failure, ...] = field(default=())
    waived: tuple[Failure, ...] = field(default=())  # failures that a relaxed problem lets pass
    pinned: str | None = None  # the post of the layout that it is

    @property
    def key(self) -> tuple[float, float, str]:
        """What it is ordered by."""
        return (*self.at, self.kind)


def snapped(value: float) -> float:
    """A plan coordinate to the whole inch."""
    return float(np.floor(value / INCH + 0.5 + 1e-6) * INCH)


def even_steps(length: float, first: float, spacing: float) -> Array:
    """Places along a length from ``first`` to as far from its other end, about ``spacing`` apart, m.

    Each lies whole inches from the nearer end, so that they come out the same from either end and wherever
    on the plan the length is.
    """
    inner = length - 2.0 * first
    if inner <= 0.0:
        return np.array([0.5 * length])
    count = max(int(np.ceil(inner / spacing - 1e-9)), 1)
    steps = first + np.linspace(0.0, inner, count + 1)
    from_end = np.minimum(steps, length - steps)
    whole = np.floor(from_end / INCH + 0.5 + 1e-6) * INCH
    return np.asarray(np.where(steps <= 0.5 * length, whole, length - whole))


def grid(index: Index, edges: list[HazardEdge]) -> list[tuple[float, float]]:
    """Places along every edge: at each inset, both sides, evenly from end to end; each once, in order.

    An even division comes out the same from either end, so that a mirrored job has the mirrored places.
    """
    proposal = proposal_of(index)
    places = set()
    for edge in edges:
        for start, end in edge.pieces:
            length = float(np.hypot(*(end - start)))
            along = (end - start) / length
            normal = np.array([-along[1], along[0]])
            for inset in proposal.insets:
                # a corner's posts stand an inset from both edges
                insets = np.asarray(proposal.insets)
                steps = np.concatenate([even_steps(length, 0.0, proposal.spacing), insets, length - insets])
                for step in steps[(steps >= -1e-9) & (steps <= length + 1e-9)]:
                    for side in (1.0, -1.0):
                        x, y = start + step * along + side * inset * normal
                        places.add((_clean(float(x), along), _clean(float(y), along)))
    return sorted(places)


def _clean(value: float, along: Array) -> float:
    """A coordinate of a place beside an edge: as it comes along the plan's axes, else to the whole inch."""
    square = float(np.min(np.abs(along))) < 1e-9
    return round(value if square else snapped(value), 6)


def sites(index: Index, edges: list[HazardEdge], relaxed: frozenset[str] = frozenset()) -> list[Site]:
    """Every place on the slab with what it fails; ``relaxed`` constraints are not asked for."""
    proposal, layout = proposal_of(index), index.job.layout
    slab = shapely.polygons(np.asarray(layout.slab or layout.footprint))
    shapely.prepare(slab)
    found = []
    for kind in proposal.posts:
        for at in grid(index, edges):
            if not shapely.contains_xy(slab, *at):
                continue
            failures = _failures(index, slab, edges, kind, at)
            found.append(
                Site(
                    at,
                    kind,
                    failures=tuple(f for f in failures if f.kind not in relaxed),
                    waived=tuple(f for f in failures if f.kind in relaxed),
                )
            )
    return found


def pinned_sites(index: Index) -> list[Site]:
    """The layout's own posts, which stay."""
    return [
        Site(
            (float(post.at[0]), float(post.at[1])),
            post.kind,
            tuple(post.guys),
            tuple(index.shared_phases(post.phases)),
            pinned=post.id,
        )
        for post in index.job.layout.posts
    ]


def as_post(index: Index, site: Site, post_id: str) -> Post:
    """The site as a post of the layout."""
    if site.pinned is not None:
        return index.posts[site.pinned]
    return Post.model_construct(
        id=post_id,
        kind=site.kind,
        at=site.at,
        stands_on=proposal_of(index).stands_on,
        guys=list(site.guys),
        phases=list(site.phases),
    )


def _failures(
    index: Index, slab: shapely.Polygon, edges: list[HazardEdge], kind: str, at: tuple[float, float]
) -> list[Failure]:
    proposal = proposal_of(index)
    failures = []
    where = named_place(at)
    edge = float(shapely.distance(shapely.boundary(slab), shapely.Point(at)))
    if edge < proposal.edge_distance - 1e-9:
        failures.append(Failure("slab edge distance", where, edge, proposal.edge_distance))
    hoist = [
        (max(float(shapely.distance(shapely.Polygon(h.outline), shapely.Point(at))), 0.0), h.reach)
        for h in proposal.hoists
    ]
    off, reach = min(hoist, key=lambda one: one[0] - one[1])
    if off > reach + 1e-9:
        failures.append(Failure("hoist's reach", where, off, reach))
    for opening in index.job.layout.openings:
        outline = shapely.Polygon(opening.outline)
        stair = opening.kind in ("stair opening", "shaft")
        if stair and shapely.distance(outline, shapely.Point(at)) < 0.5 * proposal.mast_width:
            failures.append(Failure(f"opening: {opening.id}", where))
    return failures + _in_the_way(index, edges, at) + _base_failures(index, kind, at)


def _in_the_way(index: Index, edges: list[HazardEdge], at: tuple[float, float]) -> list[Failure]:
    """Walls, and the rims and beams under hazard edges, that a post of its width would run into."""
    half, point = 0.5 * proposal_of(index).mast_width, shapely.Point(at)
    where = named_place(at)
    building = index.job.building
    failures = []
    for wall in building.walls if building else []:
        off = float(shapely.distance(shapely.LineString(wall.path), point)) - 0.5 * wall.thickness
        if off < half - 1e-9:
            failures.append(Failure(f"wall: {wall.id}", where, off, half))
    for edge in edges:
        off = float(shapely.distance(shapely.linestrings(edge.path), point))
        if off < half - 1e-9:
            failures.append(Failure(f"edge: {edge.id}", where, off, half))
    return failures


def named_place(at: tuple[float, float]) -> str:
    """A place in words: its coordinates in inches."""
    return f"({at[0] / INCH:.0f} in, {at[1] / INCH:.0f} in)"


def _base_failures(index: Index, kind: str, at: tuple[float, float]) -> list[Failure]:
    """What the base's own checks find short there: holes against slab contents, edges, depth, age."""
    post = as_post(index, Site(at, kind), "site")
    parts = PostParts(post, index.post_kinds[kind], index.job.layout.levels[post.stands_on], ())
    return [
        Failure(
            f.id if f.id != "base.contents" else f"slab contents: {f.where.partition(' · ')[2]}",
            named_place(at),
            f.value if isinstance(f.value, float) else None,
            f.limit if isinstance(f.limit, float) else None,
            f.unit,
        )
        for base in bases(index, [parts])
        for f in base_findings(base, None)
        if f.verdict is Verdict.SHORT
    ]


def way_out_phases(index: Index, site: Site, phases: tuple[str, ...]) -> tuple[str, ...]:
    """The phases in which a post may stand there: clear of framing, and with its way out."""
    proposal = proposal_of(index)
    kind = index.post_kinds[site.kind]
    head = index.job.layout.levels[proposal.stands_on] + kind.head_height
    good = []
    for phase in phases:
        over = [
            f
            for f in index.job.layout.framing
            if index.shared_phases(f.phases, [phase])
            and shapely.contains_xy(shapely.Polygon(f.area), *site.at)
        ]
        radius = 0.5 * (kind.outer_diameter or 0.0)
        clear = all(
            abs(across(f, site.at)) - 0.5 * f.thickness > radius + 1e-9 for f in over if head > f.bottom
        )
        if proposal.way_out == "between the members":
            half = 0.5 * proposal.mast_width
            clear = clear and all(abs(across(f, site.at)) - 0.5 * f.thickness >= half - 1e-9 for f in over)
        else:
            clear = clear and not over
        if clear:
            good.append(phase)
    return tuple(good)


def distances(places: Array, others: Array) -> Array:
    """Distance in plan of every one of (A, 2) from every one of (B, 2), m, (A, B)."""
    return np.asarray(np.linalg.norm(places[:, None] - others[None], axis=-1))
