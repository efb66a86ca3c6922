"""What the pages that a crew reads print, in one language: crew sheets, sign-in, inspection logs, notices.

The values are those of the English pages, rounded alike; words, dates and names of units are the language's.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import crew_texts, sheet_languages, signs_in, translated
from planforge.assess.index import Index
from planforge.assess.people import last_day
from planforge.codes.profile import BASIS
from planforge.document import context_lines as lines
from planforge.document import context_plan as plan
from planforge.document.context_bases import drilling
from planforge.document.context_crew import crew_sheet
from planforge.document.context_forms import crew_forms
from planforge.document.context_lines import AnchorView, LineView
from planforge.document.context_plan import PersonView
from planforge.document.printed import DASH, Printed
from planforge.document.voice import LocalPrinted, Voice, voice_of
from planforge.languages import FIRST, Language, language, spoken


@dataclass(frozen=True, slots=True)
class SheetOf:
    """A language in which the crew's pages are printed, with how many of the crew read it."""

    language: str
    readers: int
    in_part: bool  # some of the job's texts have no translation and stand in English on it


def crew_pages(assessment: Assessment, date: dt.date, code: str) -> dict[str, object]:
    """The values that differ from one language to the other, by the names that the templates use."""
    voice = voice_of(assessment, code)
    show = LocalPrinted(assessment.job.site.units, language=voice.language)
    line_rows = lines.line_views(assessment, show)
    anchor_rows = lines.anchor_views(assessment, show)
    others = [one for one in sheet_languages(assessment.job) if one.code != code]
    crew = [p for p in plan.person_views(assessment, show) if p.authorised]
    own = [p for p in crew if signs_in(p.language, assessment.job, voice.language)]
    names = tuple(voice.reads(one.name) for one in others)
    return {
        **crew_forms(assessment, line_rows, anchor_rows, show, voice),
        **_sheets(assessment, date, (*line_rows, *anchor_rows), show, voice),
        **_logs(assessment, line_rows, anchor_rows),
        "lines": line_rows,
        "item_names": {item: voice.say(name) for item, name in plan.item_names(assessment).items()},
        "last_day": show.day(last_day(assessment.index)),
        "erecting": erecting_phases(assessment.index),
        "not_drilled": voice.not_drilled(drilling(assessment, show).why),
        "twins": names if code == FIRST else (voice.reads(language(FIRST).name), *names),
        "map_suffix": "" if code == FIRST else f"-{code}",
        "local": show,
        "say": voice.say,
        "crew": tuple(replace(person, language=voice.reads(person.language)) for person in own),
        "sheets": tuple(_sheet_of(assessment, one, crew, voice) for one in others),
        "without_sheet": tuple(person for person in crew if not person.sheet) if code == FIRST else (),
        "inspections": tuple(_inspections(assessment, show, voice)),
        "basis": tuple(voice.language.basis[way] for way in BASIS.values()),
    }


def _sheet_of(
    assessment: Assessment, language: Language, crew: Sequence[PersonView], voice: Voice
) -> SheetOf:
    lacking = crew_texts(assessment.index).keys() - translated(assessment.job, language).keys()
    readers = sum(spoken(p.language) == language for p in crew)
    return SheetOf(voice.reads(language.name), readers, in_part=bool(lacking))


def _sheets(
    assessment: Assessment,
    date: dt.date,
    views: Sequence[LineView | AnchorView],
    show: Printed,
    voice: Voice,
) -> dict[str, object]:
    """The sheet of the phase under way on the day of issue (or the next to come), and all others."""
    now = plan.first_phase(assessment, date)
    by_id = {view.id: view for view in views}
    sheets = {
        phase: crew_sheet(
            assessment,
            phase,
            by_id,
            {thing: reach_in(assessment, thing, phase, show) for thing in by_id},
            show,
            voice,
        )
        for phase in assessment.index.shared_phases()
    }
    return {
        "crew_sheet": sheets[now],
        "other_sheets": tuple(sheet for phase, sheet in sheets.items() if phase != now),
        "sheet_in_front": sheets[now].phase,
    }


def _logs(
    assessment: Assessment, line_rows: tuple[LineView, ...], anchor_rows: tuple[AnchorView, ...]
) -> dict[str, object]:
    """First columns of the log sheets: the same names, worker limits and sag bands as everywhere."""
    bands = [(v.thing, v.band) for v in line_rows]
    return {
        "log_things": bands + [(v.thing, "") for v in anchor_rows],
        "post_names": [post.id for post in assessment.job.layout.posts],
        "guy_names": [guy.id for post in assessment.job.layout.posts for guy in post.guys],
        "line_names": [v.id for v in line_rows],
        "absorber_names": [v.id for v in line_rows if v.absorber],
        "worker_names": [p.name for p in assessment.job.people if p.authorised],
    }


def _inspections(assessment: Assessment, show: Printed, voice: Voice) -> Iterable[dict[str, str]]:
    names = plan.item_names(assessment)
    for record in assessment.job.inspections or []:
        yield {
            "item": f"{record.item} {voice.say(names.get(record.item, ''))}",
            "serial": voice.language.serials(record.serial),
            "on": show.day(record.on),
            "by": record.by,
            "result": voice.result(record.result),
            "due": show.day(record.due) if record.due else DASH,
        }


def erecting_phases(index: Index) -> tuple[str, ...]:
    """The phases in which posts or lines may go up or come down.

    A job doesn't say on which side of the change of phase that is done: what stands in one of two phases that
    follow each other names both. What stands in the first phase goes up in it, and in the last comes down.
    """
    layout, order = index.job.layout, index.shared_phases()
    stated = [post.phases for post in layout.posts] + [line.phases for line in layout.lines]
    stated += [anchor.phases for anchor in layout.anchors]
    standing = [{n for n, own in enumerate(stated) if not own or phase in own} for phase in order]
    padded: list[set[int]] = [set(), *standing, set()]
    changes = [before != after for before, after in pairwise(padded)]
    return tuple(p for p, before, after in zip(order, changes, changes[1:], strict=False) if before or after)


def reach_of(assessment: Assessment, show: Printed) -> dict[str, str]:
    """How far from each line or anchor one may go, rounded down; phase by phase where that differs."""
    layout = assessment.job.layout
    phases = assessment.index.shared_phases()
    told = {}
    for thing in [*(one.id for one in layout.lines), *(one.id for one in layout.anchors)]:
        by_phase = {phase: reach_in(assessment, thing, phase, show) for phase in phases}
        known = {phase: far for phase, far in by_phase.items() if far != DASH}
        alike = set(known.values())
        told[thing] = (
            "; ".join(f"{phase}: {far}" for phase, far in known.items())
            if len(alike) > 1
            else next(iter(alike), DASH)
        )
    return told


def reach_in(assessment: Assessment, thing: str, phase: str, show: Printed) -> str:
    """How far from a line or anchor one may go in a phase, rounded down; a dash where nobody is tied."""
    far = assessment.stay_within(thing, phase)
    return DASH if far is None else show.feet(far, "down")
