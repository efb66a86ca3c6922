"""Tags to cut out and hang at both ends of a line or at an anchor: who may tie on, and when nobody may.

A tag says DO NOT TIE ON until its release is written on it; what is barred has no release to write.
Behind them come tags ON HOLD, for whatever goes out of use: after a storm, a fall, at removal. Six tags a
page, each with a dashed line to cut along and a ring to punch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import said, sheet_languages, translated
from planforge.assess.lines import LineResult
from planforge.figures.drafting import FINE, HIDDEN
from planforge.figures.paper import HEAVY, LINE, Paper, Pen, rectangle
from planforge.figures.plan_content import allowed
from planforge.figures.text_metrics import LEADING, cut, text_width, wrapped_to
from planforge.languages import FIRST, Language, language
from planforge.units import Display

SIZE_INCHES = (7.0, 7.9)
ACROSS, DOWN = 2, 3
PER_PAGE = ACROSS * DOWN
LEAST_HOLDS = 3
"""Tags ON HOLD that are printed at least: for both ends of a line, and for an anchor."""

_CUT = Pen(0.8, dashes=HIDDEN)
_MARGIN = 13.0
_BODY = 11.0
_LEAST = 12.0
"""The crew's numbers are no smaller: 6 pt at half size."""


@dataclass(frozen=True, slots=True)
class Tag:
    """What one tag says."""

    id: str
    stop: str  # the words of the solid band
    most: str
    facts: tuple[str, ...]
    said: tuple[str, ...]  # of its release, as recorded; or why there is none
    to_write: tuple[str, ...]  # labels with a line to write on
    foot: str


def tag_names(assessment: Assessment, code: str = FIRST) -> tuple[str, ...]:
    """The names of the pages of tags in a language, in order."""
    pages = (len(_things(assessment)) + holds(assessment)) // PER_PAGE
    suffix = "" if code == FIRST else f"-{code}"
    return tuple(f"tags-{page + 1}{suffix}" for page in range(pages))


def holds(assessment: Assessment) -> int:
    """How many tags ON HOLD there are: as many as fill the last page, and no fewer than LEAST_HOLDS."""
    least = len(_things(assessment)) + LEAST_HOLDS
    return LEAST_HOLDS + -least % PER_PAGE


