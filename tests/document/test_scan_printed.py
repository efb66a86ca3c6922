"""How long the scan of the slab holds, wherever it is printed; by one that holds no more nobody drills."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader

from planforge.assess.assessment import Assessment, assess
from planforge.document.build import Part, build_pdf
from planforge.document.context import packet_context
from planforge.document.context_crew_pages import crew_pages
from planforge.document.pages import DocumentMeta
from planforge.figures.drilling_map import drilling_map
from planforge.job.slab import Scan

from .packets import DATE, FINGERPRINT, job_of


def with_scan(**changes: Any) -> Assessment:
    job = job_of("wren_lot_7")
    assert job.slab is not None and job.slab.scan is not None
    stated = job.slab.scan.model_dump() | changes
    scan = Scan.model_validate(stated, context={"si": True})
    return assess(job.model_copy(update={"slab": job.slab.model_copy(update={"scan": scan})}))


def pages(assessment: Assessment, *templates: str) -> str:
    values = packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    meta = DocumentMeta("P-1", "0", "Lot", "Plan", DATE, FINGERPRINT)
    made = build_pdf([Part(template, {**values, "drawn": ()}) for template in templates], meta, {})
    return " ".join(" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(made)).pages)


def on_map(assessment: Assessment) -> str:
    (lettering,) = [a for a in drilling_map(assessment).figure.artists if hasattr(a, "lines_of_text")]
    return " ".join(line.text for line in lettering.lines_of_text)


VOID = {"voided_by": [{"what": "Hole cored since"}, {"what": "Topping laid", "happened": "2026-11-20"}]}


@pytest.mark.parametrize(
    ("changes", "scope", "drilling", "map_says"),
    [
        (
            {},
            "Holes may be drilled by it through 2027-01-10. Void, and nobody drills, as soon as any of",
            "Holes may be drilled by the scan through 2027-01-10, unless what voids it",
            "Drill by it through 2027-01-10. Void once this is done: A hole cored",
        ),
        (
            {"holds_until": None, "voided_by": []},
            "until when the scan holds is not stated Nothing voids it before then.",
            "until when the scan holds is not stated",
            "Until when it holds is not stated.",
        ),
        (
            {"holds_until": "2026-11-30"},
            "through 2026-11-30",
            "Why: scanned 2026-11-11, held until 2026-11-30",
            "Nobody drills: scan the slab anew",
        ),
        (
            VOID,
            "Topping laid (done on 2026-11-20)",
            "Why: void since 2026-11-20: Topping laid",
            "Topping laid",
        ),
    ],
)
def test_how_long_the_scan_holds(changes: dict[str, Any], scope: str, drilling: str, map_says: str) -> None:
    assessment = with_scan(**changes)
    printed = pages(assessment, "12_scope.md", "20a_drilling.md")
    assert scope in printed and drilling in printed
    assert map_says in on_map(assessment)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            {"holds_until": "2026-11-30"},
            "Nadie taladra en este lote: escaneada el 11 nov 2026, valía hasta el 30 nov 2026.",
        ),
        (
            VOID,
            "Nadie taladra en este lote: el escaneo no vale desde el 20 nov 2026: Topping laid (en inglés).",
        ),
    ],
)
def test_why_nobody_drills_is_told_in_the_crews_language(changes: dict[str, Any], told: str) -> None:
    assessment = with_scan(**changes)
    values = packet_context(assessment, fingerprint=FINGERPRINT, date=DATE, draft=False, scales={})
    values |= crew_pages(assessment, DATE, "es")
    meta = DocumentMeta("P-1", "0", "Lot", "Plan", DATE, FINGERPRINT)
    made = build_pdf([Part("03a_guys.md", values, language="es")], meta, {})
    text = " ".join(" ".join(p.extract_text().split()) for p in PdfReader(io.BytesIO(made)).pages)
    assert told in text


def test_without_a_scan_the_reason_is_told_in_the_crews_language() -> None:
    job = job_of("quartz_court_building_2")
    assert job.slab is not None
    bare = job.slab.model_copy(update={"scan": None, "contents": None})
    assessment = assess(job.model_copy(update={"slab": bare}))
    assert crew_pages(assessment, DATE, "es")["not_drilled"] == "losa postensada sin escaneo en este lote"
    assert crew_pages(assessment, DATE, "en")["not_drilled"].endswith("nobody drills")  # type: ignore[attr-defined]
