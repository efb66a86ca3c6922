"""Equipment with its rated values, each with the document it comes from.

planforge holds no ratings of its own. A rated value that is absent, or has no source, turns
the checks that rest on it to `confirm`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from planforge.job.base import Id, JobModel, Name, Rated, Spacing, Text
from planforge.job.quantities import (
    AxialStiffness,
    Bow,
    ConnectorForce,
    ConnectorLength,
    DringHeight,
    Expansion,
    Factor,
    Force,
    Length,
    LineAbsorberForce,
    LineWeight,
    Mass,
    Moment,
    OwnAngle,
    PositiveLength,
    Pressure,
    RopeDiameter,
    RopeLength,
    Sag,
    ServiceLife,
    SteelModulus,
    SteelYield,
    Stiffness,
    Stroke,
    Temperature,
    Torque,
    UserMass,
)

Category = Annotated[int, Field(ge=1, le=3)]
BrokenWires = Annotated[int, Field(ge=0, le=50)]
Threads = Annotated[int, Field(ge=1, le=99)]


class Item(JobModel):
    """What every item has."""

    id: Id
    """The short name that other parts and the drawings use."""
    name: Name
    """What it is, as the crew calls it."""
    manual: Name | None = None
    """The maker's instructions that travel with it."""
    weight: Mass | None = None
    """The weight of one, for the load list."""
    bundle: int | None = Field(default=None, ge=1, le=999)
    """How many travel in one bundle or box."""


class Worn(Item):
    """What wears and ages with use."""

    service_life: Rated[ServiceLife] | None = None
    """The longest that its maker lets it serve."""
    life_from: Literal["made", "first use"] = "made"
    """What its maker counts that life from."""
    no_fixed_life: Name | None = None
    """The maker's document that sets no fixed life: its inspections alone decide."""


class WireRopeItem(Worn):
    """What is of wire rope, or tightened by a turnbuckle: its maker's limits for the inspection."""

    broken_wires: Rated[BrokenWires] | None = None
    """The most broken wires that its maker lets stay in service, in the length that follows."""
    broken_wires_in: Rated[RopeLength] | None = None
    """The length of rope in which broken wires are counted."""
    turnbuckle_threads: Rated[Threads] | None = None
    """The least number of full threads of each rod inside the turnbuckle's body."""


class Rope(WireRopeItem):
    """A wire or fibre rope used as a lifeline."""

    construction: Name
    """Such as `6x19 wire rope, fibre core`."""
    diameter: RopeDiameter
    """Nominal diameter."""
    weight_per_length: Rated[LineWeight]
    """Weight per length."""
    axial_stiffness: Rated[AxialStiffness]
    """Axial stiffness EA, the force that would double its length: metallic area times modulus."""
    breaking_strength: Rated[Force] | None = None
    """Minimum breaking strength."""
    thermal_expansion: Rated[Expansion] | None = None
    """Thermal expansion per degree."""
    conductive: bool = True
    """True for wire rope and anything else that conducts."""


class LineAbsorber(Worn):
    """An in-line energy absorber of a lifeline."""

    lowest_force: Rated[LineAbsorberForce]
    """The lowest force at which it opens."""
    highest_force: Rated[LineAbsorberForce]
    """The highest force while it opens."""
    stroke: Rated[Stroke]
    """How far it opens before it is spent."""


class LifelineSystem(WireRopeItem):
    """A lifeline as a system: rope, terminations, absorber, and what its maker rates it for."""

    rope: Id
    """The rope (an id under `equipment.ropes`)."""
    absorber: Id | None = None
    """The line absorber (an id under `equipment.line_absorbers`)."""
    longest_span: Rated[PositiveLength] | None = None
    """The longest span."""
    shortest_span: Rated[PositiveLength] | None = None
    """The shortest span."""
    most_workers: Rated[int] | None = None
    """The most workers on one line."""
    most_workers_two_lines: Rated[int] | None = None
    """The most workers on a span where two lines run side by side."""
    least_sag: Rated[Sag] | None = None
    """The least installed sag at mid-span, unloaded."""
    most_sag: Rated[Sag] | None = None
    """The most installed sag at mid-span, unloaded."""
    end_strength: Rated[Force] | None = None
    """The breaking strength of its weakest end part: termination, turnbuckle, shackle or eye."""
    connectors: list[Id] | None = None
    """The connectors its maker allows on it (ids under `equipment.connectors`); absent: not stated."""
    lowest_temperature: Rated[Temperature] | None = None
    """The lowest temperature for use."""
    highest_temperature: Rated[Temperature] | None = None
    """The highest temperature for use."""


