"""The languages of the crew: for whom a sheet is printed, and whether the job's own words stand in it.

A sheet's fixed words come from its language's folder. The job's words (phases, places, steps, means) are
printed as the job translates them, else in English and marked; who reads both languages confirms.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from planforge.assess.finding import Finding, Verdict, found
from planforge.assess.index import Index
from planforge.job.equipment import Item
from planforge.job.hazard import Control, System
from planforge.job.model import Job
from planforge.job.people import Person
from planforge.languages import FIRST, Language, languages, spoken

_NAMED = 6
"""How many texts a note names before it counts the rest."""


def readers(job: Job) -> dict[str, list[Person]]:
    """The authorised workers by the language they read best, as the job names it."""
    read: dict[str, list[Person]] = {}
    for person in job.people:
        if person.authorised:
            read.setdefault(person.language, []).append(person)
    return read


def sheet_languages(job: Job) -> tuple[Language, ...]:
    """The languages, English left out, that an authorised worker reads and that have a folder."""
    read = [spoken(name) for name in readers(job)]
    return tuple(dict.fromkeys(one for one in languages().values() if one in read and one.code != FIRST))


def has_sheet(person: Person) -> bool:
    """True where a sheet is printed in the language that a person reads."""
    return spoken(person.language) is not None


def signs_in(reads: str, job: Job, language: Language) -> bool:
    """True where a reader of ``reads`` signs on the pages in a language; on the English ones all others."""
    own = spoken(reads)
    return own == language if own in sheet_languages(job) else language.code == FIRST


def one_line(text: str) -> str:
    """A text with its line breaks and double spaces taken out: as translations are looked up."""
    return " ".join(text.split())


def translated(job: Job, language: Language) -> dict[str, str]:
    """What the job's texts say in a language, by the English text in one line."""
    return {
        one_line(entry.text): one_line(entry.says)
        for group in job.translations
        if spoken(group.language) == language
        for entry in group.texts
    }


def said(text: str, says: Mapping[str, str] | None, language: Language) -> str:
    """A text of the job in a language; marked where it has no translation. None: the job's own language."""
    if says is None or not text:
        return text
    known = says.get(one_line(text))
    return language.untranslated.format(text=text) if known is None else known


def crew_texts(index: Index) -> dict[str, str]:
    """Every text of the job that sheets in another language print, in one line, with where it stands.

    Names of people, firms and places, addresses, serial numbers and marks are the same in every language.
    """
    job = index.job
    texts: dict[str, str] = {}
    for where, text in _crew_texts(index):
        if text:
            texts.setdefault(one_line(text), where)
    inspected = {record.item for record in job.inspections or []}
    for item in _items(job):
        if item.id in inspected:
            texts.setdefault(one_line(item.name), item.id)
    return texts


def told_as_procedure(control: Control, zones: Collection[str]) -> bool:
    """True where the reason itself says what the crew does; a procedure by zones is told by their rules."""
    return control.system is System.PROCEDURE and not (control.uses and set(control.uses) <= set(zones))


def _crew_texts(index: Index) -> Iterator[tuple[str, str | None]]:
    job = index.job
    for phase in job.phases:
        yield phase.id, phase.name
        yield phase.id, phase.work
    yield from _of_hazards(job)
    for task in job.tasks:
        if task.note:
            yield task.id, task.name
            yield task.id, task.note
        for stance in task.stances:
            yield stance.connector, index.connectors[stance.connector].name
    for zone in job.layout.zones:
        yield zone.id, zone.rule
    for stop in job.weather.stops if job.weather else []:
        yield "weather", stop
    yield from _on_posts(index)
    yield from _up_and_down(job)
    if job.rescue:
        yield "rescue", job.rescue.phone_cover
        for team in job.rescue.teams:
            yield "rescue", team.shift
        for step in job.rescue.steps:
            yield "rescue", step
        for means in job.rescue.means:
            yield means.id, means.name


def _of_hazards(job: Job) -> Iterator[tuple[str, str | None]]:
    """Their names, and what the crew does where a procedure alone guards it."""
    zones = {zone.id for zone in job.layout.zones}
    for hazard in job.hazards:
        yield hazard.id, hazard.name
        told = (control.reason for control in hazard.controls if told_as_procedure(control, zones))
        yield from ((hazard.id, reason) for reason in told)


def _on_posts(index: Index) -> Iterator[tuple[str, str | None]]:
    """What posts stand on and are held with, and what else an anchor sits on."""
    anchors = {anchor.id: anchor.name for anchor in index.job.equipment.base_anchors}
    for post in index.job.layout.posts:
        yield post.id, index.surface_name(post.stands_on)
        yield post.id, anchors.get(index.kind_of(post).anchored_with or "")
    for anchor in index.job.layout.anchors:
        yield anchor.id, None if anchor.post else anchor.fitting


def _up_and_down(job: Job) -> Iterator[tuple[str, str | None]]:
    """How posts and lines go up and come down."""
    if job.erection:
        up = job.erection
        yield from (("erection", text) for text in (up.installer_tie_off, up.after, up.tensioning))
        for step in up.sequence:
            yield from (("erection", text) for text in (step.do, step.by))
    if job.removal:
        down = job.removal
        told = (down.last_worker_tie_off, down.closes_holes, down.transport, down.moves_to)
        yield from (("removal", text) for text in told)
        for last in down.sequence:
            yield from (("removal", text) for text in (last.do, last.by))


def _items(job: Job) -> list[Item]:
    kit = job.equipment
    return [
        *(*kit.ropes, *kit.line_absorbers, *kit.lifelines, *kit.connectors, *kit.posts, *kit.guys),
        *(*kit.base_anchors, *kit.harnesses, *kit.tools, *kit.lifting_gear),
    ]


def assess_briefing(index: Index) -> list[Finding]:
    """One finding for each language read by the crew, and one for the words of each sheet."""
    return [
        *(_language(name, people) for name, people in readers(index.job).items()),
        *(_translated(index, language) for language in sheet_languages(index.job)),
    ]


def _language(name: str, people: list[Person]) -> Finding:
    sheet = spoken(name)
    known = ", ".join(one.name for one in languages().values())
    return found(
        "briefing.language",
        name,
        Verdict.MEETS if sheet else Verdict.CONFIRM,
        value=f"sheet in {sheet.name}" if sheet else f"no sheet in {name}",
        limit=f"read by {len(people)} of the crew",
        note="" if sheet else f"Name an interpreter. Sheets can be printed in: {known}.",
    )


def _translated(index: Index, language: Language) -> Finding:
    texts, says = crew_texts(index), translated(index.job, language)
    missing = [text for text in texts if text not in says]
    unchecked = [
        group.id
        for group in index.job.translations
        if spoken(group.language) == language and not (group.checked_by and group.on)
    ]
    notes = []
    if missing:
        more = f"; and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
        notes.append(f"Printed in English: {'; '.join(missing[:_NAMED])}{more}.")
    if unchecked:
        notes.append(f"Nobody is named who checked translations {', '.join(unchecked)}.")
    return found(
        "briefing.translated",
        language.name,
        Verdict.CONFIRM if notes else Verdict.MEETS,
        value=float(len(texts) - len(missing)),
        limit=float(len(texts)),
        sense="at least",
        note=" ".join(notes),
    )
