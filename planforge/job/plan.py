"""The plan's identity and the kind of plan that each part of the work falls under."""

from __future__ import annotations

from enum import StrEnum

from pydantic import Field

from planforge.job.base import Date, Id, JobModel, Name, Text


class PlanKind(StrEnum):
    """A site work plan uses conventional systems; an alternative plan follows 29 CFR 1926.502(k)."""

    SITE_WORK_PLAN = "site work plan"
    ALTERNATIVE_PLAN = "alternative plan"


class AlternativeWork(StrEnum):
    """The only kinds of work for which 29 CFR 1926.502(k) allows an alternative plan."""

    LEADING_EDGE = "leading edge"
    PRECAST = "precast"
    RESIDENTIAL = "residential"


class RevisionNote(JobModel):
    """One line of the revision history."""

    revision: int = Field(ge=0, le=999)
    """The revision's number, counted from 0."""
    dated: Date
    """The day it was approved."""
    change: Text
    """What changed, in words a crew member understands."""
    approved_by: Id
    """The person who approved the change."""


class PlanIdentity(JobModel):
    """Number, revision and keeper of the plan."""

    number: Name = Field(max_length=60)
    """The plan's number in the contractor's own series."""
    revision: int = Field(ge=0, le=999)
    """This revision, counted from 0."""
    prepared: Date
    """The day the plan was prepared."""
    prepared_by: Id
    """The person who prepared it (an id under `people`)."""
    held_at: Name | None = None
    """Where the copy with all approved changes is kept on the site."""
    history: list[RevisionNote] = []
    """Every revision so far, the present one last."""


class NotFeasible(JobModel):
    """Why one conventional system can't be used at one place (29 CFR 1926.502(k)(5))."""

    system: Name
    """Guardrail, personal fall arrest or safety net."""
    ground: Name
    """`infeasible` or `greater hazard`."""
    reason: Text
    """Why, at this place, in this work."""


class AlternativeLocation(JobModel):
    """A place where conventional systems can't be used; it becomes a controlled access zone (k)(7)."""

    id: Id
    """A short name that the drawing shows."""
    hazards: list[Id] = Field(min_length=1)
    """The hazards at this place."""
    reasons: list[NotFeasible] = []
    """A reason for each conventional system: guardrail, personal fall arrest, safety net."""
    other_measures: Text | None = None
    """Other measures considered and used: scaffolds, ladders, vehicle-mounted platforms (k)(6)."""
    monitor: Id | None = None
    """The safety monitor where no other measure is used (k)(8)."""
    workers: list[Id] = []
    """The only persons who may enter (k)(9)."""


class AlternativePlan(JobModel):
    """What 29 CFR 1926.502(k) asks of a plan that does without conventional systems."""

    work: AlternativeWork
    """The kind of work that makes the plan eligible."""
    qualified_person: Id | None = None
    """Who prepared it as a qualified person (k)(1)."""
    qualification: Text | None = None
    """The degree, certificate, standing or experience that this rests on."""
    changes_approved_by: Id | None = None
    """The qualified person who approves changes (k)(2)."""
    copy_held_at: Name | None = None
    """Where the up-to-date copy is kept on site (k)(3)."""
    competent_person: Id | None = None
    """Who supervises the carrying out (k)(4)."""
    locations: list[AlternativeLocation] = []
    """Each place, with its reasons (k)(5) to (k)(9)."""
    incident_review: Text | None = None
    """How a fall or other serious incident is investigated and the plan changed (k)(10)."""


class WorkPart(JobModel):
    """A part of the work and the kind of plan it falls under."""

    id: Id
    """The short name that other parts and the drawings use."""
    name: Name
    """What the part is."""
    phases: list[Id] = Field(min_length=1)
    """The phases it covers."""
    kind: PlanKind
    """`site work plan` or `alternative plan`."""
    alternative: AlternativePlan | None = None
    """The points of an alternative plan; only with that kind."""
