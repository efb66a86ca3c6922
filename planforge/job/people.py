"""The people: who answers for what, who is trained, who may be tied on, who signs."""

from __future__ import annotations

from planforge.job.base import Date, Id, JobModel, Name, Text
from planforge.job.quantities import Mass


class Training(JobModel):
    """One training record (29 CFR 1926.503(b): name, date, signature of trainer or employer)."""

    course: Name
    """What was taught."""
    on: Date
    """The day it was done."""
    trainer: Name
    """Who taught it or certified it."""
    expires: Date | None = None
    """When it lapses under the employer's or the code's rule."""


class Person(JobModel):
    """A person named in the plan."""

    id: Id
    """A short name that other parts refer to."""
    name: Name
    """Full name."""
    employer: Name | None = None
    """Who employs them."""
    trade: Name | None = None
    """What they do."""
    phone: Name | None = None
    """Telephone."""
    language: Name = "English"
    """The language they read best."""
    mass: Mass | None = None
    """With clothes, tools and materials, where it matters."""
    qualification: Text | None = None
    """For a qualified or competent person: what that rests on."""
    training: list[Training] = []
    """Training records."""
    authorised: bool = False
    """True where they may be tied to the lines and anchors of this plan."""
    phases: list[Id] = []
    """The phases they work in; empty means all."""


class Roles(JobModel):
    """Who answers for what; each an id under `people`."""

    safety_coordinator: Id | None = None
    """Prepares and issues the plan."""
    competent_person: Id | None = None
    """On site; sees hazards and may correct them at once (29 CFR 1926.32(f))."""
    competent_alternate: Id | None = None
    """Stands in when the first is away; another person."""
    qualified_person: Id | None = None
    """Under whom the lifelines are designed, installed and used (29 CFR 1926.502(d)(8), 1926.32(m))."""
    erection_lead: Id | None = None
    """Leads erection and removal."""
    rescue_lead: Id | None = None
    """Leads a rescue."""
    rescue_alternate: Id | None = None
    """Stands in when the first is away; another person."""


class SignOff(JobModel):
    """Who has to sign the plan before it is used."""

    role: Name
    """In what capacity."""
    person: Id | None = None
    """The person, an id under `people`."""


class Variance(JobModel):
    """A qualified person's acceptance of a short item, printed beside it and never in its place."""

    check: Name
    """The id of the check."""
    where: Name
    """The place it was found short."""
    by: Id
    """The qualified person."""
    licence: Name
    """Licence or other standing."""
    on: Date
    """The day it was done."""
    reason: Text
    """Why it is accepted, and under what conditions."""
