"""The layout in plan: levels, outlines, edges, openings, posts, lines, anchors and what guards without them.

Coordinates are plan lengths from one origin, x to the right of the sheet, y up it. Elevations
are above (+) or below (-) the top of the slab.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Id, JobModel, Name, Outline, Path, Point, Rated, Text
from planforge.job.quantities import (
    BaseTurn,
    Elevation,
    Force,
    Length,
    Mass,
    PlanAngle,
    PositiveLength,
    Sag,
    Temperature,
)

EdgeKind = Literal["perimeter", "open-to-below", "leading edge", "eave", "rake", "retaining wall"]


class Edge(JobModel):
    """A hazard edge: a line in plan with a drop on one side."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: EdgeKind
    """Which of the listed kinds it is."""
    path: Path
    """Its points in plan, in order."""
    level: Id
    """The level it bounds."""
    phases: list[Id] = []
    """The phases in which it is open; empty means all."""


class Opening(JobModel):
    """A hole, stair opening or wall opening."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Literal["floor hole", "stair opening", "shaft", "wall opening", "open to below"]
    """Which of the listed kinds it is."""
    outline: Outline
    """Its outline in plan."""
    level: Id
    """The level it is in."""
    sill: Length | None = None
    """For a wall opening: the inside sill's height above the floor."""


class GuyPiece(JobModel):
    """A length of another guy joined into a guy."""

    kind: Id
    """The guy it is of (an id under `equipment.guys`)."""
    length: PositiveLength
    """Its length."""


class GuyLine(JobModel):
    """A guy from a post to a plate anchor."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Id
    """The guy (an id under `equipment.guys`)."""
    height: PositiveLength
    """Where it is attached: above the underside of the post's base."""
    to: Point
    """Where its plate anchor stands in plan."""
    elevation: Elevation
    """The plate anchor's height above (+) or below (-) the top of the slab."""
    plate: PlanAngle
    """The direction of the wall plate it sits on, degrees counter-clockwise from the plan's x."""
    pieces: list[GuyPiece] = []
    """Other lengths joined into it; the rest of its length is of its own kind."""


class Post(JobModel):
    """An erected mast that carries line ends or serves as an anchorage."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Id
    """The kind of post (an id under `equipment.posts`)."""
    at: Point
    """The centre of its base in plan."""
    stands_on: Id
    """The level its base stands on."""
    turned: BaseTurn = 0.0
    """How far the base is turned, degrees counter-clockwise in plan."""
    guys: list[GuyLine] = []
    """Its guys, along and across the lines."""
    phases: list[Id] = []
    """The phases in which it stands; empty means all."""


class Lifeline(JobModel):
    """A horizontal lifeline between two posts."""

    id: Id
    """The short name that other parts and the drawings use."""
    system: Id
    """The lifeline system (an id under `equipment.lifelines`)."""
    start: Id
    """The post at one end."""
    end: Id
    """The post at the other end."""
    absorber_at: Id | None = None
    """The post at whose end the line absorber stands."""
    sag: Sag
    """The target of the installed, unloaded sag at mid-span, below the chord between the attachments."""
    installed_at: Temperature
    """The temperature for which that target is stated."""
    workers: int = Field(ge=1, le=12)
    """How many workers may be tied to it at once."""
    beside: Id | None = None
    """Another line on the same span, where two run side by side."""
    phases: list[Id] = []
    """The phases in which it is used; empty means all."""


class Anchor(JobModel):
    """A single-point anchorage: a post's head or a fitting on the structure."""

    id: Id
    """The short name that other parts and the drawings use."""
    post: Id | None = None
    """The post whose head it is."""
    at: Point | None = None
    """Its place in plan, where it is no post."""
    elevation: Elevation | None = None
    """Its height above the top of the slab, where it is no post."""
    fitting: Name | None = None
    """What it is, where it is no post."""
    workers: int = Field(ge=1, le=6)
    """How many workers may be tied to it at once."""
    strength: Rated[Force] | None = None
    """The anchorage's strength, with its source; a post's comes from `equipment.posts`."""
    proof_load: Rated[Force] | None = None
    """The load that it is proof tested to where it stands; stating it asks for the test."""
    opposite_line: bool = False
    """True where it takes an additional worker on a line's end post, opposite the line."""
    phases: list[Id] = []
    """The phases in which it is used; empty means all."""


