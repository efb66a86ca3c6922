"""One lot's packet: page 1, crew sheet and erection sheet first, then the plan, then the appendices."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final

from planforge.assess.assessment import Assessment
from planforge.assess.briefing import sheet_languages
from planforge.collector import collector_paused
from planforge.document.build import Choice, Part, build_pdf
from planforge.document.context import packet_context
from planforge.document.context_crew_pages import crew_pages
from planforge.document.finish import Attachment
from planforge.document.pages import DocumentMeta
from planforge.document.templating import environment
from planforge.figures import drilling_sheets, figure_scales, guy_sheets, layout_names
from planforge.languages import FIRST, templates_folder

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# In the reader's order; True starts a new page.
PARTS: Final = (
    ("01_page_one.md", True),
    ("02_crew_sheet.md", True),
    ("03_erection_sheet.md", True),
    ("03c_release.md", False),
    ("04_contents.md", True),
    ("11_summary.md", True),
    ("12_scope.md", False),
    ("13_alternative.md", True),
    ("14_hazards.md", False),
    ("15_systems.md", False),
    ("16_layout.md", False),
    ("17_elevations.md", True),
    ("18_equipment.md", True),
    ("19_delivery.md", False),
    ("19a_hoisting.md", False),
    ("20_erection.md", False),
    ("20a_drilling.md", False),
    ("20b_proof_tests.md", False),
    ("21_inspection.md", False),
    ("22_logs.md", True),
    ("23_use.md", True),
    ("24_weather.md", False),
    ("25_access.md", False),
    ("26_rescue.md", True),
    ("27_removal.md", False),
    ("28_training.md", False),
    ("29_changes.md", True),
    ("30_requirements.md", True),
    ("31_notices.md", False),
    ("32_revisions.md", False),
    ("41_calculations.md", True),
    ("44_load_path.md", False),
    ("42_methods.md", False),
    ("43_checks.md", False),
)

# Appendix E: sheets to pull out, copy and hang; each keeps to one page, the tags to one for every six.
PULL_OUT: Final = (
    "51_filing.md",
    "52_pick_list.md",
    "53_pre_task.md",
    "54_tag_out.md",
    "55_tags.md",
)

# Of these, what is printed again in each other language that the crew reads.
PULL_OUT_EACH: Final = frozenset({"53_pre_task.md", "54_tag_out.md", "55_tags.md"})

CREW_SHEET: Final = "02_crew_sheet.md"
SHEET_AND_SIGN_IN: Final = (CREW_SHEET, "02_sign_in.md")
SIDE_BY_SIDE: Final = ("02_side_by_side.md", "02_side_by_side_sign_in.md")
MOST_PAGES: Final = 2
"""A crew sheet that takes more gives its sign-in a page of its own, then tells once what lines wait for."""

# What is printed again in each other language that the crew reads: whole runs of parts, and the part behind
# which each run stands; the next English part starts a new page.
IN_EACH_LANGUAGE: Final = (
    (("03_erection_sheet.md",), "03c_release.md"),
    (("21_inspection.md", "22_logs.md"), "22_logs.md"),
    (("27_removal.md",), "28_training.md"),
    (("31_notices.md",), "32_revisions.md"),
)

# Parts that a job may do without, by whether the values call for them.
_ON_DEMAND: Final[dict[str, Callable[[Mapping[str, Any]], object]]] = {
    "13_alternative.md": lambda values: values["alternatives"],
    "19a_hoisting.md": lambda values: values["post_views"],
    "20a_drilling.md": lambda values: values["post_views"],
    "20b_proof_tests.md": lambda values: values["proof_rows"],
    "44_load_path.md": lambda values: values["post_views"],
}


@collector_paused()
def packet(
    assessment: Assessment,
    *,
    fingerprint: str,
    date: dt.date,
    draft: bool,
    attachment: Attachment | None,
    figures: Mapping[str, Figure | Callable[[], Figure]],
    language: str = "en",
) -> bytes:
    """Return the packet of one lot as the bytes of a PDF.

    ``fingerprint`` is hexadecimal, in full. ``draft`` forces the draft mark, which a job with
    anything short carries in any case. ``figures`` holds the drawings by the names of
    :func:`planforge.figures.figure_set`. The same arguments give the same bytes. Raises
    :class:`planforge.errors.RefusedError` where a template or a figure is at fault.
    """
    marked = draft or assessment.draft
    context = packet_context(
        assessment, fingerprint=fingerprint, date=date, draft=marked, scales=figure_scales(assessment)
    )
    context["drawn"] = frozenset(figures)
    context["layout_sheets"] = layout_names(assessment)
    context["guy_sheets"] = guy_sheets(assessment)
    context["drilling_sheets"] = drilling_sheets(assessment) if assessment.bases else ()
    local = {code: {**context, **crew_pages(assessment, date, code)} for code in _codes(assessment)}
    parts = [*_parts(context, local), *_pull_out(context, local)]
    meta = _meta(assessment, fingerprint, date, marked, language)
    return build_pdf(parts, meta, figures, attachment)


def _pull_out(context: Mapping[str, Any], local: Mapping[str, Mapping[str, Any]]) -> Iterator[Part]:
    """The sheets of appendix E, those that a crew fills in and hangs in each of its languages."""
    for template in PULL_OUT:
        own = {"": context, **local} if template in PULL_OUT_EACH else {"": context}
        for code, values in own.items():
            for number in range(_copies(template, values)):
                yield Part(template, {**values, **_copy(template, values, number)}, True, code)


def _copies(template: str, values: Mapping[str, Any]) -> int:
    """How often a sheet is printed: the pre-task sheet for each phase, the tags for each page of them."""
    counted = {"53_pre_task.md": "pre_tasks", "55_tags.md": "tag_pages"}
    return len(values[counted[template]]) if template in counted else 1


def _copy(template: str, values: Mapping[str, Any], number: int) -> dict[str, object]:
    """What one copy of a sheet prints of its own."""
    if template == "53_pre_task.md":
        return {"pre_task": values["pre_tasks"][number]}
    return {"tag_page": values["tag_pages"][number]} if template == "55_tags.md" else {}


def _codes(assessment: Assessment) -> tuple[str, ...]:
    return tuple(language.code for language in sheet_languages(assessment.job))


def _parts(context: Mapping[str, Any], local: Mapping[str, Mapping[str, Any]]) -> Iterator[Part | Choice]:
    """Every part in the reader's order; ``local`` holds the values of the other languages by their code."""
    for template, new_page in PARTS:
        if template == CREW_SHEET:
            yield from _crew_sheets(context, local, lambda values: values["crew_sheet"])
        elif _wanted(template, context):
            yield Part(template, context, new_page)
        for run, behind in IN_EACH_LANGUAGE:
            if template == behind:
                for code, own in local.items():
                    yield from (Part(again, own, True, code) for again in run)
    for number in range(len(context["other_sheets"])):
        yield from _crew_sheets(context, local, lambda values, n=number: values["other_sheets"][n])  # type: ignore[misc]


