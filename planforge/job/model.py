"""The whole job: one file a lot."""

from __future__ import annotations

from typing import Literal

from planforge.job.base import JobModel, Text
from planforge.job.building import Building
from planforge.job.drawing import Drawing
from planforge.job.equipment import Equipment, UserBasis
from planforge.job.erection import (
    Access,
    Delivery,
    Erection,
    HandOver,
    Hoisting,
    Inspection,
    Release,
    Removal,
    Weather,
)
from planforge.job.hazard import Hazard
from planforge.job.house import House
from planforge.job.layout import Layout
from planforge.job.people import Person, Roles, SignOff, Variance
from planforge.job.plan import PlanIdentity, WorkPart
from planforge.job.proof_test import ProofTest
from planforge.job.proposal import Proposal
from planforge.job.rescue import Rescue
from planforge.job.site import Company, LowerLevel, Phase, PowerLines, Site
from planforge.job.slab import Slab
from planforge.job.task import Task
from planforge.job.translation import Translation

LOT_ONLY = frozenset(
    {
        "plan",
        "site",
        "house",
        "drawing",
        "phases",
        "lower_levels",
        "power_lines",
        "slab.pour_date",
        "slab.strength",
        "slab.strength_28",
        "slab.cement",
        "slab.contents",
        "slab.scan",
        "hoisting.stands",
        "weather.coldest",
        "weather.warmest",
        "weather.storm",
        "weather.exposure",
        "rescue.emergency_number",
        "rescue.contacts",
        "rescue.phone_cover",
        "rescue.hospital",
        "rescue.teams",
        "rescue.drill",
        "rescue.means.lift",
        "people.phases",
        "inspections",
        "proof_tests",
        "releases",
        "sign_offs",
        "variances",
    }
)
"""What belongs to one lot and is never inherited from a shared file."""


class Job(JobModel):
    """One lot's job file, after what it shares with others has been read in."""

    format: Literal["planforge job 1"]
    """The form of the file: `planforge job 1`."""
    plan: PlanIdentity
    """Number, revision, who prepared it and when."""
    company: Company
    """The contractor."""
    site: Site
    """What identifies the lot."""
    house: House | None = None
    """The house design that is set on this lot, mirrored or turned; read like a file that is extended."""
    phases: list[Phase]
    """The phases of the framing."""
    work_parts: list[WorkPart] = []
    """Which kind of plan each part of the work falls under."""
    hazards: list[Hazard] = []
    """The hazard register."""
    layout: Layout
    """Everything with a place in plan."""
    building: Building | None = None
    """Its floors, walls and roofs, from which hazard edges are found."""
    drawing: Drawing | None = None
    """The drawing that `planforge import` reads the layout from."""
    proposal: Proposal | None = None
    """What a proposed layout may be made of."""
    lower_levels: list[LowerLevel] | None = None
    """What a falling worker would strike on this lot."""
    equipment: Equipment
    """The kit and its ratings."""
    user: UserBasis
    """The worker that the reckoning assumes."""
    tasks: list[Task] = []
    """Tasks and stances."""
    slab: Slab | None = None
    """The slab that bases stand on."""
    delivery: Delivery | None = None
    """How the kit arrives."""
    hoisting: Hoisting | None = None
    """How posts are lifted and set."""
    erection: Erection | None = None
    """How it goes up."""
    access: list[Access] = []
    """Ways to the work and between systems."""
    hand_overs: list[HandOver] = []
    """When one system takes over from another."""
    removal: Removal | None = None
    """How it comes down."""
    weather: Weather | None = None
    """Weather limits."""
    power_lines: PowerLines | None = None
    """The survey of power lines."""
    people: list[Person] = []
    """Everyone named."""
    roles: Roles = Roles()
    """Who answers for what."""
    rescue: Rescue | None = None
    """How a hanging worker is brought down."""
    inspections: list[Inspection] | None = None
    """Recorded inspections of the items on this lot."""
    proof_tests: list[ProofTest] = []
    """Recorded proof tests of anchors on this lot."""
    releases: list[Release] = []
    """The state of each line and anchor."""
    sign_offs: list[SignOff] | None = None
    """Who has to sign."""
    variances: list[Variance] = []
    """Accepted short items."""
    translations: list[Translation] = []
    """What the job's own words say in the other languages of the crew."""
    changes: Text | None = None
    """How the plan is changed, and how a fall or near miss is dealt with."""
