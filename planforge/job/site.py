"""The lot: where it is, who answers for it, its code profile, the dates and levels of each phase."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Date, Id, JobModel, Name, Outline, Path, Point, Rated, Text
from planforge.job.quantities import Elevation, Length, LotAngle, Voltage


class Company(JobModel):
    """The contractor whose plan it is."""

    name: Name
    """The contractor's name."""
    address: Name | None = None
    """The street address."""
    phone: Name | None = None
    """Its telephone."""
    briefing: Literal["a sheet a language", "side by side"] = "a sheet a language"
    """Whether each language of the crew has its own crew sheet, or stands beside English where both fit."""


class Site(JobModel):
    """What identifies the lot; never inherited from a shared file."""

    project: Name
    """The project's name."""
    lot: Name = Field(max_length=60)
    """The lot, as the permit names it."""
    address: Name | None = None
    """The street address that is given to the emergency services."""
    gate: Name | None = None
    """Which gate or entrance responders use."""
    permit: Name | None = None
    """The building permit's number."""
    general_contractor: Name | None = None
    """The general contractor."""
    code_profile: Id = "us-federal"
    """The code profile that governs, such as `us-federal`."""
    construction: Literal["residential", "light commercial", "commercial"] = "residential"
    """The kind of construction."""
    units: Literal["us", "metric"] = "us"
    """The units the document prints."""
    north: LotAngle = 0.0
    """Where north lies on the plan: degrees clockwise from the top of the sheet."""


class Phase(JobModel):
    """A phase of the framing, with its dates and its working and lower level."""

    id: Id
    """A short name that hazards and tasks refer to."""
    name: Name
    """What it is called on site."""
    start: Date
    """The first day of the phase."""
    end: Date
    """The last day of the phase."""
    working_level: Id
    """The level the crew works on (an id under `layout.levels`)."""
    lower_level: Id
    """The level below it in general; places that differ are `lower_levels`."""
    work: Text
    """What is done in it."""


LowerKind = Literal[
    "grade", "slab", "deck", "stored material", "porch roof", "excavation", "machine", "stair", "other"
]


class Spot(JobModel):
    """A height measured at a place on sloping ground."""

    at: Point
    """The place in plan."""
    elevation: Elevation
    """The height there above (+) or below (-) the top of the slab."""


class LowerLevel(JobModel):
    """A surface or thing that a falling worker would strike, with its place and its dates."""

    id: Id
    """A short name that drawings show."""
    name: Name
    """What it is, in words a stranger understands."""
    kind: LowerKind
    """Which of the listed kinds it is."""
    elevation: Elevation
    """The height of its top above (+) or below (-) the top of the slab; where it slopes, its highest."""
    spots: list[Spot] = []
    """Where it slopes: three or more heights on it, between which it is reckoned straight."""
    area: Outline | None = None
    """Its outline in plan; without one it lies wherever a stance names it."""
    start: Date | None = None
    """The first day it is there; absent, it is always there."""
    end: Date | None = None
    """The last day it is there."""


class OverheadLine(JobModel):
    """A power or service line near the work."""

    id: Id
    """The short name that other parts and the drawings use."""
    voltage: Voltage | None = None
    """Its voltage; unknown is treated as needing the utility's word."""
    distance: Length
    """The least distance, at full reach, from equipment, load, post or worker."""
    path: Path | None = None
    """Its way in plan; with it the distances are also measured, and the smaller counts."""
    post_distance: Length | None = None
    """The least distance from a standing post, the wire line or a worker tied to it."""
    post_limit: Rated[Length] | None = None
    """The distance that the utility or the code asks of those, with its source."""
    owner: Name | None = None
    """The utility that owns it."""
    control: Text | None = None
    """De-energised and grounded, sleeved, spotter: what is done about it."""


class PowerLines(JobModel):
    """The survey of power lines at this lot; an empty list of lines says that none is near."""

    surveyed_by: Id
    """Who looked, an id under `people`."""
    surveyed: Date
    """The day it was done."""
    radius: Length
    """How far around the work the survey reached."""
    lines: list[OverheadLine] = []
    """Every line found."""
