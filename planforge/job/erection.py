"""How the kit arrives, goes up, is measured, comes down and moves on."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from planforge.job.base import Date, Id, JobModel, Name, Outline, Rated, Text
from planforge.job.quantities import (
    Force,
    Length,
    Mass,
    MassOrNone,
    OwnAngle,
    PositiveLength,
    Speed,
    Temperature,
)


class Step(JobModel):
    """A step of a sequence."""

    do: Text
    """What is done, in one sentence."""
    by: Name | None = None
    """Who does it, by name or role."""
    hold: bool = False
    """True where work stops until someone signs."""


ErectionStage = Literal[
    "marks checked",
    "holes drilled",
    "hoist holds post",
    "base anchored",
    "guys fitted",
    "hoist lets go",
    "line hung",
    "sag set",
    "released",
]
"""What an erection has to do, in its order."""


class ErectionStep(Step):
    """A step of the erection, with the stages it covers."""

    covers: list[ErectionStage] = []
    """The stages of an erection that this step does, in the order in which it does them."""


RemovalStage = Literal[
    "everyone off",
    "hoist holds post",
    "guys opposite line eased",
    "line released",
    "guys across line eased",
    "base freed",
    "holes closed",
    "anchors cut or plugged",
]
"""What a removal has to do, in its order."""


class RemovalStep(Step):
    """A step of the removal, with the stages it covers."""

    covers: list[RemovalStage] = []
    """The stages of a removal that this step does, in the order in which it does them."""


class Delivery(JobModel):
    """How the kit arrives."""

    arrives: Text
    """When and how it comes, and who meets it."""
    receipt_checks: list[Text] = Field(min_length=1)
    """What is checked before anything is unloaded or erected; an unfit item leaves service."""
    laydown: Text
    """Where it lies until it goes up."""
    lifting: Text
    """How it is lifted: machine, attachment, operator, signals, who stays clear."""
    truck: Name | None = None
    """The truck or trailer that carries it."""
    payload: Rated[Mass] | None = None
    """What that truck may carry, from its plate."""


class ChartPoint(JobModel):
    """A point of a machine's load chart."""

    radius: PositiveLength
    """The radius, or load centre, that the chart lists."""
    rated_load: Rated[Mass]
    """The rated load there."""


class MachineStand(JobModel):
    """Ground on this lot on which the machine that sets the posts can stand."""

    outline: Outline
    """Its outline in plan, as the chart measures the radius from it."""


class Hoisting(JobModel):
    """How a joined post is lifted and set."""

    machine: Text
    """The machine and its boom attachment."""
    operator: Name
    """Who operates it, and what their qualification rests on."""
    rated_load: Rated[Mass] | None = None
    """The rated load at the radius used, with the chart it comes from."""
    radius: PositiveLength | None = None
    """The radius used."""
    load_chart: list[ChartPoint] | None = Field(default=None, min_length=1, max_length=60)
    """The chart for the machine as set up; between two points the lower rated load holds."""
    stands: list[MachineStand] = []
    """Where the machine can stand on this lot."""
    deduction: Rated[MassOrNone] | None = None
    """What the chart takes off its rated loads for the attachment; 0 where it is made for that attachment."""
    rigging: Text
    """Slings, shackles and how they are rated."""
    rigging_weight: Mass | None = None
    """What hangs from the hook beside the post: slings, shackles, strap, tag line."""
    lift_point: PositiveLength | None = None
    """Where the sling holds the post: above the underside of its base."""
    retention: Text | None = None
    """What keeps the sections from sliding off each other and off the hook."""
    tag_line: Text | None = None
    """Who holds the tag line, and from where."""
    signals: Text | None = None
    """Who signals and how."""
    below: Text | None = None
    """How people are kept from under the load."""
    hook_released: Text | None = None
    """When the hook may come off: the base seated and the guys holding."""


class Tolerances(JobModel):
    """How far the erected line may differ from the plan before the plan is revised."""

    post_position: Length
    """A post's base in plan."""
    plumb: OwnAngle
    """A post out of plumb."""
    guy_tension: Force | None = None
    """A guy's tension."""
    guys_apart: PositiveLength | None = None
    """The least clear distance between guys, posts and lines of neighbours; absent, twice the tolerance of a
    post's position."""


