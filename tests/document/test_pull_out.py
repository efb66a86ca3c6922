"""Sheets to pull out keep to one page on every demo, and on a crowded job say what they leave off."""

from __future__ import annotations

import io
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader

from planforge.assess.assessment import Assessment, assess
from planforge.assess.briefing import signs_in
from planforge.document import packet
from planforge.document.build import Part, build_pdf
from planforge.document.context import packet_context
from planforge.document.context_crew_pages import crew_pages
from planforge.document.context_forms import (
    MOST_HAZARDS,
    MOST_SERIALS,
    MOST_THINGS,
)
from planforge.document.pages import DocumentMeta
from planforge.document.printed import Printed
from planforge.figures import figure_set
from planforge.job.equipment import Tool
from planforge.job.erection import Inspection
from planforge.job.layout import Anchor
from planforge.job.model import Job
from planforge.job.people import Person
from planforge.job.site import Phase
from planforge.languages import language

from .packets import DATE, FINGERPRINT, job_of

DEMOS = (
    "heron_lot_14",
    "heron_lot_15",
    "linnet_lot_3_trusses",
    "quartz_court_building_2",
    "wren_lot_7",
    "wren_lot_7_mended",
)


@cache
def demo(name: str) -> Assessment:
    return assess(job_of(name))


def sheets(assessment: Assessment, code: str = "") -> list[tuple[str, list[str]]]:
    """Each sheet of appendix E in a language by its template, with the text of each of its pages."""
    context: dict[str, Any] = packet_context(
        assessment, fingerprint=FINGERPRINT, date=DATE, draft=assessment.draft, scales={}
    )
    local = {one: {**context, **crew_pages(assessment, DATE, one)} for one in packet._codes(assessment)}
    meta = DocumentMeta("P-1", "0", "Lot", "Plan", DATE, FINGERPRINT)
    figures = figure_set(assessment)
    found = []
    for part in packet._pull_out(context, local):
        if part.language != code:
            continue
        pages = PdfReader(io.BytesIO(build_pdf([part], meta, figures))).pages
        found.append((part.template, [" ".join(page.extract_text().split()) for page in pages]))
    return found


def texts(assessment: Assessment, template: str) -> list[str]:
    return [" ".join(pages) for name, pages in sheets(assessment) if name == template]


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize(("code", "left_off"), [("", "left off here"), ("es", "Aquí faltan")])
def test_each_sheet_is_one_page(name: str, code: str, left_off: str) -> None:
    found = sheets(demo(name), code)
    assert {template for template, _ in found} == set(packet.PULL_OUT_EACH if code else packet.PULL_OUT)
    assert [template for template, pages in found if len(pages) != 1] == []
    assert not any(left_off in " ".join(pages) for _, pages in found)
    phases = [template for template, _ in found if template == "53_pre_task.md"]
    assert len(phases) == len(demo(name).job.phases)


def crowded(job: Job) -> Job:
    """A job with more of everything than a sheet has room for; every text long."""
    long = "of a rather long name that takes its room in any table"
    phases = [
        Phase(**(job.phases[0].model_dump() | {"id": f"phase-{n}", "name": f"Phase {n} {long}"}))
        for n in range(12)
    ]
    tools = [Tool(id=f"tool-{n}", name=f"Tool {n} {long}", use="Working", weight="1 lb") for n in range(30)]
    crew = [
        Person(id=f"worker-{n}", name=f"Worker {n} of a long double name", authorised=True) for n in range(26)
    ]
    hazard = job.hazards[0]
    hazards = [
        hazard.model_copy(update={"id": f"HX{n}", "name": f"Edge {n} {long}"})
        for n in range(MOST_HAZARDS + 3)
    ]
    anchors = [
        Anchor(id=f"AX-{n}", at=(f"{n} ft", "0"), elevation="10 ft", fitting=f"Beam clamp {long}", workers=1)
        for n in range(MOST_THINGS + 6)
    ]
    records = [
        Inspection(item=job.layout.posts[0].kind, serial=f"PX-{n}", on=DATE, by="L. Avocet", result="fit")
        for n in range(MOST_SERIALS + 4)
    ]
    kit = job.equipment.model_copy(update={"tools": [*job.equipment.tools, *tools]})
    return job.model_copy(
        update={
            "phases": [*job.phases, *phases],
            "people": [*job.people, *crew],
            "hazards": [*job.hazards, *hazards],
            "layout": job.layout.model_copy(update={"anchors": [*job.layout.anchors, *anchors]}),
            "inspections": [*(job.inspections or []), *records],
            "equipment": kit,
        }
    )


