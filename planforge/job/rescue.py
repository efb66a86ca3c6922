"""How a hanging worker is brought down in minutes."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Date, Id, JobModel, Name, Outline, Rated, Text
from planforge.job.quantities import Duration, Elevation, Length, PositiveLength


class Contact(JobModel):
    """Someone to call."""

    who: Name
    """Service or person."""
    phone: Name
    """Telephone number."""
    arrives: Duration | None = None
    """For those who come: how soon they arrive, by their own word."""
    note: Name | None = None
    """Opening hours, channel, language."""


class Team(JobModel):
    """Who rescues on one shift."""

    shift: Name
    """The shift."""
    lead: Id
    """Leads the rescue, an id under `people`."""
    alternate: Id
    """Stands in for the lead; another person."""
    caller: Id
    """Who calls and meets the responders."""
    members: list[Id] = []
    """Others who help, ids under `people`."""


class Ladder(JobModel):
    """A ladder's measures, from its label."""

    working_length: PositiveLength
    """From its feet to its top support, along the ladder, as it will be set."""
    stands_below_top: PositiveLength
    """How far below the top support, along the ladder, the highest rung to stand on is."""


class Lift(JobModel):
    """A lift's measures, from its maker's chart."""

    platform: PositiveLength
    """The greatest height of the platform's floor above what the lift stands on."""
    outreach: Rated[PositiveLength]
    """The greatest distance in plan to which the platform gets from where the lift stands, at that height."""
    works_from: Outline
    """The ground on this lot from which it can work: firm, level enough, kept free."""
    holds: Rated[int] | None = None
    """How many people its platform's own anchor points are rated for."""


class RescueRope(JobModel):
    """A rope kit's measures."""

    length: PositiveLength
    """The length of its rope."""
    parts: int = Field(ge=1, le=12)
    """How many parts of rope carry the load."""
    fixed_at: Elevation
    """The height of its anchorage above the top of the slab."""


class Rescuer(JobModel):
    """What the rescuer is tied to on the way and at the casualty, and with which device."""

    tied_to: Literal["post head", "anchorage", "line", "lift", "stays below"]
    """A post's head, an anchorage, the line the casualty hangs from, the lift's own point; or nothing."""
    of: list[Id] = []
    """The posts or anchors it may be; empty means every one that stands in the phase."""
    connector: Id | None = None
    """The connecting device (an id under `equipment.connectors`)."""
    number: int = Field(default=1, ge=1, le=6)
    """How many rescuers are tied to one of them at once."""


class Means(JobModel):
    """A means of bringing someone down."""

    id: Id
    """The short name that other parts and the drawings use."""
    kind: Literal["ladder", "lift", "rope kit", "from the deck", "self-rescue"]
    """Which of the listed kinds it is."""
    name: Name
    """What it is, in words a stranger understands."""
    serves: list[Id] = []
    """The lines and anchors it serves; none before there is a layout."""
    reaches: Length | None = None
    """The greatest height above what it stands on at which it can take a hanging worker's D-ring."""
    ladder: Ladder | None = None
    """For a ladder: its measures, from which its reach is reckoned."""
    lift: Lift | None = None
    """For a lift: its measures, from which its reach is reckoned."""
    rope: RescueRope | None = None
    """For a rope kit: its measures."""
    phases: list[Id] = []
    """The phases in which it is there; empty means all."""
    stands_on: Id | None = None
    """What it stands on: an id of `lower_levels` or of `layout.levels`."""
    also_on: list[Id] = []
    """For a ladder: what else it can be set up on, ids of the same lists, with the way there kept clear."""
    kept_at: Id | None = None
    """Where it is kept: a place on the layout."""
    people: int = Field(default=2, ge=1, le=20)
    """How many people it takes."""
    time: Duration | None = None
    """The time to bring someone down, from the drill."""
    rescuer: Rescuer | None = None
    """What the rescuer is tied to, for reckoning whether it reaches and holds."""
    rescuer_tie_off: Text | None = None
    """What the rescuer is tied to and how they hook on, on the way and at the casualty, in words."""


class Drill(JobModel):
    """A rescue drill."""

    on: Date
    """The day it was done."""
    led_by: Id
    """Who led it."""
    time: Duration
    """How long it took."""
    result: Text
    """What was found."""


class Hospital(JobModel):
    """Where an injured worker is taken."""

    name: Name
    """The name as the public knows it."""
    address: Name
    """The street address."""
    drive: Duration
    """Driving time."""


class Rescue(JobModel):
    """The rescue plan; contacts, teams, hospital and drill belong to one lot."""

    emergency_number: Name | None = None
    """The number to call first."""
    contacts: list[Contact] = []
    """Others to call."""
    phone_cover: Text | None = None
    """Telephone cover on the lot, tested when and by whom; the radio channel."""
    hospital: Hospital | None = None
    """The hospital."""
    target: Duration | None = None
    """The contractor's target time to bring someone down (a company's rule, not a regulation)."""
    teams: list[Team] = []
    """Who rescues, by shift."""
    means: list[Means] = []
    """The means, and what each reaches."""
    steps: list[Text] = []
    """What is done, in order."""
    care: Text | None = None
    """Care of a worker who has hung in a harness; the medical responders lead."""
    afterwards: Text | None = None
    """Equipment out of service and kept, investigation, who decides on resuming."""
    drill: Drill | None = None
    """The last drill on this lot."""
