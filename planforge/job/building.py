"""The building's own geometry: floors, walls and roofs, from which its drop-offs are found by phase.

All of it stands in plan on the same coordinates as the layout. A phase named here is the first in
which the thing is there; a thing that names none stands before the plan's first phase.
"""

from __future__ import annotations

from planforge.job.base import Id, JobModel, Outline, Path, Rated, Text
from planforge.job.quantities import Elevation, Force, Length, PositiveLength


class Floor(JobModel):
    """A deck or slab that people stand on, with its outline; its wells and stairs are `layout.openings`."""

    id: Id
    """The short name that other parts and the drawings use."""
    level: Id
    """The level of its top."""
    outline: Outline
    """Its outline in plan."""
    laid: Id | None = None
    """The phase in which it is laid; absent, it is there before the first."""
    enclosed: Id | None = None
    """The first phase in which walls around it close its sides to the outside; absent, none does."""
    depth: Length | None = None
    """From its top to the underside of what carries it, which a post below must clear."""


class Wall(JobModel):
    """A wall whose top plate people work on, or to which guys are anchored."""

    id: Id
    """The short name that other parts and the drawings use."""
    path: Path
    """The centre line of its plates in plan."""
    thickness: PositiveLength
    """Its framing's thickness in plan."""
    level: Id
    """The level it stands on."""
    top: Elevation
    """The height of its top plate above (+) or below (-) the top of the slab."""
    raised: Id | None = None
    """The phase in which it is raised; absent, it stands before the first."""
    worked: list[Id] = []
    """The phases in which someone works on its top plate."""
    takes_guys: bool = False
    """True where guys may be anchored to its plates."""
    braced_along: Rated[Force] | None = None
    """What its bracing and fastening hold along it in all, breaking, with its source."""
    braced_across: Rated[Force] | None = None
    """What its bracing and fastening hold across it in all, breaking, with its source."""


class Roof(JobModel):
    """A roof surface by the line of its outer edge, overhang included, with the height of each corner."""

    id: Id
    """The short name that other parts and the drawings use."""
    outline: Outline
    """Its outer edge in plan; a gable's peak is a point of it."""
    heights: list[Elevation]
    """The height of the edge at each point of the outline, in the same order."""
    worked: list[Id] = []
    """The phases in which someone works on it."""


class StruckEdge(JobModel):
    """A drop-off that the geometry gives and the coordinator strikes, with the reason."""

    id: Id
    """The short name that other parts and the drawings use."""
    path: Path
    """The stretch of it in plan."""
    level: Id | None = None
    """The level of the edge that is struck, where others lie above or below it in plan."""
    phases: list[Id] = []
    """The phases in which it is struck; empty means all."""
    reason: Text
    """Why nobody can fall there, or what else guards it."""
    by: Id
    """Who decided it (an id under `people`)."""


class Building(JobModel):
    """Floors, walls and roofs; hazard edges are found from them and held against the layout's edges."""

    floors: list[Floor] = []
    """Its floors, at every level and of every footprint."""
    walls: list[Wall] = []
    """Its walls."""
    roofs: list[Roof] = []
    """Its roofs."""
    struck: list[StruckEdge] = []
    """Drop-offs found from the geometry that need no hazard, each with a reason."""