class Connector(Worn):
    """What joins the harness to a line or anchorage: a lanyard or a retracting device."""

    kind: Literal["lanyard", "retracting device"]
    """Which of the listed kinds it is."""
    length: ConnectorLength
    """A lanyard's length with absorber and hooks, or a retracting device's full line."""
    lock_off: Rated[ConnectorLength] | None = None
    """A retracting device: the fall before it locks."""
    lowest_force: Rated[ConnectorForce]
    """The lowest average force at which its absorber works: governs stroke and clearance."""
    highest_force: Rated[ConnectorForce]
    """The highest average force of its absorber, conditioned: governs strength."""
    peak_force: Rated[Force] | None = None
    """The greatest force on the body in the maker's tests."""
    stroke: Rated[Stroke]
    """How far its absorber can open."""
    greatest_free_fall: Rated[ConnectorLength] | None = None
    """The greatest free fall it is rated for."""
    least_user: Rated[UserMass] | None = None
    """The least mass of user with tools."""
    greatest_user: Rated[UserMass] | None = None
    """The greatest mass of user with tools."""
    below_dring: Rated[bool] | None = None
    """Whether its maker allows an anchorage below the D-ring."""
    on_flexible_line: Rated[bool] | None = None
    """Whether its maker allows it on a horizontal lifeline."""
    edge_tested: Rated[bool] | None = None
    """Whether it was tested for falls over an edge."""
    strength: Rated[Force] | None = None
    """Its breaking strength."""


class Joint(JobModel):
    """A joint between two sections of a post."""

    height: PositiveLength
    """Its height above the underside of the base."""
    moment: Rated[Moment] | None = None
    """The moment it holds, breaking."""


class PostKind(Worn):
    """A kind of post with its ratings."""

    head_height: PositiveLength
    """From the underside of the base to the line's attachment at the head."""
    sections: int = Field(ge=1, le=8)
    """How many sections it is joined from."""
    outer_diameter: PositiveLength | None = None
    """The tube's outer diameter."""
    wall: PositiveLength | None = None
    """The tube's wall."""
    line_strength: Rated[Force] | None = None
    """The horizontal breaking strength at the head along a line, guyed as instructed."""
    stiffness_low: Rated[Stiffness] | None = None
    """The head's lowest stiffness along a line, guyed: the clearance case."""
    stiffness_high: Rated[Stiffness] | None = None
    """The head's highest stiffness: the strength case; absent, the head is taken as rigid."""
    anchorage_workers: Rated[int] | None = None
    """The most workers where the post serves as a single anchorage."""
    anchorage_strength: Rated[Force] | None = None
    """The breaking strength of its head as a single anchorage, in the weakest direction."""
    worker_opposite_line: Rated[bool] | None = None
    """Whether an additional worker may be tied to an end post, opposite the line."""
    rescuer_beside_line: Rated[bool] | None = None
    """Whether one rescuer may be tied to its head while it carries a line that someone hangs from."""
    steel_yield: Rated[SteelYield] | None = None
    """The tube's yield strength, from its grade."""
    steel_modulus: Rated[SteelModulus] | None = None
    """The tube's modulus of elasticity; absent, that of steel in AISC 360."""
    joints: list[Joint] = []
    """The joints of its sections, from the base up."""
    base_thickness: PositiveLength | None = None
    """The thickness of its base plate, which an anchor's length loses."""
    hole_spacing: Spacing | None = None
    """The spacing of the base's four holes, centre to centre, both ways."""
    base_toe: PositiveLength | None = None
    """From the centre of the base to the edge it would tip about."""
    anchored_with: Id | None = None
    """The base anchor (an id under `equipment.base_anchors`)."""
    base_anchors: int = Field(default=0, ge=0, le=12)
    """How many anchors its base needs."""
    guys: int = Field(default=0, ge=0, le=12)
    """How many guys its maker asks for at least."""
    guyed_with: list[Id] = []
    """The guys its maker allows on it (ids under `equipment.guys`); empty: not stated."""
    most_bow: Rated[Bow] | None = None
    """The most that a section may be bowed, a string held along it, before it leaves service."""
    deepest_dent: Rated[Bow] | None = None
    """The deepest dent that may stay in service."""


class Guy(WireRopeItem):
    """A guy and the plate anchor that holds it."""

    strength: Rated[Force] | None = None
    """Breaking strength."""
    axial_stiffness: Rated[AxialStiffness] | None = None
    """Axial stiffness EA, the force that would double its length."""
    plate_uplift: Rated[Force] | None = None
    """What its plate anchor, as fastened, holds against uplift, breaking."""
    plate_shear: Rated[Force] | None = None
    """What its plate anchor, as fastened, holds along and across the plate, breaking."""
    least_angle: Rated[OwnAngle] | None = None
    """The least angle from the post."""
    greatest_angle: Rated[OwnAngle] | None = None
    """The greatest angle from the post."""
    diameter: RopeDiameter | None = None
    """Its diameter, for the wind on it."""
    pretension: Rated[Force] | None = None
    """The tension it is set to."""
    proof_load: Rated[Force] | None = None
    """The load that its plate anchor is proof tested to where it stands; stating it asks for the test."""


