"""One lot's packet: page 1, crew sheet and erection sheet first, then the plan, then the appendices."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

from planforge.assess.assessment import Assessment
from planforge.document.build import Part, build_pdf
from planforge.document.context import packet_context
from planforge.document.finish import Attachment
from planforge.document.folder import templates_folder
from planforge.document.pages import DocumentMeta
from planforge.document.templating import environment
from planforge.figures import figure_scales, layout_names

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# In the reader's order; True starts a new page.
PARTS: Final = (
    ("01_page_one.md", True),
    ("02_crew_sheet.md", True),
    ("02_sign_in.md", True),
    ("03_erection_sheet.md", True),
    ("04_contents.md", True),
    ("11_summary.md", True),
    ("12_scope.md", False),
    ("13_alternative.md", True),
    ("14_hazards.md", False),
    ("15_systems.md", False),
    ("16_layout.md", True),
    ("17_elevations.md", True),
    ("18_equipment.md", True),
    ("19_delivery.md", False),
    ("19a_hoisting.md", False),
    ("20_erection.md", False),
    ("20a_drilling.md", True),
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
    ("44_load_path.md", True),
    ("42_methods.md", False),
    ("43_checks.md", True),
)

# Appendix E: sheets to pull out, copy and hang; each keeps to one page, the tags to one for every six.
PULL_OUT: Final = (
    "51_filing.md",
    "52_pick_list.md",
    "53_pre_task.md",
    "54_tag_out.md",
    "55_tags.md",
)

# Appendix D: the crew sheets of the phases that are not in front, each with its own values.
OTHER_SHEETS: Final = ("02_crew_sheet.md", "02_sign_in.md")

# Parts that a job may do without, by whether the values call for them.
_ON_DEMAND: Final[dict[str, Callable[[Mapping[str, Any]], object]]] = {
    "02_sign_in.md": lambda values: values["crew_sheet"].sign_in_apart,
    "13_alternative.md": lambda values: values["alternatives"],
    "19a_hoisting.md": lambda values: values["post_views"],
    "20a_drilling.md": lambda values: values["post_views"],
    "44_load_path.md": lambda values: values["post_views"],
}


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
    parts = [
        Part(template, context, new_page)
        for template, new_page in PARTS
        if template not in _ON_DEMAND or _ON_DEMAND[template](context)
    ]
    for sheet in context["other_sheets"]:  # type: ignore[attr-defined]
        own = {**context, "crew_sheet": sheet}
        parts += [Part(t, own, True) for t in OTHER_SHEETS if t not in _ON_DEMAND or _ON_DEMAND[t](own)]
    parts += _pull_out(context)
    meta = _meta(assessment, fingerprint, date, marked, language)
    return build_pdf(parts, meta, figures, attachment)


def _pull_out(context: Mapping[str, Any]) -> list[Part]:
    """The sheets of appendix E: the pre-task sheet for each phase, the tags for each page of them."""
    each: dict[str, list[dict[str, object]]] = {
        "53_pre_task.md": [{"pre_task": sheet} for sheet in context["pre_tasks"]],
        "55_tags.md": [{"tag_page": name} for name in context["tag_pages"]],
    }
    return [Part(t, {**context, **own}, True) for t in PULL_OUT for own in each.get(t, [{}])]


def _meta(
    assessment: Assessment, fingerprint: str, date: dt.date, draft: bool, language: str
) -> DocumentMeta:
    words = environment(templates_folder(language)).get_template("words.md").module
    plan, site = assessment.job.plan, assessment.job.site
    return DocumentMeta(
        plan_number=plan.number,
        revision=str(plan.revision),
        lot=site.lot,
        title=f"{words.title}, {site.project}",  # type: ignore[attr-defined]
        date=date,
        fingerprint=fingerprint,
        draft=draft,
        status_line=_status(assessment, words),
        language=language,
    )


def _status(assessment: Assessment, words: object) -> str:
    """Say on every page that lines are not released; say nothing once all are."""
    if assessment.all_released:
        return ""
    layout = assessment.job.layout
    things = [line.id for line in layout.lines] + [anchor.id for anchor in layout.anchors]
    some = any(assessment.released(thing) for thing in things)
    return str(getattr(words, "some_released" if some else "not_released"))
