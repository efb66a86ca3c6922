"""What a plan rests on that ends on a day of its own: does a plan issued earlier still hold today?

A plan's checks look over the whole of its work, so most of what ends before the work does is short when the
plan is issued. The rest comes to an end later, while nothing in the job changes: what a variance accepted,
the training of those who answer for the work or sign, an estimate that a test was to replace. Nothing here
solves a line; it is cheap enough to ask of every lot of a site every day.

Where a date can be read in two ways the more demanding reading is taken:

- *Training* (29 CFR 1926.503): of a person with several records the first to expire counts, as it does when
  the plan is issued; a record holds through the day it expires. Who holds a role or has to sign counts to the
  end of the work, a worker who is only tied on to the end of the phases they work in.
- *Inspections*: the newest record of each serial counts, of items in use and of others alike; an inspection
  is overdue from the day after it is due.
- *Service life*: a serial serves through the last day of the life that its maker states.
- *Concrete*: a post must bear from the first day of the phase in which it first stands. From then on its
  strength has to be stated from a test (``slab.strength``); one reckoned from that of 28 days no longer does,
  although concrete only gains strength, for nobody has confirmed it.
- *Signatures*: from the first day of the work each role that signs has a person.
- *Code profile*: one that was compared with its text again after the plan was issued may have changed under
  the plan; it holds when it is issued again.

- *Scan of the slab*: it holds through the day that who did it states, and until something that voids it has
  happened. By date it lapses while a base is still to be drilled; for what happened it lapses at once.

A plan whose work is over lapses no more.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from planforge.assess.checks import CHECKS
from planforge.assess.index import Index
from planforge.assess.kit import end_of_life, fit_records, life_starts, worn_items
from planforge.assess.people import last_day, needed_days, training_until
from planforge.assess.scan import drilled_from, ended
from planforge.codes.profile import Profile
from planforge.job.people import Person

_DAY = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Lapse:
    """Something that a plan rests on and that no longer holds from a day on."""

    check: str
    """The id of the check that it bears on."""
    where: str
    """The person, item, role or part."""
    since: dt.date
    """The first day on which it does not hold."""
    says: str
    """What came to an end."""
    remedy: str
    """What to do."""

    def __str__(self) -> str:
        """Print as ``Training holds over the work, Jasper Kestrel: ended 2026-12-05. Train again ...``."""
        return f"{CHECKS[self.check].title}, {self.where}: {self.says}. {self.remedy}"


def lapses(index: Index) -> tuple[Lapse, ...]:
    """Everything that lapses on a day of the work or before it, the earliest first."""
    found = [
        *_training(index),
        *_inspections(index),
        *_service_life(index),
        *_concrete(index),
        *_scan(index),
        *_signatures(index),
    ]
    end = last_day(index)
    return tuple(sorted((lapse for lapse in found if lapse.since <= end), key=_by_day))


def profile_lapses(profile: Profile, issued: dt.date) -> tuple[Lapse, ...]:
    """The code profile of a plan issued on that day, where it was compared with its text again since."""
    checked = dt.date.fromisoformat(profile.checked)
    if checked <= issued:
        return ()
    says = f"compared with its text again on {checked}, after the plan was issued on {issued}"
    remedy = "Raise plan.revision and issue the plan anew."
    return (Lapse("code.contents", profile.id, checked, says, remedy),)


def lapsed(every: Iterable[Lapse], today: dt.date, end: dt.date) -> tuple[Lapse, ...]:
    """What no longer holds today; nothing once the work, which ends with ``end``, is over."""
    return tuple(lapse for lapse in every if lapse.since <= today) if today <= end else ()


def _by_day(lapse: Lapse) -> tuple[dt.date, str, str, str]:
    return lapse.since, lapse.check, lapse.where, lapse.says


def _training(index: Index) -> Iterator[Lapse]:
    answers = _answers_for(index)
    for person in index.job.people:
        role = answers.get(person.id)
        if role is None and not person.authorised:
            continue
        _, until = training_until(person)
        if until is None or until >= _needed(index, person, always=role is not None):
            continue
        who = f"{person.name}, {role}" if role else person.name
        instead = "name somebody else" if role else "take this worker off the work"
        remedy = f"Train again, or {instead}."
        yield Lapse("people.training", who, until + _DAY, f"training expired on {until}", remedy)


def _needed(index: Index, person: Person, *, always: bool) -> dt.date:
    """The last day on which a person's training is needed."""
    return last_day(index) if always else needed_days(index, person)[1]


def _answers_for(index: Index) -> dict[str, str]:
    """Who holds a role or has to sign, by id, with the first such role in words."""
    job = index.job
    roles: dict[str, str] = {}
    for name in type(job.roles).model_fields:
        holder = getattr(job.roles, name)
        if holder is not None:
            roles.setdefault(holder, name.replace("_", " "))
    for sign_off in job.sign_offs or []:
        if sign_off.person is not None:
            roles.setdefault(sign_off.person, sign_off.role)
    return roles


def _inspections(index: Index) -> Iterator[Lapse]:
    for item in dict.fromkeys(record.item for record in index.job.inspections or []):
        for record in fit_records(index, item):
            if record.due is not None:
                says = f"the inspection of {record.serial} was due on {record.due}"
                remedy = "Inspect it and record that, or take it out of the kit."
                yield Lapse("kit.inspected", item, record.due + _DAY, says, remedy)


def _service_life(index: Index) -> Iterator[Lapse]:
    for item in worn_items(index):
        if item.service_life is None:
            continue
        for serial, start in life_starts(index, item):
            if start is not None:
                last = end_of_life(start, item.service_life.value)
                says = f"the service life of {serial} was over on {last}"
                yield Lapse("kit.service_life", item.id, last + _DAY, says, "Take it out of the kit.")


def _concrete(index: Index) -> Iterator[Lapse]:
    """Posts that stand on a slab whose strength nobody tested, from the first day of the first of them."""
    job = index.job
    if job.slab is None or job.slab.strength is not None:
        return
    days = drilled_from(index)
    if days:
        says = f"posts bear on the slab from {min(days)}, and no test of its strength is stated"
        yield Lapse("slab.pour", "slab", min(days), says, "State slab.strength from a test of that day.")


def _scan(index: Index) -> Iterator[Lapse]:
    days, scan = drilled_from(index), index.job.slab.scan if index.job.slab else None
    if scan is None or not days:
        return
    remedy = "Nobody drills: scan the slab anew and state that scan."
    void, until = ended(scan), scan.holds_until
    if void is not None:
        yield Lapse("slab.scan", "slab", void[0], f"the scan of {scan.on} is void: {void[1]}", remedy)
    if until is not None and until < max(days):
        says = f"the scan of {scan.on} held until {until}, and bases are drilled up to {max(days)}"
        yield Lapse("slab.scan", "slab", until + _DAY, says, remedy)


def _signatures(index: Index) -> Iterator[Lapse]:
    first = min(phase.start for phase in index.job.phases)
    for sign_off in index.job.sign_offs or []:
        if sign_off.person is None:
            says = f"work began on {first}, and nobody is named to sign"
            yield Lapse("plan.sign_offs", sign_off.role, first, says, "Name the person under sign_offs.")
