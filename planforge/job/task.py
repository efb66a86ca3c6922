"""Tasks and stances: where a worker stands, what they are tied to, and each side they could fall to."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Id, JobModel, Name, Path, Text
from planforge.job.quantities import DringHeight, Elevation, Length

Surface = Literal["deck", "top plate", "truss chord", "sheathing", "ladder", "scaffold", "joists", "slab"]


class Side(JobModel):
    """One side to which a worker could fall from a stance."""

    direction: Literal["outward", "inward", "along"]
    """Outward over the edge, inward behind it, or along the line."""
    onto: list[Id] = Field(min_length=1)
    """What lies below on that side: ids of `lower_levels` or of `layout.levels`; the highest one governs."""
    obstacle: Length | None = None
    """The horizontal distance to something that a swing would strike, where there is one."""


class Stance(JobModel):
    """A place a worker takes up: its surface, its tie-off, its sides."""

    id: Id
    """The short name that other parts and the drawings use."""
    surface: Surface
    """What the worker stands on."""
    elevation: Elevation | None = None
    """The surface's height above the top of the slab; absent, the task's level."""
    dring_height: DringHeight | None = None
    """The D-ring's height above the surface in this posture; absent, the standing height."""
    line: Id | None = None
    """The line the worker is tied to."""
    anchor: Id | None = None
    """Or the single-point anchorage."""
    connector: Id
    """The connector between (an id under `equipment.connectors`)."""
    reach: Length | None = None
    """How far from the line or anchorage, in plan, the work takes the worker."""
    edge: Id | None = None
    """The hazard edge the worker works at."""
    stretch: Path | None = None
    """Where along it the worker works, in plan; absent, the whole edge or line."""
    sides: list[Side] = Field(min_length=1)
    """Each side the worker could fall to."""


class Task(JobModel):
    """A task in one or more phases."""

    id: Id
    """The short name that other parts and the drawings use."""
    name: Name
    """What is done, in one sentence."""
    phases: list[Id] = Field(min_length=1)
    """The phases in which it is done."""
    level: Id
    """The level it is done on."""
    workers: int = Field(ge=1, le=60)
    """How many workers do it at once."""
    stances: list[Stance] = []
    """Where they stand."""
    note: Text | None = None
    """What the crew must know."""
