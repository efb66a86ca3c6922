"""The slab that bases stand on, and what is hidden in it."""

from __future__ import annotations

from typing import Literal

from planforge.job.base import Date, Id, JobModel, Name, Path, Rated
from planforge.job.quantities import Length, PositiveLength, Pressure

InSlabKind = Literal["tendon", "plumbing", "conduit", "radiant tubing", "rebar", "beam", "other"]


class InSlab(JobModel):
    """A tendon, pipe, conduit or bar mat in the slab."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: InSlabKind
    """Which of the listed kinds it is."""
    path: Path
    """Its line in plan, or the outline of an area that it fills."""
    fills: bool = False
    """True where the path is the outline of an area, such as a mat of bars or radiant tubing."""
    half_width: Length = 0.0
    """Half its own width, from the line to its side."""
    located_by: Literal["approved plans", "scan", "both"]
    """How it was located."""
    tolerance: Length
    """How far off it may be."""


class Voiding(JobModel):
    """What leaves a scan without force, and the day on which it was done, once it has been."""

    what: Name
    """What it is: a hole cored, a conduit or a topping laid, a tendon stressed again since the scan."""
    happened: Date | None = None
    """The day it was done; absent as long as it has not been."""


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
    holds_until: Date | None = None
    """The last day on which holes may be drilled by it, by the word of who did it."""
    voided_by: list[Voiding] | None = None
    """What voids it before then, by the same word; an empty list says that nothing does."""


class KeepClear(JobModel):
    """How far a hole keeps from one kind of thing in the slab."""

    kind: InSlabKind
    """The kind of thing."""
    distance: Rated[PositiveLength]
    """The least clear distance, edge of hole to edge of thing, beyond the locating tolerance."""


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
    strength_28: Rated[Pressure] | None = None
    """Its compressive strength at 28 days, for the rule of gain where no test of the day is stated."""
    cement: Literal["I moist", "III moist", "I steam", "III steam"] | None = None
    """Cement type and curing, for the rule of gain (ACI 209R-92)."""
    cracked: bool = True
    """Whether the concrete counts as cracked; uncracked is the engineer's word."""
    clear_of: list[KeepClear] = []
    """How far holes keep from each kind of thing in the slab."""
    contents: list[InSlab] | None = None
    """What is in it; an empty list says that nothing is."""
    scan: Scan | None = None
    """The survey on this lot."""
