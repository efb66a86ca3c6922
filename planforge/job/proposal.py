"""What the coordinator allows a proposed layout to be made of, and what must stay as it is.

`planforge propose` chooses posts, lines, single anchorages, guardrails and covers within these bounds.
Nothing that lives depend on has a default here: what is not allowed by name is not proposed.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Id, JobModel, Name, Outline, Text
from planforge.job.hazard import PassedOver
from planforge.job.quantities import (
    DringHeight,
    Elevation,
    Factor,
    Length,
    Mass,
    PositiveLength,
    Sag,
    Temperature,
)
from planforge.job.task import Surface

WayOut = Literal["out before what is overhead", "between the members"]


class Guying(JobModel):
    """How proposed posts are guyed."""

    kind: Id
    """The guy (an id under `equipment.guys`)."""
    height: PositiveLength
    """Where it is attached: above the underside of the post's base."""
    lower: list[PositiveLength] = Field(default=[], max_length=3)
    """Lower attachments that may be used as well, for posts whose guys would else foul a neighbour's."""
    spacing: PositiveLength
    """How far apart plate anchors are tried along a wall's plates."""
    apart: PositiveLength
    """The least distance between two plate anchors, and between the guys of two posts."""
    most: int | None = Field(default=None, ge=1, le=12)
    """How many guys a post may have; absent, the maker's number. More than that are proposed only where the
    post would fall short with fewer."""


class HoistStand(JobModel):
    """Where the machine that hoists the posts can stand."""

    outline: Outline
    """The ground it can stand on, in plan."""
    reach: PositiveLength
    """How far from there, in plan, it sets a post with its load at that radius."""


class ProposedWork(JobModel):
    """Work done at hazard edges by people who would be tied to a proposed line or anchorage."""

    task: Id
    """The task (an id under `tasks`); its phases are those of the work."""
    edges: list[Id] = Field(min_length=1)
    """The hazard edges it is done at: edges of the layout, or whole floors, walls, roofs and openings."""
    surface: Surface
    """What the worker stands on."""
    elevation: Elevation | None = None
    """The surface's height above the top of the slab; absent, the edge's own height."""
    dring_height: DringHeight | None = None
    """The D-ring's height above the surface in this posture; absent, the standing height."""
    connector: Id
    """The connector (an id under `equipment.connectors`)."""
    outward: list[Id] = Field(min_length=1)
    """What lies below over the edge: ids of `lower_levels` or of `layout.levels`; the highest one governs."""
    inward: list[Id] = []
    """What lies below behind the worker, where one can fall there too."""
    obstacle: Length | None = None
    """The horizontal distance to something that a swing would strike, where there is one."""


class AllowedGuardrail(JobModel):
    """Where a guardrail is acceptable; it ranks over every line and anchorage and is then proposed."""

    edges: list[Id] = Field(min_length=1)
    """The hazard edges: edges of the layout, or whole floors, walls, roofs and openings."""
    phases: list[Id] = Field(min_length=1)
    """The phases in which it can stand there."""
    top: Length
    """The top edge's height above the level."""
    middle: Length
    """The midrail's height."""
    toeboard: Length | None = None
    """The toeboard's height."""
    strength: Name | None = None
    """What shows that it holds the test load: a tested design, a table, an engineer's letter."""
    reason: Text
    """Why it serves there."""


class AllowedCover(JobModel):
    """An opening that a cover may close; it ranks over every line and anchorage and is then proposed."""

    opening: Id
    """The opening (an id under `layout.openings`)."""
    phases: list[Id] = Field(min_length=1)
    """The phases in which it can lie there."""
    holds: Mass
    """The weight it is built for."""
    heaviest: Mass
    """The most that people, equipment and materials weigh on it at one time."""
    secured: Text
    """How it is fixed."""
    marking: Name
    """How it is marked."""
    reason: Text
    """Why it serves there."""


class Proposal(JobModel):
    """What a proposed layout may be made of."""

    posts: list[Id] = Field(min_length=1)
    """The kinds of post allowed (ids under `equipment.posts`); both ends of a line are of one kind."""
    stands_on: Id
    """The level their bases stand on."""
    guying: Guying
    """How they are guyed; the walls that take guys are `building.walls` with `takes_guys`."""
    lifelines: list[Id] = Field(min_length=1)
    """The lifeline systems allowed (ids under `equipment.lifelines`)."""
    workers: int = Field(ge=1, le=12)
    """How many workers each proposed line takes at once."""
    anchorages: bool
    """Whether a post's head may be proposed as a single anchorage, for one worker."""
    installed_at: Temperature
    """The temperature for which the target sags are stated."""
    sag_to_span: Factor
    """The target sag over the span, before it is rounded to the step."""
    least_sag: Sag
    """The least target sag, whatever the span; the maker's band bounds it as well."""
    sag_step: Sag
    """What target sags are rounded to, such as 1/4 in."""
    insets: list[PositiveLength] = Field(min_length=1, max_length=6)
    """How far in plan from a hazard edge posts are tried."""
    spacing: PositiveLength
    """How far apart places for posts are tried along an edge."""
    reach: PositiveLength
    """How far from a line or anchorage, in plan, the work may take a worker who is tied to it."""
    edge_distance: PositiveLength
    """The least distance from the centre of a base to the slab's edge."""
    bases_apart: PositiveLength
    """The least distance between the centres of two bases."""
    hoists: list[HoistStand] = Field(min_length=1)
    """Where the machine that hoists the posts can stand, and how far it reaches."""
    way_out: WayOut
    """How a post leaves: before trusses and joists stand over it, or straight up between two of them."""
    mast_width: PositiveLength
    """The widest part of a post that must pass on its way out: base plate or collar."""
    work: list[ProposedWork] = Field(min_length=1)
    """The work at the hazard edges."""
    guardrails: list[AllowedGuardrail] = []
    """Where guardrails are acceptable."""
    covers: list[AllowedCover] = []
    """Which openings may be covered."""
    reason: Text
    """Why lines and anchorages are chosen where no higher-ranked control is."""
    passed_over: list[PassedOver] = []
    """The higher-ranked controls that are not acceptable at the other edges, each with its reason."""
    exposed: Name
    """Who is exposed at the edges that have no hazard in the register yet."""
    pinned: list[Id] = []
    """Posts, lines and anchorages of the layout, which stay as they are; the layout may hold no others."""
    rescue_means: list[Id] = []
    """The means of rescue (ids under `rescue.means`) that serve every proposed line and anchorage."""
