"""Fall hazards, and the system chosen for each with its reason."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from pydantic import Field

from planforge.job.base import Id, JobModel, Name, Point, Text
from planforge.job.quantities import Length


class System(StrEnum):
    """Ways of control in the order of preference (hierarchy of controls); the first is tried first."""

    WORK_FROM_BELOW = "work from below"
    GUARDRAIL = "guardrail"
    COVER = "cover"
    SCAFFOLD_OR_LIFT = "scaffold or lift"
    SAFETY_NET = "safety net"
    TRAVEL_RESTRAINT = "travel restraint"
    LIFELINE = "lifeline"
    SINGLE_ANCHORAGE = "single anchorage"
    CONTROLLED_ACCESS_ZONE = "controlled access zone"
    BARRICADE = "barricade"
    PROCEDURE = "procedure"


HazardKind = Literal[
    "unprotected edge",
    "leading edge",
    "open-to-below edge",
    "floor hole",
    "stair opening",
    "wall opening",
    "roof edge",
    "top plate",
    "truss setting",
    "hoist area",
    "ladder access",
    "falling objects",
    "excavation",
    "erection of the system",
]


class PassedOver(JobModel):
    """A higher-ranked control that was considered and not chosen."""

    system: System
    """The control."""
    reason: Text
    """Why it does not serve here."""


class Control(JobModel):
    """What guards a hazard, for the phases named."""

    system: System
    """The system chosen."""
    uses: list[Id] = []
    """The lines, anchors, guardrails, covers or zones on the layout that carry it out."""
    phases: list[Id] = []
    """The phases in which it guards; empty means every phase of the hazard."""
    reason: Text
    """Why this system was chosen here."""
    passed_over: list[PassedOver] = []
    """The higher-ranked controls considered, each with the reason it was not chosen."""


class Hazard(JobModel):
    """A place where someone can fall, or be struck, in the phases named."""

    id: Id
    """The mark on the drawings."""
    kind: HazardKind
    """Which of the listed kinds it is."""
    name: Name
    """The place in words."""
    at: Point
    """Where its mark stands in plan."""
    edge: Id | None = None
    """The hazard edge on the layout, where it is one."""
    opening: Id | None = None
    """The opening on the layout, where it is one."""
    height: Length | None = None
    """The height of the fall that is possible there."""
    phases: list[Id] = Field(min_length=1)
    """The phases in which it exists."""
    exposed: Name
    """Who is exposed."""
    controls: list[Control] = []
    """What guards it, in each phase."""
