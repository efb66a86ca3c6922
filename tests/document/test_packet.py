"""The packet as an inspector reads it: order, equal numbers, open items, drafts, crowded and bare jobs."""

from __future__ import annotations

import re
from collections.abc import Iterable

import pytest

from planforge.assess.assessment import Assessment, assess
from planforge.assess.checks import CHECKS
from planforge.assess.finding import Verdict
from planforge.document import packet as packets
from planforge.document.context import packet_context
from planforge.document.context_calculations import line_calculations
from planforge.document.packet import packet
from planforge.document.printed import Printed
from planforge.figures import figure_set
from planforge.job.hazard import Hazard
from planforge.job.model import Job
from planforge.job.people import Training
from planforge.job.plan import AlternativeLocation, AlternativePlan, AlternativeWork, NotFeasible, PlanKind
from planforge.units import LENGTH, parse

from .packets import DATE, FINGERPRINT, Pages, demo, job_of, pages_of, printed, small_figure, squeezed


def bands(assessment: Assessment) -> Iterable[tuple[str, int, str]]:
    context = packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    return [(line.id, line.workers, " ".join(line.band.split())) for line in context["lines"]]  # type: ignore[attr-defined]


def test_reader_order(heron_pages: Pages) -> None:
    titles = list(heron_pages.parts)
    assert [t.split(" · ")[0] for t in titles[:6]] == [
        "Fall-protection plan",
        "Crew sheet",
        "Hoja de la cuadrilla",
        "Erection sheet",
        "Hoja de montaje",
        "Contents",
    ]
    numbered = [int(t.split()[0]) for t in titles if t[0].isdigit()]
    assert numbered == list(range(1, 21))
    appendices = [t.partition(" · ")[0].removeprefix("Appendix ") for t in titles if t.startswith("Appendix")]
    assert appendices[:7] == ["A", "A", "A", "B", "C", "D", "D"]  # calculations, load path, walls
    tail = [t for t in titles if not t.startswith("Apéndice")][-len(appendices) :]
    assert tail[0] == "Appendix A · Calculations"


def test_page_one_says_whether_each_line_may_be_used(heron: Assessment, heron_pages: Pages) -> None:
    page = heron_pages.page(0)
    things = [*heron.job.layout.lines, *heron.job.layout.anchors]
    assert page.count("NOT RELEASED FOR USE") >= len(things) + 1
    for thing in things:
        assert thing.id in page
    assert FINGERPRINT in page
    assert "Jasper Kestrel, P.E. (invented)" in page


