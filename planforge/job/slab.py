"""The slab that bases stand on, and what is hidden in it."""

from __future__ import annotations

from typing import Literal

from planforge.job.base import Date, Id, JobModel, Name, Path, Rated
from planforge.job.quantities import Length, PositiveLength, Pressure


class InSlab(JobModel):
    """A tendon, pipe, conduit or bar mat in the slab."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Literal["tendon", "plumbing", "conduit", "radiant tubing", "rebar", "beam", "other"]
    """Which of the listed kinds it is."""
    path: Path
    """Its line in plan."""
    located_by: Literal["approved plans", "scan", "both"]
    """How it was located."""
    tolerance: Length
    """How far off it may be."""


class Scan(JobModel):
    """A survey of the slab on this lot."""

    by: Name
    """Who did it."""
    on: Date
    """The day it was done."""
    method: Name
    """The method and the instrument."""
    tolerance: Length
    """How far off a located thing may be."""


class Slab(JobModel):
    """The slab; its contents, scan, pour date and strength belong to one lot."""

    kind: Literal["post-tensioned", "reinforced", "plain", "unknown"]
    """Which of the listed kinds it is."""
    thickness: PositiveLength | None = None
    """Its thickness where bases stand."""
    pour_date: Date | None = None
    """The day this lot's slab was poured."""
    strength: Rated[Pressure] | None = None
    """Its compressive strength on the day of erection, with the test or rule it rests on."""
    contents: list[InSlab] | None = None
    """What is in it; an empty list says that nothing is."""
    scan: Scan | None = None
    """The survey on this lot."""