def tag_page(assessment: Assessment, page: int, code: str = FIRST) -> Paper:
    """Draw one page of tags in a language; ``page`` counts from 0."""
    paper = Paper(*SIZE_INCHES)
    display = Display(assessment.job.site.units)
    width, height = paper.width / ACROSS, paper.height / DOWN
    every = [*_things(assessment), *[""] * holds(assessment)]
    for place, thing in enumerate(every[page * PER_PAGE : (page + 1) * PER_PAGE]):
        left = (place % ACROSS) * width
        top = paper.height - (place // ACROSS) * height
        words = language(code)
        tag = tag_of(assessment, thing, display, words) if thing else hold_tag(assessment, words)
        _draw(paper, tag, left, top - height, left + width, top)
    return paper


def tag_pages(assessment: Assessment) -> dict[str, partial[Paper]]:
    """Every page of tags by its name, in each language that the crew reads, drawn when called."""
    codes = (FIRST, *(one.code for one in sheet_languages(assessment.job)))
    return {
        name: partial(tag_page, assessment, n, code)
        for code in codes
        for n, name in enumerate(tag_names(assessment, code))
    }


def _things(assessment: Assessment) -> list[str]:
    layout = assessment.job.layout
    return [line.id for line in layout.lines] + [anchor.id for anchor in layout.anchors]


def tag_of(assessment: Assessment, thing: str, display: Display, language: Language) -> Tag:
    """What the tag of a line or anchor says."""
    job, index, words = assessment.job, assessment.index, language.tags
    line = next((result for result in assessment.lines if result.id == thing), None)
    most = allowed(assessment, thing)
    recorded = next((r for r in job.releases if r.of == thing and assessment.released(thing)), None)
    told: tuple[str, ...] = ()
    if recorded is not None:
        day = language.day(recorded.on) if recorded.on else ""
        told = (
            words["released"].format(name=index.person(recorded.by)),
            words["released on"].format(date=day, revision=recorded.revision),
        )
    elif most == 0:
        told = (words["no release"],)
    return Tag(
        id=thing,
        stop=words["stop"] if most == 0 else words["stop until"],
        most=words["most"].format(number=most),
        facts=_line_facts(line, display, language) if line else (_where(assessment, thing, language),),
        said=told,
        to_write=() if told else (words["by"], words["on"]),
        foot=_foot(assessment, language),
    )


def hold_tag(assessment: Assessment, language: Language) -> Tag:
    """What a tag says that takes a line or anchor out of use: which one, why and since when is written."""
    words = language.tags
    return Tag(
        id=words["hold"],
        stop=words["stop"],
        most=words["most"].format(number=0),
        facts=(words["until"],),
        said=(),
        to_write=(words["thing"], words["why"], words["hung by"], words["at"]),
        foot=_foot(assessment, language),
    )


def _foot(assessment: Assessment, language: Language) -> str:
    plan, lot = assessment.job.plan, assessment.job.site.lot
    day = language.day(plan.prepared)
    return language.tags["foot"].format(number=plan.number, revision=plan.revision, date=day, lot=lot)


def _line_facts(result: LineResult, display: Display, language: Language) -> tuple[str, ...]:
    words, local = language.tags, language.numbers
    facts = [words["span"].format(length=local(display.length(result.parts.span)))]
    rows = result.card.rows
    if not rows:
        return (*facts, words["no sag"])
    for row in (rows[0], rows[-1]):
        low, high = display.inches(row.lower, "up"), display.inches(row.upper, "down")
        at = display.temperature(row.temperature)
        facts.append(words["sag"].format(low=local(low), high=local(high), temperature=at))
    return (*facts, words["between"])


def _where(assessment: Assessment, thing: str, language: Language) -> str:
    """Where a single-point anchorage sits."""
    job = assessment.job
    anchor = next(a for a in job.layout.anchors if a.id == thing)
    if anchor.post:
        return language.tags["head"].format(post=anchor.post)
    says = None if language.code == FIRST else translated(job, language)
    return said(anchor.fitting or "", says, language) or language.tags["anchor"]


def _draw(paper: Paper, tag: Tag, left: float, bottom: float, right: float, top: float) -> None:
    paper.stroke(rectangle(left + 3, bottom + 3, right - 3, top - 3), _CUT, closed=True, layer=LINE)
    start, end = left + _MARGIN, right - _MARGIN
    paper.circle(end - 8.0, top - 20.0, 8.0, FINE)
    paper.text(start, top - 33.0, tag.id, _fitting(tag.id, end - start - 30.0), bold=True)
    band = top - 41.0
    paper.fill(rectangle(start, band - 21.0, end, band), 0.0, layer=HEAVY)
    size = _fitting(tag.stop, end - start - 10.0, most=16.0)
    paper.text(
        (start + end) / 2, band - 10.5 - 0.35 * size, tag.stop, size, align="center", bold=True, grey=1.0
    )
    y = band - 35.5
    paper.text(start, y, tag.most, 16.0, bold=True)
    for fact in _lines(tag.facts, end - start):
        y -= 13.2
        paper.text(start, y, fact, _LEAST)
    for text in tag.said:
        y -= 17.0
        paper.text(start, y, cut(text, _LEAST, end - start, bold=True), _LEAST, bold=True)
    for label in tag.to_write:
        y -= 17.0
        paper.text(start, y, label, _LEAST)
        paper.stroke([(start + text_width(label, _LEAST) + 5.0, y - 2.0), (end, y - 2.0)], FINE)
    size = _fitting(tag.foot, end - start, most=_BODY)
    for number, line in enumerate(reversed(wrapped_to(tag.foot, size, end - start, 2))):
        paper.text(start, bottom + 9.0 + number * size * LEADING, line, size)


def _lines(facts: Sequence[str], width: float) -> list[str]:
    return [line for fact in facts for line in wrapped_to(fact, _LEAST, width, 2)]


def _fitting(text: str, width: float, most: float = 30.0) -> float:
    """The largest size, points, at which a text keeps to a width; no smaller than a sheet's least text."""
    size = most
    while size > 9.3 and text_width(text, size, True) > width:
        size -= 0.5
    return size