class Guardrail(JobModel):
    """A guardrail along an edge or opening."""

    id: Id
    """The short name that other parts and the drawings use."""
    path: Path
    """Its points in plan."""
    level: Id
    """The level it stands on."""
    top: Length
    """The top edge's height above the level."""
    middle: Length | None = None
    """The midrail's height."""
    toeboard: Length | None = None
    """The toeboard's height."""
    strength: Name | None = None
    """What shows that it holds the test load: a tested design, a table, an engineer's letter."""
    phases: list[Id] = []
    """The phases in which it stands; empty means all."""


class Cover(JobModel):
    """A cover over an opening."""

    id: Id
    """The short name that other parts and the drawings use."""
    opening: Id
    """The opening it closes."""
    holds: Mass | None = None
    """The weight it is built for."""
    heaviest: Mass | None = None
    """The most that people, equipment and materials weigh on it at one time."""
    secured: Text | None = None
    """How it is fixed."""
    marking: Name | None = None
    """How it is marked."""
    phases: list[Id] = []
    """The phases in which it lies; empty means all."""


class Zone(JobModel):
    """An area kept clear or controlled."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Literal["falling objects", "hoisting", "laydown", "controlled access", "no entry"]
    """Which of the listed kinds it is."""
    outline: Outline
    """Its outline in plan."""
    rule: Text
    """Who may enter, and when."""
    at_times: bool = False
    """True where the rule holds only at the times that it names; people may be in it at others."""
    phases: list[Id] = []
    """The phases in which it holds; empty means all."""


class Place(JobModel):
    """A place that people must find: rescue kit, first aid, gate, ladder, lift, assembly point."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Literal[
        "rescue kit", "first aid", "gate", "ladder", "stair", "lift", "assembly point", "hose bib", "other"
    ]
    """Which of the listed kinds it is."""
    at: Point
    """Where it is in plan."""
    name: Name
    """What it is, in words a stranger understands."""


class Framing(JobModel):
    """Trusses or joists that run side by side over an area, which a post or guy must clear."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Literal["trusses", "joists"]
    """Which of the listed kinds it is."""
    area: Outline
    """Their outline in plan, overhang included."""
    direction: PlanAngle
    """The way they run, degrees counter-clockwise from the plan's x."""
    spacing: PositiveLength
    """Centre to centre."""
    first: Point
    """A point in plan on the centre line of the first one."""
    thickness: PositiveLength
    """Their thickness in plan."""
    bottom: Elevation
    """The height of their underside above the top of the slab."""
    top: Elevation
    """The height of their highest point above the top of the slab."""
    phases: list[Id] = []
    """The phases in which they are there; empty means all."""


class Layout(JobModel):
    """Everything that has a place in plan."""

    levels: dict[Id, Elevation] = Field(min_length=1)
    """The elevation of each level, by name; the top of the slab is 0."""
    footprint: Outline
    """The building's outline."""
    slab: Outline | None = None
    """The slab's outline, where it differs from the footprint."""
    edges: list[Edge] = []
    """The hazard edges."""
    openings: list[Opening] = []
    """Holes, stair and wall openings."""
    posts: list[Post] = []
    """The posts."""
    lines: list[Lifeline] = []
    """The lifelines."""
    anchors: list[Anchor] = []
    """The single-point anchorages."""
    framing: list[Framing] = []
    """Trusses and joists that posts and guys must clear."""
    guardrails: list[Guardrail] = []
    """The guardrails."""
    covers: list[Cover] = []
    """The covers."""
    zones: list[Zone] = []
    """Falling-object, hoisting and laydown zones."""
    places: list[Place] = []
    """Where things and exits are."""