@pytest.mark.parametrize(
    "name", ["heron_lot_14", "wren_lot_7", "quartz_court_building_2", "linnet_lot_3_trusses"]
)
def test_crew_sheet_is_two_pages_at_most(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the true drawing of the map: its size counts. The parts that follow it are left out."""
    first = ("01_page_one.md", "02_crew_sheet.md", "04_contents.md")
    monkeypatch.setattr(packets, "PARTS", tuple(part for part in packets.PARTS if part[0] in first))
    monkeypatch.setattr(packets, "PULL_OUT", ())
    assessment = demo(name)
    drawn = figure_set(assessment)
    figures = {key: drawn[key] if key.startswith("tie-off-map") else small_figure for key in drawn}
    for phase in assessment.job.phases:
        pages = Pages(
            packet(
                assessment,
                fingerprint=FINGERPRINT,
                date=phase.start,
                draft=False,
                attachment=None,
                figures=figures,
            )
        )
        assert phase.name in list(pages.parts)[1]
        starts = [start for start, _ in pages.parts.values()]
        sheets = [n for n, title in enumerate(pages.parts) if "Crew sheet" in title or "Hoja de la" in title]
        assert len(sheets) == 2 * len(assessment.job.phases)
        for n in sheets:
            assert [*starts, len(pages.reader.pages)][n + 1] - starts[n] <= 2, list(pages.parts)[n]


def test_sag_band_and_workers_are_the_same_everywhere(heron: Assessment, heron_pages: Pages) -> None:
    """The card's bands on the coldest and the warmest day, with or without their temperatures."""
    crew = heron_pages.part("Crew sheet")
    deck = [x.id for x in heron.job.layout.lines if "deck" in x.phases]
    for line, workers, band in bands(heron):
        assert f"{line} · ≤ {workers} · {band}" in heron_pages.part("Inspection logs")
        assert f"{line} {workers} {band}" in heron_pages.part("11 Use rules")
        assert f"{line} · posts" in heron_pages.part("Appendix A")
        assert f"{workers} worker(s) · sag {band}" in heron_pages.part("Appendix A")
        bare = re.sub(r" at \d+ °F", "", band)
        assert f"{line} NOT RELEASED FOR USE {workers} {bare}" in heron_pages.page(0)
        assert (f"lifeline {line} {workers} {bare}" in crew) == (line in deck)


def test_every_finding_is_in_appendix_c(heron: Assessment, heron_pages: Pages) -> None:
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    rows = [row for topic in context["topics"] for group in topic.groups for row in group.rows]  # type: ignore[attr-defined]
    for finding in heron.findings:
        own = [r for r in rows if r.id == finding.id and r.verdict == finding.verdict.value]
        assert any(finding.where in r.where.replace(" (", "; (").split("; ") for r in own), finding
    appendix = heron_pages.part("Appendix C")
    for check in {f.id for f in heron.findings}:
        assert f"[{check}]" in appendix


def test_every_confirm_is_an_open_line(heron: Assessment, heron_pages: Pages) -> None:
    summary = heron_pages.part("1 Summary")
    for finding in heron.open_items:
        if finding.id == "release.state":
            assert finding.where in heron_pages.part("Erection sheet")
        else:
            assert squeezed(f"{CHECKS[finding.id].title} [{finding.id}]") in squeezed(summary)
            assert finding.decides in summary
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    rows = context["open_rows"]
    for finding in heron.open_items:
        own = [row for row in rows if (row.id, row.decides) == (finding.id, finding.decides)]  # type: ignore[attr-defined]
        assert finding.id == "release.state" or any(finding.where in row.where for row in own)
    assert len(rows) == len({(row.id, row.subject, row.decides) for row in rows})  # type: ignore[attr-defined, arg-type]
    wind = [row for row in rows if row.id == "wind.unguyed"]  # type: ignore[attr-defined]
    plumb = [row for row in rows if row.id == "line.plumb"]  # type: ignore[attr-defined]
    assert len(wind) == len(plumb) == 1  # one row for all posts, one for all lines
    worst = min((f for f in heron.open_items if f.id == "wind.unguyed"), key=lambda f: f.margin or 0.0)
    bears = Printed("us").limit_of(worst)  # of the tube alone: no leave to let go of the hook
    assert bears.endswith(" mph")
    assert wind[0].where.endswith(": 20 mph; the tube does not govern; the hook stays on until guyed")
    hoisting = heron_pages.part("8 Delivery")
    assert "the hook stays on until guyed" in hoisting
    assert bears not in summary + hoisting
    assert bears in heron_pages.part("Appendix C · All checks")
    tight = min((min(m.room), m.line) for m in heron.replumbed if m.room)
    assert f"worst {tight[1]}," in plumb[0].where
    assert f"In all {context['to_confirm']} item(s)" in summary
    assert f"{context['to_release']} release(s) are counted apart" in summary


@pytest.mark.parametrize("name", ["heron_lot_14", "wren_lot_7", "quartz_court_building_2"])
def test_printed_clearance_re_adds(name: str) -> None:
    assessment = assess(job_of(name))
    sums = line_calculations(assessment, Printed(assessment.job.site.units))
    for line in sums:
        for side in line.sides:
            terms = [parse(t.text, LENGTH) for t in side.stack.terms]
            needed, available, left = (
                parse(text, LENGTH) for text in (side.needed, side.available, side.left_over)
            )
            assert sum(terms) == pytest.approx(needed, abs=1e-9)
            assert available - needed == pytest.approx(left, abs=1e-9)
            for datum in side.datums:
                below = parse(datum.available, LENGTH) - parse(datum.needed, LENGTH)
                assert below == pytest.approx(left, abs=1e-9)


def test_clearance_names_datum_and_object(heron: Assessment, heron_pages: Pages) -> None:
    appendix = heron_pages.part("Appendix A")
    assert appendix.count("Datum: the D-ring before the fall.") == len(heron.lines) + len(heron.anchors)
    for line in line_calculations(heron, Printed("us")):
        assert line.worst is not None
        assert f"onto {line.worst.under}." in appendix


def test_a_missing_rating_turns_row_page_one_and_crew_sheet_to_confirm(heron: Assessment) -> None:
    job = heron.job
    connectors = [c.model_copy(update={"peak_force": None}) for c in job.equipment.connectors]
    equipment = job.equipment.model_copy(update={"connectors": connectors})
    changed = assess(job.model_copy(update={"equipment": equipment}))
    known = {(f.id, f.where) for f in heron.open_items}
    new = [f for f in changed.open_items if (f.id, f.where) not in known]
    assert {f.id for f in new} == {"arrest.force"}
    pages = Pages(printed(changed))
    for finding in new:
        assert squeezed(finding.where) in squeezed(pages.part("1 Summary"))
    assert squeezed("Force on the worker [arrest.force]") in squeezed(pages.part("1 Summary"))
    context = packet_context(changed, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    for anchor in context["anchors"]:  # type: ignore[attr-defined]
        assert "arrest.force" in [f.id for f in anchor.thing.open]
    assert re.search(r"A1, post P5 .{1,40} 1 – \d+ ?confirm ?qualified person", pages.page(0))
    crew = pages.part("Crew sheet")
    assert re.search(r"lifeline L-N .{1,120}to confirm ?: ?competent person, ?qualified person", crew)


def test_draft_marks_every_page_and_lists_what_is_short(wren: Assessment, wren_pages: Pages) -> None:
    assert wren.draft
    for page in wren_pages.pages:
        assert "DRAFT – NOT FOR USE" in page or "DRAFT · BORRADOR – NO USAR" in page
    assert wren_pages.page(0).index("What is short") < wren_pages.page(0).index("May this line be used")
    for finding in wren.short:
        thing, *rest = finding.where.split(" · ")
        assert re.search(rf"{thing}.{{0,80}}{re.escape(' '.join(rest[:1]))}", wren_pages.page(0))


def test_draft_can_be_forced(heron: Assessment) -> None:
    pages = Pages(printed(heron, draft=True))
    assert all("DRAFT – " in page or "DRAFT · BORRADOR – " in page for page in pages.pages)


def test_nothing_is_called_safe(heron_pages: Pages, wren_pages: Pages) -> None:
    for pages in (heron_pages, wren_pages):
        assert re.findall(r"\bsafe(?:ly)?\b", pages.text, re.IGNORECASE) == []


def test_same_input_gives_the_same_bytes(wren: Assessment, wren_pages: Pages) -> None:
    again = assess(job_of("wren_lot_7"))
    assert printed(again) == wren_pages.data


def test_job_file_rides_along(heron_pages: Pages) -> None:
    assert list(heron_pages.reader.attachments) == ["job.yaml"]


def test_released_lines_name_who_and_when() -> None:
    assessment, pages = demo("linnet_lot_3_trusses"), pages_of("linnet_lot_3_trusses")
    released = [r for r in assessment.job.releases if assessment.released(r.of)]
    assert released
    for release in released:
        name = assessment.index.person(release.by)
        beside = assessment.index.person(release.beside)
        told = f"{name}, {release.on}, rev {release.revision}; beside: {beside}"
        assert told in " ".join(pages.page(0).split())
        (sheet,) = (" ".join(p.split()) for p in pages.pages if "Qualified person: date;" in p)
        assert f"{beside}, {release.on}" in sheet
    assert "SOME LINES NOT RELEASED FOR USE" in pages.page(1)


def test_crowded_job_lays_out(heron: Assessment) -> None:
    job = heron.job
    long = "Übergroße Kante mit sehr langem Namen über der Schlucht " * 7
    first = job.hazards[0]
    hazards: list[Hazard] = [
        *job.hazards,
        *(first.model_copy(update={"id": f"H{n}", "name": long[:400].strip()}) for n in range(14, 54)),
    ]
    worker = next(p for p in job.people if p.authorised)
    course = Training.model_construct(
        course="Línea de vida y señales", on=DATE, trainer="Íñigo Ñandú", expires=None
    )
    people = [
        *job.people,
        *(
            worker.model_copy(
                update={"id": f"w{n}", "name": f"Trabajador Número {n} " + "ñ" * n, "training": [course]}
            )
            for n in range(30)
        ),
    ]
    pages = Pages(printed(assess(job.model_copy(update={"hazards": hazards, "people": people}))))
    register = pages.part("3 Hazard register")
    for hazard in hazards:
        assert hazard.id in register
    for n in range(30):
        assert f"Trabajador Número {n}" in pages.part("Sign-in")


def test_bare_job_says_what_is_open(heron: Assessment) -> None:
    nothing = dict.fromkeys(
        ("slab", "delivery", "erection", "removal", "weather", "power_lines", "rescue", "lower_levels")
    )
    empty: dict[str, object] = {
        name: []
        for name in (
            "work_parts",
            "access",
            "hand_overs",
            "people",
            "releases",
            "hazards",
            "tasks",
            "variances",
        )
    }
    roles = heron.job.roles.model_construct()
    plan = heron.job.plan.model_copy(update={"history": [], "held_at": None})
    layout = heron.job.layout.model_copy(
        update={
            name: []
            for name in ("lines", "anchors", "posts", "guardrails", "covers", "zones", "places", "edges")
        }
    )
    people = [heron.index.people[plan.prepared_by]]
    update = {
        **nothing,
        **empty,
        "roles": roles,
        "plan": plan,
        "layout": layout,
        "people": people,
        "sign_offs": None,
        "inspections": None,
        "changes": None,
    }
    assessment = assess(heron.job.model_copy(update=update))
    pages = Pages(printed(assessment))
    assert assessment.draft
    for sentence in (
        "Nobody is named to sign: open.",
        "This plan has no lifeline and no anchorage.",
        "The rescue part is not written: open.",
        "The erection is not written: open.",
        "Not surveyed: open.",
        "Weather limits are not stated: open.",
        "No hazard is registered: open.",
        "None recorded: open.",
        "No authorised worker is named: open.",
    ):
        assert sentence in pages.text


def alternative(heron: Assessment) -> Job:
    place = AlternativeLocation.model_construct(
        id="CAZ-1",
        hazards=["H11"],
        reasons=[
            NotFeasible.model_construct(system=s, ground="infeasible", reason=f"Reason about {s}.")
            for s in ("guardrail", "personal fall arrest", "safety net")
        ],
        other_measures="Ladders and a rolling scaffold were looked at.",
        monitor="dunlin",
        workers=["avocet", "godwit"],
    )
    plan = AlternativePlan.model_construct(
        work=AlternativeWork.RESIDENTIAL,
        qualified_person="kestrel",
        qualification="Licensed.",
        changes_approved_by="kestrel",
        copy_held_at="Job box",
        competent_person="dunlin",
        locations=[place],
        incident_review="Within a day.",
    )
    part = heron.job.work_parts[0]
    extra = part.model_copy(
        update={
            "id": "alt",
            "name": "First two trusses",
            "phases": ["trusses"],
            "kind": PlanKind.ALTERNATIVE_PLAN,
            "alternative": plan,
        }
    )
    return heron.job.model_copy(update={"work_parts": [part, extra]})


def test_alternative_plan_stands_apart_with_its_points(heron: Assessment, heron_pages: Pages) -> None:
    pages = Pages(printed(assess(alternative(heron))))
    own = pages.part("Alternative plan · First two trusses")
    for point in ("(k)(1)", "(k)(2)", "(k)(3)", "(k)(4)", "(k)(5)", "(k)(6)", "(k)(7)", "(k)(8)", "(k)(9)"):
        assert point in own
    assert "Reason about safety net." in own
    assert "Sorrel Godwit" in own
    assert not [title for title in heron_pages.parts if title.startswith("Alternative plan")]
    assert "No part of this work is under an alternative plan." in heron_pages.text
    assert "No part of this work is under an alternative plan." not in pages.text


def test_hazard_marks_and_guards_in_the_register(heron: Assessment, heron_pages: Pages) -> None:
    register = heron_pages.part("3 Hazard register")
    for hazard in heron.job.hazards:
        assert f"{hazard.id} {hazard.name}" in register


def test_installer_and_last_worker_off_have_a_tie_off(heron: Assessment, heron_pages: Pages) -> None:
    assert heron.job.erection is not None
    assert heron.job.removal is not None
    assert "Installers work from the boom lift" in heron_pages.part("Erection sheet")
    assert "The last worker leaves the deck by the stair" in heron_pages.part("15 Removal")


def test_rescue_page_is_complete(heron: Assessment, heron_pages: Pages) -> None:
    page = heron_pages.part("14 Rescue")
    assert heron.job.rescue is not None
    for wanted in (
        "14 Sandpiper Row, Example County",
        "Gate 2",
        "911",
        "Maple Whimbrel, 555-0108",
        "A: Rescue kit on the job box",  # its letter on the sheets
    ):
        assert wanted in page
    for thing in heron.hangs:
        assert thing in page
    assert "The medical responders lead" in page


def test_rescue_part_says_what_each_rescuer_is_tied_to(heron: Assessment, heron_pages: Pages) -> None:
    """By what device, from which posts and how far, what it pays out and what a fall leaves."""
    page = heron_pages.part("14 Rescue").partition("What the rescuer is tied to")[2]
    assert "the lift's own anchor points" in page and "2 / 3" in page
    assert "nothing: stays below" in page
    assert "Rescuer's retracting device 20 ft (invented)" in page
    for tie in heron.rescue.ties.values():
        if tie.places is not None and not tie.holds.all():
            names = tie.reach_of_points
            assert names and all(f"{name} to " in page for name in names)
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    rows = context["rescuers"]
    served = {(m.id, thing) for m in heron.job.rescue.means for thing in m.serves}  # type: ignore[union-attr]
    assert {(r.means, t) for r in rows for t in r.at.split(", ")} >= served  # type: ignore[attr-defined]


def test_variance_is_printed_beside_its_check(wren: Assessment) -> None:
    from planforge.job.people import Variance  # noqa: PLC0415

    finding = next(f for f in wren.short if CHECKS[f.id].variance)
    variance = Variance.model_construct(
        check=finding.id,
        where=finding.where,
        by="kestrel",
        licence="EX-0000",
        on=DATE,
        reason="Accepted with a reason that stands here.",
    )
    pages = Pages(printed(assess(wren.job.model_copy(update={"variances": [variance]}))))
    assert "Accepted by variance: Jasper Kestrel" in pages.part("Appendix C")
    assert "Accepted with a reason that stands here." in pages.part("1 Summary")


def test_verdict_counts_in_the_summary(heron: Assessment) -> None:
    context = packet_context(heron, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    topics = context["topics"]
    assert sum(t.meets for t in topics) == heron.counts[Verdict.MEETS]  # type: ignore[attr-defined]
    assert sum(t.confirm for t in topics) == heron.counts[Verdict.CONFIRM]  # type: ignore[attr-defined]
