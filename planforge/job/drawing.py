"""A drawing (DXF) from which the layout is read: its file, units, place on the plan, and its layers.

The names of layers are the user's own. What a drawing gives is written by ``planforge import`` as a
file that the job extends; the job itself is never changed.
"""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Id, JobModel, Name, Point
from planforge.job.layout import EdgeKind
from planforge.job.quantities import Coordinate, Elevation, Factor, Length, LotAngle, PositiveLength
from planforge.job.slab import InSlabKind
from planforge.units import INCH

DrawnUnit = Literal["in", "ft", "US survey ft", "mm", "cm", "m"]
OpeningKind = Literal["floor hole", "stair opening", "shaft", "wall opening", "open to below"]
Holds = Literal[
    "footprint",
    "slab",
    "floor",
    "opening",
    "wall",
    "roof",
    "edge",
    "slab content",
    "framing",
    "grade spots",
    "post places",
]


class DrawingLayer(JobModel):
    """A layer of the drawing and what it holds; fields that do not go with that are refused."""

    layer: Name
    """The layer's name in the drawing; capital and small letters count alike, as in DXF."""
    holds: Holds
    """What everything drawn on it is."""
    id: Id | None = None
    """The id of the one thing on it, or how the ids of several begin; absent, a letter for its kind."""
    level: Id | None = None
    """For a floor, opening, edge or wall: its level. For a post place: the level its base stands on."""
    opening: OpeningKind | None = None
    """For an opening: which of the listed kinds it is."""
    edge: EdgeKind | None = None
    """For an edge: which of the listed kinds it is."""
    content: InSlabKind | None = None
    """For a slab content: which of the listed kinds it is."""
    framing: Literal["trusses", "joists"] | None = None
    """For framing: what the parallel lines are."""
    post: Id | None = None
    """For a post place: the kind of post (an id under `equipment.posts`)."""
    thickness: PositiveLength | None = None
    """For a wall or framing: its thickness in plan."""
    top: Elevation | None = None
    """For a wall or framing: its highest point above (+) or below (-) the top of the slab."""
    bottom: Elevation | None = None
    """For framing: the height of its underside above the top of the slab."""
    elevation: Elevation | None = None
    """For a roof that is level all round: the height of its edge; absent, the heights that are drawn."""
    half_width: Length | None = None
    """For a slab content: half its own width, from the line to its side."""
    fills: bool = False
    """True where a slab content is drawn as the outline of an area that it fills."""
    sill: Length | None = None
    """For a wall opening: the inside sill's height above the floor."""
    name: Name | None = None
    """For grade spots: what the ground is called, in words a stranger understands."""


class Drawing(JobModel):
    """A DXF file, its units, how it lies on the plan, and its layers."""

    file: Name
    """The DXF file, by its path from the file that states it; it lies in that folder or below it."""
    units: DrawnUnit | None = None
    """What one unit of the drawing is; needed where the file does not say, and never against what it says."""
    scale: Factor = 1.0
    """By how much the drawing is to be multiplied; 1 for a drawing at full size in its units."""
    space: Name = "Model"
    """The space that is read: `Model`, or the name of a sheet (layout) of the drawing."""
    base_point: Point = (0.0, 0.0)
    """A point of the drawing, as lengths in its own coordinates after the scale, that is laid at `at`."""
    at: Point = (0.0, 0.0)
    """Where that point lies on the plan."""
    turned: LotAngle = 0.0
    """How far the drawing is turned about it, degrees counter-clockwise."""
    datum: Coordinate = 0.0
    """The height that the drawing gives to the top of the slab; heights are reckoned from it."""
    curve_tolerance: PositiveLength = INCH / 16.0
    """How far the straight pieces may lie from a curve that they stand for."""
    join: Length = INCH / 16.0
    """How far apart two ends may be drawn that are one point."""
    layers: list[DrawingLayer] = Field(min_length=1, max_length=200)
    """Every layer that is read; all others are ignored and reported."""