Pick = Callable[[Mapping[str, Any]], Any]


def _crew_sheets(
    context: Mapping[str, Any], local: Mapping[str, Mapping[str, Any]], pick: Pick
) -> Iterator[Part | Choice]:
    """The sheets of one phase, which ``pick`` takes from a language's values."""
    apart = [
        Choice(_ways(SHEET_AND_SIGN_IN, {**own, "crew_sheet": pick(own)}, code), MOST_PAGES)
        for code, own in {"": context, **local}.items()
    ]
    if len(local) == 1 and context["job"].company.briefing == "side by side":
        yield Choice((*_side_by_side(context, local, pick), tuple(apart)), MOST_PAGES)
    else:
        yield from apart


def _side_by_side(
    context: Mapping[str, Any], local: Mapping[str, Mapping[str, Any]], pick: Pick
) -> Iterator[tuple[Part, ...]]:
    """English beside the other language, for a crew that reads two; everyone signs on it."""
    ((code, own),) = local.items()
    both = {
        "crew_sheet": pick(own),
        "first_sheet": pick(context),
        "first_words": environment(templates_folder(FIRST)).get_template("words.md").module,
        "crew": (*context["crew"], *own["crew"]),
        "without_sheet": context["without_sheet"],
    }
    yield from _ways(SIDE_BY_SIDE, {**own, **both}, code)


def _ways(templates: tuple[str, str], values: Mapping[str, Any], code: str) -> tuple[tuple[Part, ...], ...]:
    """A crew sheet with its sign-in; briefer with it; with its sign-in on a page of its own; both."""
    crew_sheet, sign_in = templates

    def sheet(*, apart: bool, brief: bool) -> Part:
        return Part(crew_sheet, {**values, "sign_in_apart": apart, "brief": brief}, True, code)

    last = Part(sign_in, values, True, code)
    return (
        (sheet(apart=False, brief=False),),
        (sheet(apart=False, brief=True),),
        (sheet(apart=True, brief=False), last),
        (sheet(apart=True, brief=True), last),
    )


def _wanted(template: str, values: Mapping[str, Any]) -> bool:
    return template not in _ON_DEMAND or bool(_ON_DEMAND[template](values))


def _heading(assessment: Assessment, code: str) -> tuple[str, str]:
    """Title and status line of the pages in a language; the status also in English, for everyone to read."""
    codes = dict.fromkeys((FIRST, code))
    words = {one: environment(templates_folder(one)).get_template("words.md").module for one in codes}
    status = " · ".join(_status(assessment, own) for own in words.values()).strip(" ·")
    return f"{words[code].title}, {assessment.job.site.project}", status  # type: ignore[attr-defined]


def _meta(
    assessment: Assessment, fingerprint: str, date: dt.date, draft: bool, language: str
) -> DocumentMeta:
    plan, site = assessment.job.plan, assessment.job.site
    title, status = _heading(assessment, language)
    return DocumentMeta(
        plan_number=plan.number,
        revision=str(plan.revision),
        lot=site.lot,
        title=title,
        date=date,
        fingerprint=fingerprint,
        draft=draft,
        status_line=status,
        language=language,
        headings={code: _heading(assessment, code) for code in _codes(assessment)},
    )


def _status(assessment: Assessment, words: object) -> str:
    """Say on every page that lines are not released; say nothing once all are."""
    if assessment.all_released:
        return ""
    layout = assessment.job.layout
    things = [line.id for line in layout.lines] + [anchor.id for anchor in layout.anchors]
    some = any(assessment.released(thing) for thing in things)
    return str(getattr(words, "some_released" if some else "not_released"))