AnchorRemoval = Literal["backed out", "cut off", "left"]
"""What becomes of an anchor in the slab: its maker or the engineer decides, by its kind."""


class BaseAnchor(Item):
    """An anchor that holds a base to the slab."""

    diameter: PositiveLength
    """Nominal diameter."""
    hole_depth: Rated[PositiveLength] | None = None
    """Depth of the hole, from its evaluation report."""
    length: PositiveLength | None = None
    """Its nominal length."""
    effective_depth: Rated[PositiveLength] | None = None
    """Effective depth hef as installed through the base, from its report; not the nominal depth."""
    kc: Rated[Factor] | None = None
    """The report's factor kc for breakout, inch-pound form, in the concrete's state."""
    concrete: Literal["cracked", "uncracked"] = "cracked"
    """The state of the concrete that kc is stated for."""
    steel_tension: Rated[Force] | None = None
    """Steel strength in tension Nsa of one anchor, nominal."""
    steel_shear: Rated[Force] | None = None
    """Steel strength in shear Vsa of one anchor, nominal."""
    pullout: Rated[Force] | None = None
    """Pullout strength of one anchor, nominal, at the slab's strength; absent: to be confirmed."""
    ductile: Rated[bool] | None = None
    """Whether the report counts its steel as ductile."""
    category: Rated[Category] | None = None
    """The report's anchor category, 1 to 3."""
    critical_edge: Rated[PositiveLength] | None = None
    """The report's critical edge distance cac."""
    least_spacing: Rated[PositiveLength] | None = None
    """The least spacing, from its evaluation report."""
    least_edge: Rated[PositiveLength] | None = None
    """The least edge distance, from its evaluation report."""
    torque: Rated[Torque] | None = None
    """The installation torque, from its evaluation report."""
    reusable: Rated[bool] | None = None
    """Whether its report lets it be set again."""
    removal: Rated[AnchorRemoval] | None = None
    """How it comes out: backed out and its hole filled, cut off below the surface, or left in and capped."""
    proof_load: Rated[Force] | None = None
    """The load that each is proof tested to where it stands; stating it asks for the test."""
    least_thickness: Rated[PositiveLength] | None = None
    """The least concrete thickness, from its evaluation report."""
    least_strength: Rated[Pressure] | None = None
    """The least concrete strength, from its evaluation report."""


class Harness(Worn):
    """A full body harness."""

    greatest_user: Rated[UserMass] | None = None
    """The greatest mass of user with tools."""
    dring_strength: Rated[Force] | None = None
    """The breaking strength of its back D-ring."""
    relief_straps: bool = False
    """Whether it carries suspension relief straps."""


class Tool(Item):
    """A tool, lifting gear or other thing on the load list."""

    use: Name
    """What it is for."""
    quantity: int = Field(default=1, ge=1, le=999)
    """How many are needed."""
    rated_load: Rated[Mass] | None = None
    """For lifting gear: its rated load."""
    lifts: bool = True
    """False for lifting gear that only steadies a load, such as a tag line: no rated load is asked for."""


class Equipment(JobModel):
    """The kit, by kind of item."""

    ropes: list[Rope] = []
    """Ropes."""
    line_absorbers: list[LineAbsorber] = []
    """Line absorbers."""
    lifelines: list[LifelineSystem] = []
    """Lifeline systems."""
    connectors: list[Connector] = []
    """Lanyards and retracting devices."""
    posts: list[PostKind] = []
    """Kinds of post."""
    guys: list[Guy] = []
    """Guys with their plate anchors."""
    base_anchors: list[BaseAnchor] = []
    """Base anchors."""
    harnesses: list[Harness] = []
    """Harnesses."""
    tools: list[Tool] = []
    """Tools and other items of the load list."""
    lifting_gear: list[Tool] = []
    """Slings, boom attachments, shackles, tag lines."""


class UserBasis(JobModel):
    """The worker that the reckoning assumes, and the allowances of the clearance sum."""

    mass: UserMass
    """The heaviest worker with clothes, tools and materials."""
    dring_height: Rated[DringHeight]
    """The back D-ring's height above the surface, standing."""
    dring_shift: Rated[Length]
    """How far the D-ring moves up the body in an arrest, with the harness's stretch."""
    margin: Rated[PositiveLength]
    """The margin kept free below the feet."""
    note: Text | None = None
    """What these rest on."""