class Erection(JobModel):
    """How it goes up, and how those who erect it are protected."""

    after: Text
    """What must be finished first, such as walls plumbed, lined and braced."""
    sequence: list[ErectionStep] = Field(min_length=1)
    """The steps in order."""
    installer_tie_off: Text | None = None
    """What the installer is tied to, or works from, before the line can be used."""
    tensioning: Text | None = None
    """How the sag is set and measured, by whom and with what."""
    tolerances: Tolerances | None = None
    """The as-built tolerances."""


class Access(JobModel):
    """How workers reach the work and move from one system to the next."""

    id: Id
    """The short name that other parts and the drawings use."""
    phases: list[Id] = []
    """The phases it holds for; empty means all."""
    way: Text
    """Ladder, stair or lift, and where."""
    through: list[Id] = []
    """The openings that the way passes through (ids under `layout.openings`): no cover may lie on them."""
    transfer: Text
    """How a worker stays tied on while moving between lines or anchors."""
    connectors: int | None = Field(default=None, ge=1, le=4)
    """How many connectors each worker who ties on carries for that; the load list counts them."""


class HandOver(JobModel):
    """When one system takes over from another."""

    given_up: Name
    """The system that ends."""
    taken_up: Name
    """The system that follows."""
    when: Text
    """The condition that must hold first, and who says so."""


class HoleCover(JobModel):
    """What covers each hole that a post or guy leaves in a deck; the holes follow from the layout."""

    holds: Mass | None = None
    """The weight it is built for."""
    heaviest: Mass | None = None
    """The most that people, equipment and materials weigh on it at one time."""
    secured: Text | None = None
    """How it is fixed."""
    marking: Name | None = None
    """How it is marked."""
    gap: Length | None = None
    """The widest gap that the deck leaves round a post or guy while it stands in it."""


class Removal(JobModel):
    """How it comes down."""

    sequence: list[RemovalStep] = Field(min_length=1)
    """The steps in order."""
    last_worker_tie_off: Text | None = None
    """What the last worker off is tied to, or works from."""
    closes_holes: Text
    """What closes the holes it leaves; what becomes of the anchors stands with their kind."""
    hole_cover: HoleCover | None = None
    """The cover of each hole that a post or guy leaves in a deck."""
    moves_to: Name | None = None
    """The next lot or the yard."""
    transport: Text | None = None
    """How it travels."""


class Weather(JobModel):
    """Limits of weather, with the day's range of temperature."""

    coldest: Temperature
    """The lowest temperature expected while the lines are in use."""
    warmest: Temperature
    """The highest temperature expected while the lines are in use."""
    wind_stops_work: Speed | None = None
    """The wind at which work on the lines stops."""
    wind_stops_erection: Speed | None = None
    """The wind at which erection stops."""
    storm: Rated[Speed] | None = None
    """The wind that a post left standing out of use must bear, a 3-second gust, with its source."""
    exposure: Literal["B", "C", "D"] = "C"
    """The terrain's exposure category of ASCE 7: B built-up, C open, D flat by water."""
    stops: list[Text] = []
    """Other conditions that stop the work: lightning, ice, wet sheathing."""
    source: Name | None = None
    """Where these limits come from."""


class Inspection(JobModel):
    """One recorded inspection of an item on this lot."""

    item: Id
    """The item's id under `equipment`."""
    serial: Name
    """Its serial number or mark."""
    on: Date
    """When it was inspected."""
    by: Name
    """The name of the inspector."""
    result: Literal["fit", "removed"]
    """The result."""
    due: Date | None = None
    """When the next is due."""
    made: Date | None = None
    """When the oldest of these was made, from its label."""
    in_service: Date | None = None
    """When the first of these went into service."""


LineState = Literal["planned", "erected", "measured", "released for use", "on hold"]


class Release(JobModel):
    """The state of one line or anchor on site."""

    of: Id
    """The line or anchor."""
    state: LineState
    """planned, erected, measured, released for use, or on hold."""
    by: Id | None = None
    """The person who says so, an id under `people`; for a release the competent person or the alternate."""
    beside: Id | None = None
    """The qualified person who signed beside the release, where a strength item is still to be confirmed."""
    on: Date | None = None
    """The day it was done."""
    revision: int | None = Field(default=None, ge=0)
    """The plan's revision it was released under."""
    measured_sag: Length | None = None
    """The sag measured at mid-span, unloaded."""
    temperature: Temperature | None = None
    """The temperature when it was measured."""
    after_plumbing: bool | None = None
    """True where that sag was measured after the guys were tensioned and the posts plumbed."""
    within_tolerances: bool | None = None
    """True where post positions, plumb and guy tensions were measured and lie within the tolerances."""
    reason: Text | None = None
    """Why it is on hold."""