def test_a_crowded_job_says_what_each_sheet_leaves_off() -> None:
    """What is on a sheet and what it says is left off together are all there is."""
    assessment = assess(crowded(job_of("linnet_lot_3_trusses")))
    found = sheets(assessment)
    for code in ("", "es"):
        assert [(name, len(pages)) for name, pages in sheets(assessment, code) if len(pages) != 1] == []
    context: Any = packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    by_name = {template: pages[0] for template, pages in found}

    pick = by_name["52_pick_list.md"]
    items = [row.id for row in context["load"].rows]
    shown = [item for item in items if f"{item} ·" in pick]
    assert 0 < len(shown) < len(items)
    assert f"{len(items) - len(shown)} more item(s) left off here" in pick

    filing = by_name["51_filing.md"]
    phases = [phase.name for phase in assessment.job.phases]
    listed = [name for name in phases if name in filing]
    assert 0 < len(listed) < len(phases)
    assert f"{len(phases) - len(listed)} more phase(s) left off here" in filing

    first = next(pages[0] for template, pages in found if template == "53_pre_task.md")
    job, english = assessment.job, language("en")
    crew = [p.name for p in job.people if p.authorised and signs_in(p.language, job, english)]
    signing = [name for name in crew if f" {name} " in first]
    assert 0 < len(signing) < len(crew)
    assert f"{len(crew) - len(signing)} more of the crew left off here" in first
    assert f"{len(assessment.job.layout.anchors) + 1 - MOST_THINGS} more line(s) or anchorage(s)" in first
    assert "HX0 Edge" not in first
    assert f"{len(assessment.job.hazards) - MOST_HAZARDS} more: part 3" in first


def test_filing_sheet_says_which_plan_and_how_to_verify_it() -> None:
    heron = demo("heron_lot_14")
    (page,) = texts(heron, "51_filing.md")
    assert FINGERPRINT in page.replace(" ", "")
    assert "planforge verify AF-2026-114-r1.pdf" in page
    assert "9 of 9 line(s) and anchorage(s) wait for a release" in page
    for phase in heron.job.phases:
        assert phase.name in page
    assert "lifeline: L-N, L-W, L-S, L-E, L-GW, L-GN" in page
    assert "Jasper Kestrel, P.E. (invented), 555-0102" in page


def test_pick_list_leaves_out_what_was_removed() -> None:
    (page,) = texts(demo("heron_lot_14"), "52_pick_list.md")
    assert "HA-021 to HA-024, HA-026 to HA-028. LEAVE OUT HA-025" in page
    load = next(f for f in demo("heron_lot_14").findings if f.id == "kit.load")
    assert f"On the truck: {Printed('us').value_of(load)}; limit" in page


def test_pre_task_sheet_bars_what_is_short_or_held() -> None:
    (page,) = texts(demo("linnet_lot_3_trusses"), "53_pre_task.md")
    assert "A5 DO NOT TIE ON – – on hold: page 1" in page
    short = texts(demo("wren_lot_7"), "53_pre_task.md")
    assert all("DO NOT TIE ON" in page for page in short)


def test_tags_are_barred_where_the_plan_is() -> None:
    tags = " ".join(texts(demo("linnet_lot_3_trusses"), "55_tags.md"))
    assert "Released: Aspen Dunlin" in tags  # A3
    assert "Most people: 0 Head of post P5 No release: see page 1." in tags  # A5, on hold
    wren = " ".join(texts(demo("wren_lot_7"), "55_tags.md"))
    assert "until released here" not in wren  # all three are short
    assert wren.count("DO NOT TIE ON") == 3 + wren.count("ON HOLD DO NOT TIE ON")
    mended = " ".join(texts(demo("wren_lot_7_mended"), "55_tags.md"))
    assert mended.count("DO NOT TIE ON until released here") == 3


def inspection(name: str) -> str:
    """The text of the inspection part of a demo."""
    context = packet_context(demo(name), fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    meta = DocumentMeta("P-1", "0", "Lot", "Plan", DATE, FINGERPRINT)
    made = build_pdf([Part("21_inspection.md", context)], meta, figure_set(demo(name)))
    return " ".join(" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(made)).pages)


def test_open_criteria_name_what_to_ask_the_maker_for() -> None:
    page = inspection("linnet_lot_3_trusses")
    assert "post-18: open: ask the maker for most bow of a section" in page
    assert "post-18: 1/16\" (Maker's sheet PM-18 rev A p. 13 (invented))" in page


def test_stated_criteria_name_their_document() -> None:
    page = inspection("heron_lot_14")
    assert "ask the maker" not in page
    assert "post-20: 1/4\" (Maker's sheet PM-20 rev C p. 13 (invented))" in page
    assert "set-a: 10 (Maker's sheet HL-2 rev C p. 9 (invented))" in page
    assert "serves to 2033-09-11" in page  # the harnesses: made 2023-09-11, ten years
